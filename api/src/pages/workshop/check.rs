//! A second opinion on the plugs that are in a car: what is told, and what is found.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use plugwell_domain::fault::Fault;
use plugwell_domain::fitment::Symptom;
use plugwell_domain::thread::Thread;
use plugwell_domain::words::{Electrode, Role, Seat, Terminal};
use serde_json::{Map, Value};

use crate::http::body::Body;
use crate::http::fitment_checks::Question;
use crate::pages::answer::{Frame, Reply, made};
use crate::pages::at;
use crate::pages::field::{Field, Line, Wrong, add, put};
use crate::pages::find::engine_form::{self, Group};
use crate::pages::form::{self, Declared, Form, Stored, field};
use crate::pages::typed::Typed;
use crate::pages::visitor::visitor;
use crate::pages::words::say;
use crate::pages::workshop::checked::{self, Told};
use crate::service::{Refusal, Shop, fitment};

/// What the names of fields begin with that are about the plugs in the engine, not about the engine.
const IN: &str = "in_";

const BUILD: Declared = field(
    "build",
    "workshop-stored-build",
    Form::Stored(Stored::Build),
    "",
);

/// What is fitted, and how it has been treated.
pub(super) const FITTED: &[Declared] = &[
    field(
        "in_part",
        "workshop-part-that-is-in",
        Form::Part,
        "workshop-part-that-is-in-hint",
    ),
    field(
        "in_gap_mm",
        "workshop-gap-as-measured",
        Form::Measured("mm"),
        "workshop-gap-as-measured-hint",
    ),
    field(
        "in_distance_km",
        "workshop-run-so-far",
        Form::Measured("km"),
        "",
    ),
    field(
        "in_dropped",
        "workshop-dropped",
        Form::Counted(""),
        "workshop-dropped-hint",
    ),
    field(
        "in_lead_changes",
        "workshop-plug-changes",
        Form::Counted(""),
        "workshop-plug-changes-hint",
    ),
    field(
        "in_leads_renewed",
        "workshop-leads-renewed-since",
        Form::Flag,
        "",
    ),
];

/// A plug that the catalogue does not have, or that nobody can name.
pub(super) const TOLD: &[Declared] = &[
    field("in_thread", "workshop-thread", Form::One(Thread::WORDS), ""),
    field("in_reach_mm", "workshop-reach", Form::Measured("mm"), ""),
    field("in_seat", "workshop-seat", Form::One(Seat::WORDS), ""),
    field("in_hex_mm", "workshop-hex", Form::Measured("mm"), ""),
    field(
        "in_heat_index",
        "workshop-heat-index",
        Form::Measured(""),
        "",
    ),
    field(
        "in_projection_mm",
        "workshop-projection",
        Form::Measured("mm"),
        "",
    ),
    field("in_resistor", "workshop-resistor", Form::Flag, ""),
    field(
        "in_resistance_ohm",
        "workshop-resistance",
        Form::Measured("Ω"),
        "workshop-resistance-hint",
    ),
    field(
        "in_electrode",
        "workshop-tip-metal",
        Form::One(Electrode::WORDS),
        "",
    ),
    field(
        "in_terminal",
        "workshop-terminal",
        Form::One(Terminal::WORDS),
        "",
    ),
];

const SYMPTOMS: Declared = field(
    "symptoms",
    "workshop-what-the-driver-complains-of",
    Form::Several(Symptom::WORDS),
    "workshop-what-the-driver-complains-of-hint",
);

#[derive(Template)]
#[template(path = "workshop/check.html")]
struct Page {
    frame: Frame,
    build: Field,
    groups: Vec<Group>,
    /// Whether the build by hand lies open.
    by_hand: bool,
    fitted: Vec<Field>,
    told: Vec<Field>,
    /// Whether the plug as it was told lies open.
    by_told: bool,
    symptoms: Field,
    focus: &'static str,
    faults: Vec<Line>,
    opinion: Option<Told>,
}

/// Puts the page into the application.
pub(super) fn configure(config: &mut web::ServiceConfig) {
    config.service(at("/check", show));
}

async fn show(shop: web::Data<Shop>, request: HttpRequest) -> HttpResponse {
    let who = match visitor(&shop, &request, Role::Reader) {
        Ok(who) => who,
        Err(page) => return *page,
    };
    let query = request.query_string().to_owned();
    made(&shop, who.frame, move |shop, frame| {
        answer(shop, &query, frame)
    })
    .await
}

/// Whether anything was told beyond the build that another page sent along.
fn is_asked(typed: &Typed) -> bool {
    let mut told = FITTED.iter().chain(TOLD).chain([&SYMPTOMS]);
    engine_form::is_typed(typed)
        || told.any(|declared| !typed.one(declared.name).is_empty())
        || !typed.one("asked").is_empty()
}

