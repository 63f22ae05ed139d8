//! Saving what was typed as a build: its name, and that of its head where that is to be kept as well.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::build::Build;
use plugwell_domain::words::Role;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::find::engine_fields::{self, is_of_head};
use crate::pages::find::{engine_form, engine_text};
use crate::pages::form::{self, Declared, Form, field, needed};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::service::{Actor, Refusal, Shop, builds, new_id};

/// Where the form stands.
pub(super) const PATH: &str = "/save-build";

const NAME: Declared = needed(field(
    "name",
    "find-what-the-build-is-called",
    Form::Words,
    "find-what-the-build-is-called-hint",
));
const HEAD_NAME: Declared = field(
    "head_name",
    "find-what-its-head-is-called",
    Form::Words,
    "find-what-its-head-is-called-hint",
);

#[derive(Template)]
#[template(path = "find/save.html")]
struct Page {
    frame: Frame,
    /// Makes a form that is sent twice the same.
    once: Uuid,
    /// The build in a line.
    build: String,
    /// What was typed of it, field by field.
    kept: Vec<(String, String)>,
    fields: Vec<Field>,
    focus: &'static str,
    faults: Vec<Line>,
}

/// The form in which a build gets its name.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Tuner) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let (build, mut wrong) = read(shop, &typed)?;
        // What it is called is asked here and now.
        wrong.retain(|one| one.field != NAME.name);
        page(shop, frame, &typed, build.as_ref(), &wrong, StatusCode::OK)
    })
    .await
}

/// Stores the build, once.
pub(super) async fn send(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, &who.actor, frame, &typed)
    })
    .await
}

fn answer(shop: &Shop, actor: &Actor, frame: Frame, typed: &Typed) -> Result<Reply, Refusal> {
    let (build, mut wrong) = read(shop, typed)?;
    let build = match build {
        Some(build) if wrong.is_empty() => build,
        build => {
            let status = StatusCode::BAD_REQUEST;
            return page(shop, frame, typed, build.as_ref(), &wrong, status);
        }
    };
    let saved = once(actor, PATH, typed, |key| {
        let kept = |id: &Uuid| leading_to(format!("/?build={id}&saved=yes"));
        let done = shop.once(
            key,
            |s| builds::keep(s, build.clone()).map(|stored| (stored.id, Vec::new())),
            kept,
        );
        done.map(|done| done.stored)
    });
    match saved {
        Ok(there) => Ok(Reply::Elsewhere(there)),
        Err(Refusal::Faults(faults)) => {
            add(&mut wrong, &faults);
            let status = StatusCode::BAD_REQUEST;
            page(shop, frame, typed, Some(&build), &wrong, status)
        }
        Err(other) => Err(other),
    }
}

/// The build that was typed, with its names, and what is wrong with it.
fn read(shop: &Shop, typed: &Typed) -> Result<(Option<Build>, Vec<Wrong>), Refusal> {
    let (mut value, mut wrong) = engine_form::build(shop, typed)?;
    let (names, unnamed) = form::object(shop, &[NAME, HEAD_NAME], typed)?;
    wrong.extend(unnamed);
    let called = |field: &Declared| names.get(field.name).cloned();
    if let Some(build) = value.as_object_mut() {
        let name_of = |map: &mut Map<String, Value>, name: Option<Value>| {
            name.into_iter()
                .for_each(|name| _ = map.insert("name".into(), name));
        };
        name_of(build, called(&NAME));
        if let Some(head) = build.get_mut("head").and_then(Value::as_object_mut) {
            name_of(head, called(&HEAD_NAME));
        }
    }
    Ok(match Build::check(value) {
        Ok(build) => (Some(build), wrong),
        Err(faults) => {
            add(&mut wrong, &faults);
            (None, wrong)
        }
    })
}

fn page(
    shop: &Shop,
    frame: Frame,
    typed: &Typed,
    build: Option<&Build>,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let declared = || engine_fields::declared();
    let of_head = |name: &str| declared().any(|d| d.name == name && is_of_head(d));
    let has_head = typed.pairs().any(|(name, _)| of_head(name));
    let names: &[Declared] = if has_head {
        &[NAME, HEAD_NAME]
    } else {
        &[NAME]
    };
    let mut fields = form::all_shown(shop, names, typed)?;
    // What is wrong with the build itself is put right where it was typed.
    let mut of_build = declared()
        .map(|declared| form::shown(shop, declared, typed))
        .collect::<Result<Vec<_>, _>>()?;
    let mut all: Vec<&mut Field> = fields.iter_mut().chain(&mut of_build).collect();
    let mut faults = put(wrong, &mut all);
    for line in &mut faults {
        if names.iter().all(|name| name.name != line.at) && !line.at.is_empty() {
            line.text = format!("{}: {}", line.label, line.text);
            line.at = "";
        }
    }
    let focus = faults.iter().map(|line| line.at).find(|at| !at.is_empty());
    let page = Page {
        once: typed.one("once").parse().unwrap_or_else(|_| new_id()),
        build: build.map(engine_text::in_short).unwrap_or_default(),
        kept: typed
            .pairs()
            .filter(|(name, _)| declared().any(|d| d.name == *name))
            .map(|(name, value)| (name.to_owned(), value.to_owned()))
            .collect(),
        focus: focus.unwrap_or(NAME.name),
        fields,
        faults,
        frame,
    };
    Reply::page(status, &page)
}
