//! The bodies of the commands that move or reserve stock: one type per kind.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{Condition, Money, QUANTITY_MAX, Returned, ScrapReason};
use crate::build::bound_fault;
use crate::decimal::Length;
use crate::fault::{Check, Fault, FaultCode, name_fault, text_fault};

/// Plugs come in from a supplier: makes a lot.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
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
    /// Delivery note or the like.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub reference: Option<String>,
}

/// Plugs go to a job.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
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
    /// The build that they are for.
    #[serde(default)]
    pub build_id: Option<Uuid>,
    /// The car's odometer.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 10_000_000))]
    pub odometer_km: Option<i64>,
    /// The gap that is set: lots that have it already count too.
    #[serde(default)]
    pub gap_mm: Option<Length>,
}

/// Plugs come back from a job.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
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
    /// The gap that they were set to, where gapped.
    #[serde(default)]
    pub gap_mm: Option<Length>,
}

/// Plugs change their bin, go to quarantine or come out of it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
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
}

/// Puts a movement right by one in the other direction.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
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
    /// When it runs out; null keeps it until issued or released.
    #[serde(default)]
    pub expires_at: Option<DateTime<Utc>>,
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
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NewPlace {
    /// Anything but `scrap` and `difference`: of those there is one each.
    pub kind: super::PlaceKind,
    /// What people call it.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: String,
}

fn quantity_faults(quantity: i64) -> Option<Fault> {
    (!(1..=QUANTITY_MAX).contains(&quantity)).then(|| {
        let detail = format!("a quantity is from 1 to {QUANTITY_MAX} plugs, not {quantity}");
        Fault::at("quantity", FaultCode::OutOfRange, detail)
    })
}

fn gap_fault(gap: Option<Length>) -> Option<Fault> {
    bound_fault("gap_mm", gap?.get())
}

/// A gap goes with `gapped`, and only with it.
fn gap_with_condition(gapped: bool, gap: Option<Length>) -> Option<Fault> {
    match (gapped, gap) {
        (true, None) => Some(Fault::at(
            "gap_mm",
            FaultCode::Missing,
            "say which gap the gapped plugs are set to",
        )),
        (false, Some(_)) => Some(Fault::at(
            "gap_mm",
            FaultCode::NotTogether,
            "only plugs that are gapped have a gap here",
        )),
        _ => gap_fault(gap),
    }
}

impl Check for Receipt {
    fn faults(&self) -> Vec<Fault> {
        let pack = self
            .pack_size
            .filter(|p| !(1..=10_000).contains(p))
            .map(|p| {
                Fault::at(
                    "pack_size",
                    FaultCode::OutOfRange,
                    format!("a box holds 1 to 10000 plugs, not {p}"),
                )
            });
        let cost = self
            .total_cost
            .as_ref()
            .filter(|m| !(0..=1_000_000_000_000).contains(&m.minor))
            .map(|m| {
                Fault::at(
                    "total_cost/minor",
                    FaultCode::OutOfRange,
                    format!("{} is outside 0 to 1000000000000", m.minor),
                )
            });
        [
            name_fault("supplier", Some(&self.supplier)),
            quantity_faults(self.quantity),
            cost,
            pack,
            gap_with_condition(self.condition == Some(Condition::Gapped), self.gap_mm),
            text_fault("reference", self.reference.as_deref()),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for Issue {
    fn faults(&self) -> Vec<Fault> {
        let job = (self.job.is_none() && self.reservation_id.is_none()).then(|| {
            Fault::at(
                "job",
                FaultCode::Missing,
                "say which job, or which reservation",
            )
        });
        let odometer = self
            .odometer_km
            .filter(|km| !(0..=10_000_000).contains(km))
            .map(|km| {
                Fault::at(
                    "odometer_km",
                    FaultCode::OutOfRange,
                    format!("{km} is outside 0 to 10000000"),
                )
            });
        [
            quantity_faults(self.quantity),
            job,
            name_fault("job", self.job.as_deref()),
            odometer,
            gap_fault(self.gap_mm),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for Return {
    fn faults(&self) -> Vec<Fault> {
        let goes_back = matches!(self.condition, Returned::Sealed | Returned::Gapped);
        let place = (goes_back && self.place_id.is_none()).then(|| {
            Fault::at(
                "place_id",
                FaultCode::Missing,
                "say which bin they go back into",
            )
        });
        [
            quantity_faults(self.quantity),
            place,
            gap_with_condition(self.condition == Returned::Gapped, self.gap_mm),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for Transfer {
    fn faults(&self) -> Vec<Fault> {
        let same = (self.from_place_id == self.to_place_id).then(|| {
            Fault::at(
                "to_place_id",
                FaultCode::Contradiction,
                "they lie there already",
            )
        });
        [quantity_faults(self.quantity), same]
            .into_iter()
            .flatten()
            .collect()
    }
}

impl Check for Scrapping {
    fn faults(&self) -> Vec<Fault> {
        let one_of = |a: bool, b: bool, field: &str, what: &str| match (a, b) {
            (false, false) => Some(Fault::at(field, FaultCode::Missing, format!("give {what}"))),
            (true, true) => Some(Fault::at(
                field,
                FaultCode::NotTogether,
                format!("give {what}, not both"),
            )),
            _ => None,
        };
        [
            one_of(
                self.plug_id.is_some(),
                self.lot_id.is_some(),
                "lot_id",
                "plug_id or lot_id",
            ),
            one_of(
                self.place_id.is_some(),
                self.job.is_some(),
                "place_id",
                "place_id or job",
            ),
            name_fault("job", self.job.as_deref()),
            quantity_faults(self.quantity),
            text_fault("note", self.note.as_deref()),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for Reversal {
    fn faults(&self) -> Vec<Fault> {
        text_fault("reason", Some(&self.reason))
            .into_iter()
            .collect()
    }
}

impl Check for Reserve {
    fn faults(&self) -> Vec<Fault> {
        [
            quantity_faults(self.quantity),
            name_fault("job", Some(&self.job)),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

impl Check for PlaceName {
    fn faults(&self) -> Vec<Fault> {
        name_fault("name", Some(&self.name)).into_iter().collect()
    }
}

impl Check for NewPlace {
    fn faults(&self) -> Vec<Fault> {
        use super::PlaceKind::{Difference, Scrap};
        let single = matches!(self.kind, Scrap | Difference).then(|| {
            Fault::at(
                "kind",
                FaultCode::NotInList,
                format!("there is exactly one place of kind {}", self.kind),
            )
        });
        single
            .into_iter()
            .chain(name_fault("name", Some(&self.name)))
            .collect()
    }
}
