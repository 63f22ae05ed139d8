//! Readings: the history, and one of them with what it suggests.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::reading::{RULES, Reading, ShownReading, Sign};
use plugwell_domain::words::Role;
use plugwell_store::{ReadingFilter, Stored};

use crate::pages::answer::{Frame, Reply, made};
use crate::pages::figures::{gap, instant};
use crate::pages::listing::{Cell, Listing, words};
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{say, say_with};
use crate::pages::workshop::{ONE_MORE, begun, called, cut, id, named, reading_form, spoken};
use crate::pages::{at, form};
use crate::service::{Refusal, Shop, builds, readings, tuning_days};
use crate::shown::marked;

#[derive(Template)]
#[template(path = "workshop/readings.html")]
struct List {
    frame: Frame,
    /// The build that they are narrowed to, by page and name.
    build: Option<(String, String)>,
    /// The form of a new one.
    new: String,
    listing: Listing,
    may_work: bool,
}

#[derive(Template)]
#[template(path = "workshop/reading.html")]
struct One {
    frame: Frame,
    heading: String,
    build: (String, String),
    /// The plug's page, name and heat; empty where the lot is not known.
    plug: (String, String),
    day: (String, String),
    at: String,
    evidence: bool,
    flaws: Vec<String>,
    /// What was seen, and what that means.
    seen: Vec<(String, String, String)>,
    suggestions: Vec<String>,
    contradictions: Vec<String>,
    not_seen: String,
    note: String,
    cautions: Vec<String>,
    /// The form of the next cylinder's.
    next: String,
    may_work: bool,
}

/// Puts the pages into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config
        .service(at("/readings", list))
        .service(form(
            "/readings/new",
            reading_form::show,
            reading_form::record,
        ))
        .service(at("/readings/{id}", show));
}

/// What a reading comes to, in a line.
fn comes_to(reading: &ShownReading) -> String {
    let judged = &reading.kept.judgement;
    if !judged.evidence {
        return say("workshop-kept-but-no-evidence").into();
    }
    let told = judged.suggestions.iter().map(|s| spoken(s.code.word()));
    let told: Vec<String> = told.collect();
    if told.is_empty() {
        say("workshop-tells-nothing").into()
    } else {
        told.join(", ")
    }
}

/// The plug that a reading is of, with its heat.
fn plug(reading: &ShownReading) -> String {
    reading
        .plug
        .as_ref()
        .map_or(say("pages-unknown").into(), |plug| {
            let heat = plug
                .heat_index
                .map_or(say("pages-unknown").into(), |heat| marked(heat.to_string()));
            say_with(
                "workshop-maker-part-number-heat-heat",
                &[
                    ("maker", &plug.maker),
                    ("part_number", &plug.part_number),
                    ("heat", &heat),
                ],
            )
        })
}

fn which(reading: &Reading) -> String {
    let plug = reading.plug_of_cylinder.map_or(String::new(), |plug| {
        say_with("workshop-plug-plug", &[("plug", &plug)])
    });
    say_with(
        "workshop-run-run-cylinder-cylinder-plug",
        &[
            ("run", &reading.run),
            ("cylinder", &reading.cylinder),
            ("plug", &plug),
        ],
    )
}

/// Readings as a list.
pub(super) fn listing(
    shop: &Shop,
    found: &[Stored<ShownReading>],
    with_build: bool,
) -> Result<Listing, Refusal> {
    let mut rows = Vec::new();
    for own in found {
        let reading = &own.data.kept.reading;
        let mut row = vec![
            Cell::to(format!("/readings/{}", own.id), which(reading)),
            Cell::of(instant(own.created_at)),
            Cell::of(plug(&own.data)),
            Cell::of(comes_to(&own.data)),
        ];
        if with_build {
            let build = reading.build_id;
            let name = called(builds::get(shop, build)?.data.name);
            row.insert(1, Cell::to(format!("/builds/{build}"), name));
        }
        rows.push(row);
    }
    let mut columns = vec![
        words("workshop-reading"),
        words("workshop-kept"),
        words("workshop-plug"),
        words("workshop-suggests"),
    ];
    if with_build {
        columns.insert(1, words("workshop-build"));
    }
    Ok(Listing {
        caption: say("workshop-readings").into(),
        columns,
        rows,
        empty: say("workshop-no-plug-has-been-read"),
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
        let filter = ReadingFilter {
            build_id: named(&typed, "build_id", "build")?,
            tuning_day_id: named(&typed, "tuning_day_id", say("workshop-tuning-day-2"))?,
            movement_id: named(&typed, "movement_id", "movement")?,
            evidence: None,
        };
        let before = named(&typed, "after", "reading")?;
        let mut found = readings::list(shop, &filter, before, ONE_MORE)?;
        let narrowed: String = [
            ("build_id", filter.build_id),
            ("tuning_day_id", filter.tuning_day_id),
            ("movement_id", filter.movement_id),
        ]
        .iter()
        .filter_map(|(name, id)| Some(format!("&{name}={}", (*id)?)))
        .collect();
        let narrowed = narrowed.trim_start_matches('&');
        let more = cut(&mut found, &format!("/readings?{narrowed}"), |own| own.id);
        let build = match filter.build_id {
            Some(id) => Some((
                format!("/builds/{id}"),
                called(builds::get(shop, id)?.data.name),
            )),
            None => None,
        };
        let page = List {
            new: format!("/readings/new?{narrowed}"),
            listing: Listing {
                more,
                ..listing(shop, &found, build.is_none())?
            },
            build,
            may_work: frame.may(Role::Tuner),
            frame,
        };
        Reply::page(StatusCode::OK, &page)
    })
    .await
}

