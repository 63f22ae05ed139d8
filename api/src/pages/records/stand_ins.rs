//! Statements that one part stands in for another: the list, and a new one.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fault::Fault;
use plugwell_domain::stand_in::{Direction, StandIn, StandInData};
use plugwell_domain::words::Role;
use plugwell_store::StandInFilter;
use serde_json::{Value, json};

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::figures::day;
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, words};
use crate::pages::typed::{Posted, Typed, encoded};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::say;
use crate::service::{Actor, Refusal, Shop, stand_ins};

/// Statements on a page.
const SHOWN: i64 = 50;

/// What the list is narrowed by.
const NARROW: &[Declared] = &[
    field("maker", "records-maker-of-either-part", Form::Words, ""),
    field(
        "part_number",
        "records-part-number-of-either",
        Form::Words,
        "",
    ),
    field("who", "records-who-says-so", Form::Words, ""),
];

const STATEMENT: &[Declared] = &[
    needed(field("maker", "records-maker-of-the-part", Form::Words, "")),
    needed(field(
        "number",
        "records-its-part-number",
        Form::Words,
        "records-its-part-number-hint",
    )),
    needed(field(
        "for_maker",
        "records-stands-in-for-maker",
        Form::Words,
        "",
    )),
    needed(field(
        "for_number",
        "records-stands-in-for-part-number",
        Form::Words,
        "records-stands-in-for-part-number-hint",
    )),
    needed(field(
        "direction",
        "records-which-way-it-holds",
        Form::One(Direction::WORDS),
        "records-which-way-it-holds-hint",
    )),
    needed(field(
        "who",
        "records-who-says-so",
        Form::Words,
        "records-who-says-so-hint",
    )),
    field(
        "source",
        "records-where-it-was-said",
        Form::Words,
        "records-where-it-was-said-hint",
    ),
    field("note", "records-else-known", Form::Lines, ""),
];

#[derive(Template)]
#[template(path = "records/stand_ins.html")]
struct List {
    frame: Frame,
    narrow: Vec<Field>,
    focus: &'static str,
    listing: Listing,
    may_state: bool,
    withdrawn: bool,
}

/// What a statement says in which direction.
pub(super) fn which_way(direction: Direction) -> &'static str {
    match direction {
        Direction::OneWay => say("records-one-way"),
        Direction::Both => say("records-both-ways"),
    }
}

/// The page at `/stand-ins`.
pub(super) async fn list(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    let may_state = who.actor.role >= Role::Clerk;
    made(&shop, who.frame, move |shop, frame| {
        let page = List {
            frame,
            narrow: form::all_shown(shop, NARROW, &typed)?,
            focus: "",
            listing: listing(shop, &typed)?,
            may_state,
            withdrawn: !typed.one("withdrawn").is_empty(),
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn listing(shop: &Shop, typed: &Typed) -> Result<Listing, Refusal> {
    let said = |name: &str| Some(typed.one(name).to_owned()).filter(|text| !text.is_empty());
    let filter = StandInFilter {
        maker: said("maker"),
        part_number: said("part_number"),
        who: said("who"),
    };
    let mut found = stand_ins::list(shop, &filter, typed.one("after").parse().ok(), SHOWN + 1)?;
    let is_more = found.len() as i64 > SHOWN;
    found.truncate(SHOWN as usize);
    let more = match found.last().filter(|_| is_more) {
        None => String::new(),
        Some(last) => {
            let kept = NARROW.iter().map(|one| one.name);
            let kept = kept.filter(|name| !typed.one(name).is_empty());
            let kept: String = kept
                .map(|name| format!("&{name}={}", encoded(typed.one(name))))
                .collect();
            format!("/stand-ins?after={}{kept}", last.id)
        }
    };
    let row = |stand_in: &StandIn| {
        let data = &stand_in.data;
        vec![
            Cell::to(format!("/stand-ins/{}", stand_in.id), &data.part),
            Cell::of(&data.stands_in_for).noted(which_way(data.direction)),
            Cell::of(&data.who).noted(data.source.clone().unwrap_or_default()),
            Cell::of(day(stand_in.created_at)),
        ]
    };
    Ok(Listing {
        caption: say("records-statements-part-stands-another").into(),
        columns: vec![
            words("records-this"),
            words("records-stands-in-for"),
            words("records-by-the-word-of"),
            words("records-entered"),
        ],
        rows: found.iter().map(row).collect(),
        empty: say("records-no-such-statement"),
        more,
    })
}

#[derive(Template)]
#[template(path = "records/new_stand_in.html")]
struct New {
    frame: Frame,
    fields: Vec<Field>,
    faults: Vec<Line>,
    focus: &'static str,
}

fn new(shop: &Shop, frame: Frame, typed: &Typed, wrong: &[Wrong]) -> Result<New, Refusal> {
    let mut fields = form::all_shown(shop, STATEMENT, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    Ok(New {
        frame,
        fields,
        focus: first.unwrap_or("maker"),
        faults,
    })
}

/// The page at `/stand-ins/new`.
pub(super) async fn begin(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        Reply::page(StatusCode::OK, &new(shop, frame, &typed, &[])?)
    })
    .await
}

/// Stores a statement.
pub(super) async fn create(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        stated(shop, &who.actor, frame, &typed)
    })
    .await
}

fn stated(shop: &Shop, actor: &Actor, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (map, mut wrong) = form::object(shop, STATEMENT, typed)?;
    let name = |maker: &str, number: &str| {
        let mut name = serde_json::Map::new();
        for (member, field) in [("maker", maker), ("part_number", number)] {
            name.extend(
                map.get(field)
                    .map(|value| (member.to_owned(), value.clone())),
            );
        }
        Value::Object(name)
    };
    let mut body = json!({
        "part": name("maker", "number"),
        "stands_in_for": name("for_maker", "for_number"),
    });
    for member in ["direction", "who", "source", "note"] {
        if let Some(value) = map.get(member) {
            body[member] = value.clone();
        }
    }
    let outcome = match StandInData::check(body) {
        Ok(data) if wrong.is_empty() => stand_ins::create(shop, &data, &actor.name),
        Ok(_) => Err(Refusal::Faults(Vec::new())),
        Err(faults) => Err(Refusal::Faults(faults)),
    };
    let status = match outcome {
        Ok(made) => {
            return Ok(Reply::Elsewhere(format!(
                "/stand-ins/{}?stored=yes",
                made.id
            )));
        }
        Err(Refusal::Faults(faults)) => {
            let faults: Vec<Fault> = faults.into_iter().map(by_field).collect();
            add(&mut wrong, &faults);
            StatusCode::BAD_REQUEST
        }
        Err(Refusal::Conflict { detail, .. }) => {
            wrong.push(Wrong::with("who", detail));
            StatusCode::CONFLICT
        }
        Err(other) => return Err(other),
    };
    Reply::page(status, &new(shop, frame, typed, &wrong)?)
}

/// A fault with the field that shows its member.
fn by_field(mut fault: Fault) -> Fault {
    let field = match fault.pointer.trim_start_matches(['#', '/']) {
        "part/maker" => "maker",
        "part/part_number" => "number",
        "stands_in_for/maker" => "for_maker",
        "stands_in_for/part_number" | "stands_in_for" => "for_number",
        _ => return fault,
    };
    fault.pointer = field.to_owned();
    fault
}
