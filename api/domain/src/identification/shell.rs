//! What readings say of a plug without any catalogue: thread, reach, hexagon, resistor.

use serde::Serialize;

use super::means::Means;
use super::readings::{Measurement, Readings};
use super::resistor;
use super::thread::{NamedThread, name_thread};
use crate::conversion::inch_to_mm;
use crate::decimal::{Decimal, Length};
use crate::policy::Policy;
use crate::requirement::sentence::length;

/// Nominal reaches in use (from memory).
pub const REACHES: [Length; 7] = [
    Decimal(95_000),
    Decimal(112_000),
    Decimal(127_000),
    Decimal(175_000),
    Decimal(190_000),
    Decimal(250_000),
    Decimal(265_000),
];

/// Usual spanner sizes (common practice, no source).
pub const HEXES: [Length; 5] = [
    Decimal(140_000),
    Decimal(160_000),
    Decimal(180_000),
    Decimal(190_000),
    Decimal(208_000),
];

/// A hexagon made in inches.
struct InchHex {
    name: &'static str,
    inch: f64,
    /// The usual spanner that takes it; without one it needs a spanner of its own.
    spanner: Option<Length>,
}

/// Inch hexagons that plugs were made with, across flats, and the spanner that takes them (trade
/// practice, no source).
const INCH_HEXES: [InchHex; 6] = {
    const fn made(name: &'static str, inch: f64, spanner: Option<Length>) -> InchHex {
        InchHex {
            name,
            inch,
            spanner,
        }
    }
    [
        made("9/16", 9.0 / 16.0, None),
        made("5/8", 5.0 / 8.0, Some(HEXES[1])),
        made("11/16", 11.0 / 16.0, None),
        made("3/4", 3.0 / 4.0, Some(HEXES[3])),
        made("13/16", 13.0 / 16.0, Some(HEXES[4])),
        made("7/8", 7.0 / 8.0, None),
    ]
};

impl InchHex {
    /// Across flats, in 0.1 µm.
    fn raw(&self) -> i64 {
        (inch_to_mm(self.inch) * 10_000.0).round() as i64
    }
}

/// A hexagon by the spanner that it takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NamedHex {
    /// The usual spanner; null where none of them fits. Where it may as well be an inch size that this
    /// spanner does not take, the text says so.
    pub spanner_mm: Option<Length>,
    /// The inch size that the reading can be, in inches; null where it is none.
    pub inch: Option<&'static str>,
    /// In words.
    pub text: String,
}

/// What the readings alone say of a plug.
#[derive(Debug, Clone, PartialEq)]
pub struct Shell {
    /// `None` where neither diameter nor pitch was read.
    pub thread: Option<NamedThread>,
    /// The nominal reach; `None` where none was read, or it is near to none.
    pub reach_family_mm: Option<Length>,
    /// The hexagon; `None` where it was not read.
    pub hex: Option<NamedHex>,
    /// Whether a resistor is fitted; `None` where it was not measured or cannot be told.
    pub resistor: Option<bool>,
    /// Why; `None` where it was not measured.
    pub resistor_text: Option<String>,
}

impl Shell {
    /// What some readings say.
    pub fn of(readings: &Readings, policy: &Policy) -> Self {
        let means = Means::of(readings, policy);
        let (resistor, resistor_text) = match readings.resistance_ohm {
            None => (None, None),
            Some(ohms) => {
                let (fitted, text) = resistor::told(ohms.0, &means);
                (fitted, Some(text))
            }
        };
        Self {
            thread: name_thread(readings, &means),
            reach_family_mm: readings
                .reach_mm
                .and_then(|read| nearest(read, &REACHES, means.half_width(Measurement::Reach))),
            hex: readings
                .hex_mm
                .map(|read| name_hex(read, means.half_width(Measurement::Hex))),
            resistor,
            resistor_text,
        }
    }
}

/// The nominal size that a reading is nearest to, within a half width.
fn nearest(read: Length, nominal: &[Length], half_width: i64) -> Option<Length> {
    let distance = |size: &Length| (size.0 - read.0).abs();
    let nearest = nominal.iter().copied().min_by_key(distance)?;
    (distance(&nearest) <= half_width).then_some(nearest)
}

fn name_hex(read: Length, half_width: i64) -> NamedHex {
    let metric = nearest(read, &HEXES, half_width);
    let distance = |hex: &&InchHex| (hex.raw() - read.0).abs();
    let inch = INCH_HEXES
        .iter()
        .filter(|hex| distance(hex) <= half_width)
        .min_by_key(distance);
    let text = match (metric, inch) {
        (Some(metric), Some(inch)) => either(metric, inch),
        (Some(metric), None) => format!("The {metric} mm spanner."),
        (None, Some(inch)) => match inch.spanner {
            Some(own) => format!("A {} in hexagon: it takes the {own} mm spanner.", inch.name),
            None => format!(
                "A {} in hexagon: none of the usual metric spanners holds it.",
                inch.name
            ),
        },
        (None, None) => format!(
            "{} is no hexagon that plugs are made with: see that the caliper stands square on two flats.",
            length(read)
        ),
    };
    NamedHex {
        spanner_mm: metric.or(inch.and_then(|hex| hex.spanner)),
        inch: inch.map(|hex| hex.name),
        text,
    }
}

/// What to say of a reading that a metric and an inch hexagon agree with.
fn either(metric: Length, inch: &InchHex) -> String {
    let name = inch.name;
    let across = inch_to_mm(inch.inch);
    match inch.spanner {
        Some(own) if own == metric => format!(
            "The {metric} mm spanner; a {name} in hexagon cannot be told from it and takes the same."
        ),
        Some(own) => format!(
            "Either {metric} mm or {name} in ({across:.2} mm), which takes the {own} mm spanner: try it."
        ),
        None => format!(
            "Either {metric} mm or {name} in ({across:.2} mm), which needs its own spanner: try it."
        ),
    }
}
