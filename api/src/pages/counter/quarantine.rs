//! Lots that wait in quarantine, and a manager's decision on each.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::incoming::{CheckState, Decide, Decided, Decision as Decisions};
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::words::Role;
use plugwell_store::IncomingFilter;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::acts::Act;
use crate::pages::counter::incoming::checked;
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::figures::instant;
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::part;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::pages::{at, posted};
use crate::service::lying::{self, SetAside};
use crate::service::stock::{self, By};
use crate::service::{Actor, Refusal, Shop, catalogue, new_id, stock_lists};
use crate::shown::marked;

/// Rows of a page.
const ROWS: i64 = 50;

const DECISION: &[Declared] = &[
    needed(field(
        "decision",
        "counter-what-becomes-of-it",
        Form::One(Decisions::WORDS),
        "counter-what-becomes-of-it-hint",
    )),
    field(
        "place",
        "counter-into-bin",
        Form::Place(&[PlaceKind::Bin]),
        "counter-into-bin-hint",
    ),
    field("note", "counter-why", Form::Words, ""),
];

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/quarantine", list))
        .service(posted("/incoming-checks/{id}/decision", decide));
}

#[derive(Template)]
#[template(path = "counter/quarantine.html")]
struct Page {
    frame: Frame,
    /// What waits for a decision.
    waits: Listing,
    /// What lies there besides.
    besides: Listing,
}

/// The page at `/quarantine`.
async fn list(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let page = Page {
            waits: waiting(shop, typed.one("before").parse().ok())?,
            besides: besides(shop, &frame, &typed)?,
            frame,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn waiting(shop: &Shop, before: Option<Uuid>) -> Result<Listing, Refusal> {
    let filter = IncomingFilter {
        state: Some(CheckState::Waiting),
        lot_id: None,
    };
    let mut checks = stock::incoming_checks(shop, &filter, before, ROWS + 1)?;
    let more = checks.len() > ROWS as usize;
    checks.truncate(ROWS as usize);
    let last = checks.last().map(|check| check.id).filter(|_| more);
    let mut rows = Vec::new();
    for check in &checks {
        let plug = catalogue::get(shop, check.data.plug_id)?;
        let lot = stock_lists::lot(shop, check.data.asked.lot_id)?;
        rows.push(vec![
            Cell::to(format!("/incoming-checks/{}", check.id), lot.code),
            Cell::to(format!("/parts/{}", plug.id), part::name(&plug)),
            Cell::of(check.data.set_aside),
            Cell::of(marked(check.data.text.clone())),
            Cell::of(instant(check.created_at)).noted(check.data.checked_by.clone()),
        ]);
    }
    Ok(Listing {
        caption: say("counter-lots-wait-manager-decision").into(),
        columns: vec![
            words("counter-lot"),
            words("counter-part"),
            figures("counter-plugs"),
            words("counter-why"),
            words("counter-checked"),
        ],
        rows,
        empty: say("counter-nothing-waits-for-a-decision"),
        more: last.map_or(String::new(), |id| format!("/quarantine?before={id}")),
    })
}

/// What lies in quarantine without a decision to wait for, and the ways out of it.
fn besides(shop: &Shop, frame: &Frame, typed: &Typed) -> Result<Listing, Refusal> {
    let ends = typed.one("after").split_once('.');
    let after = ends.and_then(|(lot, place)| Some((lot.parse().ok()?, place.parse().ok()?)));
    let mut found = lying::set_aside(shop, after, ROWS as usize + 1)?;
    let more = found.len() > ROWS as usize;
    found.truncate(ROWS as usize);
    let last = found.last().map(|one| &one.lying.level).filter(|_| more);
    let more = last.map(|at| format!("/quarantine?after={}.{}", at.lot_id, at.place_id));
    // Only a manager lets anything out of quarantine.
    let (may_move, may_scrap) = (frame.may(Role::Manager), frame.may(Act::Scrap.least()));
    let mut columns = vec![
        words("counter-lot"),
        words("counter-part"),
        figures("counter-plugs"),
        words("counter-place"),
        words("counter-there-since"),
    ];
    columns.extend(may_move.then(|| words("counter-move")));
    columns.extend(may_scrap.then(|| words("counter-scrap")));
    let row = |one: &SetAside| {
        let (level, lot) = (&one.lying.level, &one.lying.lot);
        let (id, place, plugs) = (lot.id, one.place.id, level.quantity);
        let out = format!("/move?lot_id={id}&from_place_id={place}&quantity={plugs}");
        let drum = format!("/scrap?lot_id={id}&place_id={place}&quantity={plugs}");
        let mut cells = vec![
            Cell::to(format!("/lots/{id}"), &lot.code),
            Cell::to(format!("/parts/{}", level.plug_id), &one.lying.part),
            Cell::of(plugs),
            Cell::to(format!("/places/{place}"), &one.place.name),
            Cell::of(one.since.map_or_else(String::new, instant)),
        ];
        cells.extend(
            may_move.then(|| Cell::to(out, say_with("counter-move-code", &[("code", &lot.code)]))),
        );
        cells.extend(
            may_scrap
                .then(|| Cell::to(drum, say_with("counter-scrap-code", &[("code", &lot.code)]))),
        );
        cells
    };
    Ok(Listing {
        caption: say("counter-lots-in-quarantine-besides").into(),
        columns,
        rows: found.iter().map(row).collect(),
        empty: say("counter-nothing-lies-there-besides"),
        more: more.unwrap_or_default(),
    })
}

/// The form of a decision.
pub(super) struct Decision {
    pub id: Uuid,
    pub once: Uuid,
    pub fields: Vec<Field>,
    pub focus: &'static str,
    pub faults: Vec<Line>,
}

/// The form of a decision, as it was typed.
///
/// # Errors
/// Where the database fails.
pub(super) fn decision(
    shop: &Shop,
    id: Uuid,
    typed: &Typed,
    wrong: &[Wrong],
) -> Result<Decision, Refusal> {
    let mut fields = form::all_shown(shop, DECISION, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    Ok(Decision {
        id,
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        fields,
        focus: first_wrong.unwrap_or_default(),
        faults,
    })
}

/// What was decided, in a sentence.
pub(super) fn told(decided: &Decided) -> String {
    let what = decided.decision.leads_to().word().replace('_', " ");
    let why = decided
        .note
        .as_ref()
        .map_or(String::new(), |note| format!(": {note}"));
    say_with(
        "counter-by-what-it-at-why",
        &[
            ("by", &decided.by),
            ("what", &what),
            ("at", &instant(decided.at)),
            ("why", &why),
        ],
    )
}

async fn decide(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Manager) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let id: Uuid = id
            .parse()
            .map_err(|_| Refusal::NotFound(say("counter-incoming-check")))?;
        answer(shop, &who.actor, frame, id, &typed)
    })
    .await
}

