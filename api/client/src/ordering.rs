//! Orders, and what to order.

use chrono::{DateTime, NaiveDate, Utc};
use plugwell_domain::forecast::ForecastMethod;
use plugwell_domain::order::{OrderData, OrderState};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::record::{Listed, records};
use crate::stock::Amount;
use crate::word::Word;

/// A purchase order.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Order {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What the paper shows and the scan line takes.
    pub code: String,
    /// Whom it goes to.
    pub supplier: String,
    /// Where it stands.
    pub state: Word<OrderState>,
    /// When the supplier is expected to deliver.
    #[serde(default)]
    pub expected_on: Option<NaiveDate>,
    /// The supplier's own number for it.
    #[serde(default)]
    pub reference: Option<String>,
    /// Anything else.
    #[serde(default)]
    pub note: Option<String>,
    /// What is wanted.
    pub lines: Vec<OrderLine>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was drafted.
    pub created_at: DateTime<Utc>,
}

/// So many plugs of one part.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct OrderLine {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// The part.
    pub plug_id: Uuid,
    /// Plugs, not packs.
    pub quantity: i64,
    /// What all of them cost.
    #[serde(default)]
    pub total_cost: Option<Amount>,
    /// Plugs that came in.
    pub received: i64,
    /// Plugs that are missing.
    pub missing: i64,
    /// Plugs that are too many.
    pub too_many: i64,
}

/// What to order of a part, with the arithmetic that leads there.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct ReorderLine {
    /// The part.
    pub plug_id: Uuid,
    /// Maker's name.
    pub maker: String,
    /// The maker's part number.
    pub part_number: String,
    /// Whom to order from.
    #[serde(default)]
    pub supplier: Option<String>,
    /// How the demand is forecast.
    pub method: Word<ForecastMethod>,
    /// Plugs expected in a period.
    pub forecast_per_period: f64,
    /// Plugs kept against chance.
    pub safety_stock: f64,
    /// Plugs at which to order.
    pub reorder_point: i64,
    /// Plugs in bins.
    pub on_hand: i64,
    /// Plugs that are kept for jobs.
    pub reserved: i64,
    /// Plugs that are to come in.
    pub on_order: i64,
    /// Plugs to order, in whole packs; 0 where nothing is due.
    pub order_quantity: i64,
    /// The arithmetic in words.
    #[serde(default)]
    pub text: String,
    /// The rest of the line, so that it can be computed anew.
    #[serde(flatten)]
    pub further: Map<String, Value>,
}

/// Which of the proposed lines to order; all where nothing is told.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct OrderChoice {
    /// Only from these suppliers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub suppliers: Vec<String>,
    /// Only these parts.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub plug_ids: Vec<Uuid>,
}

/// The orders that a proposal became.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Ordered {
    /// A draft for each supplier.
    pub orders: Vec<Order>,
    /// Parts that were left out, each with the reason.
    #[serde(default)]
    pub left_out: Vec<Value>,
}

impl Listed for ReorderLine {
    const PATH: &'static str = "/v1/reorder";
}

records! {
    Order, "/v1/orders", from OrderData;
}

impl Client {
    /// Makes drafts of orders of what is proposed, once.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn order_proposed(&self, choice: &OrderChoice) -> Result<Ordered, Error> {
        self.command("/v1/reorder/orders", choice).await
    }
}
