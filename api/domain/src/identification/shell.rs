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

/// Inch hexagons that plugs were made with, across flats.
const INCH_HEXES: [(&str, f64); 6] = [
    ("9/16", 9.0 / 16.0),
    ("5/8", 5.0 / 8.0),
    ("11/16", 11.0 / 16.0),
    ("3/4", 3.0 / 4.0),
    ("13/16", 13.0 / 16.0),
    ("7/8", 7.0 / 8.0),
];

/// A hexagon by the spanner that it takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NamedHex {
    /// The usual spanner; null where none of them fits.
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

/// Spanners in 0.1 µm that take an inch hexagon too (common practice, no source).
const SHARED: [(i64, &str); 3] = [(160_000, "5/8"), (190_000, "3/4"), (208_000, "13/16")];

fn name_hex(read: Length, half_width: i64) -> NamedHex {
    let spanner_mm = nearest(read, &HEXES, half_width);
    let in_mm = |inch: f64| (inch_to_mm(inch) * 10_000.0).round() as i64;
    let inch = INCH_HEXES
        .iter()
        .map(|(name, inch)| (*name, (in_mm(*inch) - read.0).abs()))
        .filter(|(_, distance)| *distance <= half_width)
        .min_by_key(|(_, distance)| *distance)
        .map(|(name, _)| name);
    let text = match (spanner_mm, inch) {
        (Some(spanner), Some(inch)) if SHARED.contains(&(spanner.0, inch)) => format!(
            "The {spanner} mm spanner; a {inch} in hexagon cannot be told from it and takes the same."
        ),
        (Some(spanner), Some(inch)) => {
            format!("Either {spanner} mm or {inch} in, which needs a spanner of its own: try both.")
        }
        (Some(spanner), None) => format!("The {spanner} mm spanner."),
        (None, Some(inch)) => {
            format!("A {inch} in hexagon: none of the usual metric spanners holds it.")
        }
        (None, None) => format!(
            "{} is no hexagon that plugs are made with: see that the caliper stands square on two flats.",
            length(read)
        ),
    };
    NamedHex {
        spanner_mm,
        inch,
        text,
    }
}
