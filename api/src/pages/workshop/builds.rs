//! Builds: the list, and one of them with all that is known of it.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::build::Build;
use plugwell_domain::ledger::MovementKind;
use plugwell_domain::words::Role;
use plugwell_store::{FittedSetFilter, MovementFilter, ReadingFilter, Stored, TuningDayFilter};
use uuid::Uuid;

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::changing::{differing, meant_for, told, version};
use crate::pages::field::{Field, Line, Wrong, put};
use crate::pages::find::{engine_fields, engine_text};
use crate::pages::form::{self as fields_of, Declared, Form, field};
use crate::pages::listing::{Cell, Listing, words};
use crate::pages::part;
use crate::pages::typed::{Posted, Typed, encoded};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::say;
use crate::pages::workshop::facts::facts;
use crate::pages::workshop::{
    ONE_MORE, Records, build_form, called, cut, fitted, id, named, readings, tuning_days,
};
use crate::pages::{at, form, posted};
use crate::service::fitted_sets::{self, DueFilter};
use crate::service::readings as kept_readings;
use crate::service::{
    Refusal, Shop, builds, catalogue, heads, outlines, spark, stock_lists,
    tuning_days as planned_days,
};
use crate::shown::marked;

/// Sets, readings, days and movements that a build's page looks at.
const LATELY: i64 = 8;
const MOVEMENTS: i64 = 200;

/// What is told of the car as time goes by.
const TOLD: &[Declared] = &[
    field(
        "odometer_km",
        "workshop-odometer-now",
        Form::Counted("km"),
        "workshop-odometer-now-hint",
    ),
    field(
        "leads_renewed_on",
        "workshop-leads-or-boots-renewed-on",
        Form::Day,
        "workshop-leads-or-boots-renewed-on-hint",
    ),
];

#[derive(Template)]
#[template(path = "workshop/build.html")]
struct One {
    frame: Frame,
    id: Uuid,
    version: i64,
    name: String,
    /// Whether it was stored just now.
    stored: bool,
    in_short: String,
    /// The head's page and name; empty where it is described with the build.
    head: (String, String),
    /// The page and name of the plug that was in.
    base: (String, String),
    /// What it says, by what it is about.
    groups: Vec<(&'static str, Vec<(&'static str, String)>)>,
    fitted: Listing,
    due: Vec<String>,
    readings: Listing,
    days: Listing,
    jobs: Vec<(Uuid, String)>,
    /// Whether its spark can be drawn, and where its head in section is.
    spark: bool,
    section: String,
    /// The form of a second opinion, filled in.
    check: String,
    told: Vec<Field>,
    may_work: bool,
    focus: &'static str,
    faults: Vec<Line>,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/builds", list))
        .service(form(
            "/builds/new",
            build_form::new_form,
            build_form::create,
        ))
        .service(at("/builds/{id}", show))
        .service(form(
            "/builds/{id}/change",
            build_form::change_form,
            build_form::change,
        ))
        .service(posted("/builds/{id}/odometer", tell))
        .service(posted("/builds/{id}/removal", remove));
}

