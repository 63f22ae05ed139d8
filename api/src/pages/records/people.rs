//! People and programs: who has a token, and a new one.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::http::tokens::NewToken;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::figures::day;
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::listing::{Cell, Listing, words};
use crate::pages::once::{leading_to, once};
use crate::pages::records::badge::Badge;
use crate::pages::records::roles::{Deeds, deeds};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::say;
use crate::service::{Actor, Refusal, Shop, access, new_id};

const TOKEN: &[Declared] = &[
    needed(field(
        "name",
        "records-name",
        Form::Words,
        "records-name-hint",
    )),
    needed(field(
        "role",
        "records-role",
        Form::One(Role::WORDS),
        "records-role-hint",
    )),
];

#[derive(Template)]
#[template(path = "records/people.html")]
struct Page {
    frame: Frame,
    listing: Listing,
    once: Uuid,
    fields: Vec<Field>,
    faults: Vec<Line>,
    focus: &'static str,
    roles: Vec<Deeds>,
    revoked: bool,
}

#[derive(Template)]
#[template(path = "records/made_token.html")]
struct Made {
    frame: Frame,
    badge: Badge,
}

fn page(
    shop: &Shop,
    actor: &Actor,
    frame: Frame,
    typed: &Typed,
    wrong: &[Wrong],
) -> Result<Page, Refusal> {
    let mut fields = form::all_shown(shop, TOKEN, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let rows = access::list(shop, None, i64::MAX)?
        .into_iter()
        .map(|token| {
            let yours = if token.id == actor.token_id {
                say("records-yours")
            } else {
                ""
            };
            vec![
                Cell::to(format!("/people/{}", token.id), &token.name).noted(yours),
                Cell::of(token.role),
                Cell::of(day(token.created_at)),
            ]
        });
    Ok(Page {
        frame,
        listing: Listing {
            caption: say("records-tokens-that-are-good").into(),
            columns: vec![
                words("records-name"),
                words("records-role"),
                words("records-made"),
            ],
            rows: rows.collect(),
            ..Listing::default()
        },
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        fields,
        focus: first.unwrap_or_default(),
        faults,
        roles: deeds(),
        revoked: !typed.one("revoked").is_empty(),
    })
}

/// The page at `/people`.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Manager) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let page = page(shop, &who.actor, frame, &typed, &[])?;
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// Makes a token.
pub(super) async fn make(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Manager) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        token_made(shop, &who.actor, frame, &typed)
    })
    .await
}

fn token_made(shop: &Shop, actor: &Actor, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (map, mut wrong) = form::object(shop, TOKEN, typed)?;
    let body = match NewToken::check(Value::Object(map)) {
        Ok(body) if wrong.is_empty() => body,
        checked => {
            add(&mut wrong, &checked.err().unwrap_or_default());
            let page = page(shop, actor, frame, typed, &wrong)?;
            return Reply::page(StatusCode::BAD_REQUEST, &page);
        }
    };
    let mut fresh = None;
    let there = once(actor, "/people", typed, |key| {
        let done = access::create_once(shop, key, &body.name, body.role, |token| {
            leading_to(format!("/people/{}", token.id))
        })?;
        fresh = done.fresh;
        Ok(done.stored)
    })?;
    match fresh {
        Some(shown) => {
            let badge = Badge::of(&shown);
            Reply::page(StatusCode::OK, &Made { frame, badge })
        }
        None => Ok(Reply::Elsewhere(there)),
    }
}
