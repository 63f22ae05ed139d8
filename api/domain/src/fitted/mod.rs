//! What is in which engine, as far as the books tell: sets made of the issues for a build, and how
//! far each is from the end of its life.

mod due;
mod odometer;
mod sets;

use chrono::{DateTime, Utc};
use serde::Serialize;
use uuid::Uuid;

pub use due::{Due, DueState, Fitted, due};
pub use odometer::{backwards, latest_odometer};
pub use sets::{IssueForBuild, lead_changes, sets};

use crate::decimal::Length;
use crate::words::closed_list;

closed_list! {
    /// Where a set stands.
    SetState, "state of a fitted set" {
        /// In the engine.
        Fitted = "fitted",
        /// A newer whole set went into the engine.
        Replaced = "replaced",
        /// Nothing of it is left: it came out, and no newer whole set went in.
        TakenOut = "taken_out",
    }
}

/// Plugs that went to a job for a build and, as far as the books tell, into its engine.
///
/// An issue for a build that has as many plugs as the engine takes is a whole set, and replaces
/// what was in. A smaller one fills up the set that is in where part and job are the same, and is
/// a set of its own beside it where they are not.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct FittedSet {
    /// The first issue that they went out with.
    pub movement_id: Uuid,
    /// All of them, in the order that they were made.
    pub movement_ids: Vec<Uuid>,
    /// The build.
    pub build_id: Uuid,
    /// The job, by name.
    pub job: String,
    /// The part.
    pub plug_id: Uuid,
    /// Plugs that have not come back, spares among them.
    pub quantity: i64,
    /// Since when: the instant of the first issue.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub fitted_at: DateTime<Utc>,
    /// The car's odometer then; null where nobody said.
    pub odometer_km: Option<i64>,
    /// The gap that they were set to; null where nobody said.
    pub gap_mm: Option<Length>,
    /// Where it stands.
    pub state: SetState,
    /// When a newer whole set replaced it.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub replaced_at: Option<DateTime<Utc>>,
    /// The car's odometer then; null where nobody said.
    pub replaced_at_km: Option<i64>,
    /// Running number of the first issue: the order of lists.
    #[serde(skip)]
    pub sequence: i64,
}

impl FittedSet {
    /// How far it ran until a newer whole set replaced it; `None` while it is in, where either reading of
    /// the odometer is not known, and where they do not agree.
    pub fn ran_km(&self) -> Option<i64> {
        let ran = self.replaced_at_km? - self.odometer_km?;
        (ran >= 0).then_some(ran)
    }
}
