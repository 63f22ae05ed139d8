//! The incoming check: a sample of a lot is measured, and what contradicts the record goes to quarantine.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::incoming::{CheckState, IncomingCheck, SampleVerdict};
use plugwell_domain::words::Role;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::quarantine::{self, Decision};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::figures::in_short;
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::once::{leading_to, once};
use crate::pages::part;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::say;
use crate::pages::{at, form as both};
use crate::service::stock::{self, By};
use crate::service::{Actor, Refusal, Shop, catalogue, new_id, stock_lists};
use crate::shown::marked;

const CHECK: &[Declared] = &[
    needed(field("lot", "counter-lot", Form::Lot, "counter-lot-hint")),
    needed(field(
        "sample",
        "counter-plugs-that-were-taken-out",
        Form::Counted(""),
        "",
    )),
    field(
        "resistance_ohm",
        "counter-resistance",
        Form::Readings("Ω"),
        "counter-resistance-hint",
    ),
    field(
        "gap_mm",
        "counter-gap-as-delivered",
        Form::Readings("mm"),
        "counter-gap-as-delivered-hint",
    ),
    field(
        "reach_mm",
        "counter-reach",
        Form::Readings("mm"),
        "counter-reach-hint",
    ),
    field("note", "counter-what-else-was-seen", Form::Words, ""),
];

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(both("/incoming-check", begin, check))
        .service(at("/incoming-checks/{id}", show));
}

#[derive(Template)]
#[template(path = "counter/incoming_check.html")]
struct Page {
    frame: Frame,
    /// The lot that is checked: code, part, a few words of it.
    lot: Option<(String, String, String)>,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
    once: Uuid,
}

async fn begin(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let mut typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        if let Ok(id) = typed.one("lot_id").parse::<Uuid>() {
            typed.set("lot", stock_lists::lot(shop, id)?.code);
        }
        Reply::page(StatusCode::OK, &page(shop, frame, &typed, &[])?)
    })
    .await
}

fn page(shop: &Shop, frame: Frame, typed: &Typed, wrong: &[Wrong]) -> Result<Page, Refusal> {
    let mut fields = form::all_shown(shop, CHECK, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let lot = match stock_lists::lot_coded(shop, typed.one("lot"))? {
        Some(lot) => {
            let plug = catalogue::get(shop, lot.plug_id)?;
            Some((lot.code, part::name(&plug), in_short(&plug.data)))
        }
        None => None,
    };
    let first = if lot.is_some() { "sample" } else { "lot" };
    Ok(Page {
        frame,
        lot,
        fields,
        focus: first_wrong.unwrap_or(first),
        faults,
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
    })
}

async fn check(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, &who.actor, frame, &typed)
    })
    .await
}

fn answer(shop: &Shop, actor: &Actor, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (mut map, mut wrong) = form::object(shop, CHECK, typed)?;
    for kind in ["resistance_ohm", "gap_mm", "reach_mm"] {
        map.entry(kind).or_insert_with(|| json!([]));
    }
    let outcome = match IncomingCheck::check(Value::Object(map)) {
        Ok(check) if wrong.is_empty() => run(shop, actor, &check, typed),
        Ok(_) => Err(Refusal::Faults(Vec::new())),
        Err(faults) => Err(Refusal::Faults(faults)),
    };
    let status = match outcome {
        Ok(there) => return Ok(Reply::Elsewhere(there)),
        Err(Refusal::Faults(faults)) => {
            add(&mut wrong, &faults);
            StatusCode::BAD_REQUEST
        }
        Err(Refusal::Conflict { detail, .. }) => {
            wrong.push(Wrong::all(detail));
            StatusCode::CONFLICT
        }
        Err(other) => return Err(other),
    };
    Reply::page(status, &page(shop, frame, typed, &wrong)?)
}

fn run(
    shop: &Shop,
    actor: &Actor,
    check: &IncomingCheck,
    typed: &Typed,
) -> Result<String, Refusal> {
    let policy = shop.policy();
    once(actor, "/incoming-check", typed, |key| {
        let by = By::now(actor);
        let done = shop.once(
            key,
            |s| stock::check(s, &by, &policy, check),
            |aside| leading_to(format!("/incoming-checks/{}", aside.check.id)),
        );
        done.map(|done| done.stored)
    })
}

/// A kind of reading as its page shows it.
struct Sample {
    text: String,
    verdict: &'static str,
    contradicts: bool,
}

#[derive(Template)]
#[template(path = "counter/incoming_checked.html")]
struct Checked {
    frame: Frame,
    again: bool,
    heading: &'static str,
    lot: (Uuid, String),
    part: (Uuid, String),
    text: String,
    samples: Vec<Sample>,
    note: String,
    by: String,
    /// What a manager decided, in a sentence; empty where nothing was.
    decided: String,
    /// The form of the decision, for whoever may.
    decision: Option<Decision>,
    focus: &'static str,
    faults: Vec<Line>,
}

/// The page of a check that was made, with the decision on it.
async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let again = request.query_string().contains("again=yes");
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let id: Uuid = id
            .parse()
            .map_err(|_| Refusal::NotFound(say("counter-incoming-check")))?;
        let seen = (who.actor.role, again);
        checked(shop, frame, id, seen, None, StatusCode::OK)
    })
    .await
}

/// The page of a check, with the decision as it was typed where that was refused.
///
/// # Errors
/// Where there is no such check.
pub(super) fn checked(
    shop: &Shop,
    frame: Frame,
    id: Uuid,
    (role, again): (Role, bool),
    refused: Option<(&Typed, &[Wrong])>,
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let check = stock::incoming_check(shop, id)?.data;
    let lot = stock_lists::lot(shop, check.asked.lot_id)?;
    let plug = catalogue::get(shop, check.plug_id)?;
    let waits = check.state == CheckState::Waiting && role >= Role::Manager;
    let nothing = (&Typed::default(), &[][..]);
    let (typed, wrong) = refused.unwrap_or(nothing);
    let mut decision = match waits {
        true => Some(quarantine::decision(shop, id, typed, wrong)?),
        false => None,
    };
    let faults = decision
        .as_mut()
        .map_or(Vec::new(), |form| std::mem::take(&mut form.faults));
    let sample = |judged: &plugwell_domain::incoming::JudgedSample| Sample {
        text: marked(judged.text.clone()),
        verdict: judged.verdict.word(),
        contradicts: judged.verdict == SampleVerdict::Contradicts,
    };
    let page = Checked {
        frame,
        again,
        heading: heading(check.state),
        lot: (lot.id, lot.code),
        part: (plug.id, part::name(&plug)),
        text: marked(check.text.clone()),
        samples: check.judged.iter().map(sample).collect(),
        note: check.asked.note.clone().unwrap_or_default(),
        by: check.checked_by.clone(),
        decided: check
            .decided
            .as_ref()
            .map_or(String::new(), quarantine::told),
        focus: decision.as_ref().map_or("", |form| form.focus),
        decision,
        faults,
    };
    Reply::page(status, &page)
}

fn heading(state: CheckState) -> &'static str {
    match state {
        CheckState::Passed => say("counter-nothing-contradicts-the-record"),
        CheckState::Waiting => say("counter-the-lot-is-in-quarantine"),
        CheckState::Noted => say("counter-a-reading-contradicts-the-record"),
        CheckState::Released => say("counter-released-from-quarantine"),
        CheckState::Scrapped => say("counter-scrapped-out-of-quarantine"),
        CheckState::SentBack => say("counter-sent-back-to-its-supplier"),
    }
}
