//! What stands beside the parts: heat scales, statements, suppliers, and who is told of what happens.

use chrono::{DateTime, Utc};
use plugwell_domain::decimal::HeatIndex;
use plugwell_domain::event::WebhookData;
use plugwell_domain::heat_scale::HeatScaleData;
use plugwell_domain::order::SupplierData;
use plugwell_domain::stand_in::{Direction, StandInData};
use serde::Deserialize;
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::record::records;
use crate::word::Word;

/// A maker's heat codes in the maker's order.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct HeatScale {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Whose codes they are.
    pub maker: String,
    /// What the maker calls it.
    pub name: String,
    /// The codes.
    pub codes: Vec<ScaleCode>,
    /// Counts the changes, from 1.
    pub version: i64,
}

/// A code and where it lies on the neutral heat index.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct ScaleCode {
    /// The code as the maker prints it.
    pub code: String,
    /// More is colder.
    pub heat_index: HeatIndex,
}

/// A part by its name.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Named {
    /// Maker's name.
    pub maker: String,
    /// The maker's part number.
    pub part_number: String,
}

/// A signed statement that one part stands in for another.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct StandIn {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// The part that stands in.
    pub part: Named,
    /// The part that it stands in for.
    pub stands_in_for: Named,
    /// Whether it holds the other way round as well.
    pub direction: Word<Direction>,
    /// Who says so.
    pub who: String,
    /// Counts the changes, from 1.
    pub version: i64,
}

/// Who delivers.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Supplier {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What the label shows and the scan line takes.
    pub code: String,
    /// What people call it.
    pub name: String,
    /// How long it takes to deliver.
    #[serde(default)]
    pub lead_time_days: Option<i64>,
    /// Nothing more is ordered from it.
    pub retired: bool,
    /// Counts the changes, from 1.
    pub version: i64,
}

/// Who is told of what happens, by signed requests.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Webhook {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Where deliveries go.
    pub url: String,
    /// The types that it is told of; null for all.
    #[serde(default)]
    pub types: Option<Vec<String>>,
    /// Whether anything is sent.
    pub enabled: bool,
    /// Deliveries that wait.
    #[serde(default)]
    pub waiting: i64,
    /// Deliveries that nobody took: they can be sent again.
    #[serde(default)]
    pub dead: i64,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was made.
    pub created_at: DateTime<Utc>,
}

/// A webhook that was just made.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct MadeWebhook {
    /// The webhook.
    #[serde(flatten)]
    pub webhook: Webhook,
    /// What its deliveries are signed with, shown this once; see [`crate::webhook::verify`].
    pub secret: String,
}

records! {
    HeatScale, "/v1/heat-scales", from HeatScaleData;
    StandIn, "/v1/stand-ins", from StandInData;
    Supplier, "/v1/suppliers", from SupplierData;
    Webhook, "/v1/webhooks";
}

impl Client {
    /// Has deliveries sent to a URL; sent once, whatever happens.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn add_webhook(&self, webhook: &WebhookData) -> Result<MadeWebhook, Error> {
        self.create("/v1/webhooks", webhook).await
    }
}
