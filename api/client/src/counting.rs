//! Counts of bins: begun, counted blind, approved.

use chrono::{DateTime, Utc};
use plugwell_domain::ledger::counting::{CountState, NewCount};
use serde::Deserialize;
use serde_json::json;
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::record::records;
use crate::stock::Movement;
use crate::word::Word;

/// A count; in a list its lines are left out.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Count {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Where it stands.
    pub state: Word<CountState>,
    /// The bins.
    pub places: Vec<Uuid>,
    /// What lies there, a line for each lot in each bin.
    #[serde(default)]
    pub lines: Vec<CountLine>,
    /// Who began it.
    pub made_by: String,
    /// Who approved it.
    #[serde(default)]
    pub approved_by: Option<String>,
    /// What the approval booked, in the answer to it.
    #[serde(default)]
    pub movements: Vec<Movement>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was begun.
    pub created_at: DateTime<Utc>,
}

/// One lot in one bin.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct CountLine {
    /// The lot.
    pub lot_id: Uuid,
    /// The bin.
    pub place_id: Uuid,
    /// The part.
    pub plug_id: Uuid,
    /// Plugs that were counted.
    #[serde(default)]
    pub counted: Option<i64>,
    /// Plugs by the books of that instant; null while the count is open.
    #[serde(default)]
    pub expected: Option<i64>,
    /// Counted less expected.
    #[serde(default)]
    pub difference: Option<i64>,
    /// Whether it has to be counted once more.
    #[serde(default)]
    pub recount: bool,
}

records! {
    Count, "/v1/stock/counts", from NewCount;
}

impl Client {
    /// Approves a count: its differences are booked, once. A reason lets pass what is to be recounted.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn approve(&self, count_id: Uuid, reason: Option<&str>) -> Result<Count, Error> {
        let path = format!("/v1/stock/counts/{count_id}/approval");
        self.command(&path, &json!({ "reason": reason })).await
    }
}
