//! The catalogue: searched by words, narrowed by what a plug is.

use actix_web::ResponseError;
use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::attribute::Attr;
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::thread::Thread;
use plugwell_domain::words::{Electrode, Role, Seat, Status};
use plugwell_store::{FactFilter, PlugFilter};
use serde_json::Value;

use crate::http::exports;
use crate::pages::answer::{Frame, Reply};
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::form::{self, Declared, Form, field};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::part::name;
use crate::pages::parts::{look, value};
use crate::pages::typed::{Typed, encoded};
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::service::catalogue::{self, Wanted};
use crate::service::exchange::TableKind;
use crate::service::{Refusal, Shop};
use crate::shown::marked;

/// Rows of a page.
const ROWS: usize = 50;
/// How far a reach may be off the one that is looked for, in 0.1 µm.
const REACH_EITHER_WAY: i64 = 3_000;

const FORM: &[Declared] = &[
    field("q", "parts-words", Form::Words, "parts-words-hint"),
    field("thread", "parts-thread", Form::One(Thread::WORDS), ""),
    field(
        "reach_mm",
        "parts-reach",
        Form::Measured("mm"),
        "parts-reach-hint",
    ),
    field("seat", "parts-seat", Form::One(Seat::WORDS), ""),
    field("heat_from", "parts-heat-from", Form::Measured(""), ""),
    field(
        "heat_to",
        "parts-heat-to",
        Form::Measured(""),
        "parts-heat-to-hint",
    ),
    field("resistor", "parts-resistor", Form::Flag, ""),
    field(
        "electrode",
        "parts-tip-metal",
        Form::One(Electrode::WORDS),
        "",
    ),
    field("maker", "parts-maker", Form::Words, "parts-maker-hint"),
    field("in_bins", "parts-on-the-shelf", Form::Flag, ""),
    field("retired", "parts-retired-ones-too", Form::Flag, ""),
];

#[derive(Template)]
#[template(path = "parts/catalogue.html")]
struct Page {
    frame: Frame,
    may_change: bool,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
    listing: Listing,
    /// How many are shown, in a sentence.
    count: String,
}

/// The page at `/catalogue`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    look(shop, request, Role::Reader, |shop, frame, typed| {
        answer(shop, frame, typed)
    })
    .await
}

/// The whole catalogue as a table, at `/catalogue.csv`.
pub(super) async fn table(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    match visitor(&shop, &request, Role::Reader) {
        Err(page) => *page,
        Ok(_) => exports::export(shop, TableKind::Plugs)
            .await
            .unwrap_or_else(|problem| problem.error_response()),
    }
}

