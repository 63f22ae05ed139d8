//! The form of a build: a new one, and one that is changed.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::build::Build;
use plugwell_domain::words::Role;
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::Wrong;
use crate::pages::find::{engine_fields, engine_form, engine_text};
use crate::pages::form::{self as fields_of, Declared, Form, field};
use crate::pages::once::{leading_to, once};
use crate::pages::part;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::workshop::form_page::{
    FormPage, came_back, key, meanwhile, only, version, whole,
};
use crate::pages::workshop::id;
use crate::service::{Actor, Refusal, Shop, builds, catalogue};

const NAME: Declared = field("name", "Name", Form::Words, "what the shop calls it");

/// The fields of the engine and of a head that is described with it.
fn of_build() -> impl Iterator<Item = &'static Declared> {
    let is_wanted = |one: &&Declared| engine_fields::WANTED.iter().any(|w| w.name == one.name);
    engine_fields::declared().filter(move |one| !is_wanted(one))
}

/// What was typed of a build, as JSON.
fn typed_build(shop: &Shop, typed: &Typed) -> Result<(Value, Vec<Wrong>), Refusal> {
    let (mut value, wrong) = engine_form::build(shop, typed)?;
    if !typed.one("name").is_empty() {
        value["name"] = typed.one("name").into();
    }
    Ok((value, wrong))
}

/// A build that passes every check.
fn checked(value: Value, wrong: &[Wrong]) -> Result<Build, Refusal> {
    match Build::check(value) {
        Ok(build) if wrong.is_empty() => Ok(build),
        Ok(_) => Err(Refusal::Faults(Vec::new())),
        Err(faults) => Err(Refusal::Faults(faults)),
    }
}

fn page(shop: &Shop, frame: Frame, typed: &Typed) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        frame,
        said: "A unit may be typed beside a number: 0.75 in, 13/16 in, 650 hp, 12 psi, 34 kV. What nobody knows is left open."
            .into(),
        fields: vec![fields_of::shown(shop, &NAME, typed)?],
        groups: engine_form::groups_of_build(shop, typed)?,
        ..FormPage::default()
    })
}

fn new_page(shop: &Shop, frame: Frame, typed: &Typed) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        heading: "A new build".into(),
        path: "/builds/new".into(),
        hidden: vec![key(typed)],
        button: "Store this build",
        back: ("/builds".into(), "All builds".into()),
        ..page(shop, frame, typed)?
    })
}

/// The form at `/builds/new`, with what the query says of the build.
pub(super) async fn new_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Tuner) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        new_page(shop, frame, &typed)?.reply(StatusCode::OK, &[])
    })
    .await
}

/// Stores a build, once.
pub(super) async fn create(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let (value, mut wrong) = typed_build(shop, &typed)?;
        let made = checked(value, &wrong);
        match made.and_then(|build| kept(shop, &who.actor, &typed, &build)) {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(refusal) => {
                let status = came_back(refusal, &mut wrong)?;
                new_page(shop, frame, &typed)?.reply(status, &wrong)
            }
        }
    })
    .await
}

fn kept(shop: &Shop, actor: &Actor, typed: &Typed, build: &Build) -> Result<String, Refusal> {
    once(actor, "/builds/new", typed, |key| {
        let done = shop.once(
            key,
            |s| Ok((builds::keep(s, build)?, Vec::new())),
            |build| leading_to(format!("/builds/{}", build.id)),
        );
        done.map(|done| done.stored)
    })
}

/// A stored build as it would be typed.
fn typed_of(shop: &Shop, build: &Build) -> Result<Typed, Refusal> {
    let base = build.engine.base_plug_id;
    let base = base.map(|id| catalogue::get(shop, id)).transpose()?;
    let mut typed = engine_text::typed(build, base.as_ref().map(part::name).as_deref());
    typed.put("name", build.name.clone().unwrap_or_default());
    Ok(typed)
}

fn change_page(
    shop: &Shop,
    frame: Frame,
    id: Uuid,
    version: i64,
    typed: &Typed,
) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        heading: "Change a build".into(),
        path: format!("/builds/{id}/change"),
        hidden: vec![("version", version.to_string())],
        button: "Store the change",
        back: (format!("/builds/{id}"), "Back, without a change".into()),
        ..page(shop, frame, typed)?
    })
}

/// The form at `/builds/{id}/change`.
pub(super) async fn change_form(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Tuner) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let build = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let build = builds::get(shop, id(&build, "build")?)?;
        let typed = typed_of(shop, &build.data)?;
        let page = change_page(shop, frame, build.id, build.version, &typed)?;
        page.reply(StatusCode::OK, &[])
    })
    .await
}

/// Changes a build into what was typed.
pub(super) async fn change(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let build = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let id = id(&build, "build")?;
        let (value, mut wrong) = typed_build(shop, &typed)?;
        let patched = checked(value.clone(), &wrong)
            .and_then(|_| builds::patch(shop, id, only(version(&typed)?), &patch(value)));
        match patched {
            Ok(_) => Ok(Reply::Elsewhere(format!("/builds/{id}"))),
            Err(Refusal::Stale) => {
                let now = builds::get(shop, id)?;
                let theirs = typed_of(shop, &now.data)?;
                let told = meanwhile(shop, of_build().chain([&NAME]), &theirs, &typed)?;
                let page = change_page(shop, frame, id, now.version, &typed)?;
                page.reply(StatusCode::CONFLICT, &told)
            }
            Err(refusal) => {
                let status = came_back(refusal, &mut wrong)?;
                let version = version(&typed)?;
                change_page(shop, frame, id, version, &typed)?.reply(status, &wrong)
            }
        }
    })
    .await
}

/// The merge patch that makes a stored build what was typed; what is told of it elsewhere stays.
fn patch(value: Value) -> serde_json::Map<String, Value> {
    let Value::Object(mut members) = value else {
        return serde_json::Map::new();
    };
    let (of_head, of_engine): (Vec<_>, Vec<_>) =
        of_build().partition(|one| engine_fields::is_of_head(one));
    let head = match members.remove("head") {
        Some(Value::Object(head)) => Value::Object(whole(head, of_head.into_iter())),
        _ => Value::Null,
    };
    members.insert("head".into(), head);
    whole(members, of_engine.into_iter().chain([&NAME]))
}
