//! What the shop gives by hand for one part.

use serde::{Deserialize, Serialize};

use crate::fault::{Check, Fault, FaultCode, name_fault, text_fault};
use crate::ledger::QUANTITY_MAX;

/// The longest lead time in days that is taken.
const LEAD_DAYS: std::ops::RangeInclusive<f64> = 0.0..=730.0;
/// Service levels that are taken.
const SERVICE: std::ops::RangeInclusive<f64> = 0.5..=0.9999;

/// How one part is reordered where the shop says it by hand; null leaves a matter to what is
/// measured and to the policy.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Reordering {
    /// Who it is ordered from, by name; else whoever delivered it last.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub supplier: Option<String>,
    /// At this many plugs or fewer it is ordered, in place of the reorder point; with
    /// `max_quantity`.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 1_000_000))]
    pub min_quantity: Option<i64>,
    /// It is then ordered up to this many, in place of the economic quantity; with `min_quantity`,
    /// and above it.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1_000_000))]
    pub max_quantity: Option<i64>,
    /// The share of deliveries before which its shelf is not to run empty.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0.5, maximum = 0.9999))]
    pub service_level: Option<f64>,
    /// Days from order to delivery.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 730))]
    pub lead_time_days: Option<f64>,
    /// Their deviation.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 730))]
    pub lead_time_sd_days: Option<f64>,
    /// Plugs in a box of the supplier's.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 10_000))]
    pub pack_size: Option<i64>,
    /// Why.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub note: Option<String>,
}

fn outside<T: PartialOrd + std::fmt::Display>(
    field: &str,
    given: Option<T>,
    bounds: &std::ops::RangeInclusive<T>,
) -> Option<Fault> {
    let given = given.filter(|value| !bounds.contains(value))?;
    let detail = format!("{given} is outside {} to {}", bounds.start(), bounds.end());
    Some(Fault::at(field, FaultCode::OutOfRange, detail))
}

impl Reordering {
    fn pair_fault(&self) -> Option<Fault> {
        let (lacking, given) = match (self.min_quantity, self.max_quantity) {
            (Some(least), Some(greatest)) if greatest <= least => {
                let detail = format!("{greatest} is not above min_quantity, {least}");
                return Some(Fault::at("max_quantity", FaultCode::Contradiction, detail));
            }
            (Some(_), None) => ("max_quantity", "min_quantity"),
            (None, Some(_)) => ("min_quantity", "max_quantity"),
            _ => return None,
        };
        let detail = format!("{given} goes with {lacking}: give both or neither");
        Some(Fault::at(lacking, FaultCode::Missing, detail))
    }
}

impl Check for Reordering {
    fn faults(&self) -> Vec<Fault> {
        [
            name_fault("supplier", self.supplier.as_deref()),
            outside("min_quantity", self.min_quantity, &(0..=QUANTITY_MAX)),
            outside("max_quantity", self.max_quantity, &(1..=QUANTITY_MAX)),
            self.pair_fault(),
            outside("service_level", self.service_level, &SERVICE),
            outside("lead_time_days", self.lead_time_days, &LEAD_DAYS),
            outside("lead_time_sd_days", self.lead_time_sd_days, &LEAD_DAYS),
            outside("pack_size", self.pack_size, &(1..=10_000)),
            text_fault("note", self.note.as_deref()),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}