fn answer(shop: &Shop, query: &str, frame: Frame) -> Result<Reply, Refusal> {
    let typed = Typed::of_query(query);
    let mut wrong = Vec::new();
    let opinion = if is_asked(&typed) {
        opinion(shop, query, &typed, &frame, &mut wrong)?
    } else {
        None
    };
    let mut page = Page {
        frame,
        build: form::shown(shop, &BUILD, &typed)?,
        groups: engine_form::groups_of_build(shop, &typed)?,
        by_hand: engine_form::is_typed(&typed),
        fitted: form::all_shown(shop, FITTED, &typed)?,
        told: form::all_shown(shop, TOLD, &typed)?,
        by_told: TOLD.iter().any(|told| !typed.one(told.name).is_empty()),
        symptoms: form::shown(shop, &SYMPTOMS, &typed)?,
        focus: "",
        faults: Vec::new(),
        opinion,
    };
    let mut fields = vec![&mut page.build, &mut page.symptoms];
    fields.extend(page.groups.iter_mut().flat_map(|group| &mut group.fields));
    fields.extend(page.fitted.iter_mut().chain(&mut page.told));
    page.faults = put(&wrong, &mut fields);
    page.focus = page.faults.first().map_or("", |line| line.at);
    let status = if wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    Reply::page(status, &page)
}

/// The opinion on what was told; nothing where that is not understood.
fn opinion(
    shop: &Shop,
    query: &str,
    typed: &Typed,
    frame: &Frame,
    wrong: &mut Vec<Wrong>,
) -> Result<Option<Told>, Refusal> {
    let value = question(shop, typed, wrong)?;
    let faults = match Question::check(value) {
        Ok(question) if wrong.is_empty() => match fitment::check(shop, &question.0) {
            Ok(found) => return checked::told(shop, query, &question.0, &found, frame).map(Some),
            Err(Refusal::Faults(faults)) => faults,
            Err(other) => return Err(other),
        },
        Ok(_) => Vec::new(),
        Err(faults) => faults,
    };
    // What is missing as a whole has been said of its field.
    let named = faults
        .into_iter()
        .filter(|fault| wrong.is_empty() || !matches!(fault.pointer.as_str(), "#" | "#/fitted"));
    let named: Vec<Fault> = named.map(of_field).collect();
    add(wrong, &named);
    Ok(None)
}

/// What was told, as JSON, for the same checks as over HTTP.
fn question(shop: &Shop, typed: &Typed, wrong: &mut Vec<Wrong>) -> Result<Value, Refusal> {
    let mut value = Map::new();
    match (typed.one("build"), engine_form::is_typed(typed)) {
        ("", false) => wrong.push(Wrong::with(
            "build",
            say("workshop-choose-stored-build-describe-hand"),
        )),
        ("", true) => {
            let (build, more) = engine_form::build(shop, typed)?;
            wrong.extend(more);
            value.insert("build".into(), build);
        }
        (_, true) => wrong.push(Wrong::with(
            "build",
            say("workshop-either-stored-build-hand-not"),
        )),
        (stored, false) => _ = value.insert("build_id".into(), stored.into()),
    }
    let (fitted, more) = form::object(shop, FITTED, typed)?;
    let (told, and_more) = form::object(shop, TOLD, typed)?;
    let is_told = !told.is_empty() || !and_more.is_empty();
    if typed.one("in_part").is_empty() && !is_told {
        wrong.push(Wrong::with(
            "in_part",
            say("workshop-name-part-tell-plug-below"),
        ));
    }
    wrong.extend(more.into_iter().chain(and_more));
    let mut fitted = bare(fitted);
    if is_told {
        fitted.insert("plug".into(), Value::Object(bare(told)));
    }
    value.insert("fitted".into(), Value::Object(fitted));
    let complaints: Vec<&str> = typed.all(SYMPTOMS.name).collect();
    value.insert("symptoms".into(), complaints.into());
    Ok(Value::Object(value))
}

/// The members by the names that they have beside each other.
fn bare(members: Map<String, Value>) -> Map<String, Value> {
    let bare = |name: String| match name.trim_start_matches(IN) {
        "part_id" => "plug_id".to_owned(),
        name => name.to_owned(),
    };
    members
        .into_iter()
        .map(|(name, value)| (bare(name), value))
        .collect()
}

/// A fault of what is fitted, pointing to the field that shows it.
fn of_field(mut fault: Fault) -> Fault {
    let fitted = fault.pointer.strip_prefix("#/fitted/").map(str::to_owned);
    if let Some(member) = fitted {
        let member = member.strip_prefix("plug/").unwrap_or(&member);
        let field = if matches!(member, "plug_id" | "plug") {
            "part"
        } else {
            member
        };
        fault.pointer = format!("#/{IN}{field}");
    }
    fault
}
