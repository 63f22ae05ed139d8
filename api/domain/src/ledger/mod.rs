//! The stock, double entry: every plug is always in exactly one place, and a movement takes a
//! quantity of one lot from one place to another. Nothing is edited or deleted.
//!
//! This module has the words of the ledger; [`commands`] has the bodies that are sent, [`rules`]
//! says what each command does to the shelf of one part, [`counting`] what is counted and what a
//! count books, [`shelf`] what a part's shelf shows to a match.

pub mod aside;
pub mod commands;
pub mod cost;
pub mod counting;
mod draft;
pub mod family;
mod giving_back;
mod picking;
mod rejection;
pub mod rules;
pub mod shelf;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::decimal::Length;
use crate::words::closed_list;

/// The most plugs that one movement can take.
pub const QUANTITY_MAX: i64 = 1_000_000;

closed_list! {
    /// What a place is.
    PlaceKind, "kind of place" {
        /// Where plugs come from.
        Supplier = "supplier",
        /// A shelf or drawer: what lies here can be issued.
        Bin = "bin",
        /// A customer's job.
        Job = "job",
        /// Set aside until a manager decides.
        Quarantine = "quarantine",
        /// The scrap drum: nothing comes out.
        Scrap = "scrap",
        /// Balances what counting finds.
        Difference = "difference",
    }
}

closed_list! {
    /// Condition of a lot.
    Condition, "condition of a lot" {
        /// The plug's own box or sleeve is unopened.
        Sealed = "sealed",
        /// Set to a gap, never fitted nor dropped, looked at.
        Gapped = "gapped",
    }
}

closed_list! {
    /// How a plug that comes back from a job looks.
    Returned, "condition of what comes back" {
        /// Unopened: back into its own lot.
        Sealed = "sealed",
        /// Set, but neither fitted nor dropped, and looked at.
        Gapped = "gapped",
        /// Has been in an engine: scrap.
        Fitted = "fitted",
        /// Opened and knocked about, nobody knows: scrap.
        Handled = "handled",
        /// Dropped: scrap.
        Dropped = "dropped",
    }
}

closed_list! {
    /// What a movement does.
    MovementKind, "kind of movement" {
        /// Supplier to bin.
        Receipt = "receipt",
        /// Bin to job.
        Issue = "issue",
        /// Job to bin.
        Return = "return",
        /// Bin to bin or quarantine, and back.
        Transfer = "transfer",
        /// Into the scrap drum.
        Scrapping = "scrapping",
        /// Puts another movement right.
        Reversal = "reversal",
        /// Bin to difference account, or back.
        Difference = "difference",
    }
}

closed_list! {
    /// Why a plug was scrapped.
    ScrapReason, "reason for scrapping" {
        /// Fell: the insulator can be cracked where nobody sees it.
        Dropped = "dropped",
        /// Cracked to the eye.
        CrackedInsulator = "cracked_insulator",
        /// Thread damaged.
        DamagedThread = "damaged_thread",
        /// Strap bent.
        BentStrap = "bent_strap",
        /// Has been in an engine.
        Fitted = "fitted",
        /// Anything else; say it in the note.
        Other = "other",
    }
}

closed_list! {
    /// Where a reservation stands.
    ReservationState, "state of a reservation" {
        /// Can be met.
        Open = "open",
        /// Can no longer be met in full.
        Short = "short",
        /// Drawn down to nothing.
        Issued = "issued",
        /// Given back.
        Released = "released",
        /// Its time ran out.
        Expired = "expired",
    }
}

/// Money in whole minor units.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Money {
    /// Minor units (cents where the currency has them).
    #[cfg_attr(
        feature = "schema",
        schema(minimum = 0, maximum = 1_000_000_000_000i64)
    )]
    pub minor: i64,
    /// ISO 4217 code.
    #[cfg_attr(feature = "schema", schema(pattern = "^[A-Z]{3}$"))]
    pub currency: String,
}

impl Money {
    /// The most minor units that anything may cost.
    pub const MOST: i64 = 1_000_000_000_000;
}

/// A place that holds plugs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Place {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// `P` and a running number: what the label shows and the scan line takes.
    pub code: String,
    /// What it is.
    pub kind: PlaceKind,
    /// What people call it; unique within its kind, case-blind.
    pub name: String,
    /// No longer used.
    pub retired: bool,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was made.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
}

