//! What an unmarked plug can be.

use actix_web::{post, web};
use plugwell_domain::caution::Caution;
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Check, Fault};
use plugwell_domain::identification::{
    Agreement, NamedHex, NamedThread, NextMeasurement, Readings,
};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use utoipa::ToSchema;

use crate::http::answer::{Answer, ask, ok};
use crate::http::body::bodies;
use crate::http::match_answer;
use crate::http::request::Checked;
use crate::service::identification::{self, Candidate, Identified};
use crate::service::{Refusal, Shop};

/// What was read off a plug that nobody can name; something has to be known.
#[derive(Debug, Deserialize, ToSchema)]
pub struct IdentificationRequest {
    #[serde(flatten)]
    /// What was read.
    pub readings: Readings,
    /// Most candidates answered; 10 where null.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 200)]
    limit: Option<usize>,
}

impl Check for IdentificationRequest {
    fn faults(&self) -> Vec<Fault> {
        self.readings.faults()
    }
}

bodies!(IdentificationRequest);

/// What the plug is by its readings, and which records it can be.
#[derive(Serialize, ToSchema)]
pub struct IdentificationAnswer {
    /// All of it in words: how sure it is, and what cannot be told.
    text: String,
    /// The thread; null where neither diameter nor pitch was read.
    thread: Option<NamedThread>,
    /// The nominal reach; null where none was read, or the reading is near to none.
    reach_family_mm: Option<Length>,
    /// The hexagon; null where it was not read.
    hex: Option<NamedHex>,
    /// Whether a resistor is fitted; null where it was not measured or cannot be told.
    resistor: Option<bool>,
    /// Why; null where it was not measured.
    resistor_text: Option<String>,
    /// Records that it can be, the likeliest first.
    candidates: Vec<CandidateAnswer>,
    totals: CandidateTotals,
    /// The one further measurement that tells most; null where none tells the leading candidates
    /// apart.
    next_measurement: Option<NextMeasurement>,
    /// What to beware of.
    cautions: Vec<Caution>,
}

/// A record that the plug can be.
#[derive(Serialize, ToSchema)]
pub struct CandidateAnswer {
    #[schema(value_type = Plug)]
    plug: Map<String, Value>,
    /// From 0 to 1, to six places: its share among all records that the plug can be, shown or not, as
    /// if each were as common as another.
    likelihood: f64,
    /// Sealed plugs of it that nobody has reserved.
    available: i64,
    /// How it stands to each reading.
    readings: Vec<ReadingAnswer>,
}

/// How a record stands to a reading.
#[derive(Serialize, ToSchema)]
pub struct ReadingAnswer {
    /// The reading's member in the request; `resistor` where the record knows only that of the
    /// resistance.
    attribute: &'static str,
    /// What was read.
    read: Value,
    /// What the record has; null where it is unknown or only assumed, which is doubtful.
    nominal: Value,
    verdict: Agreement,
}

/// How many there are.
#[derive(Serialize, ToSchema)]
pub struct CandidateTotals {
    /// Records that the plug can be.
    candidates_in_catalogue: u64,
}

/// Names an unmarked plug by measurements: its thread, reach, hexagon and resistor, the records
/// that it can be, and what to measure next.
#[utoipa::path(
    operation_id = "identify_plug", tag = "matching", request_body = IdentificationRequest,
    responses((status = 200, description = "What it is, and what it can be.", body = IdentificationAnswer))
)]
#[post("/v1/identifications")]
pub async fn identify_plug(shop: web::Data<Shop>, body: Checked<IdentificationRequest>) -> Answer {
    let found = ask(&shop, move |shop| {
        let limit = body.0.limit.unwrap_or(10);
        let found = identification::identify(shop, &body.0.readings, limit)?;
        Ok::<_, Refusal>(answered(found, &shop.policy()))
    });
    ok(&found.await?)
}

fn answered(found: Identified, policy: &Policy) -> IdentificationAnswer {
    let candidates = found
        .candidates
        .iter()
        .map(|c| candidate(c, &found, policy));
    IdentificationAnswer {
        candidates: candidates.collect(),
        text: found.text,
        thread: found.shell.thread,
        reach_family_mm: found.shell.reach_family_mm,
        hex: found.shell.hex,
        resistor: found.shell.resistor,
        resistor_text: found.shell.resistor_text,
        totals: CandidateTotals {
            candidates_in_catalogue: found.in_catalogue,
        },
        next_measurement: found.next,
        cautions: found.cautions,
    }
}

fn candidate(candidate: &Candidate, found: &Identified, policy: &Policy) -> CandidateAnswer {
    let readings = found.sought.readings.iter().map(|reading| {
        let (attribute, read, nominal) = found.sought.in_words(reading, &candidate.plug);
        ReadingAnswer {
            attribute,
            read,
            nominal,
            verdict: found.sought.judge(reading, &candidate.plug).verdict,
        }
    });
    CandidateAnswer {
        plug: match_answer::plug(&candidate.plug, policy),
        likelihood: (candidate.likelihood * 1e6).round() / 1e6,
        available: candidate.available,
        readings: readings.collect(),
    }
}
