//! The attributes of a plug, each declared once: field, unit, bounds, meaning, how a clerk
//! measures it, what a demand may ask of it and what an unknown value does.
//!
//! JSON, CSV columns, validation, the OpenAPI text, page labels, the columns of the database, the
//! fast fields of the index and every verdict are read off [`ATTRIBUTES`].

use serde_json::{Number, Value};

use crate::decimal::{as_f64, exact};
use crate::fault::{Fault, FaultCode};
use crate::thread::Thread;
use crate::words::{Electrode, Ground, HexKind, Seat, Terminal, closed_list};

closed_list! {
    /// Names an attribute by its member in JSON; the order is that of [`ATTRIBUTES`].
    Attr, "attribute of a plug" {
        /// Thread designation.
        Thread = "thread",
        /// Seat to end of thread.
        Reach = "reach_mm",
        /// Seat form.
        Seat = "seat",
        /// Across flats.
        Hex = "hex_mm",
        /// Six faces or twelve points.
        HexKind = "hex_kind",
        /// Neutral heat index.
        Heat = "heat_index",
        /// Spark beyond the shell.
        Projection = "projection_mm",
        /// Strap beyond the shell.
        StrapExtent = "strap_extent_mm",
        /// Suppression resistor fitted.
        Resistor = "resistor",
        /// Its resistance.
        Resistance = "resistance_ohm",
        /// Tip metal.
        Electrode = "electrode",
        /// Ground electrode form.
        Ground = "ground",
        /// Gap as delivered.
        GapPreset = "gap_preset_mm",
        /// Smallest gap it may be bent to.
        GapMin = "gap_min_mm",
        /// Largest gap it may be bent to.
        GapMax = "gap_max_mm",
        /// Connection.
        Terminal = "terminal",
        /// Overall height.
        Overall = "overall_mm",
        /// Insulator height.
        Insulator = "insulator_mm",
        /// Expected change interval.
        ServiceLife = "service_life_km",
        /// The maker's tightening torque.
        Torque = "torque_nm",
        /// Plugs in a box.
        PackSize = "pack_size",
    }
}

/// How a value is written, and so how it is parsed, bounded and kept as a whole number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A decimal of `decimals` places in `unit`, kept as a whole number of the last place.
    Number {
        /// Places kept.
        decimals: u32,
        /// Unit as printed; empty for a pure number.
        unit: &'static str,
        /// Least allowed value.
        min: f64,
        /// Greatest allowed value.
        max: f64,
    },
    /// Yes or no, kept as 1 or 0.
    Flag,
    /// A word of a closed list, kept as its place in the list.
    Choice(&'static [&'static str]),
}

/// What a demand may ask of an attribute.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// A least and a greatest value.
    Range,
    /// One of some values.
    OneOf,
    /// Nothing: the attribute informs only.
    Nothing,
}

/// What an unknown value does where a must asks for the attribute.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unknown {
    /// Never fits.
    Fails,
    /// Fits, with a caution.
    Allowed,
    /// The attribute is a preference, or is never asked for.
    Harmless,
}

/// The declaration of one attribute.
#[derive(Debug, Clone, Copy)]
pub struct Attribute {
    /// Its name in code; the member's name is [`Attr::word`].
    pub attr: Attr,
    /// Its name for people.
    pub label: &'static str,
    /// How it is written.
    pub kind: Kind,
    /// What it means.
    pub meaning: &'static str,
    /// How a clerk finds it out.
    pub measure: &'static str,
    /// What may be asked of it.
    pub asked: Asked,
    /// What an unknown value does.
    pub unknown: Unknown,
}

const fn mm(min: f64, max: f64) -> Kind {
    Kind::Number {
        decimals: 4,
        unit: "mm",
        min,
        max,
    }
}

