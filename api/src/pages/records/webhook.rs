//! One webhook: what it is told of and what came of it, its secrets, switching it off, removing it.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::event::{DECLARED, EventKind, WebhookData};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::words::Role;
use serde_json::{Map, Value, json};
use uuid::Uuid;

use crate::http::body::{Body, Patch};
use crate::pages::answer::{Frame, Reply};
use crate::pages::asking::{look, take};
use crate::pages::changing::{Changing, meant_for, version};
use crate::pages::field::Field;
use crate::pages::figures::{happened, instant};
use crate::pages::form;
use crate::pages::listing::Listing;
use crate::pages::once::{leading_to, once};
use crate::pages::records::deliveries::{NARROW, log};
use crate::pages::records::webhooks::{WEBHOOK, shown_once, standing, told_of};
use crate::pages::typed::{Posted, Typed};
use crate::pages::words::say;
use crate::service::webhooks::{self, Shown, secrets};
use crate::service::{Actor, Refusal, Shop, new_id};

#[derive(Template)]
#[template(path = "records/webhook.html")]
struct Page {
    frame: Frame,
    shown: Shown,
    /// Why nothing is sent; empty where something is.
    off: String,
    made: String,
    /// What it is told of, in short.
    told: String,
    /// The kinds of events that it is told of; none where it is told of all.
    kinds: Vec<(String, &'static str)>,
    /// What was just done, and whether a form had done it before.
    done: &'static str,
    again: bool,
    narrow: Vec<Field>,
    focus: &'static str,
    listing: Listing,
    secrets: Vec<Secret>,
    /// Whether it may have one more.
    may_add: bool,
    adding: Uuid,
    removing: Uuid,
}

/// A secret, as far as it is shown.
struct Secret {
    id: Uuid,
    made: String,
    /// The key of the form that retires it.
    once: Uuid,
}

/// The identifier in a path.
pub(super) fn id(text: &str) -> Result<Uuid, Refusal> {
    text.parse().map_err(|_| Refusal::NotFound("webhook"))
}

/// The page at `/webhooks/{id}`.
pub(super) async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Manager, move |shop, frame, typed| {
        let shown = webhooks::get(shop, id(&path)?)?;
        Reply::page(StatusCode::OK, &page(shop, frame, shown, typed)?)
    })
    .await
}

fn page(shop: &Shop, frame: Frame, shown: Shown, typed: &Typed) -> Result<Page, Refusal> {
    let kept = shown.secrets.iter().map(|(id, made)| Secret {
        id: *id,
        made: instant(*made),
        once: new_id(),
    });
    let kinds = shown.hook.data.types.iter().flatten();
    Ok(Page {
        off: standing(&shown).1.to_owned(),
        made: instant(shown.hook.created_at),
        told: told_of(shown.hook.data.types.as_deref()),
        kinds: kinds
            .map(|kind| (happened(*kind), kind.declared().says))
            .collect(),
        done: match typed.one("done") {
            "on" => say("records-it-is-told-again"),
            "off" => say("records-it-is-told-nothing-more"),
            "retired" => say("records-the-secret-is-retired"),
            _ => "",
        },
        again: !typed.one("again").is_empty(),
        narrow: form::all_shown(shop, NARROW, typed)?,
        focus: "",
        listing: log(shop, &shown, typed)?,
        secrets: kept.collect(),
        may_add: shown.secrets.len() < secrets::MOST,
        adding: new_id(),
        removing: new_id(),
        frame,
        shown,
    })
}

fn changing(shown: &Shown) -> Changing {
    let (hook, here) = (&shown.hook, format!("/webhooks/{}", shown.hook.id));
    // As the form has them, so that one that is sent as it stands changes nothing.
    let types = hook.data.types.as_ref().map(|own| {
        let kinds = DECLARED.iter().map(|declared| declared.kind);
        kinds
            .filter(|kind| own.contains(kind))
            .collect::<Vec<EventKind>>()
    });
    Changing {
        heading: say("records-change-the-webhook").to_owned(),
        note: say("records-what-waits-goes-there"),
        action: format!("{here}/change"),
        back: here,
        declared: WEBHOOK,
        record: json!({ "url": hook.data.url, "description": hook.data.description, "types": types }),
        version: hook.version,
    }
}

