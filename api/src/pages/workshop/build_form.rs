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
use crate::pages::field::{Field, Wrong};
use crate::pages::find::{engine_fields, engine_form, engine_text};
use crate::pages::form::{self as fields_of, Declared, Form, field, needed};
use crate::pages::once::{leading_to, once};
use crate::pages::part;
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::say;
use crate::pages::workshop::form_page::{FormPage, key};
use crate::pages::workshop::id;
use crate::service::{Actor, Refusal, Shop, builds, catalogue};

const NAME: Declared = field("name", "workshop-name", Form::Words, "workshop-name-hint");
/// With a name, a head that was described with the build becomes a record as well.
const HEAD_NAME: Declared = field(
    "head_name",
    "workshop-name-of-its-head",
    Form::Words,
    "workshop-name-of-its-head-hint",
);
/// Where somebody came from who asked what fits first.
const FROM: &str = "from";
const FIND: &str = "find";

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
    if !typed.one(NAME.name).is_empty() {
        value[NAME.name] = typed.one(NAME.name).into();
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

fn page(shop: &Shop, frame: Frame, name: &Declared, typed: &Typed) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        frame,
        said: say("workshop-unit-may-typed-beside-number").into(),
        fields: vec![fields_of::shown(shop, name, typed)?],
        groups: engine_form::groups_of_build(shop, typed)?,
        ..FormPage::default()
    })
}

fn new_page(shop: &Shop, frame: Frame, typed: &Typed) -> Result<FormPage, Refusal> {
    let mut new = FormPage {
        heading: say("workshop-a-new-build").into(),
        path: "/builds/new".into(),
        hidden: vec![key(typed)],
        button: say("workshop-store-this-build"),
        back: ("/builds".into(), say("workshop-all-builds").into()),
        ..page(shop, frame, &needed(NAME), typed)?
    };
    if typed.one(FROM) == FIND {
        new.hidden.push((FROM, FIND.into()));
        let asked = typed.without(&[FROM, "form_key", "once", NAME.name, HEAD_NAME.name]);
        let back = say("workshop-back-to-what-fits");
        new.back = (format!("/?{}", asked.query()), back.into());
        new.focus = NAME.name;
    }
    let is_of_head = |field: &Field| engine_fields::HEAD.iter().any(|own| own.name == field.name);
    for group in &mut new.groups {
        if group.fields.iter().any(is_of_head) {
            let name = fields_of::shown(shop, &HEAD_NAME, typed)?;
            group.fields.insert(0, name);
        }
    }
    Ok(new)
}

/// A new build and its head by their names.
fn typed_new(shop: &Shop, typed: &Typed) -> Result<(Value, Vec<Wrong>), Refusal> {
    let (mut value, mut wrong) = typed_build(shop, typed)?;
    if typed.one(NAME.name).is_empty() {
        wrong.push(Wrong::with(NAME.name, Wrong::missing()));
    }
    match typed.one(HEAD_NAME.name) {
        "" => {}
        _ if value.get("head_id").is_some() => {
            let named = say("workshop-that-head-has-a-name");
            wrong.push(Wrong::with(HEAD_NAME.name, named));
        }
        name => value["head"]["name"] = name.into(),
    }
    Ok((value, wrong))
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
        let (value, mut wrong) = typed_new(shop, &typed)?;
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
            |build| leading_to(format!("/builds/{}?stored=yes", build.id)),
        );
        done.map(|done| done.stored)
    })
}

/// A stored build as it would be typed.
fn typed_of(shop: &Shop, build: &Build) -> Result<Typed, Refusal> {
    let base = build.engine.base_plug_id;
    let base = base.map(|id| catalogue::get(shop, id)).transpose()?;
    let mut typed = engine_text::typed(build, base.as_ref().map(part::name).as_deref());
    typed.put(NAME.name, build.name.clone().unwrap_or_default());
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
        ..page(shop, frame, &NAME, typed)?
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
