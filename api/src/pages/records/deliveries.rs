//! What came of a webhook: its deliveries, what one of them met with, and sending it again.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use plugwell_store::{Attempt, DeliveryState};
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply};
use crate::pages::asking::{look, take};
use crate::pages::figures::{happened, instant};
use crate::pages::form::{Declared, Form, field};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::records::webhook::id;
use crate::pages::typed::{Posted, Typed};
use crate::pages::words::{say, say_with};
use crate::service::webhooks::deliveries::{self, Logged};
use crate::service::webhooks::{self, Shown};
use crate::service::{Actor, Refusal, Shop, new_id};

/// Deliveries of a page.
const SHOWN: usize = 50;

/// What the log is narrowed by.
pub(super) const NARROW: &[Declared] = &[field(
    "state",
    "records-state",
    Form::One(&[
        DeliveryState::Waiting.word(),
        DeliveryState::Delivered.word(),
        DeliveryState::Dead.word(),
    ]),
    "",
)];

#[derive(Template)]
#[template(path = "records/delivery.html")]
struct Page {
    frame: Frame,
    webhook: Uuid,
    url: String,
    delivery: Uuid,
    event: Uuid,
    happened: String,
    subject: String,
    state: &'static str,
    made: String,
    /// When it came to an end, or what is to come.
    ended: Option<String>,
    next: String,
    attempts: Listing,
    /// What can be done, where it waits for nothing.
    send: &'static str,
    is_dead: bool,
    once: Uuid,
    sent: bool,
    again: bool,
}

/// The deliveries of a webhook, the newest first.
pub(super) fn log(shop: &Shop, shown: &Shown, typed: &Typed) -> Result<Listing, Refusal> {
    let (hook, state) = (
        &shown.hook,
        typed.one("state").parse::<DeliveryState>().ok(),
    );
    let before = typed.one("after").parse().ok();
    let mut found = deliveries::list(shop, hook.id, state, before, SHOWN as i64 + 1)?;
    let is_more = found.len() > SHOWN;
    found.truncate(SHOWN);
    let kept = state.map_or_else(String::new, |state| format!("&state={}", state.word()));
    let last = found.last().filter(|_| is_more);
    Ok(Listing {
        caption: say("records-deliveries-the-newest-first").into(),
        columns: vec![
            words("records-event"),
            words("records-made-out"),
            words("records-state"),
            figures("records-attempts"),
            words("records-last-answer"),
            words("records-next-attempt"),
        ],
        rows: found.iter().map(|logged| row(shown, logged)).collect(),
        empty: match state {
            None => say("records-nothing-has-been-told"),
            Some(_) => say("records-no-delivery-stands-so"),
        },
        more: last.map_or_else(String::new, |last| {
            let after = last.delivery.id;
            format!("/webhooks/{}?after={after}{kept}", hook.id)
        }),
    })
}

fn row(shown: &Shown, logged: &Logged) -> Vec<Cell> {
    let delivery = &logged.delivery;
    let there = format!("/webhooks/{}/deliveries/{}", shown.hook.id, delivery.id);
    let note = match delivery.state {
        DeliveryState::Dead => say("records-can-be-sent-again"),
        DeliveryState::Waiting | DeliveryState::Delivered => "",
    };
    vec![
        Cell::to(there, happened(delivery.kind)).noted(delivery.subject.clone()),
        Cell::of(instant(delivery.created_at)),
        Cell::of(delivery.state.word()).noted(note),
        Cell::of(logged.attempts.len()),
        Cell::of(logged.attempts.last().map_or_else(String::new, answer)),
        Cell::of(next(shown, logged)),
    ]
}

/// What an attempt met with.
fn answer(attempt: &Attempt) -> String {
    match (&attempt.failure, attempt.status) {
        (Some(failure), _) => failure.clone(),
        (None, Some(status)) => {
            say_with("records-answered-with", &[("status", &status.to_string())])
        }
        (None, None) => String::new(),
    }
}

/// When it is tried next; empty where nothing more is tried.
fn next(shown: &Shown, logged: &Logged) -> String {
    match (logged.delivery.state, shown.hook.enabled) {
        (DeliveryState::Waiting, true) => instant(logged.delivery.due_at),
        (DeliveryState::Waiting, false) => say("records-once-it-is-on-again").to_owned(),
        (DeliveryState::Delivered | DeliveryState::Dead, _) => String::new(),
    }
}

fn attempts(logged: &Logged) -> Listing {
    let row = |attempt: &Attempt| {
        vec![
            Cell::of(attempt.number),
            Cell::of(instant(attempt.at)),
            Cell::of(answer(attempt)),
            Cell::of(attempt.took_ms),
            Cell::of(attempt.next_at.map_or_else(String::new, instant)),
        ]
    };
    Listing {
        caption: say("records-what-came-of-each-attempt").into(),
        columns: vec![
            figures("records-attempt"),
            words("records-begun"),
            words("records-answer"),
            figures("records-took-ms"),
            words("records-next-attempt"),
        ],
        rows: logged.attempts.iter().map(row).collect(),
        empty: say("records-it-has-not-been-tried"),
        more: String::new(),
    }
}

/// A webhook and the delivery that a path names.
fn named(shop: &Shop, (hook, delivery): &(String, String)) -> Result<(Shown, Logged), Refusal> {
    let gone = |_| Refusal::NotFound(say("records-delivery-of-this-webhook"));
    let shown = webhooks::get(shop, id(hook)?)?;
    let logged = deliveries::get(shop, shown.hook.id, delivery.parse::<Uuid>().map_err(gone)?)?;
    Ok((shown, logged))
}

/// The page at `/webhooks/{id}/deliveries/{delivery_id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<(String, String)>,
) -> HttpResponse {
    look(shop, request, Role::Manager, move |shop, frame, typed| {
        let (shown, logged) = named(shop, &path)?;
        let delivery = &logged.delivery;
        let page = Page {
            frame,
            webhook: shown.hook.id,
            delivery: delivery.id,
            event: delivery.event_id,
            happened: happened(delivery.kind),
            subject: delivery.subject.clone(),
            state: delivery.state.word(),
            made: instant(delivery.created_at),
            ended: delivery.ended_at.map(instant),
            next: next(&shown, &logged),
            attempts: attempts(&logged),
            send: match delivery.state {
                DeliveryState::Waiting => "",
                DeliveryState::Delivered => say("records-send-it-once-more"),
                DeliveryState::Dead => say("records-send-it-again"),
            },
            is_dead: delivery.state == DeliveryState::Dead,
            once: new_id(),
            sent: !typed.one("sent").is_empty(),
            again: !typed.one("again").is_empty(),
            url: shown.hook.data.url,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// Sends it again.
pub(super) async fn resend(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<(String, String)>,
    posted: Posted,
) -> HttpResponse {
    let send = move |shop: &Shop, _: Frame, typed: &Typed, actor: &Actor| {
        let (shown, logged) = named(shop, &path)?;
        let (hook, delivery) = (shown.hook.id, logged.delivery.id);
        let here = format!("/webhooks/{hook}/deliveries/{delivery}");
        let there = once(actor, &here, typed, |key| {
            let there = || leading_to(format!("{here}?sent=yes"));
            let done = deliveries::resend_once(shop, key, hook, delivery, there);
            done.map(|done| done.stored)
        });
        there.map(Reply::Elsewhere)
    };
    take(shop, request, posted, Role::Manager, send).await
}
