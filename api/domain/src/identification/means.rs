//! What instruments and tolerances let through: the readings that a record could give.

use super::readings::{Measurement, Readings, Uncertainty};
use super::thread::Crests;
use crate::attribute::Attr;
use crate::decimal::{Decimal, Length};
use crate::plug::Shows;
use crate::policy::Policy;
use crate::words::Terminal;

/// Readings from one to another, ends included.
pub type Span = (i64, i64);

/// What a pitch gauge of either system leaves open, in 0.1 µm: inch pitches are typed as
/// hundredths of a millimetre.
const PITCH_TYPED_TO: i64 = 50;

/// How good the instruments are and how far a plug may differ from its record.
///
/// Lengths are whole numbers of 0.1 µm, resistances of 0.1 Ω.
#[derive(Debug, Clone, PartialEq)]
pub struct Means {
    /// Uncertainty over the crests.
    pub(super) diameter: i64,
    /// Uncertainty of the pitch.
    pub(super) pitch: i64,
    /// Wear of crests that is let through.
    pub(super) wear: i64,
    reach: i64,
    hex: i64,
    projection: i64,
    overall: i64,
    insulator: i64,
    /// The caller's uncertainty of a resistance; a share of the reading otherwise.
    ohm: Option<i64>,
    ohm_share: f64,
    resistor_spread: f64,
    /// Up to here there is no resistor.
    pub(super) no_resistor_to: i64,
    /// From here on one is fitted.
    pub(super) resistor_from: i64,
    /// Above this it is broken.
    pub(super) resistor_to: i64,
    /// What a plain mistake costs a record, in thousandths of a natural logarithm.
    pub(super) misread: u32,
}

impl Means {
    /// The caller's uncertainties, the policy's where it says nothing.
    pub fn of(readings: &Readings, policy: &Policy) -> Self {
        let values = &policy.values;
        let given = readings.uncertainty.unwrap_or_default();
        let caliper = values.caliper_uncertainty_mm.value;
        let wide = |of: fn(&Uncertainty) -> Option<Length>, tolerance: Length| {
            of(&given).unwrap_or(caliper).0 + tolerance.0
        };
        let ohms = |value: f64| (value * 10_f64.powi(Decimal::<1>::PLACES as i32)).round() as i64;
        let height = values.unmarked_height_tolerance_mm.value;
        Self {
            diameter: wide(|u| u.major_diameter_mm, Decimal(0)),
            pitch: given.pitch_mm.map_or(0, |u| u.0) + PITCH_TYPED_TO,
            wear: values.thread_wear_mm.value.0,
            reach: wide(|u| u.reach_mm, values.reach_tolerance_mm.value),
            hex: wide(|u| u.hex_mm, values.hex_tolerance_mm.value),
            projection: wide(
                |u| u.projection_mm,
                values.unmarked_projection_tolerance_mm.value,
            ),
            overall: wide(|u| u.overall_mm, height),
            insulator: wide(|u| u.insulator_mm, height),
            ohm: given.resistance_ohm.map(|u| u.0),
            ohm_share: values.ohmmeter_uncertainty.value,
            resistor_spread: values.resistor_spread.value,
            no_resistor_to: ohms(values.no_resistor_to_ohm.value),
            resistor_from: ohms(values.resistor_from_ohm.value),
            resistor_to: ohms(values.resistor_to_ohm.value),
            misread: (-1000.0 * values.misread_share.value.ln()).round() as u32,
        }
    }

    /// How far a length may be read from its nominal value: tolerance of the part and uncertainty of
    /// the caliper together. 0 for what is no length of its own.
    pub fn half_width(&self, measurement: Measurement) -> i64 {
        match measurement {
            Measurement::Reach => self.reach,
            Measurement::Hex => self.hex,
            Measurement::Projection => self.projection,
            Measurement::Overall => self.overall,
            Measurement::Insulator => self.insulator,
            _ => 0,
        }
    }

    /// What an ohmmeter may be wrong by at a reading.
    pub(super) fn ohmmeter(&self, read: i64) -> i64 {
        self.ohm.unwrap_or_else(|| share(read, self.ohm_share))
    }

    /// How far a resistance may differ from its record: the spread of resistors, and a few ohms
    /// that mean nothing.
    pub(super) fn spread(&self, nominal: i64) -> i64 {
        share(nominal, self.resistor_spread) + self.no_resistor_to
    }

    /// The readings that would agree with a record; `None` where the record does not show what the
    /// measurement is put to. Words stand on an axis of their own.
    ///
    /// Two records are told apart by a measurement for certain where their spans do not meet.
    pub fn span(&self, measurement: Measurement, plug: &impl Shows) -> Option<Span> {
        let shown = plug.shown(measurement.attr());
        match measurement {
            Measurement::MajorDiameter => {
                let crests = Crests::of(shown?);
                Some((crests.least - self.diameter, crests.most + self.diameter))
            }
            Measurement::Pitch => {
                let pitch = Crests::of(shown?).pitch;
                Some((pitch - self.pitch, pitch + self.pitch))
            }
            Measurement::Resistance => match (shown, plug.shown(Attr::Resistor)) {
                (Some(nominal), _) => {
                    let spread = self.spread(nominal);
                    Some(self.by_ohmmeter(nominal - spread, nominal + spread))
                }
                (None, Some(0)) => Some(self.by_ohmmeter(0, self.no_resistor_to)),
                (None, Some(_)) => Some(self.by_ohmmeter(self.resistor_from, self.resistor_to)),
                (None, None) => None,
            },
            Measurement::Terminal => shown.and_then(Terminal::at).map(looks_like),
            Measurement::Seat | Measurement::HexKind | Measurement::Ground => {
                shown.map(|place| (place, place))
            }
            _ => {
                let width = self.half_width(measurement);
                shown.map(|nominal| (nominal - width, nominal + width))
            }
        }
    }

    /// What an ohmmeter may read where the resistance lies between two values.
    fn by_ohmmeter(&self, least: i64, most: i64) -> Span {
        match self.ohm {
            Some(wrong_by) => (least - wrong_by, most + wrong_by),
            None => (
                (least as f64 / (1.0 + self.ohm_share)).ceil() as i64,
                (most as f64 / (1.0 - self.ohm_share)).floor() as i64,
            ),
        }
    }
}

fn share(value: i64, share: f64) -> i64 {
    (value as f64 * share).round() as i64
}

/// Where a terminal stands among those that it can be taken for: bare stud, stud with a nut that
/// turns, solid nut. A nut may be unscrewed or put on, and one that should turn may be stuck.
pub(super) fn looks_like(terminal: Terminal) -> Span {
    match terminal {
        Terminal::StudM4 => (0, 1),
        Terminal::RemovableNut => (0, 2),
        Terminal::SolidNut => (2, 2),
    }
}

/// Where a terminal is seen on the same axis.
pub(super) fn seen_at(terminal: Terminal) -> i64 {
    match terminal {
        Terminal::StudM4 => 0,
        Terminal::RemovableNut => 1,
        Terminal::SolidNut => 2,
    }
}
