//! At the counter: what was scanned, and where to take a job's plugs from.

use chrono::{DateTime, Utc};
use plugwell_domain::decimal::Length;
use plugwell_domain::ledger::Condition;
use plugwell_domain::scan::ScanKind;
use serde::Deserialize;
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::need::Caution;
use crate::paging::with_query;
use crate::plug::Plug;
use crate::stock::{Lot, Place};
use crate::word::Word;

/// What a scanned or typed text is.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Scan {
    /// The text.
    pub text: String,
    /// What it was read as.
    pub kind: Word<ScanKind>,
    /// The part that it names.
    #[serde(default)]
    pub part: Option<Plug>,
    /// The lot.
    #[serde(default)]
    pub lot: Option<Lot>,
    /// The place.
    #[serde(default)]
    pub place: Option<Place>,
    /// The order.
    #[serde(default)]
    pub order_id: Option<Uuid>,
    /// The barcode that it holds.
    #[serde(default)]
    pub gtin: Option<String>,
    /// Plugs that it stands for, where it says so.
    #[serde(default)]
    pub quantity: Option<i64>,
    /// In a sentence.
    pub said: String,
    /// Everything else that is known of it.
    #[serde(flatten)]
    pub further: Map<String, Value>,
}

/// Where to take the plugs of a job from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct PickList {
    /// The job, by name.
    pub job: String,
    /// When it was made.
    pub made_at: DateTime<Utc>,
    /// What to take, in the order of a walk.
    pub lines: Vec<PickLine>,
    /// The parts that are wanted.
    pub parts: Vec<PickPart>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

/// Plugs of one lot in one bin.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct PickLine {
    /// The bin.
    pub place_id: Uuid,
    /// What its label shows.
    pub place_code: String,
    /// The lot.
    pub lot_id: Uuid,
    /// What its label shows.
    pub lot_code: String,
    /// The part.
    pub plug_id: Uuid,
    /// How many to take.
    pub quantity: i64,
    /// How they are.
    pub condition: Word<Condition>,
    /// The gap that they are set to already.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// The gap to set.
    #[serde(default)]
    pub set_gap_mm: Option<Length>,
    /// The reservation to issue it on.
    #[serde(default)]
    pub reservation_id: Option<Uuid>,
}

/// A part that a job wants.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct PickPart {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its number.
    pub part_number: String,
    /// Plugs wanted.
    pub quantity: i64,
    /// Plugs that the lines take.
    pub picked: i64,
    /// Plugs that are not there.
    pub missing: i64,
    /// The gap to set.
    #[serde(default)]
    pub set_gap_mm: Option<Length>,
    /// How to come to it, or why there is none.
    pub how: String,
    /// Whether it fits the build; null without one.
    #[serde(default)]
    pub fits: Option<bool>,
    /// Why it does not.
    #[serde(default)]
    pub fails: Vec<String>,
    /// Everything else that is known of it.
    #[serde(flatten)]
    pub further: Map<String, Value>,
}

impl Client {
    /// What a scanned or typed text is: an element string, a barcode, a code of a label, or a name.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn scan(&self, text: &str) -> Result<Scan, Error> {
        let query = [("text", text)];
        self.get(&with_query("/v1/scans", query.into_iter())).await
    }

    /// Where to take the plugs from that are kept for a job; of a build also what a match would pick.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn pick_list(&self, job: &str, build_id: Option<Uuid>) -> Result<PickList, Error> {
        let build = build_id.map(|id| id.to_string());
        let build = build.as_deref().map(|id| ("build_id", id));
        let query = [("job", job)].into_iter().chain(build);
        self.get(&with_query("/v1/pick-lists", query)).await
    }
}
