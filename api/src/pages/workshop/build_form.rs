//! The form of a build: a new one, and one that is changed.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use plugwell_domain::build::Build;
use plugwell_domain::words::Role;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::changing::{differing, meant_for, meanwhile, told, version};
use crate::pages::field::Wrong;
use crate::pages::find::{engine_fields, engine_form, engine_text};
use crate::pages::form::{self as fields_of, Declared, Form, field};
use crate::pages::once::{leading_to, once};
use crate::pages::part;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::say;
use crate::pages::workshop::form_page::{FormPage, key};
use crate::pages::workshop::id;
use crate::service::{Actor, Refusal, Shop, builds, catalogue};

const NAME: Declared = field("name", "workshop-name", Form::Words, "workshop-name-hint");

/// What a build says of its engine, its name with it.
fn of_engine() -> Vec<Declared> {
    let is_apart = |one: &&Declared| {
        let wanted = engine_fields::WANTED.iter();
        engine_fields::is_of_head(one) || wanted.clone().any(|w| w.name == one.name)
    };
    let own = engine_fields::declared().filter(|one| !is_apart(one));
    own.chain([&NAME]).copied().collect()
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
        said: say("workshop-unit-may-typed-beside-number").into(),
        fields: vec![fields_of::shown(shop, &NAME, typed)?],
        groups: engine_form::groups_of_build(shop, typed)?,
        ..FormPage::default()
    })
}

fn new_page(shop: &Shop, frame: Frame, typed: &Typed) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        heading: say("workshop-a-new-build").into(),
        path: "/builds/new".into(),
        hidden: vec![key(typed)],
        button: say("workshop-store-this-build"),
        back: ("/builds".into(), say("workshop-all-builds").into()),
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
                let status = told(&mut wrong, refusal)?;
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
            |s| Ok((builds::keep(s, build.clone())?, Vec::new())),
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
        heading: say("workshop-change-a-build").into(),
        path: format!("/builds/{id}/change"),
        hidden: vec![("version", version.to_string())],
        button: say("workshop-store-the-change"),
        back: (
            format!("/builds/{id}"),
            say("workshop-back-without-a-change").into(),
        ),
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
        let now = builds::get(shop, id)?;
        let record = serde_json::to_value(&now.data).unwrap_or_default();
        let patched = checked(value.clone(), &wrong).and_then(|_| {
            let patch = patch(value, &record);
            builds::patch(shop, id, meant_for(version(&typed)), &patch)
        });
        match patched {
            Ok(_) => Ok(Reply::Elsewhere(format!("/builds/{id}"))),
            Err(Refusal::Stale) => {
                let mut differs = meanwhile(shop, &of_engine(), &typed, &record)?;
                let of_head = meanwhile(shop, engine_fields::HEAD, &typed, &record["head"])?;
                // What is said of the form as a whole is said once.
                differs.extend(of_head.into_iter().filter(|one| !one.field.is_empty()));
                let page = change_page(shop, frame, id, now.version, &typed)?;
                page.reply(StatusCode::CONFLICT, &differs)
            }
            Err(refusal) => {
                let status = told(&mut wrong, refusal)?;
                change_page(shop, frame, id, version(&typed), &typed)?.reply(status, &wrong)
            }
        }
    })
    .await
}

/// The merge patch that makes a stored build what was typed; what is told of it elsewhere stays.
fn patch(value: Value, record: &Value) -> Map<String, Value> {
    let Value::Object(mut members) = value else {
        return Map::new();
    };
    let head = match members.remove("head") {
        Some(Value::Object(head)) if record["head"].is_object() => {
            Value::Object(differing(engine_fields::HEAD, &head, &record["head"]))
        }
        Some(head) => head,
        None => Value::Null,
    };
    let mut patch = differing(&of_engine(), &members, record);
    patch.insert("head".into(), head);
    patch
}
