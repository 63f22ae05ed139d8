//! One movement: what it did, what it puts right or was put right by, and reversing it.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::ledger::commands::Reversal;
use plugwell_domain::ledger::{Movement, MovementKind, PlaceKind};
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::counter::booked::{self, reversible_until, verb};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::figures::{gap, instant};
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::once::once;
use crate::pages::part;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::service::stock::{self, By};
use crate::service::{Actor, Refusal, Shop, catalogue, new_id, now, stock_lists};

const REVERSAL: &[Declared] = &[needed(field(
    "reason",
    "counter-what-was-wrong-with-it",
    Form::Words,
    "counter-what-was-wrong-with-it-hint",
))];

/// Puts the page into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config.service(super::super::form("/movements/{id}", show, reverse));
}

#[derive(Template)]
#[template(path = "counter/movement.html")]
struct Page {
    frame: Frame,
    id: Uuid,
    verb: &'static str,
    part: (String, String),
    quantity: i64,
    /// What it did: name, words, path where one can go.
    facts: Vec<(&'static str, String, String)>,
    /// Whether whoever looks may put it right.
    may_reverse: bool,
    /// Why it cannot be put right from here; empty where it can.
    stands: String,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
    once: Uuid,
}

async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let movement = found(shop, &id)?;
        let page = page(
            shop,
            frame,
            who.actor.role,
            &movement,
            &Typed::default(),
            &[],
        )?;
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn found(shop: &Shop, id: &str) -> Result<Movement, Refusal> {
    let id: Uuid = id.parse().map_err(|_| Refusal::NotFound("movement"))?;
    stock_lists::movement(shop, id)
}

fn page(
    shop: &Shop,
    frame: Frame,
    role: Role,
    movement: &Movement,
    typed: &Typed,
    wrong: &[Wrong],
) -> Result<Page, Refusal> {
    let mut fields = form::all_shown(shop, REVERSAL, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let stands = stands(shop, role, movement)?;
    let plug = catalogue::get(shop, movement.plug_id)?;
    Ok(Page {
        frame,
        id: movement.id,
        verb: verb(movement.kind),
        part: (format!("/parts/{}", plug.id), part::name(&plug)),
        quantity: movement.quantity,
        facts: facts(shop, movement)?,
        may_reverse: stands.is_empty(),
        stands,
        fields,
        focus: first_wrong.unwrap_or_default(),
        faults,
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
    })
}

/// Why a movement cannot be put right by a role, or not any more; empty where it can.
fn stands(shop: &Shop, role: Role, movement: &Movement) -> Result<String, Refusal> {
    if stock_lists::reversal_of(shop, movement.id)?.is_some() {
        return Ok(say("counter-it-has-been-put-right").into());
    }
    Ok(match movement.kind {
        MovementKind::Reversal => say("counter-reversal-stands-book-right-anew").into(),
        MovementKind::Scrapping => {
            let until = reversible_until(shop, movement);
            if now() > until {
                say_with(
                    "counter-scrap-stays-scrap-slip-could",
                    &[("until", &instant(until))],
                )
            } else if role < Role::Manager {
                say_with(
                    "counter-slip-scanner-can-reversed-manager",
                    &[("until", &instant(until))],
                )
            } else {
                String::new()
            }
        }
        MovementKind::Difference if role < Role::Manager => {
            say("counter-count-booked-reversed-manager").into()
        }
        _ if role < Role::Clerk => say("counter-clerk-can-put-right").into(),
        _ => String::new(),
    })
}

fn facts(shop: &Shop, movement: &Movement) -> Result<Vec<(&'static str, String, String)>, Refusal> {
    let mut facts = Vec::new();
    let lot = stock_lists::lot(shop, movement.lot_id)?;
    facts.push((say("counter-lot"), lot.code, format!("/lots/{}", lot.id)));
    for (name, id) in [
        (say("counter-from"), movement.from_place_id),
        (say("counter-to"), movement.to_place_id),
    ] {
        let place = stock_lists::place(shop, id)?;
        let path = match place.kind {
            PlaceKind::Job => format!("/jobs/{id}"),
            PlaceKind::Supplier => format!("/suppliers/{id}"),
            _ => format!("/places/{id}"),
        };
        facts.push((name, format!("{} ({})", place.name, place.kind), path));
    }
    let mut told = |name, words: Option<String>| {
        facts.extend(words.map(|words| (name, words, String::new())));
    };
    told(
        say("counter-reason"),
        movement.reason.as_ref().map(|r| r.replace('_', " ")),
    );
    told(say("counter-note"), movement.note.clone());
    told(say("counter-dropped-by"), movement.dropped_by.clone());
    told(say("counter-gap-set"), movement.gap_mm.map(gap));
    told(
        say("counter-odometer"),
        movement.odometer_km.map(|km| format!("{km} km")),
    );
    told(
        say("counter-done-by"),
        Some(format!(
            "{}, {}",
            movement.actor,
            instant(movement.created_at)
        )),
    );
    let mut lead = |name, words: &str, path: Option<String>| {
        facts.extend(path.map(|path| (name, words.to_owned(), path)));
    };
    let movement_at = |id: Uuid| format!("/movements/{id}");
    lead(
        say("counter-for"),
        say("counter-the-build"),
        movement.build_id.map(|id| format!("/builds/{id}")),
    );
    lead(
        say("counter-answers"),
        say("counter-the-issue"),
        movement.answers.map(movement_at),
    );
    lead(
        say("counter-puts-right"),
        say("counter-this-movement"),
        movement.reverses.map(movement_at),
    );
    lead(
        say("counter-put-right-by"),
        say("counter-this-reversal"),
        stock_lists::reversal_of(shop, movement.id)?.map(movement_at),
    );
    Ok(facts)
}

async fn reverse(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, &who.actor, frame, &found(shop, &id)?, &typed)
    })
    .await
}

fn answer(
    shop: &Shop,
    actor: &Actor,
    frame: Frame,
    movement: &Movement,
    typed: &Typed,
) -> Result<Reply, Refusal> {
    let (mut map, mut wrong) = form::object(shop, REVERSAL, typed)?;
    map.insert("movement_id".into(), movement.id.to_string().into());
    let outcome = match Reversal::check(Value::Object(map)) {
        Ok(reversal) if wrong.is_empty() => run(shop, actor, &reversal, typed),
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
    let page = page(shop, frame, actor.role, movement, typed, &wrong)?;
    Reply::page(status, &page)
}

fn run(shop: &Shop, actor: &Actor, reversal: &Reversal, typed: &Typed) -> Result<String, Refusal> {
    let policy = shop.policy();
    let path = format!("/movements/{}", reversal.movement_id);
    once(actor, &path, typed, |key| {
        let by = By::now(actor);
        let done = shop.once(
            key,
            |s| stock::reverse(s, &by, &policy, reversal),
            booked::kept,
        );
        done.map(|done| done.stored)
    })
}
