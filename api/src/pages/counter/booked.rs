//! What was booked, repeated in large type.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::caution::CautionCode;
use plugwell_domain::ledger::{Movement, MovementKind, PlaceKind};
use plugwell_domain::words::Role;
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::LINE_OF;
use crate::pages::counter::acts::Act;
use crate::pages::figures::{self, instant};
use crate::pages::once::leading_to;
use crate::pages::part;
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::service::once::Stored;
use crate::service::stock::{self, Outcome};
use crate::service::{Refusal, Shop, catalogue, new_id, orders, stock_lists};
use crate::shown::marked;

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
    /// What the line at the top goes on with.
    on: Option<On>,
}

/// The act that goes on, and what its form knows already.
struct On {
    act: Act,
    once: Uuid,
    kept: Vec<(&'static str, String)>,
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
    let role = who.actor.role;
    made(&shop, who.frame, move |shop, frame| {
        Reply::page(StatusCode::OK, &page(shop, frame, &typed, role)?)
    })
    .await
}

fn page(shop: &Shop, frame: Frame, typed: &Typed, role: Role) -> Result<Page, Refusal> {
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
    let pair = first.pair_id;
    let is_own = |(m, _): &(&Movement, &Line)| m.kind == first.kind;
    let own: Vec<(&Movement, &Line)> = movements.iter().zip(&lines).filter(is_own).collect();
    // Of two halves the first tells where from, and the second where to.
    let from = own
        .iter()
        .filter(|(m, _)| pair.is_none() || m.id == first.id);
    let mut places: Vec<&str> = from.map(|(_, line)| line.from.as_str()).collect();
    places.dedup();
    let to = own.last().map_or("", |(_, line)| line.to.as_str());
    let plug = catalogue::get(shop, first.plug_id)?;
    let on = going_on(shop, first)?.filter(|on| role >= on.act.least());
    Ok(Page {
        frame: Frame {
            line_of: on.as_ref().map_or("", |_| LINE_OF),
            ..frame
        },
        on,
        again: !typed.one("again").is_empty(),
        verb: verb(first.kind),
        quantity: plugs(&movements.iter().collect::<Vec<_>>()),
        part: part::name(&plug),
        way: format!("{} → {to}", places.join(", ")),
        notes: notes(shop, &movements)?,
        next: next(first, role),
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

/// How many plugs an act was about: what followed from it, and the other half of what only makes sense
/// together, are the same plugs once more.
pub(in crate::pages) fn plugs(movements: &[&Movement]) -> i64 {
    let mut pairs = Vec::new();
    let mut sum = 0;
    for movement in movements {
        let is_first = match movement.pair_id {
            Some(pair) if pairs.contains(&pair) => false,
            Some(pair) => {
                pairs.push(pair);
                true
            }
            None => true,
        };
        if is_first && movements.first().is_some_and(|m| m.kind == movement.kind) {
            sum += movement.quantity;
        }
    }
    sum
}

/// What a movement did, in the past.
pub(in crate::pages) fn verb(kind: MovementKind) -> &'static str {
    match kind {
        MovementKind::Receipt => say("counter-received"),
        MovementKind::Issue => say("counter-issued"),
        MovementKind::Return => say("counter-returned"),
        MovementKind::Transfer => say("counter-moved"),
        MovementKind::Scrapping => say("counter-scrapped-for-good"),
        MovementKind::Reversal => say("counter-reversed"),
        MovementKind::Difference => say("counter-counted"),
    }
}

/// The act of a movement, and what the next of the same kind has in common with it.
fn going_on(shop: &Shop, movement: &Movement) -> Result<Option<On>, Refusal> {
    let mut kept = Vec::new();
    let act = match movement.kind {
        MovementKind::Receipt => {
            let supplier = stock_lists::place(shop, movement.from_place_id)?;
            kept.push(("supplier", supplier.name));
            Act::Receive
        }
        MovementKind::Issue => {
            kept.extend(movement.job.clone().map(|job| ("job", job)));
            kept.extend(movement.build_id.map(|id| ("build", id.to_string())));
            Act::Issue
        }
        MovementKind::Return => {
            kept.extend(movement.job.clone().map(|job| ("job", job)));
            Act::Return
        }
        MovementKind::Transfer => Act::Move,
        MovementKind::Scrapping if movement.answers.is_some() => {
            kept.extend(movement.job.clone().map(|job| ("job", job)));
            Act::Return
        }
        MovementKind::Scrapping => Act::Scrap,
        MovementKind::Reversal | MovementKind::Difference => return Ok(None),
    };
    Ok(Some(On {
        act,
        once: new_id(),
        kept,
    }))
}

fn notes(shop: &Shop, movements: &[Movement]) -> Result<Vec<String>, Refusal> {
    let Some(movement) = movements.first() else {
        return Ok(Vec::new());
    };
    let beware = stock::beware_of_movement(shop, movement)?;
    let of_these = beware.cautions.into_iter();
    let of_these = of_these.filter(|caution| OF_THESE_PLUGS.contains(&caution.code));
    let mut notes: Vec<String> = of_these.map(|caution| marked(caution.text)).collect();
    notes.extend(delivery(shop, movement)?);
    notes.extend(new_supplier(shop, movement)?);
    notes.extend(still_kept(shop, movement)?);
    notes.extend(
        movement
            .gap_mm
            .map(|gap| say_with("counter-gap-set-gap", &[("gap", &figures::gap(gap))])),
    );
    notes.extend(movement.reason.as_ref().map(|reason| {
        say_with(
            "counter-reason-reason",
            &[("reason", &reason.replace('_', " "))],
        )
    }));
    notes.extend(
        movement
            .note
            .as_ref()
            .map(|note| say_with("counter-note-note", &[("note", &note)])),
    );
    if movement.kind == MovementKind::Scrapping {
        let until = instant(reversible_until(shop, movement));
        notes.push(say_with(
            "counter-scrap-stays-scrap-slip-scanner",
            &[("until", &until)],
        ));
    }
    for movement in movements[1..].iter().filter(|m| m.kind != movement.kind) {
        let to = stock_lists::place(shop, movement.to_place_id)?;
        if to.kind == PlaceKind::Quarantine {
            notes.push(say_with(
                "counter-lot-waits-quarantine-manager-decision",
                &[("quantity", &movement.quantity), ("name", &to.name)],
            ));
        }
    }
    Ok(notes)
}

/// A supplier that came to be with this receipt.
fn new_supplier(shop: &Shop, movement: &Movement) -> Result<Option<String>, Refusal> {
    if movement.kind != MovementKind::Receipt {
        return Ok(None);
    }
    let from = stock_lists::place(shop, movement.from_place_id)?;
    let is_new = from.kind == PlaceKind::Supplier && from.created_at == movement.created_at;
    Ok(is_new.then(|| say_with("counter-supplier-is-new", &[("name", &from.name)])))
}

/// What is kept of the part for the job that plugs went to, all the same.
fn still_kept(shop: &Shop, movement: &Movement) -> Result<Option<String>, Refusal> {
    let job = movement.job.as_deref();
    let Some(job) = job.filter(|_| movement.kind == MovementKind::Issue) else {
        return Ok(None);
    };
    let kept = part::open_reservations(shop, movement.plug_id)?;
    let own = kept.iter().filter(|r| r.job.eq_ignore_ascii_case(job));
    let plugs: i64 = own.map(|r| r.open_quantity).sum();
    Ok((plugs > 0).then(|| {
        say_with(
            "counter-still-kept-for-job",
            &[("plugs", &plugs), ("job", &job)],
        )
    }))
}

/// Until when a manager can reverse a scrapping.
pub(in crate::pages) fn reversible_until(shop: &Shop, movement: &Movement) -> DateTime<Utc> {
    let hours = i64::from(shop.policy().values.scrap_reversal_hours.value);
    movement.created_at + TimeDelta::hours(hours)
}

/// How the line of an order stands now that a receipt has come in for it.
fn delivery(shop: &Shop, movement: &Movement) -> Result<Option<String>, Refusal> {
    if movement.kind != MovementKind::Receipt {
        return Ok(None);
    }
    let Some(line_id) = stock_lists::lot(shop, movement.lot_id)?.order_line_id else {
        return Ok(None);
    };
    let order = orders::of_line(shop, line_id)?;
    let Some(line) = order.line(line_id) else {
        return Ok(None);
    };
    let stands = match (line.missing, line.too_many) {
        (0, 0) => say("counter-all-of-it-is-in").to_owned(),
        (0, more) => say_with("counter-more-came-than-ordered", &[("more", &more)]),
        (missing, _) => say_with(
            "counter-missing-are-still-to-come",
            &[("missing", &missing)],
        ),
    };
    Ok(Some(say_with(
        "counter-order-code-quantity-ordered-received",
        &[
            ("code", &order.code),
            ("quantity", &line.quantity),
            ("received", &line.received),
            ("stands", &stands),
        ],
    )))
}

fn next(movement: &Movement, role: Role) -> Vec<(String, String)> {
    let mut next: Vec<(String, String)> = Vec::new();
    next.extend(movement.build_id.map(|id| {
        (
            format!("/?build={id}"),
            say("counter-back-to-the-match").into(),
        )
    }));
    let lot = movement.lot_id;
    match movement.kind {
        MovementKind::Receipt => {
            next.push(("/receive".into(), say("counter-receive-more").into()));
            next.push((
                format!("/labels/sheet?lots={lot}"),
                say("counter-print-the-lot-label").into(),
            ));
            if role >= Role::Clerk {
                let check = format!("/incoming-check?lot_id={lot}");
                next.push((check, say("counter-check-a-sample").into()));
            }
        }
        MovementKind::Issue => next.push(("/issue".into(), say("counter-issue-more").into())),
        // What came back dropped is scrap, and a return all the same.
        MovementKind::Scrapping if movement.answers.is_some() => {
            next.push(("/return".into(), say("counter-take-more-back").into()));
        }
        MovementKind::Scrapping => next.push(("/scrap".into(), say("counter-scrap-more").into())),
        MovementKind::Return => next.push(("/return".into(), say("counter-take-more-back").into())),
        MovementKind::Transfer => next.push(("/move".into(), say("counter-move-more").into())),
        MovementKind::Reversal | MovementKind::Difference => {}
    }
    if movement.kind != MovementKind::Receipt && movement.job.is_some() {
        let job = [movement.to_place_id, movement.from_place_id];
        let job = job[usize::from(movement.kind != MovementKind::Issue)];
        next.push((format!("/jobs/{job}"), say("counter-the-job").into()));
    }
    next.push(("/".into(), say("counter-find-plugs").into()));
    next
}
