//! Cylinder heads: the list, one of them with the builds over it, and its form.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::build::Head;
use plugwell_domain::words::Role;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::field::Wrong;
use crate::pages::find::{engine_fields, engine_text};
use crate::pages::form::{self as fields_of, Declared, Form, field};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::workshop::facts::facts;
use crate::pages::workshop::form_page::{
    FormPage, came_back, key, meanwhile, only, version, whole,
};
use crate::pages::workshop::{ONE_MORE, Records, called, cut, id, may_work, named};
use crate::pages::{at, form, posted};
use crate::service::{Actor, Refusal, Shop, builds, heads};
use crate::shown::measured;

/// Most builds that are named over a head.
const BUILDS: i64 = 200;

#[derive(Template)]
#[template(path = "workshop/head.html")]
struct One {
    frame: Frame,
    id: Uuid,
    version: i64,
    name: String,
    facts: Vec<(&'static str, String)>,
    builds: Listing,
    may_work: bool,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/heads", list))
        .service(form("/heads/new", new_form, create))
        .service(at("/heads/{id}", show))
        .service(form("/heads/{id}/change", change_form, change))
        .service(posted("/heads/{id}/removal", remove));
}

/// The fields of a head.
fn fields() -> Vec<Declared> {
    const NAME: Declared = field("name", "Name", Form::Words, "what the shop calls it");
    std::iter::once(NAME)
        .chain(engine_fields::HEAD.iter().copied())
        .collect()
}

async fn list(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let after = named(&typed, "after", "head")?;
        let mut found = heads::list(shop, after, ONE_MORE)?;
        let more = cut(&mut found, "/heads", |head| head.id);
        let rows = found.into_iter().map(|head| {
            let (at, data) = (format!("/heads/{}", head.id), head.data);
            let heat = data.heat_index.map_or("unknown".into(), |h| h.to_string());
            vec![
                Cell::to(at, called(data.name)),
                Cell::of(data.thread),
                Cell::of(measured("reach_mm", &Value::from(data.reach_mm.get()))),
                Cell::of(data.seat),
                Cell::of(heat),
            ]
        });
        let listing = Listing {
            caption: "Cylinder heads".into(),
            columns: vec![
                words("Head"),
                words("Thread"),
                figures("Reach"),
                words("Seat"),
                figures("Heat index it came with"),
            ],
            rows: rows.collect(),
            empty: "No head is stored yet.",
            more,
        };
        let new = match may_work(&frame) {
            true => ("/heads/new", "Store a new head"),
            false => ("", ""),
        };
        let page = Records {
            frame,
            heading: "Heads",
            said: "What a cylinder head takes; builds stand on it.",
            new,
            listing,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

async fn show(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let head = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let stored = heads::get(shop, id(&head, "head")?)?;
        let record = serde_json::to_value(&stored.data).unwrap_or_default();
        let over = builds::over_head(shop, stored.id, BUILDS)?.into_iter();
        let rows = over.map(|build| {
            let short = engine_text::in_short(&build.data);
            let at = format!("/builds/{}", build.id);
            vec![Cell::to(at, called(build.data.name)), Cell::of(short)]
        });
        let page = One {
            id: stored.id,
            version: stored.version,
            name: called(stored.data.name),
            facts: facts(engine_fields::HEAD, &record),
            builds: Listing {
                caption: "Builds over this head".into(),
                columns: vec![words("Build"), words("Engine")],
                rows: rows.collect(),
                empty: "No build stands on it.",
                more: String::new(),
            },
            may_work: may_work(&frame),
            frame,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn new_page(shop: &Shop, frame: Frame, typed: &Typed) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        frame,
        heading: "A new head".into(),
        said: "What nobody knows is left open. A unit may be typed beside a number: 0.75 in, 13/16 in.".into(),
        path: "/heads/new".into(),
        hidden: vec![key(typed)],
        fields: fields_of::all_shown(shop, &fields(), typed)?,
        button: "Store this head",
        back: ("/heads".into(), "All heads".into()),
        ..FormPage::default()
    })
}

async fn new_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
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

async fn create(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let (members, mut wrong) = fields_of::object(shop, &fields(), &typed)?;
        match created(shop, &who.actor, &typed, members, wrong.is_empty()) {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(refusal) => {
                let status = came_back(refusal, &mut wrong)?;
                new_page(shop, frame, &typed)?.reply(status, &wrong)
            }
        }
    })
    .await
}

