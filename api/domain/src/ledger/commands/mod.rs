//! The bodies of the commands that move or reserve stock: one type per kind.

mod checks;

pub(crate) use checks::{cost_fault, pack_fault, quantity_fault};
pub use checks::{gap_missing, odometer_of_no_build};

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{Condition, Money, Returned, ScrapReason};
use crate::decimal::Length;

/// Plugs come in from a supplier: makes a lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Receipt {
    /// The part.
    pub plug_id: Uuid,
    /// Supplier by name, made on first use.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub supplier: String,
    /// The bin that they are put into.
    pub place_id: Uuid,
    /// Plugs, not packs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub quantity: i64,
    /// Cost of the whole receipt.
    #[serde(default)]
    pub total_cost: Option<Money>,
    /// Plugs in a box.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 10_000))]
    pub pack_size: Option<i64>,
    /// Condition of all of them; sealed where null.
    #[serde(default)]
    pub condition: Option<Condition>,
    /// The gap that they are set to, where gapped.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// The line of an order that they come in for; null where nobody ordered them. Its supplier and
    /// part have to be the same; where no cost is given, the order's counts.
    #[serde(default)]
    pub order_line_id: Option<Uuid>,
    /// Delivery note or the like.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub reference: Option<String>,
}

/// Plugs go to a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Issue {
    /// The part.
    pub plug_id: Uuid,
    /// Plugs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub quantity: i64,
    /// The job by name, made on first use; may be left out with a reservation.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub job: Option<String>,
    /// A reservation to draw on.
    #[serde(default)]
    pub reservation_id: Option<Uuid>,
    /// Only from this lot.
    #[serde(default)]
    pub lot_id: Option<Uuid>,
    /// Only from this bin.
    #[serde(default)]
    pub place_id: Option<Uuid>,
    /// The build that they are for; the reservation's where null.
    #[serde(default)]
    pub build_id: Option<Uuid>,
    /// The car's odometer; only with a build, and never less than what is stored for it.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 10_000_000))]
    pub odometer_km: Option<i64>,
    /// The gap that is set: lots that have it already count too. Where null and `lot_id` names a gapped
    /// lot, that lot's own.
    #[serde(default)]
    pub gap_mm: Option<Length>,
}

/// Plugs come back from a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Return {
    /// The issue that they went out with.
    pub movement_id: Uuid,
    /// Plugs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub quantity: i64,
    /// The bin for what goes back; ignored for what goes to scrap.
    #[serde(default)]
    pub place_id: Option<Uuid>,
    /// How they look.
    pub condition: Returned,
    /// The gap that they were set to, where gapped; where null that of their lot, else the one that
    /// was set at issue.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// Who dropped them, where they fell and somebody wants to say; nobody has to.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub dropped_by: Option<String>,
}

/// Plugs change their bin, go to quarantine or come out of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Transfer {
    /// The lot.
    pub lot_id: Uuid,
    /// Where they are.
    pub from_place_id: Uuid,
    /// Where they go.
    pub to_place_id: Uuid,
    /// Plugs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub quantity: i64,
}

/// Plugs go into the scrap drum, for good.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Scrapping {
    /// The part, or the lot.
    #[serde(default)]
    pub plug_id: Option<Uuid>,
    /// The lot, or the part.
    #[serde(default)]
    pub lot_id: Option<Uuid>,
    /// The bin or quarantine that they are taken from, or the job.
    #[serde(default)]
    pub place_id: Option<Uuid>,
    /// The job, or the place.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub job: Option<String>,
    /// Plugs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub quantity: i64,
    /// Why.
    pub reason: ScrapReason,
    /// What happened.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub note: Option<String>,
    /// Who dropped them, where they fell and somebody wants to say; nobody has to.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub dropped_by: Option<String>,
}

/// Puts a movement right by one in the other direction.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Reversal {
    /// The movement that was wrong.
    pub movement_id: Uuid,
    /// What was wrong with it.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub reason: String,
}

/// Keeps plugs of a part for a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Reserve {
    /// The part.
    pub plug_id: Uuid,
    /// Plugs.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub quantity: i64,
    /// The job by name, made on first use.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub job: String,
    /// When it runs out; where null after the policy's `reservation_kept_days`, and never where
    /// that is 0.
    #[serde(default)]
    pub expires_at: Option<DateTime<Utc>>,
    /// The build that they are for: what is issued on the reservation goes into it, and its pick list
    /// tells the gap.
    #[serde(default)]
    pub build_id: Option<Uuid>,
}

/// What a place is called: all of it that can change, besides retiring it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlaceName {
    /// What people call it.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: String,
}

/// A place to be made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NewPlace {
    /// Anything but `scrap` and `difference`: of those there is one each.
    pub kind: super::PlaceKind,
    /// What people call it.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: String,
}
