//! Counts: which there are, and which bins a new one is of.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::ledger::counting::{CountChoice, CountState, NewCount};
use plugwell_domain::words::Role;
use plugwell_store::CountFilter;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::LINE_OF;
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::figures::instant;
use crate::pages::form::{self, Declared, Form, Known, field};
use crate::pages::line::commanded;
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, counts, new_id};

/// Rows of a page.
const ROWS: i64 = 50;

const BEGIN: &[Declared] = &[
    field("places", "counter-bins", Form::Lines, "counter-bins-hint"),
    field(
        "choose",
        "counter-or-let-them-be-chosen",
        Form::One(CountChoice::WORDS),
        "counter-or-let-them-be-chosen-hint",
    ),
    field("bins", "counter-how-many", Form::Counted("bins"), ""),
];

/// Puts the page into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config.service(super::super::form("/count", show, begin));
}

#[derive(Template)]
#[template(path = "counter/counts.html")]
struct Page {
    frame: Frame,
    once: Uuid,
    heard: String,
    fields: Vec<Field>,
    focus: &'static str,
    is_last_look: bool,
    faults: Vec<Line>,
    listing: Listing,
}

async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let page = page(shop, frame, &typed, String::new(), &[])?;
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn page(
    shop: &Shop,
    frame: Frame,
    typed: &Typed,
    heard: String,
    wrong: &[Wrong],
) -> Result<Page, Refusal> {
    let mut fields = form::all_shown(shop, BEGIN, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    Ok(Page {
        frame: Frame {
            line_of: LINE_OF,
            ..frame
        },
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        heard,
        fields,
        focus: first_wrong.unwrap_or_default(),
        is_last_look: false,
        faults,
        listing: listing(shop, typed.one("before").parse().ok())?,
    })
}

fn listing(shop: &Shop, before: Option<Uuid>) -> Result<Listing, Refusal> {
    let mut found = counts::list(shop, &CountFilter::default(), before, ROWS + 1)?;
    let more = found.len() > ROWS as usize;
    found.truncate(ROWS as usize);
    let last = found.last().map(|count| count.id).filter(|_| more);
    let row = |count: &plugwell_domain::ledger::counting::CountHead| {
        let state = match count.state {
            CountState::Counted => say("counter-counted-waits-for-approval"),
            other => other.word(),
        };
        let recount = match count.recount_lines {
            Some(lines) if lines > 0 && !count.state.is_closed() => {
                say_with("counter-lines-to-be-counted-again", &[("lines", &lines)])
            }
            _ => String::new(),
        };
        vec![
            Cell::to(format!("/counts/{}", count.id), state).noted(recount),
            Cell::of(say_with(
                "counter-counted-lines-of-line-count",
                &[
                    ("counted_lines", &count.counted_lines),
                    ("line_count", &count.line_count),
                ],
            )),
            Cell::of(instant(count.created_at)).noted(count.made_by.clone()),
        ]
    };
    Ok(Listing {
        caption: say("counter-counts-the-newest-first").into(),
        columns: vec![
            words("counter-state"),
            figures("counter-lines-counted"),
            words("counter-begun"),
        ],
        rows: found.iter().map(row).collect(),
        empty: say("counter-nothing-has-been-counted-yet"),
        more: last.map_or(String::new(), |id| format!("/count?before={id}")),
    })
}

async fn begin(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        if typed.one("look").is_empty() {
            return answer(shop, &who.actor, frame, &typed.without(&["scan"]));
        }
        let text = typed.one("scan").to_owned();
        let mut typed = typed.without(&["scan", "look"]);
        if text.eq_ignore_ascii_case(super::taking::BOOK) {
            return answer(shop, &who.actor, frame, &typed);
        }
        if let Some(there) = commanded(&text, who.actor.role) {
            return Ok(Reply::Elsewhere(there));
        }
        let heard = taken(shop, &mut typed, &text)?;
        let (said, wrong) = match heard {
            Ok(said) => (said, Vec::new()),
            Err(wrong) => (String::new(), vec![Wrong::all(wrong)]),
        };
        let status = match wrong.is_empty() {
            true => StatusCode::OK,
            false => StatusCode::BAD_REQUEST,
        };
        let mut page = page(shop, frame, &typed, said, &wrong)?;
        page.is_last_look = text.is_empty();
        Reply::page(status, &page)
    })
    .await
}

/// Takes a scan in: another bin, how to choose bins, or how many.
fn taken(shop: &Shop, typed: &mut Typed, text: &str) -> Result<Result<String, String>, Refusal> {
    if text.is_empty() {
        return Ok(Ok(String::new()));
    }
    let said = text.to_lowercase().replace([' ', '-'], "_");
    if let Some(word) = CountChoice::WORDS.iter().find(|word| **word == said) {
        typed.set("choose", *word);
        return Ok(Ok(say_with(
            "counter-bins-word",
            &[("word", &word.replace('_', " "))],
        )));
    }
    if text.len() <= 3 && text.bytes().all(|sign| sign.is_ascii_digit()) {
        typed.set("bins", text);
        return Ok(Ok(say_with("counter-text-bins", &[("text", &text)])));
    }
    let bins = shop.places(&[PlaceKind::Bin])?;
    let Ok(id) = form::place(&bins, text) else {
        return Ok(Err(say_with(
            "counter-text-no-bin-scan-label",
            &[("text", &format!("{text:?}"))],
        )));
    };
    let name = bins
        .iter()
        .find(|bin| bin.id.to_string() == id)
        .map_or("", |bin| bin.name.as_str());
    let named = typed.one("places").to_owned();
    if named.lines().any(|line| line.eq_ignore_ascii_case(name)) {
        return Ok(Ok(say_with(
            "counter-name-stands-there-already",
            &[("name", &name)],
        )));
    }
    typed.set("places", format!("{named}\n{name}").trim().to_owned());
    Ok(Ok(say_with("counter-bin-name", &[("name", &name)])))
}

fn answer(shop: &Shop, actor: &Actor, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (map, mut wrong) = form::object(shop, BEGIN, typed)?;
    let outcome = match named(shop, map, &mut wrong)? {
        Ok(asked) if wrong.is_empty() => run(shop, actor, &asked, typed),
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
            wrong.push(Wrong::with("places", detail));
            StatusCode::CONFLICT
        }
        Err(other) => return Err(other),
    };
    Reply::page(status, &page(shop, frame, typed, String::new(), &wrong)?)
}

/// The count that is asked for, its bins by id.
fn named(
    shop: &Shop,
    mut map: Map<String, Value>,
    wrong: &mut Vec<Wrong>,
) -> Result<Result<NewCount, Vec<plugwell_domain::fault::Fault>>, Refusal> {
    if let Some(Value::String(lines)) = map.remove("places") {
        let bins = shop.places(&[PlaceKind::Bin])?;
        let mut ids = Vec::new();
        for line in lines.lines().map(str::trim).filter(|line| !line.is_empty()) {
            match form::place(&bins, line) {
                Ok(id) => ids.push(Value::from(id)),
                Err(why) => wrong.push(Wrong::with("places", why)),
            }
        }
        map.insert("places".into(), ids.into());
    }
    Ok(NewCount::check(Value::Object(map)))
}

fn run(shop: &Shop, actor: &Actor, asked: &NewCount, typed: &Typed) -> Result<String, Refusal> {
    once(actor, "/count", typed, |key| {
        let by = By::now(actor);
        let done = shop.once(
            key,
            |s| Ok((counts::begin(s, &by, asked)?, Vec::new())),
            |count| leading_to(format!("/counts/{}", count.id)),
        );
        done.map(|done| done.stored)
    })
}
