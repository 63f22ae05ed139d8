//! A second opinion on the plugs that are in an engine.

use std::borrow::Cow;

use actix_web::{post, web};
use plugwell_domain::build::Build;
use plugwell_domain::caution::Caution;
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Check, Fault, FaultCode};
use plugwell_domain::fitment::{
    Finding, FindingCode, LookNext, NotJudged, Severity, Symptom, ToldPlug, Treatment,
};
use plugwell_domain::requirement::{Basis, Requirement, Test};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};
use uuid::Uuid;

use crate::http::answer::{Answer, ask, ok};
use crate::http::body::{Body, choice};
use crate::http::match_shapes::Judged;
use crate::http::request::Checked;
use crate::service::Shop;
use crate::service::fitment::{self, Asked, Engine, Fitted, Offer, Remedy};
use crate::service::matching;

/// What is fitted to an engine, and what its driver complains of: exactly one of `build` and
/// `build_id`.
#[derive(Debug, Deserialize, ToSchema)]
pub struct FitmentCheck {
    /// The build, in full or over a stored head.
    #[serde(default)]
    build: Option<Build>,
    /// A stored build.
    #[serde(default)]
    build_id: Option<Uuid>,
    /// What is in it.
    fitted: FittedPlugs,
    /// What the driver complains of.
    #[serde(default)]
    symptoms: Option<Vec<Symptom>>,
}

/// The plugs in the engine: exactly one of `plug_id` and `plug`, and how they have been treated.
#[derive(Debug, Deserialize, ToSchema)]
pub struct FittedPlugs {
    /// A part of the catalogue.
    #[serde(default)]
    plug_id: Option<Uuid>,
    /// The plug as it was told; whatever is not known is left out.
    #[serde(default)]
    #[schema(value_type = Option<ToldPlug>)]
    plug: Option<Map<String, Value>>,
    #[serde(flatten)]
    treatment: Treatment,
}

/// A question, understood.
#[derive(Debug)]
pub struct Question(pub Asked);

impl PartialSchema for Question {
    fn schema() -> RefOr<Schema> {
        FitmentCheck::schema()
    }
}

impl ToSchema for Question {
    fn name() -> Cow<'static, str> {
        FitmentCheck::name()
    }

    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        FitmentCheck::schemas(schemas);
    }
}

impl Body for Question {
    fn read(value: Value) -> Result<Self, Vec<Fault>> {
        let FitmentCheck {
            build,
            build_id,
            fitted,
            symptoms,
        } = serde_json::from_value(value)
            .map_err(|e| vec![Fault::at("", FaultCode::WrongForm, e.to_string())])?;
        let symptoms = symptoms.unwrap_or_default();
        let mut faults = twice(&symptoms);
        let given = [("build", build.is_some()), ("build_id", build_id.is_some())];
        faults.extend(choice(&given));
        let own = build.iter().flat_map(Check::faults);
        faults.extend(own.map(|f| f.under("build")));
        let treatment = fitted.treatment.clone();
        let set = set(fitted).map_err(|more| faults.extend(more)).ok();
        let engine = build
            .map(|build| Engine::Build(Box::new(build)))
            .or(build_id.map(Engine::Stored));
        match (engine, set) {
            (Some(engine), Some(fitted)) if faults.is_empty() => Ok(Self(Asked {
                engine,
                fitted,
                treatment,
                symptoms,
            })),
            _ => Err(faults),
        }
    }
}

/// The plug that is fitted, or every fault of what is told of it.
fn set(told: FittedPlugs) -> Result<Fitted, Vec<Fault>> {
    let given = [
        ("plug_id", told.plug_id.is_some()),
        ("plug", told.plug.is_some()),
    ];
    let mut faults: Vec<Fault> = choice(&given).into_iter().collect();
    faults.extend(told.treatment.faults());
    let plug = told.plug.as_ref().map(ToldPlug::from_map).transpose();
    let plug = plug.unwrap_or_else(|more| {
        faults.extend(more.into_iter().map(|f| f.under("plug")));
        None
    });
    let fitted = plug
        .map(|plug| Fitted::Told(Box::new(plug)))
        .or(told.plug_id.map(Fitted::Part));
    match fitted {
        Some(fitted) if faults.is_empty() => Ok(fitted),
        _ => Err(faults.into_iter().map(|f| f.under("fitted")).collect()),
    }
}

