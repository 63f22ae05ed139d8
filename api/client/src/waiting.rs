//! Jobs that wait for plugs that nothing in stock meets yet: first come, first served.

use chrono::{DateTime, Utc};
use plugwell_domain::build::Build;
use plugwell_domain::waiting::{WaitingFit, WaitingState};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::need::{Caution, Requirement};
use crate::record::records;
use crate::word::Word;

/// What a job waits for plugs for.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WaitFor {
    /// A build that is told in full.
    Build(Box<Build>),
    /// A stored build.
    BuildId(Uuid),
    /// A requirement.
    Requirement(Box<Requirement>),
}

/// A job that is to wait; [`Client::store`](crate::Client::store) asks for it, and
/// [`Client::remove`](crate::Client::remove) calls it off.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[must_use]
pub struct Wait {
    job: String,
    #[serde(flatten)]
    subject: WaitFor,
    #[serde(skip_serializing_if = "Option::is_none")]
    quantity: Option<i64>,
}

impl Wait {
    /// A job waits for a whole set. By its name it is the one that plugs are reserved for and issued to.
    pub fn of(job: &str, subject: WaitFor) -> Self {
        Self {
            job: job.to_owned(),
            subject,
            quantity: None,
        }
    }

    /// So many plugs.
    pub fn quantity(mut self, quantity: i64) -> Self {
        self.quantity = Some(quantity);
        self
    }
}

/// A job that waits, or waited. Listed are those that still do, in the order in which they asked, unless the
/// filter `state` says otherwise.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct WaitingJob {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// The job, by name.
    pub job: String,
    /// The place that stands for the job.
    pub place_id: Uuid,
    /// The build, where it waits for the plugs of a stored one.
    #[serde(default)]
    pub build_id: Option<Uuid>,
    /// Plugs asked for.
    pub quantity: i64,
    /// Plugs that it has not got yet.
    pub open_quantity: i64,
    /// Where it stands.
    pub state: Word<WaitingState>,
    /// What it can take now, best first: nothing while it waits.
    pub fits: Vec<WaitingFit>,
    /// Since when what it waits for can be had.
    #[serde(default)]
    pub possible_since: Option<DateTime<Utc>>,
    /// When it got its plugs.
    #[serde(default)]
    pub closed_at: Option<DateTime<Utc>>,
    /// Who asked.
    pub asked_by: String,
    /// What its plugs have to be, as it was derived when it asked.
    pub requirement: Requirement,
    /// What to beware of whichever part is taken.
    pub cautions: Vec<Caution>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it asked.
    pub created_at: DateTime<Utc>,
}

records! {
    WaitingJob, "/v1/waiting-jobs", from Wait;
}
