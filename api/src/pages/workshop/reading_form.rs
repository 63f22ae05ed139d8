//! The form of a reading: what is seen on a plug after a run, by part of the plug.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::build::Build;
use plugwell_domain::ledger::MovementKind;
use plugwell_domain::reading::{BaseRing, HeatLine, Porcelain, Reading, Speckles};
use plugwell_domain::words::Role;
use plugwell_store::{MovementFilter, Stored as Kept, TuningDayFilter};
use serde_json::Value;
use uuid::Uuid;

use crate::http::body::Body;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::changing::told;
use crate::pages::field::{Choice, Field};
use crate::pages::figures::day;
use crate::pages::find::engine_form::Group;
use crate::pages::form::{self as fields_of, Declared, Form, Stored, field, needed};
use crate::pages::once::{leading_to, once};
use crate::pages::typed::{Posted, Typed};
use crate::pages::visitor::{sender, visitor};
use crate::pages::words::{say, say_with};
use crate::pages::workshop::form_page::{FormPage, key};
use crate::pages::workshop::{called, id, part_names};
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, builds, readings, stock_lists, tuning_days};

/// Days and issues that a form offers.
const OFFERED: i64 = 30;

const BUILD: Declared = field("build", "workshop-build", Form::Stored(Stored::Build), "");
const ISSUE: &str = "movement_id";
const DAY: &str = "tuning_day_id";

const WHICH: &[Declared] = &[
    needed(field(
        "run",
        "workshop-run",
        Form::Counted(""),
        "workshop-run-hint",
    )),
    needed(field(
        "cylinder",
        "workshop-cylinder",
        Form::Counted(""),
        "workshop-cylinder-hint",
    )),
    field(
        "plug_of_cylinder",
        "workshop-plug-of-the-cylinder",
        Form::Counted(""),
        "workshop-plug-of-the-cylinder-hint",
    ),
    field(
        ISSUE,
        "workshop-went-out-with",
        Form::Offered,
        "workshop-went-out-with-hint",
    ),
    field(DAY, "workshop-tuning-day", Form::Offered, ""),
    field(
        "full_load",
        "workshop-full-load",
        Form::Flag,
        "workshop-full-load-hint",
    ),
    field(
        "clean_shut_off",
        "workshop-clean-shut-off",
        Form::Flag,
        "workshop-clean-shut-off-hint",
    ),
];

/// What is looked at, by part of the plug.
const SIGNS: &[(&str, &[Declared])] = &[
    (
        "workshop-ground-strap",
        &[field(
            "heat_line",
            "workshop-heat-line",
            Form::Pick(HeatLine::WORDS),
            "",
        )],
    ),
    (
        "workshop-shell-end",
        &[field(
            "base_ring",
            "workshop-base-ring",
            Form::Pick(BaseRing::WORDS),
            "",
        )],
    ),
    (
        "workshop-insulator",
        &[
            field(
                "porcelain",
                "workshop-porcelain",
                Form::Pick(Porcelain::WORDS),
                "",
            ),
            field(
                "speckles",
                "workshop-speckles",
                Form::Pick(Speckles::WORDS),
                "",
            ),
        ],
    ),
    (
        "workshop-gap",
        &[
            field(
                "gap_before_mm",
                "workshop-before-the-run",
                Form::Measured("mm"),
                "",
            ),
            field(
                "gap_after_mm",
                "workshop-after-it",
                Form::Measured("mm"),
                "workshop-after-it-hint",
            ),
        ],
    ),
    (
        "workshop-anything-else",
        &[field("note", "workshop-note", Form::Lines, "")],
    ),
];

/// The question which build it was.
#[derive(Template)]
#[template(path = "workshop/which_build.html")]
struct WhichBuild {
    frame: Frame,
    build: Field,
    focus: &'static str,
}

fn declared() -> Vec<Declared> {
    let signs = SIGNS.iter().flat_map(|(_, fields)| fields.iter());
    WHICH.iter().chain(signs).copied().collect()
}

/// The build that a form is about.
fn build_of(typed: &Typed) -> Result<Option<Uuid>, Refusal> {
    let named = typed.all("build_id").chain(typed.all("build")).next();
    named.map(|text| id(text, "build")).transpose()
}

fn choice(value: Uuid, words: String, typed: &str) -> Choice {
    let value = value.to_string();
    Choice {
        note: "",
        chosen: value == typed,
        value,
        words,
    }
}

/// The issues that the plug can have gone out with: those for the build, and those of its days.
fn issues(shop: &Shop, build: Uuid, days: &[String], typed: &str) -> Result<Vec<Choice>, Refusal> {
    let newest = |filter: MovementFilter| {
        let filter = MovementFilter {
            kind: Some(MovementKind::Issue),
            newest: true,
            ..filter
        };
        stock_lists::movements(shop, &filter, None, OFFERED)
    };
    let mut found = newest(MovementFilter {
        build_id: Some(build),
        ..MovementFilter::default()
    })?;
    for job in days {
        found.extend(newest(MovementFilter {
            job: Some(job.clone()),
            ..MovementFilter::default()
        })?);
    }
    found.sort_by_key(|issue| std::cmp::Reverse(issue.sequence));
    found.dedup_by_key(|issue| issue.id);
    let names = part_names(shop, found.iter().map(|issue| issue.plug_id))?;
    let words = found.iter().map(|issue| {
        let part = names.get(&issue.plug_id).cloned().unwrap_or_default();
        let job = issue.job.clone().unwrap_or_default();
        let words = say_with(
            "workshop-quantity-part-to-job-day",
            &[
                ("quantity", &issue.quantity),
                ("part", &part),
                ("job", &job),
                ("day", &day(issue.created_at)),
            ],
        );
        choice(issue.id, words, typed)
    });
    Ok(words.collect())
}