/// The form that changes it.
pub(super) async fn old(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Manager, move |shop, frame, _| {
        changing(&webhooks::get(shop, id(&path)?)?).begin(shop, frame)
    })
    .await
}

/// Changes it.
pub(super) async fn change(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let send = move |shop: &Shop, frame: Frame, typed: &Typed, _: &Actor| {
        let shown = webhooks::get(shop, id(&path)?)?;
        changing(&shown).send(shop, frame, typed, |patch, version| {
            let patch = Patch::<WebhookData>::check(Value::Object(patch.clone()))
                .map_err(Refusal::Faults)?;
            let meant = meant_for(version);
            webhooks::patch(shop, shown.hook.id, meant, &patch.members).map(drop)
        })
    };
    take(shop, request, posted, Role::Manager, send).await
}

/// Switches it off, or on again.
pub(super) async fn switch(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let send = move |shop: &Shop, _: Frame, typed: &Typed, _: &Actor| {
        let (id, word) = (id(&path)?, typed.one("turn"));
        let wanted = match word {
            "on" => true,
            "off" => false,
            _ => {
                let detail = say("records-on-or-off");
                return Err(Refusal::fault(Fault::at("", FaultCode::Missing, detail)));
            }
        };
        // One that stands so already was switched by the first of two clicks.
        if webhooks::get(shop, id)?.hook.enabled != wanted {
            let patch = Map::from_iter([("enabled".to_owned(), wanted.into())]);
            webhooks::patch(shop, id, meant_for(version(typed)), &patch)?;
        }
        Ok(Reply::Elsewhere(format!("/webhooks/{id}?done={word}")))
    };
    take(shop, request, posted, Role::Manager, send).await
}

/// Adds a secret, and shows it.
pub(super) async fn add_secret(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let send = move |shop: &Shop, frame: Frame, typed: &Typed, actor: &Actor| {
        let (id, mut fresh) = (id(&path)?, None);
        let here = format!("/webhooks/{id}");
        let there = once(actor, &format!("{here}/secrets"), typed, |key| {
            let done = secrets::add_once(shop, key, id, |_| leading_to(here.clone()))?;
            fresh = done.fresh;
            Ok(done.stored)
        })?;
        match fresh {
            Some((shown, secret)) => shown_once(frame, shown, secret),
            None => Ok(Reply::Elsewhere(there)),
        }
    };
    take(shop, request, posted, Role::Manager, send).await
}

/// Retires a secret.
pub(super) async fn retire_secret(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let send = move |shop: &Shop, _: Frame, typed: &Typed, actor: &Actor| {
        let (id, secret) = (id(&path)?, typed.one("secret_id").parse::<Uuid>());
        let gone = |_| Refusal::NotFound(say("records-secret-of-this-webhook"));
        let own = (id, secret.map_err(gone)?);
        let meant = meant_for(version(typed));
        let there = once(actor, &format!("/webhooks/{id}/retirement"), typed, |key| {
            let there = || leading_to(format!("/webhooks/{id}?done=retired"));
            let done = secrets::remove_once(shop, key, own, &meant, there);
            done.map(|done| done.stored)
        });
        there.map(Reply::Elsewhere)
    };
    take(shop, request, posted, Role::Manager, send).await
}

/// Removes it with all that is on its way.
pub(super) async fn remove(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let send = move |shop: &Shop, _: Frame, typed: &Typed, actor: &Actor| {
        let id = id(&path)?;
        let meant = meant_for(version(typed));
        let there = once(actor, &format!("/webhooks/{id}/removal"), typed, |key| {
            let there = || leading_to("/webhooks?removed=yes".to_owned());
            let done = webhooks::remove_once(shop, key, id, &meant, there);
            done.map(|done| done.stored)
        });
        there.map(Reply::Elsewhere)
    };
    take(shop, request, posted, Role::Manager, send).await
}