async fn list(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let after = named(&typed, "after", "build")?;
        let mut found = builds::list(shop, after, ONE_MORE)?;
        let more = cut(&mut found, "/builds", |build| build.id);
        let mut rows = Vec::new();
        for build in found {
            let head = match build.data.head_id {
                Some(id) => Cell::to(
                    format!("/heads/{id}"),
                    called(heads::get(shop, id)?.data.name),
                ),
                None => Cell::of(say("workshop-its-own")),
            };
            let short = engine_text::in_short(&build.data);
            let name = Cell::to(format!("/builds/{}", build.id), called(build.data.name));
            rows.push(vec![name, Cell::of(short), head]);
        }
        let new = match frame.may(Role::Tuner) {
            true => ("/builds/new", say("workshop-store-a-new-build")),
            false => ("", ""),
        };
        let page = Records {
            frame,
            heading: say("workshop-builds"),
            said: say("workshop-engines-built-over-head"),
            new,
            listing: Listing {
                caption: say("workshop-builds").into(),
                columns: vec![
                    words("workshop-build"),
                    words("workshop-engine"),
                    words("workshop-head"),
                ],
                rows,
                empty: say("workshop-no-build-is-stored-yet"),
                more,
            },
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
    let build = path.into_inner();
    let asked = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let stored = builds::get(shop, id(&build, "build")?)?;
        let record = serde_json::to_value(&stored.data).unwrap_or_default();
        let mut page = one(shop, frame, &stored, &fields_of::as_typed(TOLD, &record))?;
        page.stored = !asked.one("stored").is_empty();
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// What a build's record says, by what it is about.
fn groups(shop: &Shop, build: &Build) -> Vec<(&'static str, Vec<(&'static str, String)>)> {
    let record = serde_json::to_value(build).unwrap_or_default();
    let head = build.head_id.and_then(|id| heads::get(shop, id).ok());
    let head = head.map_or_else(
        || record["head"].clone(),
        |head| serde_json::to_value(&head.data).unwrap_or_default(),
    );
    let mut groups = vec![(
        say("workshop-cylinder-head"),
        facts(engine_fields::HEAD, &head),
    )];
    let is_own = |declared: &[Declared]| {
        let mut named = declared.iter().map(|one| one.name);
        named.all(|name| {
            let mut apart = engine_fields::HEAD.iter().chain(engine_fields::WANTED);
            apart.all(|one| one.name != name)
        })
    };
    for (legend, _, _, declared) in engine_fields::GROUPS {
        if is_own(declared) {
            groups.push((say(legend), facts(declared, &record)));
        }
    }
    groups.retain(|(_, facts)| !facts.is_empty());
    groups
}

/// Jobs that plugs were issued to for a build, the latest first.
fn jobs(shop: &Shop, build: Uuid) -> Result<Vec<(Uuid, String)>, Refusal> {
    let filter = MovementFilter {
        build_id: Some(build),
        kind: Some(MovementKind::Issue),
        newest: true,
        ..MovementFilter::default()
    };
    let mut jobs: Vec<(Uuid, String)> = Vec::new();
    for issue in stock_lists::movements(shop, &filter, None, MOVEMENTS)? {
        if jobs.iter().all(|(id, _)| *id != issue.to_place_id) {
            jobs.push((issue.to_place_id, issue.job.unwrap_or_default()));
        }
    }
    Ok(jobs)
}

/// Where a part stands, and what it is called; nothing of none.
fn named_part(shop: &Shop, id: Option<Uuid>) -> Result<(String, String), Refusal> {
    let Some(id) = id else {
        return Ok(Default::default());
    };
    let name = part::name(&catalogue::get(shop, id)?);
    Ok((format!("/parts/{id}"), name))
}

fn one(shop: &Shop, frame: Frame, stored: &Stored<Build>, typed: &Typed) -> Result<One, Refusal> {
    let (id, build) = (stored.id, &stored.data);
    let filter = FittedSetFilter {
        build_id: Some(id),
        ..FittedSetFilter::default()
    };
    let sets = fitted_sets::list(shop, &filter, None, LATELY)?;
    let latest = sets.first().map(|set| set.set.plug_id);
    let due = DueFilter {
        build_id: Some(id),
        ..DueFilter::default()
    };
    let due = fitted_sets::list_due(shop, &due, None, LATELY)?.into_iter();
    let due = due.flat_map(|own| own.due.text).map(marked).collect();
    let of_build = ReadingFilter {
        build_id: Some(id),
        ..ReadingFilter::default()
    };
    let read = kept_readings::list(shop, &of_build, None, LATELY)?;
    let days = TuningDayFilter {
        build_id: Some(id),
        ..TuningDayFilter::default()
    };
    let days = planned_days::list(shop, &days, None, LATELY)?;
    let (base, check) = (build.engine.base_plug_id, format!("/check?build={id}"));
    let drawn = outlines::laid_in(shop, build, latest).is_ok();
    let laid_in = latest.map_or(String::new(), |plug| format!("?plug_id={plug}"));
    Ok(One {
        version: stored.version,
        name: called(build.name.clone()),
        stored: false,
        in_short: engine_text::in_short(build),
        head: match build.head_id {
            Some(id) => {
                let head = heads::get(shop, id)?;
                (format!("/heads/{id}"), called(head.data.name))
            }
            None => Default::default(),
        },
        base: named_part(shop, base)?,
        groups: groups(shop, build),
        check: match latest {
            Some(plug) => {
                let name = part::name(&catalogue::get(shop, plug)?);
                format!("{check}&in_part={}", encoded(&name))
            }
            None => check,
        },
        fitted: fitted::listing(shop, &sets, false)?,
        due,
        readings: readings::listing(shop, &read, false)?,
        days: tuning_days::listing(shop, &days, false)?,
        jobs: jobs(shop, id)?,
        spark: spark::curves(shop, build).is_ok(),
        section: match drawn {
            true => format!("/builds/{id}/section.svg{laid_in}"),
            false => String::new(),
        },
        told: fields_of::all_shown(shop, TOLD, typed)?,
        may_work: frame.may(Role::Tuner),
        id,
        frame,
        focus: "",
        faults: Vec::new(),
    })
}

/// Takes in what the odometer reads, and when the leads were renewed.
async fn tell(
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
        let (members, mut wrong) = fields_of::object(shop, TOLD, &typed)?;
        let record = serde_json::to_value(&builds::get(shop, id)?.data).unwrap_or_default();
        let patch = differing(TOLD, &members, &record);
        let done = match wrong.is_empty() {
            true => builds::patch(shop, id, meant_for(version(&typed)), &patch),
            false => Err(Refusal::Faults(Vec::new())),
        };
        let status = match done {
            Ok(_) => return Ok(Reply::Elsewhere(format!("/builds/{id}"))),
            Err(Refusal::Stale) => {
                wrong.push(Wrong::all(say(STALE)));
                StatusCode::CONFLICT
            }
            Err(refusal) => told(&mut wrong, refusal)?,
        };
        again(shop, frame, id, &typed, &wrong, status)
    })
    .await
}

const STALE: &str = "workshop-somebody-changed-build-while-you";

/// The page with what is wrong.
fn again(
    shop: &Shop,
    frame: Frame,
    id: Uuid,
    typed: &Typed,
    wrong: &[Wrong],
    status: StatusCode,
) -> Result<Reply, Refusal> {
    let stored = builds::get(shop, id)?;
    let mut page = one(shop, frame, &stored, typed)?;
    page.faults = put(wrong, &mut page.told.iter_mut().collect::<Vec<_>>());
    page.focus = page.faults.first().map_or("", |line| line.at);
    Reply::page(status, &page)
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
    let build = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let id = id(&build, "build")?;
        let mut wrong = Vec::new();
        let status = match builds::remove(shop, id, meant_for(version(&typed))) {
            Ok(()) => return Ok(Reply::Elsewhere("/builds".into())),
            Err(Refusal::Stale) => {
                wrong.push(Wrong::all(say(STALE)));
                StatusCode::CONFLICT
            }
            Err(refusal) => told(&mut wrong, refusal)?,
        };
        let record = serde_json::to_value(&builds::get(shop, id)?.data).unwrap_or_default();
        let typed = fields_of::as_typed(TOLD, &record);
        again(shop, frame, id, &typed, &wrong, status)
    })
    .await
}
