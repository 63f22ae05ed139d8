//! The history: every movement that a choice of part, lot, place, job, person, kind and time leaves; as a
//! list, as a file, and for print.

mod forms;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use chrono::{DateTime, NaiveDate, NaiveTime, TimeDelta, Utc};
use plugwell_domain::ledger::{Movement, MovementKind, Place, PlaceKind};
use plugwell_domain::words::Role;
use plugwell_store::MovementFilter;
use serde_json::Value;
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::at;
use crate::pages::counter::booked::verb;
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::figures::{gap, instant};
use crate::pages::form::{self, Declared, Form, field};
use crate::pages::listing::{Cell, Column, Listing, figures, words};
use crate::pages::part;
use crate::pages::typed::{Typed, encoded};
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::service::stock_lists::{Aftermath, Traced};
use crate::service::{Refusal, Shop, catalogue, stock_lists};

/// Rows of a page.
const ROWS: i64 = 50;

const FILTER: &[Declared] = &[
    field("part", "counter-part", Form::Part, "counter-part-hint-3"),
    field("lot", "counter-lot", Form::Lot, "counter-lot-hint"),
    field(
        "place",
        "counter-place",
        Form::Place(&[
            PlaceKind::Bin,
            PlaceKind::Quarantine,
            PlaceKind::Scrap,
            PlaceKind::Supplier,
            PlaceKind::Difference,
        ]),
        "counter-place-hint",
    ),
    field("job", "counter-job", Form::Words, ""),
    field(
        "actor",
        "counter-done-by",
        Form::Words,
        "counter-done-by-hint",
    ),
    field("kind", "counter-what", Form::One(MovementKind::WORDS), ""),
    field("from", "counter-from", Form::Day, ""),
    field("to", "counter-to", Form::Day, "counter-to-hint"),
];

/// Puts the page into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/movements", show))
        .service(at("/movements.csv", forms::file))
        .service(at("/movements/print", forms::print));
}

#[derive(Template)]
#[template(path = "counter/movements.html")]
struct Page {
    frame: Frame,
    fields: Vec<Field>,
    /// Whether the list is narrowed.
    narrowed: bool,
    focus: &'static str,
    faults: Vec<Line>,
    listing: Listing,
    /// The same as a file and for print; empty where nothing is listed.
    forms: Option<(String, String)>,
}

/// The page at `/movements`.
async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let typed = named(shop, &typed)?;
        let (filter, wrong) = narrowed(shop, &typed)?;
        let mut fields = form::all_shown(shop, FILTER, &typed)?;
        let faults = put(&wrong, &mut fields.iter_mut().collect::<Vec<_>>());
        let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
        let status = match filter {
            Some(_) => StatusCode::OK,
            None => StatusCode::BAD_REQUEST,
        };
        let page = Page {
            frame,
            narrowed: FILTER.iter().any(|one| !typed.one(one.name).is_empty()),
            fields,
            focus: first_wrong.unwrap_or_default(),
            faults,
            forms: filter.is_some().then(|| forms::paths(&typed)),
            listing: match filter {
                Some(filter) => history(shop, &filter, &typed)?,
                None => Listing {
                    empty: say("counter-nothing-listed-until-wrong-above"),
                    ..Listing::default()
                },
            },
        };
        Reply::page(status, &page)
    })
    .await
}

/// Ids that links carry, as the fields show them.
fn named(shop: &Shop, typed: &Typed) -> Result<Typed, Refusal> {
    let mut named = typed.clone();
    for (member, what) in [
        ("plug_id", "part"),
        ("lot_id", "lot"),
        ("place_id", "place"),
    ] {
        let text = typed.one(member);
        if text.is_empty() || !typed.one(what).is_empty() {
            continue;
        }
        let id: Uuid = text.parse().map_err(|_| Refusal::NotFound(what))?;
        let shown = match what {
            "part" => part::name(&catalogue::get(shop, id)?),
            "lot" => stock_lists::lot(shop, id)?.code,
            _ => {
                let place = stock_lists::place(shop, id)?;
                if place.kind == PlaceKind::Job {
                    named.set("job", place.name);
                    continue;
                }
                place.code
            }
        };
        named.set(what, shown);
    }
    Ok(named)
}

