//! A number that nobody knows is attached to a part, so that the next scan of it is understood.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::scan::barcode::BarcodeData;
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::typed::{Posted, Typed, encoded};
use crate::pages::visitor::{sender, visitor};
use crate::service::{Actor, Refusal, Shop, barcodes};

const ATTACH: &[Declared] = &[
    needed(field(
        "code",
        "counter-barcode",
        Form::Words,
        "counter-barcode-hint",
    )),
    needed(field(
        "plug",
        "counter-part",
        Form::Part,
        "counter-part-hint-2",
    )),
    field(
        "plugs",
        "counter-plugs-box-carton-bears",
        Form::Counted(""),
        "counter-plugs-box-carton-bears-hint",
    ),
];

/// Puts the page into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config.service(super::super::form("/barcodes/new", begin, attach));
}

#[derive(Template)]
#[template(path = "counter/barcode.html")]
struct Page {
    frame: Frame,
    code: String,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
}

async fn begin(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Clerk) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        Reply::page(StatusCode::OK, &page(shop, frame, &typed, &[])?)
    })
    .await
}

fn page(shop: &Shop, frame: Frame, typed: &Typed, wrong: &[Wrong]) -> Result<Page, Refusal> {
    let mut fields = form::all_shown(shop, ATTACH, typed)?;
    let faults = put(wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let first_wrong = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    Ok(Page {
        frame,
        code: typed.one("code").to_owned(),
        focus: first_wrong.unwrap_or("plug"),
        fields,
        faults,
    })
}

async fn attach(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Clerk) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, &who.actor, frame, &typed)
    })
    .await
}

fn answer(shop: &Shop, actor: &Actor, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (mut map, mut wrong) = form::object(shop, ATTACH, typed)?;
    let plug_id = map
        .remove("plug_id")
        .and_then(|id| id.as_str()?.parse::<Uuid>().ok());
    let outcome = match (BarcodeData::check(Value::Object(map)), plug_id) {
        (Ok(data), Some(plug_id)) if wrong.is_empty() => {
            attached(shop, plug_id, &data, &actor.name)
        }
        (Ok(_), _) => Err(Refusal::Faults(Vec::new())),
        (Err(faults), _) => Err(Refusal::Faults(faults)),
    };
    let status = match outcome {
        Ok(()) => {
            // As if it had been scanned: the receipt goes on with it.
            let code = encoded(typed.one("code"));
            return Ok(Reply::Elsewhere(format!("/receive?scan={code}")));
        }
        Err(Refusal::Faults(faults)) => {
            add(&mut wrong, &faults);
            StatusCode::BAD_REQUEST
        }
        Err(Refusal::Conflict { detail, .. }) => {
            wrong.push(Wrong::with("code", detail));
            StatusCode::CONFLICT
        }
        Err(other) => return Err(other),
    };
    Reply::page(status, &page(shop, frame, typed, &wrong)?)
}

/// Attaches it; a form that is sent twice finds it attached to the very part, which is as well.
fn attached(shop: &Shop, plug_id: Uuid, data: &BarcodeData, by: &str) -> Result<(), Refusal> {
    match barcodes::attach(shop, plug_id, data, by) {
        Ok(_) => Ok(()),
        Err(refusal @ Refusal::Conflict { .. }) => {
            let standing = barcodes::list(shop, plug_id, None, 200)?;
            let is_it = |one: &plugwell_domain::scan::barcode::Barcode| one.data == *data;
            let known = standing.iter().any(is_it);
            if known { Ok(()) } else { Err(refusal) }
        }
        Err(other) => Err(other),
    }
}
