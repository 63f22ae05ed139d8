//! Jobs that wait for plugs, and whose turn it is when some can be had.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use uuid::Uuid;

use crate::caution::{Caution, CautionCode};
use crate::fault::{Fault, name_fault};
use crate::fit::Standing;
use crate::requirement::Requirement;
use crate::words::closed_list;

closed_list! {
    /// Where a waiting job stands.
    WaitingState, "state of a waiting job" {
        /// Nothing that it could take is there, or others asked for it before.
        Waiting = "waiting",
        /// What it waits for can be had.
        Possible = "possible",
        /// It got its plugs.
        Closed = "closed",
    }
}

/// What is wrong with the name of a job that is to wait.
pub fn job_fault(job: &str) -> Option<Fault> {
    name_fault("job", Some(job))
}

/// A part that meets what a job waits for, with enough of it that can be had.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct WaitingFit {
    /// The part.
    pub plug_id: Uuid,
    /// Plugs of it that nobody has reserved and nobody waits for longer.
    pub available: i64,
}

/// A job that waits for plugs, as it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct WaitingJob {
    /// The job, by name.
    pub job: String,
    /// The place that stands for the job.
    pub place_id: Uuid,
    /// The build, where it waits for the plugs of a stored one.
    pub build_id: Option<Uuid>,
    /// Plugs asked for.
    pub quantity: i64,
    /// Plugs that it has not got yet.
    pub open_quantity: i64,
    /// Where it stands.
    pub state: WaitingState,
    /// What it can take now, best first: nothing while it waits.
    pub fits: Vec<WaitingFit>,
    /// Since when what it waits for can be had.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub possible_since: Option<DateTime<Utc>>,
    /// When it got its plugs.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub closed_at: Option<DateTime<Utc>>,
    /// Name of the token that asked.
    pub asked_by: String,
}

/// What has become of a waiting job, where that is news.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turned {
    /// It can have its plugs.
    Possible,
    /// It could have had them, and waits again.
    WaitsAgain,
}

impl WaitingJob {
    /// Takes over what is left for it; what that changes for it.
    pub fn stand(&mut self, fits: Vec<WaitingFit>, now: DateTime<Utc>) -> Option<Turned> {
        let (before, can) = (self.state, !fits.is_empty());
        self.fits = fits;
        self.state = if can {
            WaitingState::Possible
        } else {
            WaitingState::Waiting
        };
        match (before, can) {
            (WaitingState::Waiting, true) => {
                self.possible_since = Some(now);
                Some(Turned::Possible)
            }
            (_, true) => None,
            (before, false) => {
                self.possible_since = None;
                (before == WaitingState::Possible).then_some(Turned::WaitsAgain)
            }
        }
    }

    /// Counts plugs that it got of a part that meets it; the last of them ends its waiting.
    pub fn got(&mut self, quantity: i64, now: DateTime<Utc>) {
        self.open_quantity = (self.open_quantity - quantity).max(0);
        if self.open_quantity == 0 {
            self.state = WaitingState::Closed;
            self.closed_at = Some(now);
            self.fits.clear();
        }
    }
}

/// A part that could serve a job, in the order of fits; how much of it there is regardless of who waits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Offered {
    /// Where it stands among the fits.
    pub standing: Standing,
    /// Compared where all before it is equal.
    pub part_number: String,
    /// The part.
    pub plug_id: Uuid,
    /// Plugs that nobody has reserved.
    pub available: i64,
}

/// What is left for each of those who wait, in the order in which they asked: whoever can be served sets
/// what it would take, of the part that suits it best, against what those behind it find.
pub fn in_turn<'a>(line: impl Iterator<Item = (i64, &'a [Offered])>) -> Vec<Vec<WaitingFit>> {
    let mut taken: HashMap<Uuid, i64> = HashMap::new();
    line.map(|(quantity, offers)| {
        let left = offers.iter().map(|offer| WaitingFit {
            plug_id: offer.plug_id,
            available: offer.available - taken.get(&offer.plug_id).copied().unwrap_or(0),
        });
        let left: Vec<_> = left.filter(|fit| fit.available >= quantity).collect();
        if let Some(best) = left.first() {
            *taken.entry(best.plug_id).or_default() += quantity;
        }
        left
    })
    .collect()
}

/// A waiting job as it is shown: with what was asked for, and what to beware of whichever part is taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct WaitingJobShown {
    /// The job.
    #[serde(flatten)]
    pub waiting: WaitingJob,
    /// What its plugs have to be, as it was derived when it asked: it is judged by that, whatever became
    /// of build and policy since.
    #[cfg_attr(feature = "schema", schema(value_type = Requirement))]
    pub requirement: Value,
    /// What to beware of: the makers of plug, head and kit stand above what is told here.
    pub cautions: Vec<Caution>,
}

/// What is said of any plug that somebody waited for: the requirement's own, the makers' word always.
pub fn cautions_of(needs: &Requirement) -> Vec<Caution> {
    let mut cautions = needs.cautions.clone();
    for code in [
        CautionCode::ConfirmWithHeadMaker,
        CautionCode::MakersStandAbove,
    ] {
        if cautions.iter().all(|caution| caution.code != code) {
            cautions.push(Caution::of(code));
        }
    }
    cautions
}
