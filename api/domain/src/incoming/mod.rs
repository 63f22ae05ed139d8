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

use crate::ledger::PlaceKind;
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
        /// A manager has sent back to its supplier what lay in quarantine.
        SentBack = "sent_back",
    }
}

impl CheckState {
    /// Why nobody has to decide on it; of one that waits nothing.
    pub const fn settled(self) -> Option<&'static str> {
        match self {
            Self::Waiting => None,
            Self::Passed => Some("nothing that was measured contradicts the record"),
            Self::Noted => Some("nothing of the lot lay in a bin"),
            Self::Released => Some("a manager has let the plugs go back into a bin"),
            Self::Scrapped => Some("a manager has scrapped the plugs"),
            Self::SentBack => Some("a manager has sent the plugs back to the supplier"),
        }
    }
}

closed_list! {
    /// What a manager decides about a lot that was put aside.
    Decision, "decision on an incoming check" {
        /// It goes into a bin.
        Release = "release",
        /// It goes into the scrap drum.
        Scrap = "scrap",
        /// It goes back to its supplier: its receipt is put right for as many as lie in quarantine.
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

/// Plugs that were put aside of a lot that descends from the one that was measured.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct DescendedAside {
    /// The lot.
    pub lot_id: Uuid,
    /// The code on its label.
    pub lot_code: String,
    /// Plugs.
    pub quantity: i64,
}

/// Plugs of a lot, or of what descends from it, that a decision did not reach.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NotReached {
    /// The lot.
    pub lot_id: Uuid,
    /// The code on its label.
    pub lot_code: String,
    /// Where they are.
    pub place_id: Uuid,
    /// What the shop calls the place.
    pub place_name: String,
    /// What it is.
    pub place_kind: PlaceKind,
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
    /// What of the lot, and of what descends from it, lies elsewhere and stays there.
    #[serde(default)]
    pub not_reached: Vec<NotReached>,
    /// What was done in sentences; empty in decisions from before it was written down.
    #[serde(default)]
    pub text: String,
}

impl Decided {
    /// What was done with so many plugs, and what stays where it is.
    pub fn told(decision: Decision, moved: i64, not_reached: &[NotReached]) -> String {
        let done = match decision {
            Decision::Release => "went into the bin",
            Decision::Scrap => "went into the scrap drum",
            Decision::SendBack => "went back to the supplier",
        };
        let text = format!("{} {done}.", counted(moved, "plug"));
        if not_reached.is_empty() {
            return text;
        }
        let stays = not_reached.iter().map(|stays| {
            let (quantity, code) = (stays.quantity, &stays.lot_code);
            let name = &stays.place_name;
            match stays.place_kind {
                PlaceKind::Scrap | PlaceKind::Difference | PlaceKind::Supplier => {
                    format!("{quantity} of lot {code} in {name}")
                }
                PlaceKind::Job => format!("{quantity} of lot {code} with job {name}"),
                kind => format!("{quantity} of lot {code} in {kind} {name}"),
            }
        });
        let stays: Vec<String> = stays.collect();
        format!(
            "{text} Not there, and left where it is: {}.",
            stays.join(", ")
        )
    }
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
    /// Of them those of lots that descend from the one that was measured.
    #[serde(default)]
    pub descended: Vec<DescendedAside>,
    /// Where a reading contradicts the record: plugs of the lot, and of what descends from it, that had
    /// gone out before.
    pub out_with_jobs: Vec<OutWithJob>,
    /// The outcome in sentences.
    pub text: String,
    /// What a manager has decided; null until then.
    pub decided: Option<Decided>,
}

impl KeptCheck {
    /// The outcome in sentences.
    pub fn told(&self) -> String {
        let against = self.judged.iter();
        let against: Vec<&str> = against
            .filter(|sample| sample.verdict == SampleVerdict::Contradicts)
            .map(|sample| sample.text.as_str())
            .collect();
        let (against, put) = (against.join(" "), counted(self.set_aside, "plug"));
        let is = agreeing(self.set_aside, "is", "are");
        let was = agreeing(self.set_aside, "was", "were");
        let mut text = match self.state {
            CheckState::Passed => "Nothing measured contradicts the record.".to_owned(),
            CheckState::Noted => format!("{against} Nothing of the lot lies in a bin."),
            CheckState::Waiting => {
                format!("{against} {put} of the lot {is} in quarantine until a manager decides.")
            }
            CheckState::Released | CheckState::Scrapped | CheckState::SentBack => {
                format!("{against} {put} of the lot {was} put into quarantine.")
            }
        };
        let from_it = self.descended.iter();
        let from_it: Vec<String> = from_it
            .map(|lot| format!("{} of lot {}", lot.quantity, lot.lot_code))
            .collect();
        if !from_it.is_empty() {
            text = format!(
                "{text} Among them is what descends from it: {}.",
                from_it.join(", ")
            );
        }
        let unknown = self
            .judged
            .iter()
            .filter(|s| s.verdict == SampleVerdict::Unknown);
        let unknown: Vec<&str> = unknown.map(|sample| sample.text.as_str()).collect();
        if !unknown.is_empty() {
            text = format!("{text} {}", unknown.join(" "));
        }
        let gone = self.out_with_jobs.iter();
        let gone: Vec<String> = gone
            .map(|out| format!("{} with job {}", out.quantity, out.job))
            .collect();
        if !gone.is_empty() {
            text = format!("{text} Plugs of it have gone out: {}.", gone.join(", "));
        }
        if let Some(decided) = &self.decided {
            text = format!("{text} A manager has decided: {}", decided.text);
        }
        text
    }
}