/// Every attribute, in the order of [`Attr`].
pub const ATTRIBUTES: &[Attribute] = &[
    Attribute {
        attr: Attr::Thread,
        label: "Thread",
        kind: Kind::Choice(Thread::WORDS),
        meaning: "ISO metric designation, major diameter x pitch, or a vintage inch thread",
        measure: "caliper over the crests, pitch gauge in the flanks",
        asked: Asked::OneOf,
        unknown: Unknown::Fails,
    },
    Attribute {
        attr: Attr::Reach,
        label: "Reach",
        kind: mm(5.0, 60.0),
        meaning: "from the seat to the end of the thread",
        measure: "caliper depth: gasket seat from the gasket's face, conical seat from the cone's gauge plane",
        asked: Asked::Range,
        unknown: Unknown::Fails,
    },
    Attribute {
        attr: Attr::Seat,
        label: "Seat",
        kind: Kind::Choice(Seat::WORDS),
        meaning: "flat with a captive washer, or taper without one; never interchangeable",
        measure: "look: a washer or a cone",
        asked: Asked::OneOf,
        unknown: Unknown::Fails,
    },
    Attribute {
        attr: Attr::Hex,
        label: "Hex",
        kind: mm(8.0, 30.0),
        meaning: "across flats of the spanner faces",
        measure: "caliper across two flats",
        asked: Asked::Range,
        unknown: Unknown::Fails,
    },
    Attribute {
        attr: Attr::HexKind,
        label: "Spanner faces",
        kind: Kind::Choice(HexKind::WORDS),
        meaning: "six faces or twelve points",
        measure: "count them",
        asked: Asked::Nothing,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::Heat,
        label: "Heat index",
        kind: Kind::Number {
            decimals: 1,
            unit: "",
            min: 0.0,
            max: 200.0,
        },
        meaning: "neutral index that rises as the plug gets colder, 10 to the usual step, 50 a mid-range street plug",
        measure: "from the maker's code through its heat scale; it cannot be measured",
        asked: Asked::Range,
        unknown: Unknown::Fails,
    },
    Attribute {
        attr: Attr::Projection,
        label: "Projection",
        kind: mm(-5.0, 15.0),
        meaning: "how far the spark stands beyond the end of the shell, negative where recessed",
        measure: "caliper depth from the shell's end to the firing tip",
        asked: Asked::Range,
        unknown: Unknown::Fails,
    },
    Attribute {
        attr: Attr::StrapExtent,
        label: "Strap extent",
        kind: mm(-5.0, 20.0),
        meaning: "how far the ground strap stands beyond the shell: what a piston meets first",
        measure: "caliper depth from the shell's end to the strap's outside",
        asked: Asked::Nothing,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::Resistor,
        label: "Resistor",
        kind: Kind::Flag,
        meaning: "whether a suppression resistor is built in; it cannot be seen from outside",
        measure: "maker's sheet, or ohmmeter from terminal to centre electrode",
        asked: Asked::OneOf,
        unknown: Unknown::Fails,
    },
    Attribute {
        attr: Attr::Resistance,
        label: "Resistance",
        kind: Kind::Number {
            decimals: 1,
            unit: "Ω",
            min: 0.0,
            max: 50_000.0,
        },
        meaning: "a few ohms where no resistor is fitted, mostly near 5 kΩ where one is",
        measure: "ohmmeter from terminal to centre electrode",
        asked: Asked::Range,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::Electrode,
        label: "Tip metal",
        kind: Kind::Choice(Electrode::WORDS),
        meaning: "metal of the firing tip; says nothing of the heat range",
        measure: "maker's sheet; a fine wire is precious metal",
        asked: Asked::OneOf,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::Ground,
        label: "Ground electrode",
        kind: Kind::Choice(Ground::WORDS),
        meaning: "form of the ground electrode; several straps and surface gaps cannot be gapped",
        measure: "look",
        asked: Asked::OneOf,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::GapPreset,
        label: "Gap as delivered",
        kind: mm(0.2, 2.5),
        meaning: "electrode gap out of the box",
        measure: "wire gauge",
        asked: Asked::Range,
        unknown: Unknown::Allowed,
    },
    Attribute {
        attr: Attr::GapMin,
        label: "Least gap",
        kind: mm(0.2, 2.5),
        meaning: "smallest gap that the strap may be bent to",
        measure: "maker's sheet",
        asked: Asked::Range,
        unknown: Unknown::Allowed,
    },
    Attribute {
        attr: Attr::GapMax,
        label: "Greatest gap",
        kind: mm(0.2, 2.5),
        meaning: "largest gap that the strap may be bent to",
        measure: "maker's sheet",
        asked: Asked::Range,
        unknown: Unknown::Allowed,
    },
    Attribute {
        attr: Attr::Terminal,
        label: "Terminal",
        kind: Kind::Choice(Terminal::WORDS),
        meaning: "connection; must suit the lead or coil boot",
        measure: "look, and try whether the nut turns",
        asked: Asked::OneOf,
        unknown: Unknown::Allowed,
    },
    Attribute {
        attr: Attr::Overall,
        label: "Overall height",
        kind: mm(20.0, 200.0),
        meaning: "from the seat to the top of the terminal, for boot and bonnet clearance",
        measure: "caliper",
        asked: Asked::Nothing,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::Insulator,
        label: "Insulator height",
        kind: mm(5.0, 150.0),
        meaning: "from the top of the shell to the top of the insulator",
        measure: "caliper",
        asked: Asked::Nothing,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::ServiceLife,
        label: "Service life",
        kind: Kind::Number {
            decimals: 0,
            unit: "km",
            min: 1.0,
            max: 1_000_000.0,
        },
        meaning: "expected change interval by the maker",
        measure: "maker's sheet",
        asked: Asked::Nothing,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::Torque,
        label: "Torque",
        kind: Kind::Number {
            decimals: 2,
            unit: "N·m",
            min: 1.0,
            max: 100.0,
        },
        meaning: "the maker's tightening torque, dry threads; stands above the general table",
        measure: "maker's sheet",
        asked: Asked::Nothing,
        unknown: Unknown::Harmless,
    },
    Attribute {
        attr: Attr::PackSize,
        label: "Pack size",
        kind: Kind::Number {
            decimals: 0,
            unit: "",
            min: 1.0,
            max: 10_000.0,
        },
        meaning: "plugs in one box as delivered",
        measure: "count the box",
        asked: Asked::Nothing,
        unknown: Unknown::Harmless,
    },
];