fn answer(shop: &Shop, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (wanted, wrong) = wanted(shop, typed)?;
    let mut fields = form::all_shown(shop, FORM, typed)?;
    let faults = put(&wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let after = typed.one("after").parse().ok();
    let mut found = if faults.is_empty() {
        catalogue::list(shop, &wanted, after, ROWS as i64 + 1)?
    } else {
        Vec::new()
    };
    let more = if found.len() > ROWS {
        found.truncate(ROWS);
        found.last().map(|last| further(typed, last))
    } else {
        None
    };
    let count = match (found.len(), more.is_some(), after.is_some()) {
        _ if !faults.is_empty() => String::new(),
        (0, ..) => say("parts-no-part-is-like-that").to_owned(),
        (some, false, false) => say_with("parts-so-many-parts", &[("parts", &some)]),
        (some, true, false) => say_with("parts-first-so-many-parts", &[("parts", &some)]),
        (some, _, true) => say_with("parts-so-many-parts-more", &[("parts", &some)]),
    };
    let status = if faults.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    let page = Page {
        may_change: frame.may(Role::Clerk),
        frame,
        focus: faults
            .iter()
            .map(|line| line.at)
            .find(|at| !at.is_empty())
            .unwrap_or(""),
        fields,
        faults,
        listing: listed(shop, &found, more.unwrap_or_default())?,
        count,
    };
    Reply::page(status, &page)
}

/// What was asked for, and what was not understood.
fn wanted(shop: &Shop, typed: &Typed) -> Result<(Wanted, Vec<Wrong>), Refusal> {
    let (map, mut wrong) = form::object(shop, FORM, typed)?;
    let mut facts = Vec::new();
    let mut fact = |field: &str, attr: Attr, filter: &dyn Fn(i64) -> Vec<FactFilter>| {
        let Some(given) = map.get(field) else { return };
        match attr.from_json(given) {
            Ok(raw) => facts.extend(filter(raw).into_iter().map(|one| (attr, one))),
            Err(fault) => wrong.push(Wrong::with(field, marked(fault.detail))),
        }
    };
    let is = |raw| vec![FactFilter::Is(raw)];
    fact("thread", Attr::Thread, &is);
    fact("seat", Attr::Seat, &is);
    fact("resistor", Attr::Resistor, &is);
    fact("electrode", Attr::Electrode, &is);
    fact("heat_from", Attr::Heat, &|raw| {
        vec![FactFilter::AtLeast(raw)]
    });
    fact("heat_to", Attr::Heat, &|raw| vec![FactFilter::AtMost(raw)]);
    fact("reach_mm", Attr::Reach, &|raw| {
        vec![
            FactFilter::AtLeast(raw - REACH_EITHER_WAY),
            FactFilter::AtMost(raw + REACH_EITHER_WAY),
        ]
    });
    let text = |field: &str| map.get(field).and_then(Value::as_str).map(str::to_owned);
    let flag = |field: &str| map.get(field).and_then(Value::as_bool);
    let wanted = Wanted {
        text: text("q"),
        filter: PlugFilter {
            facts,
            maker: text("maker"),
            in_bins: flag("in_bins"),
            retired: flag("retired").unwrap_or(false),
            ..PlugFilter::default()
        },
    };
    Ok((wanted, wrong))
}

/// Where the list goes on behind a part.
fn further(typed: &Typed, last: &Plug) -> String {
    let asked = typed.pairs().filter(|(name, _)| *name != "after");
    let asked: String = asked
        .map(|(name, value)| format!("{}={}&", encoded(name), encoded(value)))
        .collect();
    format!("/catalogue?{asked}after={}", last.id)
}

fn listed(shop: &Shop, found: &[Plug], more: String) -> Result<Listing, Refusal> {
    let ids: Vec<_> = found.iter().map(|plug| plug.id).collect();
    let held = catalogue::on_hand(shop, &ids)?;
    let row = |(plug, held): (&Plug, i64)| {
        let told = |attr: Attr| match (plug.shown(attr), plug.data.facts.get(attr)) {
            (None, Some(_)) => Cell::of(value(&plug.data, attr)).noted(say("parts-assumed")),
            _ => Cell::of(value(&plug.data, attr)),
        };
        let standing = match (plug.retired, plug.data.status) {
            (true, _) => say("parts-is-retired"),
            (_, Status::Discontinued) => say("parts-is-discontinued"),
            _ => "",
        };
        vec![
            Cell::to(format!("/parts/{}", plug.id), name(plug)).noted(standing),
            told(Attr::Thread),
            told(Attr::Reach),
            told(Attr::Seat),
            told(Attr::Heat),
            told(Attr::Resistor),
            told(Attr::Electrode),
            Cell::of(held),
        ]
    };
    Ok(Listing {
        caption: say("parts-parts-of-the-catalogue").into(),
        columns: vec![
            words("parts-part"),
            words("parts-thread"),
            words("parts-reach"),
            words("parts-seat"),
            figures("parts-heat"),
            words("parts-resistor"),
            words("parts-tip-metal"),
            figures("parts-in-bins"),
        ],
        rows: found.iter().zip(held).map(row).collect(),
        empty: "",
        more,
    })
}
