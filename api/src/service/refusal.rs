//! Why a use case did not do what was asked: one type for every room above.

use std::time::Duration;

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_store::StoreError;
use serde_json::{Map, Value};

use crate::service::conflict::Conflict;

/// One fault of a table.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, utoipa::ToSchema)]
pub struct RowFault {
    /// Row of the file as a spreadsheet counts it: the header is row 1.
    pub row: u64,
    /// Name of the column as the header has it; empty where the whole row is meant.
    pub column: String,
    /// What stands there.
    pub found: String,
    /// The rule.
    pub code: FaultCode,
    /// What is wrong, and what would be right.
    pub detail: String,
}

/// Why a use case did not do what was asked.
#[derive(Debug)]
pub enum Refusal {
    /// The input is wrong: every fault, with its pointer.
    Faults(Vec<Fault>),
    /// A table has faults: the first thousand, and how many there are.
    Rows {
        /// The first of them.
        errors: Vec<RowFault>,
        /// All of them, counted.
        count: u64,
    },
    /// The thing that the path names is not there.
    NotFound(&'static str),
    /// The role is too small for what the body asks.
    Forbidden(String),
    /// The state of stock or record forbids it.
    Conflict {
        /// Which rule.
        conflict: Conflict,
        /// A sentence for the caller.
        detail: String,
        /// Further members of the answer, such as `available`.
        members: Map<String, Value>,
    },
    /// The record was changed since the caller read it.
    Stale,
    /// A change without saying which version it is meant for.
    NeedsVersion,
    /// A once-only key was used before with another request.
    KeyReused,
    /// The database cannot be reached just now; the cause goes to the log.
    Unavailable(String),
    /// What was asked for has not been written, or not arrived here, in the time that was waited for it.
    Behind {
        /// The place of the outbox that was to be reached.
        position: i64,
        /// How long that was waited for.
        waited: Duration,
    },
    /// Our own fault; the cause goes to the log only.
    Fault(String),
}

impl Refusal {
    /// A single fault.
    pub fn fault(fault: Fault) -> Self {
        Self::Faults(vec![fault])
    }

    /// A conflict without further members.
    pub fn conflict(conflict: Conflict, detail: impl Into<String>) -> Self {
        Self::Conflict {
            conflict,
            detail: detail.into(),
            members: Map::new(),
        }
    }
}

impl From<StoreError> for Refusal {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Duplicate { .. } => Self::conflict(
                Conflict::DuplicateRecord,
                "another record has the same name already",
            ),
            StoreError::Busy => Self::Unavailable("the database is busy".into()),
            StoreError::Unavailable(cause) => Self::Unavailable(cause),
            StoreError::Fault(cause) => Self::Fault(cause),
        }
    }
}