/// What the list is narrowed by; nothing where a field was not understood.
fn narrowed(shop: &Shop, typed: &Typed) -> Result<(Option<MovementFilter>, Vec<Wrong>), Refusal> {
    let (map, mut wrong) = form::object(shop, FILTER, typed)?;
    let id = |name: &str| map.get(name).and_then(Value::as_str)?.parse::<Uuid>().ok();
    let word = |name: &str| map.get(name).and_then(Value::as_str).map(str::to_owned);
    let kind = match word("kind").map(|word| word.parse::<MovementKind>()) {
        Some(Err(e)) => {
            wrong.push(Wrong::with("kind", e.to_string()));
            None
        }
        kind => kind.and_then(Result::ok),
    };
    let day = |name: &str| word(name)?.parse::<NaiveDate>().ok();
    let begins = |day: NaiveDate| {
        DateTime::<Utc>::from_naive_utc_and_offset(day.and_time(NaiveTime::MIN), Utc)
    };
    let (from, to) = (day("from").map(begins), day("to").map(begins));
    if from.zip(to).is_some_and(|(from, to)| from > to) {
        wrong.push(Wrong::with(
            "to",
            say("counter-lies-before-day-list-begins"),
        ));
    }
    let filter = MovementFilter {
        plug_id: id("part_id"),
        lot_id: id("lot_id"),
        place_id: id("place_id"),
        kind,
        job: word("job"),
        actor: word("actor"),
        build_id: None,
        from,
        to: to.and_then(|day| day.checked_add_signed(TimeDelta::days(1))),
        newest: true,
    };
    Ok((wrong.is_empty().then_some(filter), wrong))
}

fn history(shop: &Shop, filter: &MovementFilter, typed: &Typed) -> Result<Listing, Refusal> {
    let after = typed.one("after").parse().ok();
    let mut traced = stock_lists::traced(shop, filter, after, ROWS + 1)?;
    let more = traced.len() > ROWS as usize;
    traced.truncate(ROWS as usize);
    let behind = traced.last().map(|t| t.movement.sequence).filter(|_| more);
    let narrowing = narrowing(typed);
    Ok(Listing {
        caption: say("counter-movements-the-newest-first").into(),
        columns: columns(),
        rows: rows(shop, &traced)?,
        empty: say("counter-no-movement-is-so"),
        more: behind.map_or(String::new(), |at| {
            format!("/movements?{narrowing}after={at}")
        }),
    })
}

/// What the list is narrowed by, as an address begins with it.
fn narrowing(typed: &Typed) -> String {
    FILTER
        .iter()
        .map(|one| (one.name, typed.one(one.name)))
        .filter(|(_, value)| !value.is_empty())
        .map(|(name, value)| format!("{name}={}&", encoded(value)))
        .collect()
}

/// The columns of a list of movements.
pub(super) fn columns() -> Vec<Column> {
    vec![
        words("counter-what"),
        figures("counter-plugs"),
        words("counter-part"),
        words("counter-from-to"),
        words("counter-when"),
    ]
}

/// Movements as rows of a list.
///
/// # Errors
/// Where the database fails.
pub(super) fn rows(shop: &Shop, all: &[Traced]) -> Result<Vec<Vec<Cell>>, Refusal> {
    let after = stock_lists::aftermath(shop, all)?;
    Ok(all.iter().map(|traced| row(traced, &after)).collect())
}

fn row(traced: &Traced, after: &Aftermath) -> Vec<Cell> {
    let movement = &traced.movement;
    let part = traced.part.as_ref().map_or(String::new(), |part| {
        format!("{} {}", part.maker, part.part_number)
    });
    let (done, note) = told(movement, after);
    vec![
        Cell::to(format!("/movements/{}", movement.id), done).noted(note),
        Cell::of(movement.quantity),
        Cell::to(format!("/parts/{}", movement.plug_id), part)
            .noted(traced.lot.clone().unwrap_or_default()),
        Cell::of(way(traced, after)),
        Cell::of(instant(movement.created_at)).noted(movement.actor.clone()),
    ]
}

/// What a movement did, and why; what was put right since is not for good.
fn told(movement: &Movement, after: &Aftermath) -> (&'static str, String) {
    let undone = after.put_right.contains(&movement.id);
    let done = match movement.kind {
        MovementKind::Scrapping if undone => say("counter-scrapped"),
        kind => verb(kind),
    };
    let reason = movement.reason.as_ref().map(|r| r.replace('_', " "));
    let since = undone.then(|| say("counter-put-right-since").to_owned());
    let note: Vec<String> = reason.into_iter().chain(since).collect();
    (done, note.join(", "))
}

/// Where from and where to; of plugs that became another lot, which.
fn way(traced: &Traced, after: &Aftermath) -> String {
    let place = |place: &Option<Place>| place.as_ref().map_or(String::new(), |p| p.name.clone());
    let (from, to) = (place(&traced.from), place(&traced.to));
    let to_account = |end: &Option<Place>| {
        end.as_ref()
            .is_some_and(|place| place.kind == PlaceKind::Difference)
    };
    let Some(other) = after.turned.get(&traced.movement.id) else {
        return format!("{from} → {to}");
    };
    if !to_account(&traced.to) {
        return say_with(
            "counter-before-of-lot-to",
            &[("code", &other.code), ("to", &to)],
        );
    }
    let became = say_with(
        "counter-from-became-lot",
        &[("from", &from), ("code", &other.code)],
    );
    match other.gap_mm {
        Some(mm) => say_with(
            "counter-became-set-to-gap",
            &[("became", &became), ("gap", &gap(mm))],
        ),
        None => became,
    }
}
