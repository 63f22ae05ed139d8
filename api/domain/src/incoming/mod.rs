//! The incoming check: a sample of a lot is measured and put to the record of its part.
//!
//! A reading contradicts the record where it lies outside what the part's tolerance and the measuring
//! uncertainty allow together: whoever receives has to prove that goods do not conform, so that the
//! uncertainty counts for the supplier (ISO 14253-1, decision rule for the customer; from memory).

mod body;
mod judging;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

pub use body::{CheckUncertainty, Decide, IncomingCheck, SAMPLE};
pub use judging::{JudgedSample, judge};

use crate::wording::{agreeing, counted};
use crate::words::closed_list;

closed_list! {
    /// What is measured of a sample.
    SampleReading, "reading of a sample" {
        /// Ohmmeter from terminal to centre electrode.
        Resistance = "resistance_ohm",
        /// Wire or feeler gauge between the electrodes, as delivered.
        Gap = "gap_mm",
        /// Caliper from the seat to the end of the thread.
        Reach = "reach_mm",
    }
}

closed_list! {
    /// How a sample stands to the record.
    SampleVerdict, "verdict on a sample" {
        /// Every reading can be that of the record.
        Agrees = "agrees",
        /// At least one cannot.
        Contradicts = "contradicts",
        /// Nobody has established what the record should say.
        Unknown = "unknown",
    }
}

closed_list! {
    /// Where an incoming check stands.
    CheckState, "state of an incoming check" {
        /// Nothing contradicts the record.
        Passed = "passed",
        /// What lay in bins is in quarantine and waits for a manager.
        Waiting = "waiting",
        /// A reading contradicts the record, but nothing of the lot lay in a bin any more.
        Noted = "noted",
        /// A manager has let it go back into a bin.
        Released = "released",
        /// A manager has scrapped it.
        Scrapped = "scrapped",
        /// A manager has sent the whole lot back to its supplier.
        SentBack = "sent_back",
    }
}

closed_list! {
    /// What a manager decides about a lot that was put aside.
    Decision, "decision on an incoming check" {
        /// It goes into a bin.
        Release = "release",
        /// It goes into the scrap drum.
        Scrap = "scrap",
        /// The whole lot goes back to its supplier: its receipt is put right.
        SendBack = "send_back",
    }
}

impl Decision {
    /// Where the check stands after it.
    pub const fn leads_to(self) -> CheckState {
        match self {
            Self::Release => CheckState::Released,
            Self::Scrap => CheckState::Scrapped,
            Self::SendBack => CheckState::SentBack,
        }
    }
}

/// Plugs of the lot that are with a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct OutWithJob {
    /// The job, by name.
    pub job: String,
    /// Plugs.
    pub quantity: i64,
}

/// What a manager has decided.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Decided {
    /// What.
    pub decision: Decision,
    /// Name of the token.
    pub by: String,
    /// When.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Why.
    pub note: Option<String>,
    /// The movements that it made.
    pub movement_ids: Vec<Uuid>,
}

/// An incoming check as it is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct KeptCheck {
    /// What was measured.
    #[serde(flatten)]
    pub asked: IncomingCheck,
    /// The part of the lot.
    pub plug_id: Uuid,
    /// Name of the token that recorded it.
    pub checked_by: String,
    /// Each kind of reading against the record, with the policy of that day.
    pub judged: Vec<JudgedSample>,
    /// The policy that it was judged with.
    pub policy_version: i64,
    /// Where it stands.
    pub state: CheckState,
    /// Where the lot was put aside; null where nothing was.
    pub quarantine_id: Option<Uuid>,
    /// Plugs that were put aside.
    pub set_aside: i64,
    /// The movements that did it.
    pub movement_ids: Vec<Uuid>,
    /// Where a reading contradicts the record: plugs of the lot that had gone out before.
    pub out_with_jobs: Vec<OutWithJob>,
    /// The outcome in sentences.
    pub text: String,
    /// What a manager has decided; null until then.
    pub decided: Option<Decided>,
}

impl KeptCheck {
    /// The outcome in sentences.
    pub fn told(
        judged: &[JudgedSample],
        state: CheckState,
        set_aside: i64,
        out: &[OutWithJob],
    ) -> String {
        let against: Vec<&str> = judged
            .iter()
            .filter(|sample| sample.verdict == SampleVerdict::Contradicts)
            .map(|sample| sample.text.as_str())
            .collect();
        let mut text = match state {
            CheckState::Passed => "Nothing measured contradicts the record.".to_owned(),
            CheckState::Noted => format!("{} Nothing of the lot lies in a bin.", against.join(" ")),
            _ => format!(
                "{} {} of the lot {} in quarantine until a manager decides.",
                against.join(" "),
                counted(set_aside, "plug"),
                agreeing(set_aside, "is", "are")
            ),
        };
        let unknown = judged
            .iter()
            .filter(|s| s.verdict == SampleVerdict::Unknown);
        let unknown: Vec<&str> = unknown.map(|sample| sample.text.as_str()).collect();
        if !unknown.is_empty() {
            text = format!("{text} {}", unknown.join(" "));
        }
        let gone: Vec<String> = out
            .iter()
            .map(|out| format!("{} with job {}", out.quantity, out.job))
            .collect();
        if !gone.is_empty() {
            text = format!("{text} Plugs of it have gone out: {}.", gone.join(", "));
        }
        text
    }
}
