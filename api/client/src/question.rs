//! Questions behind the counter: what is wrong with what is fitted, and what an unmarked plug is.

use plugwell_domain::build::Build;
use plugwell_domain::decimal::Length;
use plugwell_domain::fitment::{FindingCode, Severity, Symptom};
use plugwell_domain::identification::{Agreement, Measurement, Readings, ThreadVerdict};
use plugwell_domain::thread::Thread;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::matching::Judged;
use crate::need::{Basis, Caution, Requirement};
use crate::plug::Plug;
use crate::word::Word;

/// The engine that a question is about.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EngineOf {
    /// A build that is told in full.
    Build(Box<Build>),
    /// A stored build.
    BuildId(Uuid),
}

/// What is in an engine and what it does.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitmentCheck {
    /// The engine.
    #[serde(flatten)]
    pub engine: EngineOf,
    /// What is fitted.
    pub fitted: FittedPlugs,
    /// What the driver tells.
    pub symptoms: Vec<Symptom>,
}

/// The plugs that are in.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct FittedPlugs {
    /// The part, where the catalogue has it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plug_id: Option<Uuid>,
    /// What is known of it, as members of a plug, where it has not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plug: Option<Value>,
    /// The gap that was measured; the widest of the set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gap_mm: Option<Length>,
    /// How far the set has run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_km: Option<f64>,
    /// How many of the set were dropped, or may have been.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dropped: Option<u32>,
    /// How many plug changes leads or boots have seen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lead_changes: Option<u32>,
    /// Whether leads or boots have been renewed since.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub leads_renewed: Option<bool>,
}

/// What is said of plugs that are in an engine.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct SecondOpinion {
    /// What the engine needs.
    pub requirement: Requirement,
    /// How what is fitted stands to it.
    #[serde(default)]
    pub verdicts: Vec<Judged>,
    /// What was found, the gravest first.
    pub findings: Vec<FitmentFinding>,
    /// Symptoms that no finding explains.
    pub unexplained: Vec<Word<Symptom>>,
    /// What to beware of.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct FitmentFinding {
    /// Which one.
    pub code: Word<FindingCode>,
    /// Whether to stop, fix or watch.
    pub severity: Word<Severity>,
    /// What it is about.
    #[serde(default)]
    pub attribute: Option<String>,
    /// What is there; null where nobody knows.
    #[serde(default)]
    pub has: Value,
    /// In a sentence.
    pub text: String,
    /// Symptoms that it explains.
    #[serde(default)]
    pub explains: Vec<Word<Symptom>>,
    /// What to do.
    pub remedy: Remedy,
    /// What it rests on.
    #[serde(default)]
    pub basis: Option<Basis>,
}

/// What to do about a finding.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Remedy {
    /// In a sentence.
    pub text: String,
    /// Parts from the shelf that would do.
    #[serde(default)]
    pub plugs: Vec<RemedyPlug>,
}

/// A part from the shelf.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct RemedyPlug {
    /// The part.
    pub plug_id: Uuid,
    /// Plugs that nobody has reserved.
    pub available: i64,
}

/// What an unmarked plug can be.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Identification {
    /// In a sentence.
    #[serde(default)]
    pub text: String,
    /// The thread; null where neither diameter nor pitch was read.
    #[serde(default)]
    pub thread: Option<NamedThread>,
    /// The usual reach.
    #[serde(default)]
    pub reach_family_mm: Option<Length>,
    /// Whether it has a resistor; null where that cannot be told.
    #[serde(default)]
    pub resistor: Option<bool>,
    /// Records that it can be, likeliest first.
    pub candidates: Vec<Candidate>,
    /// The one further measurement that tells most.
    #[serde(default)]
    pub next_measurement: Option<NextMeasurement>,
    /// What to beware of.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// A thread by its measurements.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct NamedThread {
    /// The thread; null where no single one is named.
    #[serde(default)]
    pub designation: Option<Word<Thread>>,
    /// How surely.
    pub verdict: Word<ThreadVerdict>,
    /// In a sentence.
    pub text: String,
}

/// A record that the plug can be.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Candidate {
    /// The part.
    pub plug: Plug,
    /// From 0 to 1.
    pub likelihood: f64,
    /// How each reading stands to it.
    pub readings: Vec<ReadingOf>,
}

/// How a reading stands to a record.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct ReadingOf {
    /// What was read.
    pub attribute: String,
    /// As what.
    pub read: Value,
    /// What the record has; null where it is unknown.
    #[serde(default)]
    pub nominal: Value,
    /// What came of it.
    pub verdict: Word<Agreement>,
}

/// A measurement worth taking.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct NextMeasurement {
    /// The member of the request that it fills.
    pub attribute: Word<Measurement>,
    /// In words.
    pub why: String,
}

impl Client {
    /// What is wrong with the plugs that are in an engine; stores nothing.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn check_fitment(&self, check: &FitmentCheck) -> Result<SecondOpinion, Error> {
        self.ask("/v1/fitment-checks", check).await
    }

    /// What an unmarked plug can be, from what was measured; stores nothing.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn identify(&self, readings: &Readings) -> Result<Identification, Error> {
        self.ask("/v1/identifications", readings).await
    }
}
