//! Cylinder heads: the list, one of them with the builds over it, and its form.

use std::sync::LazyLock;

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::build::Head;
use plugwell_domain::words::Role;
use plugwell_store::Stored;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::changing::{Changing, meant_for, told, version};
use crate::pages::field::{Line, Wrong, put};
use crate::pages::find::{engine_fields, engine_text};
use crate::pages::form::{self as fields_of, Declared, Form, field};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::pages::workshop::facts::facts;
use crate::pages::workshop::form_page::{FormPage, key};
use crate::pages::workshop::{ONE_MORE, Records, called, cut, id, named};
use crate::pages::{at, form, posted};
use crate::service::{Actor, Refusal, Shop, builds, catalogue, heads};
use crate::shown::{marked, measured};

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
    faults: Vec<Line>,
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
static FIELDS: LazyLock<Vec<Declared>> = LazyLock::new(|| {
    let name = field("name", "workshop-name", Form::Words, "workshop-name-hint");
    std::iter::once(name)
        .chain(engine_fields::HEAD.iter().copied())
        .collect()
});

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
            let heat = data
                .heat_index
                .map_or(say("pages-unknown").into(), |h| marked(h.to_string()));
            vec![
                Cell::to(at, called(data.name)),
                Cell::of(data.thread),
                Cell::of(measured("reach_mm", &Value::from(data.reach_mm.get()))),
                Cell::of(data.seat),
                Cell::of(heat),
            ]
        });
        let listing = Listing {
            caption: say("workshop-cylinder-heads").into(),
            columns: vec![
                words("workshop-head"),
                words("workshop-thread"),
                figures("workshop-reach"),
                words("workshop-seat"),
                figures("workshop-heat-index-it-came-with"),
            ],
            rows: rows.collect(),
            empty: say("workshop-no-head-is-stored-yet"),
            more,
        };
        let new = match frame.may(Role::Tuner) {
            true => ("/heads/new", say("workshop-store-a-new-head")),
            false => ("", ""),
        };
        let page = Records {
            frame,
            heading: say("workshop-heads"),
            said: say("workshop-cylinder-head-takes-builds-stand"),
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
        one(shop, frame, id(&head, "head")?, &[], StatusCode::OK)
    })
    .await
}

/// A head, with what is wrong where something was asked of it.
fn one(
    shop: &Shop,
    frame: Frame,
    id: Uuid,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let stored = heads::get(shop, id)?;
    let record = serde_json::to_value(&stored.data).unwrap_or_default();
    let over = builds::over_head(shop, id, BUILDS)?.into_iter();
    let rows = over.map(|build| {
        let short = engine_text::in_short(&build.data);
        let at = format!("/builds/{}", build.id);
        vec![Cell::to(at, called(build.data.name)), Cell::of(short)]
    });
    let page = One {
        id,
        version: stored.version,
        name: called(stored.data.name),
        facts: facts(engine_fields::HEAD, &record),
        builds: Listing {
            caption: say("workshop-builds-over-this-head").into(),
            columns: vec![words("workshop-build"), words("workshop-engine")],
            rows: rows.collect(),
            empty: say("workshop-no-build-stands-on-it"),
            more: String::new(),
        },
        may_work: frame.may(Role::Tuner),
        frame,
        faults: put(wrong, &mut []),
    };
    Reply::page(status, &page)
}

fn new_page(shop: &Shop, frame: Frame, typed: &Typed) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        frame,
        heading: say("workshop-a-new-head").into(),
        said: say("workshop-nobody-knows-left-open-unit").into(),
        path: "/heads/new".into(),
        hidden: vec![key(typed)],
        fields: fields_of::all_shown(shop, &FIELDS, typed)?,
        button: say("workshop-store-this-head"),
        back: ("/heads".into(), say("workshop-all-heads").into()),
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
        let (members, mut wrong) = fields_of::object(shop, &FIELDS, &typed)?;
        match created(shop, &who.actor, &typed, members, wrong.is_empty()) {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(refusal) => {
                let status = told(&mut wrong, refusal)?;
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

fn changing(head: &Stored<Head>) -> Changing {
    let here = format!("/heads/{}", head.id);
    Changing {
        heading: say_with(
            "workshop-change-called",
            &[("called", &called(head.data.name.clone()))],
        ),
        note: say("workshop-every-build-over-asks-says"),
        action: format!("{here}/change"),
        back: here,
        declared: &FIELDS,
        record: serde_json::to_value(&head.data).unwrap_or_default(),
        version: head.version,
    }
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
        changing(&heads::get(shop, id(&head, "head")?)?).begin(shop, frame)
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
        let head = heads::get(shop, id(&head, "head")?)?;
        let form = changing(&head);
        form.send(shop, frame, &typed, |patch, version| {
            checked(&form.record, patch)?;
            heads::patch(shop, head.id, meant_for(version), patch).map(|_| ())
        })
    })
    .await
}

/// Checks a head as a patch would make it, as a new one is.
fn checked(record: &Value, patch: &Map<String, Value>) -> Result<(), Refusal> {
    let mut whole = record.clone();
    catalogue::merge(&mut whole, &Value::Object(patch.clone()));
    if let Some(members) = whole.as_object_mut() {
        members.retain(|_, value| !value.is_null());
    }
    Head::check(whole).map(|_| ()).map_err(Refusal::Faults)
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
        match heads::remove(shop, id, meant_for(version(&typed))) {
            Ok(()) => Ok(Reply::Elsewhere("/heads".into())),
            Err(Refusal::Stale) => {
                let stale = say("workshop-somebody-changed-head-while-you");
                one(shop, frame, id, &[Wrong::all(stale)], StatusCode::CONFLICT)
            }
            Err(refusal) => {
                let mut wrong = Vec::new();
                let status = told(&mut wrong, refusal)?;
                one(shop, frame, id, &wrong, status)
            }
        }
    })
    .await
}
