//! What was booked, repeated in large type.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use chrono::TimeDelta;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::ledger::{Movement, MovementKind};
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::figures::{self, instant};
use crate::pages::once::leading_to;
use crate::pages::part;
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::service::once::Stored;
use crate::service::stock::{self, Outcome};
use crate::service::{Refusal, Shop, catalogue, stock_lists};

/// What is said here of the very plugs that were booked; what holds for any plug stands on the card.
const OF_THESE_PLUGS: &[CautionCode] = &[
    CautionCode::FailsItsBuild,
    CautionCode::FitUnjudged,
    CautionCode::ReachNeverFitted,
    CautionCode::ProjectionUnconfirmed,
    CautionCode::HexUnconfirmed,
    CautionCode::TerminalUnconfirmed,
    CautionCode::ValueUnconfirmed,
    CautionCode::GapRangeUnconfirmed,
    CautionCode::GapOutsidePlugRange,
    CautionCode::GapNotTheBuilds,
];

#[derive(Template)]
#[template(path = "counter/booked.html")]
struct Page {
    frame: Frame,
    /// Whether the form had been booked before, and was sent once more.
    again: bool,
    verb: &'static str,
    quantity: i64,
    part: String,
    /// Where from, where to.
    way: String,
    lines: Vec<Line>,
    /// What else is to be known.
    notes: Vec<String>,
    /// What can be done next: path and words.
    next: Vec<(String, String)>,
}

struct Line {
    quantity: i64,
    lot: String,
    from: String,
    to: String,
    by: String,
    at: String,
}

/// The answer that is kept under a form's key: where to see what it did.
pub(in crate::pages) fn kept(outcome: &Outcome) -> Stored {
    let ids: Vec<_> = outcome
        .movements
        .iter()
        .map(|movement| format!("id={}", movement.id))
        .collect();
    leading_to(format!("/booked?{}", ids.join("&")))
}

/// The page at `/booked`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        Reply::page(StatusCode::OK, &page(shop, frame, &typed)?)
    })
    .await
}

fn page(shop: &Shop, frame: Frame, typed: &Typed) -> Result<Page, Refusal> {
    let movement = |id: &str| {
        let id: Uuid = id.parse().map_err(|_| Refusal::NotFound("movement"))?;
        stock_lists::movement(shop, id)
    };
    let movements: Vec<Movement> = typed.all("id").map(movement).collect::<Result<_, _>>()?;
    let first = movements.first().ok_or(Refusal::NotFound("movement"))?;
    let lines: Vec<Line> = movements
        .iter()
        .map(|m| line(shop, m))
        .collect::<Result<_, _>>()?;
    let mut places: Vec<&str> = lines.iter().map(|line| line.from.as_str()).collect();
    places.dedup();
    let to = lines.first().map_or("", |line| line.to.as_str());
    let plug = catalogue::get(shop, first.plug_id)?;
    Ok(Page {
        frame,
        again: !typed.one("again").is_empty(),
        verb: verb(first.kind),
        quantity: movements.iter().map(|m| m.quantity).sum(),
        part: part::name(&plug),
        way: format!("{} → {to}", places.join(", ")),
        notes: notes(shop, first)?,
        next: next(first),
        lines,
    })
}

fn line(shop: &Shop, movement: &Movement) -> Result<Line, Refusal> {
    let place = |id| stock_lists::place(shop, id).map(|place| place.name);
    Ok(Line {
        quantity: movement.quantity,
        lot: stock_lists::lot(shop, movement.lot_id)?.code,
        from: place(movement.from_place_id)?,
        to: place(movement.to_place_id)?,
        by: movement.actor.clone(),
        at: instant(movement.created_at),
    })
}

/// What a movement did, in the past.
pub(in crate::pages) fn verb(kind: MovementKind) -> &'static str {
    match kind {
        MovementKind::Receipt => "Received",
        MovementKind::Issue => "Issued",
        MovementKind::Return => "Returned",
        MovementKind::Transfer => "Moved",
        MovementKind::Scrapping => "Scrapped for good",
        MovementKind::Reversal => "Reversed",
        MovementKind::Difference => "Counted",
    }
}

fn notes(shop: &Shop, movement: &Movement) -> Result<Vec<String>, Refusal> {
    let beware = stock::beware_of_movement(shop, movement)?;
    let of_these = beware.cautions.into_iter();
    let of_these = of_these.filter(|caution| OF_THESE_PLUGS.contains(&caution.code));
    let mut notes: Vec<String> = of_these.map(|caution| caution.text).collect();
    notes.extend(
        movement
            .gap_mm
            .map(|gap| format!("Gap set: {}.", figures::gap(gap))),
    );
    notes.extend(
        movement
            .reason
            .as_ref()
            .map(|reason| format!("Reason: {}.", reason.replace('_', " "))),
    );
    notes.extend(movement.note.as_ref().map(|note| format!("Note: {note}")));
    if movement.kind == MovementKind::Scrapping {
        let hours = i64::from(shop.policy().values.scrap_reversal_hours.value);
        let until = instant(movement.created_at + TimeDelta::hours(hours));
        notes.push(format!("What is scrap stays scrap; a slip of the scanner can be reversed by a manager until {until}."));
    }
    Ok(notes)
}

fn next(movement: &Movement) -> Vec<(String, String)> {
    let mut next: Vec<(String, String)> = Vec::new();
    next.extend(
        movement
            .build_id
            .map(|id| (format!("/?build={id}"), "Back to the match".into())),
    );
    next.extend(match movement.kind {
        MovementKind::Receipt => Some(("/receive".into(), "Receive more".into())),
        MovementKind::Issue => Some(("/issue".into(), "Issue more".into())),
        MovementKind::Scrapping => Some(("/scrap".into(), "Scrap more".into())),
        _ => None,
    });
    next.push(("/".into(), "Find plugs".into()));
    next
}
