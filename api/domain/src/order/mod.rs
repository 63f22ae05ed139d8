//! Purchase orders: what was asked of a supplier, what came of it, and which change is allowed when.
//!
//! An order is drafted, sent, comes in in parts and closes itself with the last plug. What came in
//! is told by receipts alone: nobody types it.

mod body;
mod rejection;
mod rules;
mod supplier;

use chrono::{DateTime, NaiveDate, Utc};
use serde::Serialize;
use uuid::Uuid;

pub use body::{AskedLine, LINES, OrderData};
pub use rejection::OrderRejection;
pub use rules::{Refused, change, draft, take_back, take_in};
pub use supplier::{Supplier, SupplierData};

use crate::caution::{Caution, CautionCode};
use crate::ledger::Money;
use crate::ledger::cost::share_beyond;
use crate::wording::counted;
use crate::words::closed_list;

closed_list! {
    /// Where an order stands.
    OrderState, "state of an order" {
        /// Being written; nobody has been asked for anything.
        Drafted = "drafted",
        /// The supplier has it; nothing has come in.
        Sent = "sent",
        /// Some of it has come in.
        PartlyIn = "partly_in",
        /// All of it has come in, or nobody waits for the rest.
        Closed = "closed",
        /// Called off before anything came in.
        Withdrawn = "withdrawn",
    }
}

/// A purchase order as it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Order {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// `O` and a running number: what the printed order shows.
    pub code: String,
    /// Who it goes to, by name.
    pub supplier: String,
    /// The place that stands for the supplier.
    pub supplier_id: Uuid,
    /// Where it stands.
    pub state: OrderState,
    /// When the supplier is expected to deliver.
    pub expected_on: Option<NaiveDate>,
    /// The supplier's own number for it, or the like.
    pub reference: Option<String>,
    /// Anything else.
    pub note: Option<String>,
    /// What was asked for, in the order that it was written.
    pub lines: Vec<OrderLine>,
    /// When the supplier got it: lead times count from here.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub sent_at: Option<DateTime<Utc>>,
    /// When it was closed or withdrawn.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub closed_at: Option<DateTime<Utc>>,
    /// Counts the changes, deliveries among them, from 1.
    pub version: i64,
    /// When it was first stored.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub updated_at: DateTime<Utc>,
}

/// One part of an order and what came of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct OrderLine {
    /// UUID v7 made by the service; a receipt names it.
    pub id: Uuid,
    /// The part.
    pub plug_id: Uuid,
    /// Plugs ordered, not packs.
    pub quantity: i64,
    /// What all of them cost; null where nobody said.
    pub total_cost: Option<Money>,
    /// Plugs in one box.
    pub pack_size: Option<i64>,
    /// Plugs that came in, less what was put right.
    pub received: i64,
    /// Plugs that did not come in: of an order that is closed or withdrawn, those that never will.
    pub missing: i64,
    /// Plugs that came in beyond what was ordered.
    pub too_many: i64,
}

impl OrderLine {
    /// The same line after so many plugs have come in altogether.
    pub fn with_received(mut self, received: i64) -> Self {
        self.received = received;
        self.missing = (self.quantity - received).max(0);
        self.too_many = (received - self.quantity).max(0);
        self
    }

    /// What the next so many plugs of the line cost by the order: their share of its total by
    /// largest remainder; those beyond it cost as those of the line do. `None` where the order gives
    /// no cost, or where it would be more than anything may cost.
    pub fn cost_of_next(&self, quantity: i64) -> Option<Money> {
        let total = self.total_cost.as_ref()?;
        let minor = share_beyond(total.minor, self.quantity, self.received, quantity);
        (minor <= Money::MOST).then(|| Money {
            minor,
            currency: total.currency.clone(),
        })
    }

    /// What is said of the next so many plugs where some of them go beyond the order and all cost
    /// what the order says.
    pub fn priced_as_ordered(&self, quantity: i64, cost: Option<&Money>) -> Option<Caution> {
        let beyond = quantity.min(self.received + quantity - self.quantity);
        if beyond <= 0 || cost.is_none() || cost != self.cost_of_next(quantity).as_ref() {
            return None;
        }
        let detail = format!(
            "More than ordered: {beyond} of the {}.",
            counted(quantity, "plug")
        );
        Some(Caution::of(CautionCode::PricedAsOrdered).with(detail))
    }
}

impl Order {
    /// The line with an id.
    pub fn line(&self, id: Uuid) -> Option<&OrderLine> {
        self.lines.iter().find(|line| line.id == id)
    }

    /// Whether every line has come in.
    pub fn is_full(&self) -> bool {
        self.lines.iter().all(|line| line.missing == 0)
    }

    /// Whether any of it has come in.
    pub fn has_any(&self) -> bool {
        self.lines.iter().any(|line| line.received > 0)
    }
}

/// What a receipt, or its reversal, did to the line of an order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Delivery {
    /// The order.
    pub order_id: Uuid,
    /// Its code.
    pub order_code: String,
    /// The line.
    pub order_line_id: Uuid,
    /// Plugs ordered.
    pub ordered: i64,
    /// Plugs that had come in before.
    pub received_before: i64,
    /// Plugs that came in now; below zero where a receipt was put right.
    pub received_now: i64,
    /// Plugs still to come.
    pub missing: i64,
    /// Plugs beyond what was ordered.
    pub too_many: i64,
    /// Where the order stands now.
    pub order_state: OrderState,
    /// The same in a sentence.
    pub text: String,
}

/// How long one delivery took: lines of one order that were filled on one day (UTC) are one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeadTime {
    /// The order.
    pub order_id: Uuid,
    /// When the supplier got it.
    pub sent_at: DateTime<Utc>,
    /// When the line's last plugs came in; of several lines of that day the latest.
    pub received_at: DateTime<Utc>,
}

impl LeadTime {
    /// Days from sending to receiving, with their broken part.
    pub fn days(&self) -> f64 {
        (self.received_at - self.sent_at).as_seconds_f64() / 86_400.0
    }
}