fn answer(
    shop: &Shop,
    actor: &Actor,
    frame: Frame,
    id: Uuid,
    typed: &Typed,
) -> Result<Reply, Refusal> {
    let (map, mut wrong) = form::object(shop, DECISION, typed)?;
    let outcome = match Decide::check(Value::Object(map)) {
        Ok(decide) if wrong.is_empty() => run(shop, actor, id, &decide, typed),
        Ok(_) => Err(Refusal::Faults(Vec::new())),
        Err(faults) => Err(Refusal::Faults(faults)),
    };
    let status = match outcome {
        Ok(there) => return Ok(Reply::Elsewhere(there)),
        Err(Refusal::Faults(faults)) => {
            add(&mut wrong, &faults);
            StatusCode::BAD_REQUEST
        }
        // Where somebody else has decided meanwhile, the page shows what.
        Err(Refusal::Conflict { detail, .. })
            if stock::incoming_check(shop, id)?.data.state == CheckState::Waiting =>
        {
            wrong.push(Wrong::all(detail));
            StatusCode::CONFLICT
        }
        Err(other) => return Err(other),
    };
    let seen = (actor.role, false);
    checked(shop, frame, id, seen, Some((typed, &wrong)), status)
}

fn run(
    shop: &Shop,
    actor: &Actor,
    id: Uuid,
    decide: &Decide,
    typed: &Typed,
) -> Result<String, Refusal> {
    let there = format!("/incoming-checks/{id}");
    once(actor, &format!("{there}/decision"), typed, |key| {
        let by = By::now(actor);
        let done = shop.once(
            key,
            |s| stock::decide(s, &by, id, decide),
            |_| leading_to(there.clone()),
        );
        done.map(|done| done.stored)
    })
}
