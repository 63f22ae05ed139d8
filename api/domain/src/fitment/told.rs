//! What is told of the plugs in an engine: what they are, and how they have been treated.

use serde::Deserialize;
use serde_json::{Map, Value};

use crate::attribute::Attr;
use crate::build::bound_fault;
use crate::decimal::{Decimal, Length};
use crate::fault::{Check, Fault};
use crate::identification::{ByOhmmeter, by_ohmmeter};
use crate::plug::{PlugData, Shows};
use crate::policy::Policy;

/// A plug as a customer tells of it: any members of a record, none of which has to be given.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldPlug(PlugData);

impl ToldPlug {
    /// Reads it from a JSON object.
    ///
    /// # Errors
    /// Every fault that a catalogue record would have, but for a missing name.
    pub fn from_map(map: &Map<String, Value>) -> Result<Self, Vec<Fault>> {
        let mut whole = map.clone();
        for name in ["maker", "part_number"] {
            let given = whole.entry(name).or_insert(Value::Null);
            if given.is_null() {
                *given = "not told".into();
            }
        }
        PlugData::from_map(&whole).map(Self)
    }

    /// The resistance that was measured; none where it was guessed.
    pub fn resistance(&self) -> Option<Decimal<1>> {
        self.0.shown(Attr::Resistance).map(Decimal)
    }

    /// The record that it would be; a name that was not told says so. Whether a resistor is fitted is
    /// taken from the ohmmeter where nobody told and the reading tells.
    pub fn into_data(self, policy: &Policy) -> PlugData {
        let read = self.resistance();
        let mut data = self.0;
        if data.facts.get(Attr::Resistor).is_none() {
            let fitted = match read.map(|read| by_ohmmeter(read, policy).0) {
                Some(ByOhmmeter::Fitted) => Some(1),
                Some(ByOhmmeter::NotFitted) => Some(0),
                Some(ByOhmmeter::Broken | ByOhmmeter::Unclear) | None => None,
            };
            data.facts.set(Attr::Resistor, fitted);
        }
        data
    }
}

/// How the set in the engine has been treated; null is not told, and is not judged.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Treatment {
    /// The gap that was measured; the widest of the set.
    #[serde(default)]
    pub gap_mm: Option<Length>,
    /// How far the set has run.
    #[serde(default)]
    pub distance_km: Option<f64>,
    /// How many of the set were dropped, or may have been.
    #[serde(default)]
    pub dropped: Option<u32>,
    /// How many plug changes leads or boots have seen.
    #[serde(default)]
    pub lead_changes: Option<u32>,
    /// Whether leads or boots have been renewed since.
    #[serde(default)]
    pub leads_renewed: Option<bool>,
}

impl Check for Treatment {
    fn faults(&self) -> Vec<Fault> {
        let numbers = [
            ("gap_mm", self.gap_mm.map(Length::get)),
            ("distance_km", self.distance_km),
            ("dropped", self.dropped.map(f64::from)),
            ("lead_changes", self.lead_changes.map(f64::from)),
        ];
        numbers
            .iter()
            .filter_map(|(field, value)| bound_fault(field, (*value)?))
            .collect()
    }
}