/// What was seen, where, and what that means.
fn seen(reading: &ShownReading) -> Vec<(String, String, String)> {
    let record = serde_json::to_value(&reading.kept).unwrap_or_default();
    let words = RULES
        .iter()
        .filter(|rule| record[rule.sign.word()] == rule.seen);
    let mut seen: Vec<_> = words
        .map(|rule| {
            (
                begun(&spoken(rule.sign.word())),
                spoken(rule.seen),
                format!("{}.", begun(rule.means)),
            )
        })
        .collect();
    let own = &reading.kept.reading;
    if let (Some(before), Some(after)) = (own.gap_before_mm, own.gap_after_mm) {
        let words = say_with(
            "workshop-gap-before-then-after",
            &[("before", &gap(before)), ("after", &gap(after))],
        );
        seen.push((say("workshop-gap").into(), words, String::new()));
    }
    seen
}

/// The form for the next cylinder of the same run.
fn next(reading: &Reading) -> String {
    let other = [
        ("movement_id", reading.movement_id),
        ("tuning_day_id", reading.tuning_day_id),
    ];
    let other: String = other
        .iter()
        .filter_map(|(name, id)| Some(format!("&{name}={}", (*id)?)))
        .collect();
    format!(
        "/readings/new?build_id={}{other}&run={}&cylinder={}",
        reading.build_id,
        reading.run,
        reading.cylinder + 1
    )
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
    let reading = path.into_inner();
    made(&shop, who.frame, move |shop, frame| {
        let stored = readings::get(shop, id(&reading, "reading")?)?;
        Reply::page(StatusCode::OK, &one(shop, frame, &stored)?)
    })
    .await
}

fn one(shop: &Shop, frame: Frame, stored: &Stored<ShownReading>) -> Result<One, Refusal> {
    let (shown, judged) = (&stored.data, &stored.data.kept.judgement);
    let reading = &shown.kept.reading;
    let build = builds::get(shop, reading.build_id)?;
    let is_last = reading.cylinder >= build.data.engine.cylinders;
    let day = match reading.tuning_day_id {
        Some(id) => {
            let name = tuning_days::get(shop, id)?.data.planned.asked.name;
            (format!("/tuning-days/{id}"), name)
        }
        None => Default::default(),
    };
    let not_seen = judged.not_seen.iter().map(|sign: &Sign| match sign {
        Sign::GapGrowth => say("workshop-what-the-gap-did").to_owned(),
        sign => spoken(sign.word()),
    });
    Ok(One {
        heading: which(reading),
        build: (
            format!("/builds/{}", reading.build_id),
            called(build.data.name),
        ),
        plug: match &shown.plug {
            Some(part) => (format!("/parts/{}", part.id), plug(shown)),
            None => Default::default(),
        },
        day,
        at: instant(stored.created_at),
        evidence: judged.evidence,
        flaws: judged
            .refused_because
            .iter()
            .map(|f| marked(f.text.clone()))
            .collect(),
        seen: seen(shown),
        suggestions: judged
            .suggestions
            .iter()
            .map(|s| marked(s.text.clone()))
            .collect(),
        contradictions: judged
            .contradictions
            .iter()
            .map(|c| marked(c.text.clone()))
            .collect(),
        not_seen: not_seen.collect::<Vec<_>>().join(", "),
        note: reading.note.clone().unwrap_or_default(),
        cautions: judged
            .cautions
            .iter()
            .map(|c| marked(c.text.clone()))
            .collect(),
        next: match is_last {
            true => String::new(),
            false => next(reading),
        },
        may_work: frame.may(Role::Tuner),
        frame,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::policy::Policy;
    use plugwell_domain::reading::{History, KeptReading, judge};
    use serde_json::json;

    #[test]
    fn what_was_seen_is_told_with_what_it_means() {
        let reading: Reading = serde_json::from_value(json!({
            "build_id": "0190a1c0-0000-7000-8000-000000000001", "run": 2, "cylinder": 3,
            "heat_line": "past_bend", "speckles": "none", "gap_before_mm": 0.7, "gap_after_mm": 0.7,
        }))
        .unwrap();
        let history = History {
            issued: false,
            condition: None,
            all_read: false,
            unfit: Vec::new(),
            heat: None,
            heat_min: None,
        };
        let judgement = judge(&reading, &history, &Policy::default().values);
        let shown = ShownReading {
            kept: KeptReading {
                plug_id: None,
                reading,
                judgement,
            },
            plug: None,
        };
        let told = seen(&shown);
        let told: Vec<_> = told
            .iter()
            .map(|(sign, seen, _)| (sign.as_str(), seen.as_str()))
            .collect();
        assert_eq!(
            told,
            [
                ("Heat line", "past bend"),
                ("Speckles", "none"),
                ("Gap", "0.7 mm (28 thou), then 0.7 mm (28 thou)"),
            ]
        );
        assert_eq!(comes_to(&shown), "kept, but no evidence");
        assert_eq!(plug(&shown), "unknown");
    }
}