fn twice(symptoms: &[Symptom]) -> Vec<Fault> {
    let again = |place: &usize| symptoms[..*place].contains(&symptoms[*place]);
    (0..symptoms.len())
        .filter(again)
        .map(|place| {
            let detail = format!("{} stands twice", symptoms[place]);
            Fault::at(&format!("symptoms/{place}"), FaultCode::Duplicate, detail)
        })
        .collect()
}

/// What is wrong, what that explains, and what to do.
#[derive(Serialize, ToSchema)]
pub struct SecondOpinion {
    requirement: Requirement,
    /// How the plug stands to every demand.
    #[schema(value_type = Vec<Judged>)]
    verdicts: Vec<Map<String, Value>>,
    /// The most urgent first; of one urgency those first that explain a complaint.
    findings: Vec<FitmentFinding>,
    /// Complaints that no finding explains.
    unexplained: Vec<Symptom>,
    /// Where to look for their causes.
    look_next: Vec<LookNext>,
    /// What could not be judged, since nobody told.
    not_judged: Vec<NotJudged>,
    /// What to beware of.
    cautions: Vec<Caution>,
}

/// One thing that is not as it should be.
#[derive(Serialize, ToSchema)]
pub struct FitmentFinding {
    code: FindingCode,
    severity: Severity,
    /// The attribute of the plug, or the member of `fitted`, that it is about.
    attribute: String,
    #[schema(value_type = Test)]
    needed: Value,
    /// What is there; null where nobody knows.
    has: Value,
    /// What a good tuner would say.
    text: String,
    /// Complaints that it explains.
    explains: Vec<Symptom>,
    /// Those of them that were complained of.
    reported: Vec<Symptom>,
    remedy: FindingRemedy,
    basis: Basis,
}

/// What to do about a finding.
#[derive(Serialize, ToSchema)]
pub struct FindingRemedy {
    /// What to do.
    text: String,
    /// Parts on the shelf to do it with, best first; none where no plug helps or none is there.
    plugs: Vec<RemedyPlug>,
}

/// A part on the shelf that helps.
#[derive(Debug, Serialize, ToSchema)]
pub struct RemedyPlug {
    /// The part.
    plug_id: Uuid,
    /// Its maker.
    maker: String,
    /// The maker's part number as printed.
    part_number: String,
    /// Plugs that nobody has reserved.
    available: i64,
    /// The gap to set on it; null where none is to be set, or none can be.
    set_gap_mm: Option<Length>,
}

impl From<Offer> for RemedyPlug {
    fn from(offer: Offer) -> Self {
        let Offer {
            plug_id,
            maker,
            part_number,
            available,
            set_gap_mm,
        } = offer;
        Self {
            plug_id,
            maker,
            part_number,
            available,
            set_gap_mm,
        }
    }
}

fn found((finding, remedy): (Finding, Remedy)) -> FitmentFinding {
    FitmentFinding {
        code: finding.code,
        severity: finding.severity,
        attribute: finding.attribute.to_owned(),
        needed: finding.needed,
        has: finding.has,
        text: finding.text,
        explains: finding.explains,
        reported: finding.reported,
        remedy: FindingRemedy {
            text: remedy.text(),
            plugs: remedy.plugs.into_iter().map(RemedyPlug::from).collect(),
        },
        basis: finding.basis,
    }
}

fn opinion(checked: fitment::Checked) -> SecondOpinion {
    let opinion = checked.opinion;
    let told = opinion.findings.into_iter().zip(checked.remedies);
    SecondOpinion {
        requirement: checked.requirement,
        verdicts: checked
            .verdicts
            .iter()
            .map(matching::Judged::to_map)
            .collect(),
        findings: told.map(found).collect(),
        unexplained: opinion.unexplained,
        look_next: opinion.look_next,
        not_judged: opinion.not_judged,
        cautions: checked.cautions,
    }
}

/// Gives a second opinion on the plugs that are in an engine; stores nothing.
#[utoipa::path(
    operation_id = "check_fitment", tag = "matching", request_body = FitmentCheck,
    responses((status = 200, description = "What is wrong, the most urgent first, and what nothing explains.", body = SecondOpinion))
)]
#[post("/v1/fitment-checks")]
pub async fn check_fitment(shop: web::Data<Shop>, body: Checked<Question>) -> Answer {
    let checked = ask(&shop, move |shop| fitment::check(shop, &body.0.0));
    ok(&opinion(checked.await?))
}