/// The signs by part of the plug; of each it can be said that nobody looked.
fn signs(shop: &Shop, typed: &Typed) -> Result<Vec<Group>, Refusal> {
    let mut groups = Vec::new();
    for (legend, declared) in SIGNS {
        let mut fields = fields_of::all_shown(shop, declared, typed)?;
        for field in fields.iter_mut().filter(|field| field.is_pick()) {
            let none = !field.choices.iter().any(|choice| choice.chosen);
            let open = Choice {
                value: String::new(),
                words: say("workshop-not-looked-at").into(),
                note: "",
                chosen: none,
            };
            field.choices.insert(0, open);
        }
        groups.push(Group {
            legend: say(legend),
            note: "",
            folds: false,
            fields,
        });
    }
    Ok(groups)
}

fn page(
    shop: &Shop,
    frame: Frame,
    build: &Kept<Build>,
    typed: &Typed,
) -> Result<FormPage, Refusal> {
    let filter = TuningDayFilter {
        build_id: Some(build.id),
        ..TuningDayFilter::default()
    };
    let days = tuning_days::list(shop, &filter, None, OFFERED)?;
    let jobs: Vec<String> = days
        .iter()
        .map(|d| d.data.planned.asked.name.clone())
        .collect();
    let mut fields = fields_of::all_shown(shop, WHICH, typed)?;
    let one_each = build.data.engine.plugs_per_cylinder.unwrap_or(1) == 1;
    fields.retain(|field| !(one_each && field.name == "plug_of_cylinder"));
    for field in &mut fields {
        match field.name {
            ISSUE => field.choices = issues(shop, build.id, &jobs, typed.one(ISSUE))?,
            DAY => {
                let words =
                    |day: &Kept<_>, name: &String| choice(day.id, name.clone(), typed.one(DAY));
                field.choices = days
                    .iter()
                    .zip(&jobs)
                    .map(|(day, name)| words(day, name))
                    .collect();
            }
            _ => {}
        }
    }
    Ok(FormPage {
        frame,
        heading: say_with(
            "workshop-read-a-plug-of-called",
            &[("called", &called(build.data.name.clone()))],
        ),
        said: say("workshop-not-looked-says-nothing-either").into(),
        path: "/readings/new".into(),
        hidden: vec![key(typed), ("build_id", build.id.to_string())],
        fields,
        groups: signs(shop, typed)?,
        button: say("workshop-keep-this-reading"),
        back: (
            format!("/readings?build_id={}", build.id),
            say("workshop-readings-of-this-build").into(),
        ),
        ..FormPage::default()
    })
}

/// The form at `/readings/new`, once it is known which build was run.
pub(super) async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Tuner) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        let Some(build) = build_of(&typed)? else {
            let page = WhichBuild {
                frame,
                build: fields_of::shown(shop, &BUILD, &typed)?,
                focus: "build",
            };
            return Reply::page(StatusCode::OK, &page);
        };
        let build = builds::get(shop, build)?;
        page(shop, frame, &build, &typed)?.reply(StatusCode::OK, &[])
    })
    .await
}

/// Keeps a reading, once.
pub(super) async fn record(
    shop: web::Data<Shop>,
    request: HttpRequest,
    posted: Posted,
) -> HttpResponse {
    let (who, typed) = match sender(&shop, &request, posted, Role::Tuner) {
        Ok(sent) => sent,
        Err(page) => return *page,
    };
    made(&shop, who.frame, move |shop, frame| {
        let build = build_of(&typed)?.ok_or(Refusal::NotFound("build"))?;
        let build = builds::get(shop, build)?;
        let (mut members, mut wrong) = fields_of::object(shop, &declared(), &typed)?;
        members.insert("build_id".into(), build.id.to_string().into());
        let kept = match Reading::check(Value::Object(members)) {
            Ok(reading) if wrong.is_empty() => kept(shop, &who.actor, &typed, &reading),
            Ok(_) => Err(Refusal::Faults(Vec::new())),
            Err(faults) => Err(Refusal::Faults(faults)),
        };
        match kept {
            Ok(there) => Ok(Reply::Elsewhere(there)),
            Err(refusal) => {
                let status = told(&mut wrong, refusal)?;
                page(shop, frame, &build, &typed)?.reply(status, &wrong)
            }
        }
    })
    .await
}

fn kept(shop: &Shop, actor: &Actor, typed: &Typed, reading: &Reading) -> Result<String, Refusal> {
    let policy = shop.policy();
    once(actor, "/readings/new", typed, |key| {
        let done = shop.once(
            key,
            |s| {
                let kept = readings::record(s, &By::now(actor), &policy, reading)?;
                Ok((kept, Vec::new()))
            },
            |kept| leading_to(format!("/readings/{}", kept.id)),
        );
        done.map(|done| done.stored)
    })
}
