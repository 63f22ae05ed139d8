//! Who is told of events: the list, and a new one.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::event::{EventKind, WebhookData};
use plugwell_domain::words::Role;
use plugwell_store::WebhookSecret;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply};
use crate::pages::asking::{look, take};
use crate::pages::changing::told;
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::figures::happened;
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::words::{say, say_with};
use crate::service::webhooks::{self, Shown};
use crate::service::{Actor, Refusal, Shop, new_id};

/// Webhooks of a page.
const SHOWN: usize = 50;
/// Kinds of events that are named in a list.
const NAMED: usize = 2;
/// Where a new one is entered.
const NEW: &str = "/webhooks/new";

/// What the shop says of a webhook.
pub(super) const WEBHOOK: &[Declared] = &[
    needed(field("url", "records-url", Form::Words, "records-url-hint")),
    field("description", "records-what-it-is-for", Form::Words, ""),
    field(
        "types",
        "records-told-of",
        Form::Events,
        "records-told-of-hint",
    ),
];

#[derive(Template)]
#[template(path = "records/webhooks.html")]
struct List {
    frame: Frame,
    listing: Listing,
    removed: bool,
}

#[derive(Template)]
#[template(path = "records/new_webhook.html")]
struct New {
    frame: Frame,
    once: Uuid,
    fields: Vec<Field>,
    faults: Vec<Line>,
    focus: &'static str,
}

/// The page that shows a secret, this once.
#[derive(Template)]
#[template(path = "records/webhook_secret.html")]
struct Secret {
    frame: Frame,
    id: Uuid,
    url: String,
    secret: String,
    /// Whether another one is still good.
    is_further: bool,
}

/// Whether anything is sent, and why not.
pub(super) fn standing(shown: &Shown) -> (&'static str, &str) {
    match (shown.hook.enabled, &shown.hook.disabled_because) {
        (true, _) => (say("records-on"), ""),
        (false, Some(because)) => (say("records-off"), because),
        (false, None) => (say("records-off"), say("records-switched-off-by-a-manager")),
    }
}

/// What a webhook is told of, in short.
pub(super) fn told_of(types: Option<&[EventKind]>) -> String {
    match types {
        None => say("records-everything").to_owned(),
        Some(kinds) if kinds.len() <= NAMED => {
            let named = kinds.iter().copied().map(happened);
            named.collect::<Vec<_>>().join(", ")
        }
        Some(kinds) => say_with("records-so-many-kinds", &[("kinds", &kinds.len())]),
    }
}

/// The page at `/webhooks`.
pub(super) async fn list(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    look(shop, request, Role::Manager, |shop, frame, typed| {
        let page = List {
            frame,
            listing: listing(shop, typed)?,
            removed: !typed.one("removed").is_empty(),
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn listing(shop: &Shop, typed: &Typed) -> Result<Listing, Refusal> {
    let after = typed.one("after").parse().ok();
    let mut found = webhooks::list(shop, after, SHOWN as i64 + 1)?;
    let is_more = found.len() > SHOWN;
    found.truncate(SHOWN);
    let last = found.last().filter(|_| is_more);
    Ok(Listing {
        caption: say("records-who-is-told").into(),
        columns: vec![
            words("records-url"),
            words("records-told-of"),
            words("records-sending"),
            figures("records-waiting"),
            figures("records-dead"),
        ],
        rows: found.iter().map(row).collect(),
        empty: say("records-nobody-is-told"),
        more: last.map_or_else(String::new, |s| format!("/webhooks?after={}", s.hook.id)),
    })
}

fn row(shown: &Shown) -> Vec<Cell> {
    let (hook, (state, why)) = (&shown.hook, standing(shown));
    let here = format!("/webhooks/{}", hook.id);
    let dead = match shown.dead {
        0 => Cell::of(0),
        some => Cell::to(format!("{here}?state=dead"), some),
    };
    vec![
        Cell::to(here, &hook.data.url).noted(hook.data.description.clone().unwrap_or_default()),
        Cell::of(told_of(hook.data.types.as_deref())),
        Cell::of(state).noted(why),
        Cell::of(shown.waiting),
        dead,
    ]
}

fn new(shop: &Shop, frame: Frame, typed: &Typed, wrong: &[Wrong]) -> Result<New, Refusal> {
    let mut fields = form::all_shown(shop, WEBHOOK, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    Ok(New {
        frame,
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        fields,
        focus: first.unwrap_or("url"),
        faults,
    })
}

/// The form of a new one.
pub(super) async fn begin(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    look(shop, request, Role::Manager, |shop, frame, typed| {
        Reply::page(StatusCode::OK, &new(shop, frame, typed, &[])?)
    })
    .await
}

/// Enters one.
pub(super) async fn create(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    take(shop, request, posted, Role::Manager, entered).await
}

fn entered(shop: &Shop, frame: Frame, typed: &Typed, actor: &Actor) -> Result<Reply, Refusal> {
    let (map, mut wrong) = form::object(shop, WEBHOOK, typed)?;
    let entered = match WebhookData::check(Value::Object(map)) {
        Ok(data) if wrong.is_empty() => enter(shop, typed, actor, &data),
        checked => Err(Refusal::Faults(checked.err().unwrap_or_default())),
    };
    match entered {
        Ok((_, Some((shown, secret)))) => shown_once(frame, shown, secret),
        Ok((there, None)) => Ok(Reply::Elsewhere(there)),
        Err(refusal) => {
            let status = told(&mut wrong, refusal)?;
            Reply::page(status, &new(shop, frame, typed, &wrong)?)
        }
    }
}

/// Enters it once; where it is, and its secret the first time.
fn enter(
    shop: &Shop,
    typed: &Typed,
    actor: &Actor,
    data: &WebhookData,
) -> Result<(String, Option<(Shown, WebhookSecret)>), Refusal> {
    let mut fresh = None;
    let there = once(actor, NEW, typed, |key| {
        let done = webhooks::create_once(shop, key, actor, data, |shown| {
            leading_to(format!("/webhooks/{}", shown.hook.id))
        })?;
        fresh = done.fresh;
        Ok(done.stored)
    })?;
    Ok((there, fresh))
}

/// The page with a secret that was just made.
pub(super) fn shown_once(
    frame: Frame,
    shown: Shown,
    secret: WebhookSecret,
) -> Result<Reply, Refusal> {
    let page = Secret {
        frame,
        id: shown.hook.id,
        url: shown.hook.data.url,
        secret: secret.secret,
        is_further: shown.secrets.len() > 1,
    };
    Reply::page(StatusCode::OK, &page)
}