fn created(
    shop: &Shop,
    actor: &Actor,
    typed: &Typed,
    members: Map<String, Value>,
    understood: bool,
) -> Result<String, Refusal> {
    let head = Head::check(Value::Object(members)).map_err(Refusal::Faults)?;
    if !understood {
        return Err(Refusal::Faults(Vec::new()));
    }
    once(actor, "/heads/new", typed, |key| {
        let done = shop.once(
            key,
            |s| Ok((heads::keep(s, &head)?, Vec::new())),
            |head| leading_to(format!("/heads/{}", head.id)),
        );
        done.map(|done| done.stored)
    })
}

fn change_page(
    shop: &Shop,
    frame: Frame,
    id: Uuid,
    version: i64,
    typed: &Typed,
) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        frame,
        heading: "Change a head".into(),
        said: "Every build over it asks for what it says from then on.".into(),
        path: format!("/heads/{id}/change"),
        hidden: vec![("version", version.to_string())],
        fields: fields_of::all_shown(shop, &fields(), typed)?,
        button: "Store the change",
        back: (format!("/heads/{id}"), "Back, without a change".into()),
        ..FormPage::default()
    })
}

/// A stored head as it would be typed.
fn typed_of(head: &Head) -> Typed {
    let record = serde_json::to_value(head).unwrap_or_default();
    fields_of::as_typed(&fields(), &record)
}

async fn change_form(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Tuner) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let head = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let head = heads::get(shop, id(&head, "head")?)?;
        let page = change_page(shop, frame, head.id, head.version, &typed_of(&head.data))?;
        page.reply(StatusCode::OK, &[])
    })
    .await
}

async fn change(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let head = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let id = id(&head, "head")?;
        let (members, mut wrong) = fields_of::object(shop, &fields(), &typed)?;
        match changed(shop, id, &typed, members, wrong.is_empty()) {
            Ok(()) => Ok(Reply::Elsewhere(format!("/heads/{id}"))),
            Err(Refusal::Stale) => {
                let now = heads::get(shop, id)?;
                let all = fields();
                let told = meanwhile(shop, all.iter(), &typed_of(&now.data), &typed)?;
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

fn changed(
    shop: &Shop,
    id: Uuid,
    typed: &Typed,
    members: Map<String, Value>,
    understood: bool,
) -> Result<(), Refusal> {
    Head::check(Value::Object(members.clone())).map_err(Refusal::Faults)?;
    if !understood {
        return Err(Refusal::Faults(Vec::new()));
    }
    let patch = whole(members, fields().iter());
    heads::patch(shop, id, only(version(typed)?), &patch).map(|_| ())
}

async fn remove(
    shop: web::Data<Shop>,
    request: HttpRequest,
    path: web::Path<String>,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    let head = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let id = id(&head, "head")?;
        match heads::remove(shop, id, only(version(&typed)?)) {
            Ok(()) => Ok(Reply::Elsewhere("/heads".into())),
            Err(Refusal::Stale) => {
                let now = heads::get(shop, id)?;
                let wrong = [Wrong::all(
                    "Somebody changed this head while you looked at it, so it was not removed.",
                )];
                let page = change_page(shop, frame, id, now.version, &typed_of(&now.data))?;
                page.reply(StatusCode::CONFLICT, &wrong)
            }
            Err(other) => Err(other),
        }
    })
    .await
}
