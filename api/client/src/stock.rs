//! Places, lots, levels, movements, reservations: what there is and what became of it.

use chrono::{DateTime, Utc};
use plugwell_domain::decimal::Length;
use plugwell_domain::ledger::commands::NewPlace;
use plugwell_domain::ledger::{Condition, MovementKind, PlaceKind, ReservationState};
use plugwell_domain::order::OrderState;
use serde::Deserialize;
use uuid::Uuid;

use crate::matching::Judged;
use crate::need::Caution;
use crate::record::{Listed, records};
use crate::word::Word;

/// Money in whole minor units.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Amount {
    /// Minor units (cents where the currency has them).
    pub minor: i64,
    /// ISO 4217 code.
    pub currency: String,
}

/// Where plugs can be.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Place {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What the label shows and the scan line takes.
    pub code: String,
    /// What it is for.
    pub kind: Word<PlaceKind>,
    /// What people call it.
    pub name: String,
    /// Nothing more is put into it.
    pub retired: bool,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was made.
    pub created_at: DateTime<Utc>,
}

/// Plugs that came in together, or were parted from such.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Lot {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What the label shows and the scan line takes.
    pub code: String,
    /// The part.
    pub plug_id: Uuid,
    /// Who delivered it.
    pub supplier: String,
    /// When.
    pub received_at: DateTime<Utc>,
    /// How many.
    pub quantity_received: i64,
    /// What all of it cost; null where nobody said, and for what was parted from another lot.
    #[serde(default)]
    pub total_cost: Option<Amount>,
    /// Plugs in a box.
    #[serde(default)]
    pub pack_size: Option<i64>,
    /// How they are.
    pub condition: Word<Condition>,
    /// The gap that they are set to, where gapped.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// The lot that it was parted from.
    #[serde(default)]
    pub from_lot_id: Option<Uuid>,
    /// The line of an order that it came in for.
    #[serde(default)]
    pub order_line_id: Option<Uuid>,
}

/// How much of a lot is in a place.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Level {
    /// The part.
    pub plug_id: Uuid,
    /// The lot.
    pub lot_id: Uuid,
    /// The place.
    pub place_id: Uuid,
    /// Plugs.
    pub quantity: i64,
}

/// Plugs that went from one place to another.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Movement {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Running number over all movements.
    pub sequence: i64,
    /// What happened.
    pub kind: Word<MovementKind>,
    /// The lot.
    pub lot_id: Uuid,
    /// The part.
    pub plug_id: Uuid,
    /// Where from.
    pub from_place_id: Uuid,
    /// Where to.
    pub to_place_id: Uuid,
    /// Plugs.
    pub quantity: i64,
    /// Why, of a scrapping or a reversal.
    #[serde(default)]
    pub reason: Option<String>,
    /// What somebody wrote.
    #[serde(default)]
    pub note: Option<String>,
    /// The job.
    #[serde(default)]
    pub job: Option<String>,
    /// Who.
    pub actor: String,
    /// The movement that it puts right.
    #[serde(default)]
    pub reverses: Option<Uuid>,
    /// When.
    pub created_at: DateTime<Utc>,
    /// The issue that a return belongs to.
    #[serde(default)]
    pub answers: Option<Uuid>,
    /// The build that they are for.
    #[serde(default)]
    pub build_id: Option<Uuid>,
    /// The car's odometer.
    #[serde(default)]
    pub odometer_km: Option<i64>,
    /// The gap that was set.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// Who dropped them, where somebody said.
    #[serde(default)]
    pub dropped_by: Option<String>,
}

/// What a command did.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Moved {
    /// The movements, in the order they were written.
    pub movements: Vec<Movement>,
    /// Lots that it made.
    #[serde(default)]
    pub lots: Vec<Lot>,
    /// Reservations that it changed.
    #[serde(default)]
    pub reservations: Vec<Reservation>,
    /// What it did to the line of an order.
    #[serde(default)]
    pub delivery: Option<Delivery>,
    /// Musts that the part fails, or that nobody can say it passes; it is booked all the same.
    #[serde(default)]
    pub fails: Vec<Judged>,
    /// What to beware of.
    #[serde(default)]
    pub cautions: Vec<Caution>,
}

/// What a receipt did to the line of an order.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Delivery {
    /// The order.
    pub order_id: Uuid,
    /// Its line.
    pub order_line_id: Uuid,
    /// Plugs that were ordered.
    pub ordered: i64,
    /// Plugs that came in now.
    pub received_now: i64,
    /// Plugs that are still missing.
    pub missing: i64,
    /// Plugs that are too many.
    pub too_many: i64,
    /// Where the order stands.
    pub order_state: Word<OrderState>,
    /// The same in words.
    pub text: String,
}

/// Plugs that are kept for a job.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct Reservation {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// The part.
    pub plug_id: Uuid,
    /// The job.
    pub job: String,
    /// Plugs that were reserved.
    pub quantity: i64,
    /// Plugs that are still kept.
    pub open_quantity: i64,
    /// Where it stands.
    pub state: Word<ReservationState>,
    /// When it runs out; null where it never does.
    #[serde(default)]
    pub expires_at: Option<DateTime<Utc>>,
    /// The build that they are for.
    #[serde(default)]
    pub build_id: Option<Uuid>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was made.
    #[serde(default)]
    pub created_at: Option<DateTime<Utc>>,
}

impl Listed for Level {
    const PATH: &'static str = "/v1/stock/levels";
}

records! {
    Place, "/v1/stock/places", from NewPlace;
    Lot, "/v1/stock/lots";
    Movement, "/v1/stock/movements";
    Reservation, "/v1/stock/reservations";
}
