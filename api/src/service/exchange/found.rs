//! What is found while a table is read: faults, what was done, and what differs from what is stored.

use std::collections::HashMap;

use plugwell_domain::fault::FaultCode;
use serde::Serialize;
use serde_json::{Map, Value};
use utoipa::ToSchema;
use uuid::Uuid;

use super::already::Already;
use crate::service::Refusal;
use crate::service::refusal::RowFault;
use crate::service::shop::{Along, Touched};

/// Faults that are listed; the rest is only counted.
const LISTED: usize = 1_000;
/// Rows whose differences are listed; the rest is only counted.
const COMPARED: usize = 1_000;

/// Faults as they are found.
#[derive(Default)]
pub(super) struct Faults {
    listed: Vec<RowFault>,
    count: u64,
}

impl Faults {
    /// Adds a fault of a row; of a cell that runs over several lines that is said, too.
    pub(super) fn add(
        &mut self,
        row: u64,
        column: &str,
        found: &str,
        code: FaultCode,
        detail: String,
    ) {
        self.count += 1;
        if self.listed.len() < LISTED {
            let lines = found.lines().count();
            let detail = match lines {
                0 | 1 => detail,
                _ => format!(
                    "{detail}; the cell runs over {lines} lines: is the quote that opens it closed where it ends?"
                ),
            };
            let found = found.chars().take(200).collect();
            self.listed.push(RowFault {
                row,
                column: column.to_owned(),
                found,
                code,
                detail,
            });
        }
    }

    /// Takes over what was found elsewhere, behind what was found here.
    pub(super) fn append(&mut self, other: Self) {
        self.count += other.count;
        let room = LISTED.saturating_sub(self.listed.len());
        self.listed.extend(other.listed.into_iter().take(room));
    }

    pub(super) fn none(&self) -> bool {
        self.count == 0
    }

    /// Nothing where there is no fault.
    pub(super) fn ended(mut self) -> Result<(), Refusal> {
        if self.none() {
            return Ok(());
        }
        // What can be said of a row only once the file has ended was found last.
        self.listed.sort_by_key(|fault| fault.row);
        Err(Refusal::Rows {
            errors: self.listed,
            count: self.count,
        })
    }
}

/// What an import did.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, ToSchema)]
pub struct Report {
    /// Rows below the header.
    pub rows: u64,
    /// Records that are new; of stock, receipts.
    pub created: u64,
    /// Records that changed.
    pub updated: u64,
    /// Records that stand as they were.
    pub unchanged: u64,
    /// Of stock only: what tells that the table was received before. Nothing is refused for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub already: Option<Already>,
}

/// What an import would do.
#[derive(Debug, Clone, PartialEq, Default, Serialize, ToSchema)]
pub struct Trial {
    /// In numbers.
    #[serde(flatten)]
    pub report: Report,
    /// Record by record, the first thousand that are new or would change.
    pub differences: Vec<RecordDifference>,
    /// How many more there are.
    pub more_differences: u64,
}

/// What an import would do with a record.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct RecordDifference {
    /// Its row; of a heat scale the first.
    pub row: u64,
    /// What it is called.
    pub record: String,
    /// What would become of it.
    pub change: Change,
    /// What would change of it; of a new record nothing is listed.
    pub members: Vec<MemberDifference>,
}

/// A member that would change.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct MemberDifference {
    /// Its name.
    pub member: String,
    /// What is stored.
    #[schema(value_type = Value)]
    pub old: Value,
    /// What the table says.
    #[schema(value_type = Value)]
    pub new: Value,
}

/// What becomes of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// It is new.
    Created,
    /// It changes.
    Updated,
    /// It stands as it was.
    Unchanged,
}

/// Everything that was found.
#[derive(Default)]
pub(super) struct Found<'s> {
    pub(super) faults: Faults,
    pub(super) trial: Trial,
    /// Catalogue records that are new or changed and that the index has to hear of yet.
    pub(super) plugs: Vec<Uuid>,
    /// The index of new records, where it is made along with them.
    pub(super) along: Option<Along<'s>>,
    /// Shelves that were changed, by the part's ordinal.
    pub(super) touched: HashMap<u32, Touched>,
}

impl Found<'_> {
    /// Counts a record, and keeps what differs where there is room.
    pub(super) fn record(
        &mut self,
        row: u64,
        change: Change,
        name: impl FnOnce() -> String,
        members: impl FnOnce() -> Vec<MemberDifference>,
    ) {
        let report = &mut self.trial.report;
        match change {
            Change::Created => report.created += 1,
            Change::Updated => report.updated += 1,
            Change::Unchanged => {
                report.unchanged += 1;
                return;
            }
        }
        if self.trial.differences.len() < COMPARED {
            self.trial.differences.push(RecordDifference {
                row,
                record: name(),
                change,
                members: members(),
            });
        } else {
            self.trial.more_differences += 1;
        }
    }
}

/// The members in which two objects differ, in the order of the second.
pub(super) fn differing(
    old: &Map<String, Value>,
    new: &Map<String, Value>,
) -> Vec<MemberDifference> {
    let differing = new.iter().filter_map(|(member, new)| {
        let old = old.get(member).unwrap_or(&Value::Null);
        (old != new).then(|| MemberDifference {
            member: member.clone(),
            old: old.clone(),
            new: new.clone(),
        })
    });
    differing.collect()
}
