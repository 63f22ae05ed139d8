//! New records of parts, changes of old ones, and taking one away that nothing has used.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::words::Role;
use serde_json::Value;

use crate::http::body::{Body, Patch};
use crate::pages::answer::{Frame, Reply};
use crate::pages::changing::{meant_for, told, version};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::part::name;
use crate::pages::parts::record::{self, Group};
use crate::pages::parts::{id, look, take};
use crate::pages::typed::{Posted, Typed};
use crate::pages::words::{say, say_with};
use crate::service::{Refusal, Shop, catalogue};

#[derive(Template)]
#[template(path = "parts/change.html")]
struct Page {
    frame: Frame,
    heading: String,
    /// The record that is changed, where it is not a new one.
    plug: Option<Plug>,
    groups: Vec<Group>,
    focus: &'static str,
    faults: Vec<Line>,
}

fn page(
    shop: &Shop,
    frame: Frame,
    plug: Option<Plug>,
    typed: &Typed,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let mut groups = record::groups(shop, typed, plug.is_none())?;
    let mut all: Vec<&mut Field> = groups.iter_mut().flat_map(Group::all).collect();
    let faults = put(wrong, &mut all);
    let first = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let page = Page {
        frame,
        heading: match &plug {
            Some(plug) => say_with("parts-change-name", &[("name", &name(plug))]),
            None => say("parts-a-new-part").to_owned(),
        },
        focus: first.unwrap_or("maker"),
        plug,
        groups,
        faults,
    };
    Reply::page(status, &page)
}

/// The form of a new record; what the query says stands in it.
pub(super) async fn new(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    look(shop, request, Role::Clerk, |shop, frame, typed| {
        page(shop, frame, None, typed, &[], StatusCode::OK)
    })
    .await
}

/// Stores a new record.
pub(super) async fn create(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    take(
        shop,
        request,
        posted,
        Role::Clerk,
        |shop, frame, typed, _| {
            let (map, mut wrong) = record::object(shop, typed)?;
            let status = match PlugData::check(Value::Object(map)) {
                Ok(data) if wrong.is_empty() => match catalogue::create(shop, &data) {
                    Ok(made) => return Ok(Reply::Elsewhere(format!("/parts/{}", made.id))),
                    Err(refusal) => told(&mut wrong, refusal)?,
                },
                Ok(_) => StatusCode::BAD_REQUEST,
                Err(faults) => {
                    add(&mut wrong, &faults);
                    StatusCode::BAD_REQUEST
                }
            };
            page(shop, frame, None, typed, &wrong, status)
        },
    )
    .await
}

/// The form of a record that stands already.
pub(super) async fn old(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    look(shop, request, Role::Clerk, move |shop, frame, _| {
        let plug = catalogue::get(shop, id(&path, "part")?)?;
        let typed = record::typed(shop, &plug)?;
        page(shop, frame, Some(plug), &typed, &[], StatusCode::OK)
    })
    .await
}

/// Changes a record.
pub(super) async fn change(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    take(
        shop,
        request,
        posted,
        Role::Clerk,
        move |shop, frame, typed, _| {
            let plug = catalogue::get(shop, id(&path, "part")?)?;
            let (map, mut wrong) = record::object(shop, typed)?;
            let patch = Value::Object(record::patch(&map, &plug));
            let status = match Patch::<PlugData>::check(patch) {
                Ok(patch) if wrong.is_empty() => {
                    let expected = meant_for(version(typed));
                    match catalogue::patch(shop, plug.id, expected, &patch.members) {
                        Ok(_) => return Ok(Reply::Elsewhere(format!("/parts/{}", plug.id))),
                        Err(Refusal::Stale) => {
                            wrong = record::meanwhile(shop, typed, &plug)?;
                            StatusCode::CONFLICT
                        }
                        Err(refusal) => told(&mut wrong, refusal)?,
                    }
                }
                Ok(_) => StatusCode::BAD_REQUEST,
                Err(faults) => {
                    add(&mut wrong, &faults);
                    StatusCode::BAD_REQUEST
                }
            };
            page(shop, frame, Some(plug), typed, &wrong, status)
        },
    )
    .await
}

/// Takes a record away that nothing has used.
pub(super) async fn delete(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    take(
        shop,
        request,
        posted,
        Role::Clerk,
        move |shop, frame, typed, _| {
            let plug = catalogue::get(shop, id(&path, "part")?)?;
            let mut wrong = Vec::new();
            let status = match catalogue::remove(shop, plug.id, meant_for(version(typed))) {
                Ok(()) => return Ok(Reply::Elsewhere("/catalogue".into())),
                Err(Refusal::Stale) => {
                    wrong.push(Wrong::all(say(
                        "parts-somebody-changed-part-meanwhile-look",
                    )));
                    StatusCode::CONFLICT
                }
                Err(refusal) => told(&mut wrong, refusal)?,
            };
            let own = record::typed(shop, &plug)?;
            page(shop, frame, Some(plug), &own, &wrong, status)
        },
    )
    .await
}