impl Attr {
    /// How many attributes there are.
    pub const COUNT: usize = Self::ALL.len();

    /// The attribute's declaration.
    pub const fn declared(self) -> &'static Attribute {
        &ATTRIBUTES[self as usize]
    }

    /// Decimal places kept; 0 where the value is no decimal.
    pub const fn decimals(self) -> u32 {
        match self.declared().kind {
            Kind::Number { decimals, .. } => decimals,
            Kind::Flag | Kind::Choice(_) => 0,
        }
    }

    /// The value as JSON.
    pub fn to_json(self, raw: i64) -> Value {
        match self.declared().kind {
            Kind::Number { decimals: 0, .. } => Value::from(raw),
            Kind::Number { decimals, .. } => {
                Number::from_f64(as_f64(raw, decimals)).map_or(Value::Null, Value::Number)
            }
            Kind::Flag => Value::Bool(raw != 0),
            Kind::Choice(words) => usize::try_from(raw)
                .ok()
                .and_then(|p| words.get(p))
                .map_or(Value::Null, |w| Value::from(*w)),
        }
    }

    /// The whole number that stands for a JSON value, checked against kind, places and bounds.
    ///
    /// # Errors
    /// A [`Fault`] that points at the attribute's own member.
    pub fn from_json(self, value: &Value) -> Result<i64, Fault> {
        let fault = |code, detail| Err(Fault::at(self.word(), code, detail));
        match self.declared().kind {
            Kind::Number { decimals, .. } => {
                let Some(number) = value.as_f64().filter(|_| value.is_number()) else {
                    return fault(
                        FaultCode::WrongType,
                        format!("{} is a number, not {value}", self.word()),
                    );
                };
                match exact(number, decimals) {
                    Ok(raw) => self.within(raw),
                    Err(e) => fault(FaultCode::TooFine, e.to_string()),
                }
            }
            Kind::Flag => match value.as_bool() {
                Some(flag) => Ok(i64::from(flag)),
                None => fault(
                    FaultCode::WrongType,
                    format!("{} is true or false, not {value}", self.word()),
                ),
            },
            Kind::Choice(words) => {
                let Some(text) = value.as_str() else {
                    return fault(
                        FaultCode::WrongType,
                        format!("{} is a word, not {value}", self.word()),
                    );
                };
                let word = if self == Attr::Thread {
                    Thread::read(text).map(Thread::word)
                } else {
                    Some(text)
                };
                match word.and_then(|w| words.iter().position(|known| *known == w)) {
                    Some(place) => Ok(place as i64),
                    None => fault(
                        FaultCode::NotInList,
                        format!(
                            "{text:?} is no {}; take one of: {}",
                            self.declared().label.to_lowercase(),
                            words.join(", ")
                        ),
                    ),
                }
            }
        }
    }

    /// The same number where it lies within the attribute's bounds.
    ///
    /// # Errors
    /// A [`Fault`] that names the bounds.
    pub fn within(self, raw: i64) -> Result<i64, Fault> {
        let Kind::Number {
            decimals,
            unit,
            min,
            max,
        } = self.declared().kind
        else {
            return Ok(raw);
        };
        let value = as_f64(raw, decimals);
        if (min..=max).contains(&value) {
            Ok(raw)
        } else {
            let unit = if unit.is_empty() {
                String::new()
            } else {
                format!(" {unit}")
            };
            let detail = format!("{value}{unit} is outside {min} to {max}{unit}");
            Err(Fault::at(self.word(), FaultCode::OutOfRange, detail))
        }
    }

    /// The value in words for people: number with unit, yes or no, or the listed word.
    pub fn show(self, raw: i64) -> String {
        match self.declared().kind {
            Kind::Number {
                decimals, unit: "", ..
            } => as_f64(raw, decimals).to_string(),
            Kind::Number { decimals, unit, .. } => format!("{} {unit}", as_f64(raw, decimals)),
            Kind::Flag => if raw != 0 { "yes" } else { "no" }.to_owned(),
            Kind::Choice(words) => words
                .get(raw as usize)
                .map_or_else(String::new, |w| w.replace('_', " ")),
        }
    }
}

