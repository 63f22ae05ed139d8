//! Who delivers: a place of the ledger, and what is known of it besides.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::fault::{Check, Fault, FaultCode, name_fault, text_fault};
use crate::ledger::Money;
use crate::ledger::commands::cost_fault;

/// The longest lead time that is taken, in days.
const LEAD_TIME_MAX: i64 = 730;

/// What is known of a supplier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SupplierData {
    /// What the shop calls it; unique among suppliers, case-blind. Lots keep the name that they came
    /// with.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: String,
    /// Days from order to delivery that it promises: used where no order tells.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 730))]
    pub lead_time_days: Option<i64>,
    /// What an order has to come to before it delivers.
    #[serde(default)]
    pub least_order: Option<Money>,
    /// Whom to call or write to.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub contact: Option<String>,
    /// Anything else.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub note: Option<String>,
}

impl SupplierData {
    /// A supplier of whom nothing is known but the name.
    pub fn named(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            lead_time_days: None,
            least_order: None,
            contact: None,
            note: None,
        }
    }
}

impl Check for SupplierData {
    fn faults(&self) -> Vec<Fault> {
        let lead_time = self
            .lead_time_days
            .filter(|days| !(0..=LEAD_TIME_MAX).contains(days))
            .map(|days| {
                let detail = format!("{days} is outside 0 to {LEAD_TIME_MAX}");
                Fault::at("lead_time_days", FaultCode::OutOfRange, detail)
            });
        let least_order = cost_fault(self.least_order.as_ref()).map(|mut fault| {
            fault.pointer = "#/least_order/minor".to_owned();
            fault
        });
        [
            name_fault("name", Some(&self.name)),
            lead_time,
            least_order,
            text_fault("contact", self.contact.as_deref()),
            text_fault("note", self.note.as_deref()),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

/// A supplier as it stands: made by its first use, or entered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Supplier {
    /// Of the place that stands for it.
    pub id: Uuid,
    /// `P` and a running number.
    pub code: String,
    /// What is known of it.
    #[serde(flatten)]
    pub data: SupplierData,
    /// Nothing more is ordered from it.
    pub retired: bool,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was made.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
}
