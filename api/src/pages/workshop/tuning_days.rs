//! Tuning days: the list, and the form that plans one.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::tuning_day::{StandingDay, TuningDay};
use plugwell_domain::words::{Electrode, Role};
use plugwell_store::{Stored as Kept, TuningDayFilter};
use serde_json::Value;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::changing::told;
use crate::pages::form::{self as fields_of, Declared, Form, Stored, field, needed};
use crate::pages::listing::{Cell, Listing, figures, words};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::say;
use crate::pages::workshop::form_page::{FormPage, key};
use crate::pages::workshop::{ONE_MORE, called, cut, named, spoken, tuning_day};
use crate::pages::{at, form, posted};
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, builds, now, tuning_days};

const PLAN: &[Declared] = &[
    needed(field(
        "name",
        "workshop-name",
        Form::Words,
        "workshop-name-hint-2",
    )),
    needed(field(
        "build",
        "workshop-build",
        Form::Stored(Stored::Build),
        "",
    )),
    needed(field("day", "workshop-day", Form::Day, "")),
    needed(field(
        "pulls",
        "workshop-pulls",
        Form::Counted(""),
        "workshop-pulls-hint",
    )),
    field(
        "cylinders_read",
        "workshop-cylinders-read",
        Form::Counted(""),
        "workshop-cylinders-read-hint",
    ),
    field(
        "spares",
        "workshop-spares",
        Form::Counted(""),
        "workshop-spares-hint",
    ),
    field(
        "part",
        "workshop-part-to-read-on",
        Form::Part,
        "workshop-part-to-read-on-hint",
    ),
    field(
        "reserve",
        "workshop-keep-plugs-day",
        Form::Flag,
        "workshop-keep-plugs-day-hint",
    ),
    field(
        "electrode",
        "workshop-tip-metals",
        Form::Several(Electrode::WORDS),
        "workshop-tip-metals-hint",
    ),
];

#[derive(Template)]
#[template(path = "workshop/tuning_days.html")]
struct List {
    frame: Frame,
    /// Whether days that have passed are listed too.
    all: bool,
    listing: Listing,
    may_work: bool,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/tuning-days", list))
        .service(form("/tuning-days/new", new_form, plan))
        .service(at("/tuning-days/{id}", tuning_day::show))
        .service(posted("/tuning-days/{id}/reservation", tuning_day::top_up))
        .service(posted("/tuning-days/{id}/withdrawal", tuning_day::withdraw));
}

/// Days as a list.
pub(super) fn listing(
    shop: &Shop,
    found: &[Kept<StandingDay>],
    with_build: bool,
) -> Result<Listing, Refusal> {
    let mut rows = Vec::new();
    for day in found {
        let (asked, plan) = (&day.data.planned.asked, &day.data.planned.plan);
        let proposed = plan.proposed.as_ref();
        let part = proposed.map_or(say("workshop-nothing-fits").into(), |offer| {
            format!("{} {}", offer.plug.maker, offer.plug.part_number)
        });
        let mut row = vec![
            Cell::to(format!("/tuning-days/{}", day.id), &asked.name),
            Cell::of(asked.day.format("%-d %b %Y")),
            Cell::of(part),
            Cell::of(plan.quantity.total),
            Cell::of(spoken(day.data.state.word())),
        ];
        if with_build {
            let build = match asked.build_id {
                Some(id) => Cell::to(
                    format!("/builds/{id}"),
                    called(builds::get(shop, id)?.data.name),
                ),
                None => Cell::of(say("workshop-a-build-by-hand-2")),
            };
            row.insert(2, build);
        }
        rows.push(row);
    }
    let mut columns = vec![
        words("workshop-tuning-day"),
        words("workshop-day"),
        words("workshop-part"),
        figures("workshop-plugs"),
        words("workshop-where-it-stands"),
    ];
    if with_build {
        columns.insert(2, words("workshop-build"));
    }
    Ok(Listing {
        caption: say("workshop-tuning-days").into(),
        columns,
        rows,
        empty: say("workshop-no-tuning-day-is-planned"),
        more: String::new(),
    })
}

async fn list(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let all = typed.one("all") == "yes";
        let build_id = named(&typed, "build_id", "build")?;
        let filter = TuningDayFilter {
            build_id,
            from: (!all).then(|| now().date_naive()),
            to: None,
        };
        let after = named(&typed, "after", say("workshop-tuning-day-2"))?;
        let mut found = tuning_days::list(shop, &filter, after, ONE_MORE)?;
        let of_build = build_id.map_or(String::new(), |id| format!("&build_id={id}"));
        let here = format!(
            "/tuning-days?all={}{of_build}",
            if all { "yes" } else { "no" }
        );
        let more = cut(&mut found, &here, |day| day.id);
        let page = List {
            may_work: frame.may(Role::Tuner),
            frame,
            all,
            listing: Listing {
                more,
                ..listing(shop, &found, true)?
            },
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

fn page(shop: &Shop, frame: Frame, typed: &Typed) -> Result<FormPage, Refusal> {
    Ok(FormPage {
        frame,
        heading: say("workshop-plan-a-tuning-day").into(),
        said: say("workshop-every-pull-read-fresh-plugs").into(),
        path: "/tuning-days/new".into(),
        hidden: vec![key(typed)],
        fields: fields_of::all_shown(shop, PLAN, typed)?,
        button: say("workshop-plan-this-day"),
        back: (
            "/tuning-days".into(),
            say("workshop-all-tuning-days").into(),
        ),
        ..FormPage::default()
    })
}

async fn new_form(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Tuner) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let mut typed = Typed::of_query(request.query_string());
    let build = typed.one("build_id").to_owned();
    typed.put("build", build);
    made(&shop, who.frame, move |shop, frame| {
        page(shop, frame, &typed)?.reply(StatusCode::OK, &[])
    })
    .await
}

async fn plan(shop: web::Data<Shop>, request: HttpRequest, posted: Posted) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let (mut members, mut wrong) = fields_of::object(shop, PLAN, &typed)?;
        if let Some(part) = members.remove("part_id") {
            members.insert("plug_id".into(), part);
        }
        let asked = match TuningDay::check(Value::Object(members)) {
            Ok(asked) if wrong.is_empty() => planned(shop, &who.actor, &typed, &asked),
            Ok(_) => Err(Refusal::Faults(Vec::new())),
            Err(faults) => Err(Refusal::Faults(faults)),
        };
        match asked {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(refusal) => {
                let status = told(&mut wrong, refusal)?;
                page(shop, frame, &typed)?.reply(status, &wrong)
            }
        }
    })
    .await
}

fn planned(
    shop: &Shop,
    actor: &Actor,
    typed: &Typed,
    asked: &TuningDay,
) -> Result<String, Refusal> {
    let policy = shop.policy();
    once(actor, "/tuning-days/new", typed, |key| {
        let done = shop.once(
            key,
            |s| tuning_days::plan(shop, s, &By::now(actor), &policy, asked),
            |day| leading_to(format!("/tuning-days/{}", day.id)),
        );
        done.map(|done| done.stored)
    })
}