/// The attribute values of one plug, whole numbers in the order of [`ATTRIBUTES`]; `None` where
/// nobody has established the value.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Facts([Option<i64>; Attr::COUNT]);

impl Facts {
    /// The value of an attribute.
    pub fn get(&self, attr: Attr) -> Option<i64> {
        self.0[attr as usize]
    }

    /// Establishes or clears the value of an attribute.
    pub fn set(&mut self, attr: Attr, raw: Option<i64>) {
        self.0[attr as usize] = raw;
    }

    /// Every established value.
    pub fn known(&self) -> impl Iterator<Item = (Attr, i64)> + '_ {
        Attr::ALL
            .iter()
            .filter_map(|a| self.get(*a).map(|raw| (*a, raw)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_the_order_of_its_names() {
        assert_eq!(ATTRIBUTES.len(), Attr::COUNT);
        for (place, attribute) in ATTRIBUTES.iter().enumerate() {
            assert_eq!(attribute.attr as usize, place, "{}", attribute.attr);
        }
    }

    #[test]
    fn bounds_are_part_of_the_range() {
        for attribute in ATTRIBUTES {
            let Kind::Number {
                decimals, min, max, ..
            } = attribute.kind
            else {
                continue;
            };
            let (low, high) = (exact(min, decimals).unwrap(), exact(max, decimals).unwrap());
            assert_eq!(attribute.attr.within(low), Ok(low));
            assert_eq!(attribute.attr.within(high), Ok(high));
            assert_eq!(
                attribute.attr.within(low - 1).unwrap_err().code,
                FaultCode::OutOfRange
            );
            assert_eq!(
                attribute.attr.within(high + 1).unwrap_err().code,
                FaultCode::OutOfRange
            );
        }
    }

    #[test]
    fn every_value_survives_the_way_through_json() {
        let samples = [
            (Attr::Reach, 190_500),
            (Attr::Heat, 694),
            (Attr::Resistor, 1),
            (Attr::Resistance, 50_000),
            (Attr::Electrode, Electrode::Iridium.position()),
            (Attr::ServiceLife, 100_000),
            (Attr::Thread, Thread::M14x125.position()),
        ];
        for (attr, raw) in samples {
            assert_eq!(attr.from_json(&attr.to_json(raw)), Ok(raw), "{attr}");
        }
    }
}