/// One receipt of one part, or what descends from it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Lot {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// `L` and a running number.
    pub code: String,
    /// The part.
    pub plug_id: Uuid,
    /// Who delivered it.
    pub supplier: String,
    /// When it came; a descended lot keeps its ancestor's day.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub received_at: DateTime<Utc>,
    /// Plugs received, or returned into a descended lot.
    pub quantity_received: i64,
    /// What the whole lot cost; null where nobody said, and for descended lots.
    pub total_cost: Option<Money>,
    /// Plugs in one box.
    pub pack_size: Option<i64>,
    /// Condition of every plug in it.
    pub condition: Condition,
    /// The gap that they are set to, where gapped.
    pub gap_mm: Option<Length>,
    /// The lot that this one descends from.
    pub from_lot_id: Option<Uuid>,
    /// The line of an order that it came in for; null where nobody ordered it, and for descended lots.
    pub order_line_id: Option<Uuid>,
}

/// What one lot has in one place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Level {
    /// The part.
    pub plug_id: Uuid,
    /// The lot.
    pub lot_id: Uuid,
    /// The place.
    pub place_id: Uuid,
    /// Plugs there; below zero only at suppliers and in the difference account.
    pub quantity: i64,
}

/// A quantity of one lot that went from one place to another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Movement {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Running number over all movements.
    pub sequence: i64,
    /// What it did.
    pub kind: MovementKind,
    /// The lot.
    pub lot_id: Uuid,
    /// The part.
    pub plug_id: Uuid,
    /// Where from.
    pub from_place_id: Uuid,
    /// Where to.
    pub to_place_id: Uuid,
    /// How many plugs.
    pub quantity: i64,
    /// Why: the reason of a scrapping or reversal.
    pub reason: Option<String>,
    /// Free text; the reference of a receipt.
    pub note: Option<String>,
    /// The job it belongs to.
    pub job: Option<String>,
    /// Name of the token that did it.
    pub actor: String,
    /// The movement that this one puts right.
    pub reverses: Option<Uuid>,
    /// When.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
    /// The issue that a return or a scrapping by return answers.
    pub answers: Option<Uuid>,
    /// The build that an issue was for.
    pub build_id: Option<Uuid>,
    /// The car's odometer at issue.
    pub odometer_km: Option<i64>,
    /// The gap that was set at issue.
    pub gap_mm: Option<Length>,
    /// Who dropped what was scrapped, where somebody said so.
    pub dropped_by: Option<String>,
    /// Movements of one act that only make sense together carry the same.
    #[serde(skip)]
    pub pair_id: Option<Uuid>,
}

/// Plugs of a part kept for a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Reservation {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// The part.
    pub plug_id: Uuid,
    /// The job, by name.
    pub job: String,
    /// Plugs asked for.
    pub quantity: i64,
    /// Plugs that are still kept: not yet issued, not given back.
    pub open_quantity: i64,
    /// Plugs that went out on it.
    pub issued_quantity: i64,
    /// The build that they are for.
    pub build_id: Option<Uuid>,
    /// Where it stands.
    pub state: ReservationState,
    /// When it runs out; null keeps it until issued or released.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub expires_at: Option<DateTime<Utc>>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was made.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
}

impl Reservation {
    /// Whether it is neither issued nor ended.
    pub fn waits(&self) -> bool {
        matches!(self.state, ReservationState::Open | ReservationState::Short)
    }

    /// Whether its time has run out and nobody has written that down yet.
    pub fn is_due(&self, now: DateTime<Utc>) -> bool {
        self.waits() && self.expires_at.is_some_and(|at| at <= now)
    }

    /// Whether it keeps plugs at an instant.
    pub fn holds(&self, now: DateTime<Utc>) -> bool {
        self.waits() && !self.is_due(now)
    }
}

/// What one lot of a part has in one place, as the rules see it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holding {
    /// The lot.
    pub lot_id: Uuid,
    /// The place.
    pub place_id: Uuid,
    /// What the place is.
    pub place_kind: PlaceKind,
    /// The place's running number: the order of picking within a lot.
    pub place_number: i64,
    /// Plugs there.
    pub quantity: i64,
}

/// All that the rules need to know of one part: its lots with what they hold in bins, in
/// quarantine and in every other place that a command names (a job; for a reversal whatever places
/// the movement names), and its reservations that are not finished.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Shelf {
    /// Lots that hold something here, or that the command names.
    pub lots: Vec<Lot>,
    /// What they hold; never zero.
    pub holdings: Vec<Holding>,
    /// Open and short reservations, in the order they were made.
    pub reservations: Vec<Reservation>,
}

/// What a command does: written by the store in one transaction.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plan {
    /// Lots to be made; the store gives them their code.
    pub new_lots: Vec<Lot>,
    /// Movements to be written, `sequence` left 0 for the store to give.
    pub movements: Vec<Movement>,
    /// Reservations made or changed, in their new state, version already raised.
    pub reservations: Vec<Reservation>,
}
