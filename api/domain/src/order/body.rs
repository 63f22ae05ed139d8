//! An order as it is written, and the rules between its members.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{Order, OrderState};
use crate::fault::{Check, Fault, FaultCode, name_fault, text_fault};
use crate::ledger::Money;
use crate::ledger::commands::{cost_fault, pack_fault, quantity_fault};

/// Lines of one order.
pub const LINES: std::ops::RangeInclusive<usize> = 1..=200;

/// What is asked of a supplier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct OrderData {
    /// Supplier by name, made on first use.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub supplier: String,
    /// `drafted` where null; a new order may be `sent` at once. Later: `sent`, `withdrawn`, or
    /// `closed` where nobody waits for the rest.
    #[serde(default)]
    pub state: Option<OrderState>,
    /// When the supplier is expected to deliver.
    #[serde(default)]
    pub expected_on: Option<NaiveDate>,
    /// The supplier's own number for it, or the like.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub reference: Option<String>,
    /// Anything else.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub note: Option<String>,
    /// What is wanted; a patch gives all lines, those that stay with their id.
    #[cfg_attr(feature = "schema", schema(min_items = 1, max_items = 200))]
    pub lines: Vec<AskedLine>,
}

/// So many plugs of one part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct AskedLine {
    /// The line that this was before; null for a new one.
    #[serde(default)]
    pub id: Option<Uuid>,
    /// The part.
    pub plug_id: Uuid,
    /// Plugs, not packs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub quantity: i64,
    /// What all of them cost.
    #[serde(default)]
    pub total_cost: Option<Money>,
    /// Plugs in a box.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 10_000))]
    pub pack_size: Option<i64>,
}

impl OrderData {
    /// What was written of an order that stands.
    pub fn of(order: &Order) -> Self {
        let line = |line: &super::OrderLine| AskedLine {
            id: Some(line.id),
            plug_id: line.plug_id,
            quantity: line.quantity,
            total_cost: line.total_cost.clone(),
            pack_size: line.pack_size,
        };
        Self {
            supplier: order.supplier.clone(),
            state: Some(order.state),
            expected_on: order.expected_on,
            reference: order.reference.clone(),
            note: order.note.clone(),
            lines: order.lines.iter().map(line).collect(),
        }
    }
}

impl Check for AskedLine {
    fn faults(&self) -> Vec<Fault> {
        [
            quantity_fault(self.quantity),
            cost_fault(self.total_cost.as_ref()),
            pack_fault(self.pack_size),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for OrderData {
    fn faults(&self) -> Vec<Fault> {
        let mut faults: Vec<Fault> = [
            name_fault("supplier", Some(&self.supplier)),
            name_fault("reference", self.reference.as_deref()),
            text_fault("note", self.note.as_deref()),
        ]
        .into_iter()
        .flatten()
        .collect();
        if !LINES.contains(&self.lines.len()) {
            let detail = format!("an order has 1 to 200 lines, not {}", self.lines.len());
            faults.push(Fault::at("lines", FaultCode::OutOfRange, detail));
        }
        for (place, line) in self.lines.iter().enumerate() {
            let outer = format!("lines/{place}");
            faults.extend(line.faults().into_iter().map(|f| f.under(&outer)));
            let twice = line.id.is_some() && self.lines[..place].iter().any(|l| l.id == line.id);
            if twice {
                let detail = "the line stands further up already";
                faults.push(Fault::at(
                    &format!("{outer}/id"),
                    FaultCode::Duplicate,
                    detail,
                ));
            }
        }
        faults
    }
}
