//! Every number that is a judgement, in one document that a shop can replace.
//!
//! Each value says what it rests on and what it is for. [`ENTRIES`] declares them; the document is
//! read and checked as a whole, in JSON or in TOML, which have the same shape.

mod figure;
mod groups;
mod label;
#[cfg(feature = "schema")]
mod schema;
mod values;

use serde::{Serialize, Serializer, ser::SerializeMap};
use serde_json::{Map, Value};

pub use figure::{Bounds, Figure, Form, Judged, TEXT_MAX};
pub use groups::Group;
pub use label::Label;
pub use values::{BELOW, ENTRIES, Entry, NOT_ABOVE, Values};

use crate::decimal::Length;
use crate::fault::{Check, Fault, FaultCode};
use crate::ledger::Money;
use crate::words::{Electrode, ProjectionClass};

/// The policy that a requirement is made with.
#[derive(Debug, Clone, PartialEq)]
pub struct Policy {
    /// Counts the changes, from 1; every requirement names it.
    pub version: i64,
    /// The values.
    pub values: Values,
}

impl Policy {
    /// The fault of money in another currency than the one that the shop keeps its books in; `field`
    /// is the member that it stands in.
    pub fn currency_fault(&self, field: &str, money: &Money) -> Option<Fault> {
        let own = &self.values.currency.value;
        let detail = || {
            format!(
                "the shop keeps its books in {own}, not in {}",
                money.currency
            )
        };
        let pointer = format!("{field}/currency");
        (money.currency != *own).then(|| Fault::at(&pointer, FaultCode::WrongCurrency, detail()))
    }

    /// The policy that a shop begins with, as TOML.
    pub const EMBEDDED: &'static str = include_str!("default.toml");

    /// Reads a policy from its JSON form; `version` may be left out and is then 1.
    ///
    /// # Errors
    /// Every fault: a value that is missing, unknown, of another type, too fine, out of bounds or
    /// out of order.
    pub fn from_json(value: &Value) -> Result<Self, Vec<Fault>> {
        let Some(map) = value.as_object() else {
            return Err(vec![Fault::at(
                "",
                FaultCode::WrongType,
                "a policy is an object",
            )]);
        };
        let mut faults: Vec<Fault> = map
            .keys()
            .filter(|name| !["version", "values"].contains(&name.as_str()))
            .map(|name| {
                let detail = format!("a policy has no member {name:?}");
                Fault::at(&figure::escaped(name), FaultCode::UnknownMember, detail)
            })
            .collect();
        let version = match map
            .get("version")
            .filter(|v| !v.is_null())
            .map(|v| v.as_i64().filter(|v| *v >= 1).ok_or(v))
        {
            None => 1,
            Some(Ok(version)) => version,
            Some(Err(given)) => {
                let detail = format!("a version is a whole number from 1, not {given}");
                faults.push(Fault::at("version", FaultCode::WrongType, detail));
                1
            }
        };
        let Some(given) = map.get("values").and_then(Value::as_object) else {
            faults.push(Fault::at(
                "values",
                FaultCode::Missing,
                "values has to be given, as an object",
            ));
            return Err(faults);
        };
        for name in given
            .keys()
            .filter(|name| ENTRIES.iter().all(|entry| entry.key != name.as_str()))
        {
            let path = format!("values/{}", figure::escaped(name));
            faults.push(Fault::at(
                &path,
                FaultCode::UnknownMember,
                format!("the policy knows no {name:?}"),
            ));
        }
        let mut reader = figure::Reader::new(given);
        let values = Values::read(&mut reader);
        faults.extend(reader.faults());
        match values {
            Some(values) if faults.is_empty() => {
                let policy = Self { version, values };
                let faults = policy.faults();
                if faults.is_empty() {
                    Ok(policy)
                } else {
                    Err(faults)
                }
            }
            _ => Err(faults),
        }
    }

    /// Reads a policy from its TOML form.
    ///
    /// # Errors
    /// As [`Policy::from_json`]; a text that is no TOML is one fault.
    pub fn from_toml(text: &str) -> Result<Self, Vec<Fault>> {
        let value: Value = toml::from_str(text)
            .map_err(|e| vec![Fault::at("", FaultCode::WrongForm, e.to_string())])?;
        Self::from_json(&value)
    }

    /// The TOML form.
    pub fn to_toml(&self) -> String {
        let mut text = format!("version = {}\n", self.version);
        for (key, judged) in self.values.to_map() {
            text.push_str(&format!("\n[values.{key}]\n"));
            for member in ["value", "label", "text"] {
                // JSON numbers, lists of words and strings are written alike in TOML.
                text.push_str(&format!("{member} = {}\n", judged[member]));
            }
        }
        text
    }

    /// The class of a projection.
    pub fn projection_class(&self, projection: Length) -> ProjectionClass {
        let values = &self.values;
        if projection >= values.projection_extended_from_mm.value {
            ProjectionClass::Extended
        } else if projection >= values.projection_projected_from_mm.value {
            ProjectionClass::Projected
        } else if projection >= values.projection_flush_from_mm.value {
            ProjectionClass::Flush
        } else {
            ProjectionClass::Recessed
        }
    }

    /// Expected change interval of a tip metal in kilometres; `None` where the policy has no figure.
    /// A plug's own `service_life_km` stands above it.
    pub fn life_km(&self, metal: Electrode, boosted: bool) -> Option<u32> {
        self.life_of(metal, boosted).map(|judged| judged.value)
    }

    /// The same with what it rests on.
    pub fn life_of(&self, metal: Electrode, boosted: bool) -> Option<&Judged<u32>> {
        match metal {
            Electrode::Nickel if boosted => Some(&self.values.life_nickel_boosted_km),
            Electrode::Nickel => Some(&self.values.life_nickel_km),
            Electrode::Platinum | Electrode::DoublePlatinum | Electrode::Iridium => {
                Some(&self.values.life_precious_km)
            }
            Electrode::Silver
            | Electrode::GoldPalladium
            | Electrode::Ruthenium
            | Electrode::Other => None,
        }
    }
}

impl Default for Policy {
    /// The embedded policy.
    fn default() -> Self {
        match Self::from_toml(Self::EMBEDDED) {
            Ok(policy) => policy,
            Err(faults) => panic!("the embedded policy has faults: {faults:?}"),
        }
    }
}

impl Check for Policy {
    fn faults(&self) -> Vec<Fault> {
        let map = self.values.to_map();
        let out_of_order = |pairs: &[(&str, &str)], holds: fn(&f64, &f64) -> bool, words: &str| {
            pairs
                .iter()
                .filter_map(|(low, high)| {
                    let (a, b) = (number(&map, low)?, number(&map, high)?);
                    let detail = format!("{low} ({a}) has to be {words} {high} ({b})");
                    (!holds(&a, &b)).then(|| {
                        Fault::at(
                            &format!("values/{low}/value"),
                            FaultCode::Contradiction,
                            detail,
                        )
                    })
                })
                .collect::<Vec<_>>()
        };
        let mut faults = out_of_order(NOT_ABOVE, f64::le, "at most");
        faults.extend(out_of_order(BELOW, f64::lt, "less than"));
        faults
    }
}

fn number(values: &Map<String, Value>, key: &str) -> Option<f64> {
    values.get(key)?.get("value")?.as_f64()
}

impl Serialize for Policy {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut map = s.serialize_map(Some(2))?;
        map.serialize_entry("version", &self.version)?;
        map.serialize_entry("values", &self.values.to_map())?;
        map.end()
    }
}
