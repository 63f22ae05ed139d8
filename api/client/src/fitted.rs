//! What is in which engine, and what is due to come out.

use chrono::{DateTime, NaiveDate, Utc};
use plugwell_domain::decimal::Length;
use plugwell_domain::fitment::Severity;
use plugwell_domain::fitted::{DueState, SetState};
use serde::Deserialize;
use uuid::Uuid;

use crate::need::{Basis, Unanswered};
use crate::question::RemedyPlug;
use crate::record::{Listed, records};
use crate::word::Word;

/// Plugs that were issued to a job for a build, and have not come back.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct FittedSet {
    /// That of the first issue.
    pub id: Uuid,
    /// The movements that they went out with.
    pub movement_ids: Vec<Uuid>,
    /// The build.
    pub build_id: Uuid,
    /// What the shop calls it.
    #[serde(default)]
    pub build_name: Option<String>,
    /// The job, by name.
    pub job: String,
    /// The part.
    pub plug_id: Uuid,
    /// Plugs, spares among them.
    pub quantity: i64,
    /// Since when.
    pub fitted_at: DateTime<Utc>,
    /// The car's odometer then; null where nobody said.
    #[serde(default)]
    pub odometer_km: Option<i64>,
    /// The gap that they were set to; null where nobody said.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// Where it stands.
    pub state: Word<SetState>,
    /// When a newer whole set replaced it.
    #[serde(default)]
    pub replaced_at: Option<DateTime<Utc>>,
    /// Readings that were taken of it.
    #[serde(default)]
    pub readings: i64,
    /// How many plug changes leads or boots have seen.
    #[serde(default)]
    pub lead_changes: i64,
    /// When they were last renewed.
    #[serde(default)]
    pub leads_renewed_on: Option<NaiveDate>,
}

/// A set that is due, or of which nobody can tell.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Due {
    /// The set.
    pub set: DueSet,
    /// What the shop calls the build.
    #[serde(default)]
    pub build_name: Option<String>,
    /// The part's maker.
    pub maker: String,
    /// The part's number.
    pub part_number: String,
    /// What is due.
    pub state: Word<DueState>,
    /// Whether to stop, fix or watch.
    pub severity: Word<Severity>,
    /// How far it has run.
    #[serde(default)]
    pub distance_km: Option<i64>,
    /// How far such a set runs in such an engine.
    #[serde(default)]
    pub life_km: Option<i64>,
    /// How far it has still to run; less than none where it is over.
    #[serde(default)]
    pub left_km: Option<i64>,
    /// What that rests on.
    #[serde(default)]
    pub basis: Option<Basis>,
    /// In sentences.
    #[serde(default)]
    pub text: Vec<String>,
    /// What nobody told.
    #[serde(default)]
    pub unanswered: Vec<Unanswered>,
    /// Parts from the shelf that would do.
    #[serde(default)]
    pub replace_with: Vec<RemedyPlug>,
}

/// Which set is due.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct DueSet {
    /// The first issue that it went out with: the id of the [`FittedSet`].
    pub movement_id: Uuid,
    /// The build.
    pub build_id: Uuid,
    /// The job, by name.
    pub job: String,
    /// The part.
    pub plug_id: Uuid,
    /// Plugs, spares among them.
    pub quantity: i64,
    /// Since when.
    pub fitted_at: DateTime<Utc>,
}

impl Listed for Due {
    const PATH: &'static str = "/v1/due";
}

records! {
    FittedSet, "/v1/fitted-sets";
}
