//! An unmarked plug: what was read off it, what it can be, and what to measure next.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::identification::{Agreement, Measurement, ThreadVerdict};
use plugwell_domain::words::{Ground, HexKind, Role, Seat, Terminal};
use serde_json::Value;

use crate::http::body::Body;
use crate::http::identifications::IdentificationRequest;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::at;
use crate::pages::field::{Field, Line, add, put};
use crate::pages::figures::in_short;
use crate::pages::form::{self, Declared, Form, worded};
use crate::pages::part;
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::{Word, say, say_with};
use crate::service::identification::{self, Candidate, Identified};
use crate::service::{Refusal, Shop};
use crate::shown::{marked, measured};

/// Candidates that a page shows.
const SHOWN: usize = 10;

const fn measure(
    measurement: Measurement,
    name: &'static str,
    label: &'static str,
    form: Form,
) -> Declared {
    worded(
        name,
        Word::Message(label),
        form,
        Word::Own(measurement.how()),
    )
}

/// Every measurement that helps.
#[rustfmt::skip]
const READ: &[Declared] = &[
    measure(Measurement::MajorDiameter, "major_diameter_mm", "workshop-thread-over-its-crests", Form::Measured("mm")),
    measure(Measurement::Pitch,         "pitch_mm",          "workshop-pitch",                  Form::Measured("mm")),
    measure(Measurement::Seat,          "seat",              "workshop-seat",                   Form::One(Seat::WORDS)),
    measure(Measurement::Reach,         "reach_mm",          "workshop-reach",                  Form::Measured("mm")),
    measure(Measurement::Hex,           "hex_mm",            "workshop-hex",                    Form::Measured("mm")),
    measure(Measurement::HexKind,       "hex_kind",          "workshop-hex-form",               Form::One(HexKind::WORDS)),
    measure(Measurement::Resistance,    "resistance_ohm",    "workshop-resistance",             Form::Measured("Ω")),
    measure(Measurement::Ground,        "ground",            "workshop-ground-electrode",       Form::One(Ground::WORDS)),
    measure(Measurement::Terminal,      "terminal",          "workshop-terminal",               Form::One(Terminal::WORDS)),
    measure(Measurement::Projection,    "projection_mm",     "workshop-projection",             Form::Measured("mm")),
    measure(Measurement::Overall,       "overall_mm",        "workshop-overall",                Form::Measured("mm")),
    measure(Measurement::Insulator,     "insulator_mm",      "workshop-insulator",              Form::Measured("mm")),
];

#[derive(Template)]
#[template(path = "workshop/name.html")]
struct Page {
    frame: Frame,
    fields: Vec<Field>,
    /// The field to begin with: that of the next measurement.
    focus: &'static str,
    faults: Vec<Line>,
    named: Option<Named>,
}

/// What the plug is, as far as it can be told.
struct Named {
    text: String,
    /// What the shell says: name, verdict, sentence.
    shell: Vec<(&'static str, String, String)>,
    /// Label of the next measurement, and why; empty where none helps.
    next: Option<(String, String)>,
    candidates: Vec<CandidateLine>,
    in_catalogue: u64,
    cautions: Vec<String>,
}

/// A record that it can be.
struct CandidateLine {
    name: String,
    path: String,
    in_short: String,
    retired: bool,
    likelihood: String,
    available: i64,
    readings: Vec<ReadingLine>,
}

/// How a record stands to a reading.
struct ReadingLine {
    label: &'static str,
    read: String,
    nominal: String,
    /// A word of the list, for its colour, and a sign beside it.
    verdict: &'static str,
    mark: &'static str,
}

/// Puts the page into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config.service(at("/name", show));
}

async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let typed = Typed::of_query(request.query_string());
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, &typed, frame)
    })
    .await
}

