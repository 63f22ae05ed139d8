//! How a count goes on or ends: opened again, called off, approved.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::ledger::counting::{Count, CountApproval, Counting};
use plugwell_domain::words::Role;
use serde_json::json;

use super::{Said, found, page};
use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{Visitor, sender};
use crate::pages::words::say;
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, counts};
use crate::shown::marked;

/// Opens a count again, or calls it off.
pub(super) async fn change(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (Visitor { actor, frame }, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, frame, move |shop, frame| {
        let count = found(shop, &id)?;
        let outcome = match Counting::check(json!({ "state": typed.one("state") })) {
            Ok(asked) => changed(shop, &actor, &count, &typed, &asked),
            Err(faults) => Err(Refusal::Faults(faults)),
        };
        match outcome {
            Ok(()) => Ok(Reply::Elsewhere(format!("/counts/{}", count.id))),
            Err(refusal) => refused(shop, frame, &actor, &count, &typed, refusal),
        }
    })
    .await
}

fn changed(
    shop: &Shop,
    actor: &Actor,
    count: &Count,
    typed: &Typed,
    asked: &Counting,
) -> Result<(), Refusal> {
    let policy = shop.policy();
    let expected = |version| as_seen(typed, version);
    shop.write(|session| {
        counts::change(session, &By::now(actor), &policy, count.id, expected, asked).map(drop)
    })
}

/// Whether the count is still as the page showed it.
fn as_seen(typed: &Typed, version: i64) -> Result<(), Refusal> {
    if typed.one("version") == version.to_string() {
        Ok(())
    } else {
        Err(Refusal::Stale)
    }
}

/// The page of the count with why it was not done.
fn refused(
    shop: &Shop,
    frame: Frame,
    actor: &Actor,
    count: &Count,
    typed: &Typed,
    refusal: Refusal,
) -> Result<Reply, Refusal> {
    let (said, status) = match refusal {
        Refusal::Stale => {
            let said = say("counter-count-has-changed-since-page");
            (said.to_owned(), StatusCode::CONFLICT)
        }
        Refusal::Conflict { detail, .. } => (detail, StatusCode::CONFLICT),
        Refusal::Faults(faults) => {
            let said: Vec<_> = faults
                .into_iter()
                .map(|fault| marked(fault.detail))
                .collect();
            (said.join("; "), StatusCode::BAD_REQUEST)
        }
        other => return Err(other),
    };
    let said = Said::wrong(said, status);
    // A count that was not changed may be approved under another key.
    let typed = typed.without(&["once"]);
    page(shop, frame, actor.role, count, &typed, said)
}

/// Books what a count found.
pub(super) async fn approve(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (Visitor { actor, frame }, typed) = match sender(&shop, &request, posted, Role::Manager) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let id = path.into_inner();
    made(&shop, frame, move |shop, frame| {
        let count = found(shop, &id)?;
        let asked = match typed.one("reason") {
            "" => json!({}),
            reason => json!({ "reason": reason }),
        };
        let outcome = match CountApproval::check(asked) {
            Ok(approval) => approved(shop, &actor, &count, &typed, &approval),
            Err(faults) => Err(Refusal::Faults(faults)),
        };
        match outcome {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(refusal) => refused(shop, frame, &actor, &count, &typed, refusal),
        }
    })
    .await
}

fn approved(
    shop: &Shop,
    actor: &Actor,
    count: &Count,
    typed: &Typed,
    approval: &CountApproval,
) -> Result<String, Refusal> {
    let there = format!("/counts/{}", count.id);
    once(actor, &format!("{there}/approval"), typed, |key| {
        let by = By::now(actor);
        let expected = |version| as_seen(typed, version);
        let done = shop.once(
            key,
            |s| counts::approve(s, &by, count.id, expected, approval),
            |_| leading_to(there.clone()),
        );
        done.map(|done| done.stored)
    })
}