fn answer(shop: &Shop, typed: &Typed, frame: Frame) -> Result<Reply, Refusal> {
    let mut fields = form::all_shown(shop, READ, typed)?;
    let asked = READ.iter().any(|read| !typed.one(read.name).is_empty());
    let (members, mut wrong) = form::object(shop, READ, typed)?;
    let mut found = None;
    if asked {
        match IdentificationRequest::check(Value::Object(members)) {
            Ok(asked) if wrong.is_empty() => {
                found = Some(identification::identify(shop, &asked.readings, SHOWN)?);
            }
            Ok(_) => {}
            Err(faults) => {
                // That nothing was read is untrue where something was not understood.
                let all_wrong = !wrong.is_empty();
                let named = faults.into_iter();
                let named = named.filter(|fault| !all_wrong || fault.pointer != "#");
                add(&mut wrong, &named.collect::<Vec<_>>());
            }
        }
    }
    let faults = put(&wrong, &mut fields.iter_mut().collect::<Vec<_>>());
    let next = found.as_ref().and_then(|found| found.next.as_ref());
    let next = next.and_then(|next| READ.iter().find(|r| r.name == next.attribute.word()));
    let focus = match faults.first() {
        Some(line) => line.at,
        None => next.map_or("", |read| read.name),
    };
    let status = if faults.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    let page = Page {
        frame,
        fields,
        focus,
        faults,
        named: found.as_ref().map(named),
    };
    Reply::page(status, &page)
}

/// What people call a measurement, or what stands for one.
fn label(member: &str) -> &'static str {
    let known = READ.iter().find(|read| read.name == member);
    known.map_or(say("workshop-resistor"), |read| read.label.say())
}

fn shell(found: &Identified) -> Vec<(&'static str, String, String)> {
    let shell = &found.shell;
    let mut told = Vec::new();
    if let Some(thread) = &shell.thread {
        let name = match (thread.designation, thread.verdict) {
            (Some(designation), ThreadVerdict::Worn) => say_with(
                "workshop-designation-worn",
                &[("designation", &designation.to_string())],
            ),
            (Some(designation), _) => designation.to_string(),
            (None, ThreadVerdict::Between) => say("workshop-cannot-be-told").into(),
            (None, _) => say("workshop-none-that-plugs-have").into(),
        };
        told.push((say("workshop-thread"), name, marked(thread.text.clone())));
    }
    if let Some(reach) = shell.reach_family_mm {
        let reach = measured("reach_mm", &Value::from(reach.get()));
        told.push((say("workshop-reach"), reach, String::new()));
    }
    if let Some(hex) = &shell.hex {
        let size = hex.spanner_mm.map(|size| Value::from(size.get()));
        let size = measured("hex_mm", &size.unwrap_or_default());
        told.push((say("workshop-hex"), size, marked(hex.text.clone())));
    }
    if let Some(text) = &shell.resistor_text {
        let fitted = match shell.resistor {
            Some(true) => say("workshop-fitted"),
            Some(false) => say("workshop-not-fitted"),
            None => say("workshop-cannot-be-told"),
        };
        told.push((say("workshop-resistor"), fitted.into(), text.clone()));
    }
    told
}

fn named(found: &Identified) -> Named {
    let next = found.next.as_ref();
    Named {
        text: marked(found.text.clone()),
        shell: shell(found),
        next: next.map(|next| {
            let why = marked(next.why.clone());
            (label(next.attribute.word()).to_owned(), why)
        }),
        candidates: found
            .candidates
            .iter()
            .map(|own| candidate(own, found))
            .collect(),
        in_catalogue: found.in_catalogue,
        cautions: found
            .cautions
            .iter()
            .map(|c| marked(c.text.clone()))
            .collect(),
    }
}

fn candidate(own: &Candidate, found: &Identified) -> CandidateLine {
    let share = own.likelihood * 100.0;
    let readings = found.sought.readings.iter().map(|reading| {
        let (attribute, read, nominal) = found.sought.in_words(reading, &own.plug);
        let verdict = found.sought.judge(reading, &own.plug).verdict;
        ReadingLine {
            label: label(attribute),
            read: measured(attribute, &read),
            nominal: measured(attribute, &nominal),
            verdict: verdict.word(),
            mark: match verdict {
                Agreement::Agrees => "✓",
                Agreement::Doubtful => "?",
                Agreement::Contradicts => "✕",
            },
        }
    });
    CandidateLine {
        name: part::name(&own.plug),
        path: format!("/parts/{}", own.plug.id),
        in_short: in_short(&own.plug.data),
        retired: own.plug.retired,
        likelihood: if share < 1.0 {
            say("workshop-less-than-1").into()
        } else {
            say_with(
                "workshop-about-share",
                &[("share", &format!("{:.0}", share))],
            )
        },
        available: own.available,
        readings: readings.collect(),
    }
}
