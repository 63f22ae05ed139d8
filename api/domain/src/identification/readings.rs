//! What a clerk has measured or seen of a plug that nobody can name.

use serde::{Deserialize, Serialize};

use crate::attribute::Attr;
use crate::build::bound_fault;
use crate::decimal::{Decimal, Length};
use crate::fault::{Check, Fault, FaultCode};
use crate::words::{Ground, HexKind, Seat, Terminal, closed_list};

closed_list! {
    /// What can be found out of an unmarked plug; of two that help alike the first is asked for.
    Measurement, "measurement" {
        /// Caliper over the crests of the thread.
        MajorDiameter = "major_diameter_mm",
        /// Pitch gauge in its flanks.
        Pitch = "pitch_mm",
        /// Seat form, by eye.
        Seat = "seat",
        /// Caliper from the seat to the end of the thread.
        Reach = "reach_mm",
        /// Caliper across flats.
        Hex = "hex_mm",
        /// Six faces or twelve points, by eye.
        HexKind = "hex_kind",
        /// Ohmmeter from terminal to centre electrode.
        Resistance = "resistance_ohm",
        /// Form of the ground electrode, by eye.
        Ground = "ground",
        /// Terminal form, by eye.
        Terminal = "terminal",
        /// Caliper depth from the shell's end to the tip.
        Projection = "projection_mm",
        /// Caliper from the seat to the top of the terminal.
        Overall = "overall_mm",
        /// Caliper from the top of the shell to the top of the insulator.
        Insulator = "insulator_mm",
    }
}

impl Measurement {
    /// The attribute of a record that it is put to.
    pub const fn attr(self) -> Attr {
        match self {
            Self::MajorDiameter | Self::Pitch => Attr::Thread,
            Self::Seat => Attr::Seat,
            Self::Reach => Attr::Reach,
            Self::Hex => Attr::Hex,
            Self::HexKind => Attr::HexKind,
            Self::Resistance => Attr::Resistance,
            Self::Ground => Attr::Ground,
            Self::Terminal => Attr::Terminal,
            Self::Projection => Attr::Projection,
            Self::Overall => Attr::Overall,
            Self::Insulator => Attr::Insulator,
        }
    }

    /// How it is taken.
    pub const fn how(self) -> &'static str {
        match self {
            Self::MajorDiameter => "caliper over the crests of the thread",
            Self::Pitch => "pitch gauge in the flanks of the thread",
            _ => self.attr().declared().measure,
        }
    }

    /// What it is called in a sentence.
    pub fn label(self) -> String {
        match self {
            Self::MajorDiameter => "major diameter".to_owned(),
            Self::Pitch => "pitch".to_owned(),
            _ => self.attr().declared().label.to_lowercase(),
        }
    }

    /// Whether a record that it contradicts cannot be the plug at all: thread, seat and reach cannot
    /// be taken for another.
    pub const fn rules_out(self) -> bool {
        matches!(
            self,
            Self::MajorDiameter | Self::Pitch | Self::Seat | Self::Reach
        )
    }
}

/// What was read off an unmarked plug; all of it optional, but something has to be known.
///
/// A gap is no reading: it is set, and grows.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Readings {
    /// Diameter of the thread over its crests, by caliper.
    #[serde(default)]
    pub major_diameter_mm: Option<Length>,
    /// Pitch of the thread, by pitch gauge: exact, an inch gauge's to 0.01 mm.
    #[serde(default)]
    pub pitch_mm: Option<Length>,
    /// A washer or a cone.
    #[serde(default)]
    pub seat: Option<Seat>,
    /// From the seat to the end of the thread, by caliper.
    #[serde(default)]
    pub reach_mm: Option<Length>,
    /// Across flats, by caliper.
    #[serde(default)]
    pub hex_mm: Option<Length>,
    /// Six faces or twelve points.
    #[serde(default)]
    pub hex_kind: Option<HexKind>,
    /// From terminal to centre electrode, by ohmmeter; where it shows no connection, the end of its
    /// largest range.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 100_000_000))]
    pub resistance_ohm: Option<Decimal<1>>,
    /// Form of the ground electrode.
    #[serde(default)]
    pub ground: Option<Ground>,
    /// Connection; a nut that can be unscrewed may be missing, or stuck.
    #[serde(default)]
    pub terminal: Option<Terminal>,
    /// From the shell's end to the firing tip, by caliper depth.
    #[serde(default)]
    pub projection_mm: Option<Length>,
    /// From the seat to the top of the terminal, by caliper.
    #[serde(default)]
    pub overall_mm: Option<Length>,
    /// From the top of the shell to the top of the insulator, by caliper.
    #[serde(default)]
    pub insulator_mm: Option<Length>,
    /// What the instruments may be wrong by; the policy's figures where null.
    #[serde(default)]
    pub uncertainty: Option<Uncertainty>,
}

/// What the instruments may be wrong by, either way, in the unit of the reading. What is given for a
/// reading that was not taken says how it could be taken.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Uncertainty {
    /// Of the major diameter.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub major_diameter_mm: Option<Length>,
    /// Of the pitch; a pitch gauge is exact.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub pitch_mm: Option<Length>,
    /// Of the reach.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub reach_mm: Option<Length>,
    /// Of the hexagon.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub hex_mm: Option<Length>,
    /// Of the resistance.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 100_000))]
    pub resistance_ohm: Option<Decimal<1>>,
    /// Of the projection.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub projection_mm: Option<Length>,
    /// Of the overall height.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub overall_mm: Option<Length>,
    /// Of the height of the insulator.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub insulator_mm: Option<Length>,
}

/// The most that an ohmmeter shows, in ohms.
pub(crate) const MOST_OHM: f64 = 1e8;
/// The most that an instrument may be wrong by, in mm and in ohms.
pub(crate) const MOST_WRONG: (f64, f64) = (0.5, 1e5);

impl Readings {
    /// What was read by a measurement, as the whole number that the attribute is kept in.
    pub fn raw(&self, measurement: Measurement) -> Option<i64> {
        let length = |length: Option<Length>| length.map(|l| l.0);
        match measurement {
            Measurement::MajorDiameter => length(self.major_diameter_mm),
            Measurement::Pitch => length(self.pitch_mm),
            Measurement::Seat => self.seat.map(Seat::position),
            Measurement::Reach => length(self.reach_mm),
            Measurement::Hex => length(self.hex_mm),
            Measurement::HexKind => self.hex_kind.map(HexKind::position),
            Measurement::Resistance => self.resistance_ohm.map(|r| r.0),
            Measurement::Ground => self.ground.map(Ground::position),
            Measurement::Terminal => self.terminal.map(Terminal::position),
            Measurement::Projection => length(self.projection_mm),
            Measurement::Overall => length(self.overall_mm),
            Measurement::Insulator => length(self.insulator_mm),
        }
    }
}

impl Uncertainty {
    fn of_lengths(&self) -> [(&'static str, Option<Length>); 7] {
        [
            ("major_diameter_mm", self.major_diameter_mm),
            ("pitch_mm", self.pitch_mm),
            ("reach_mm", self.reach_mm),
            ("hex_mm", self.hex_mm),
            ("projection_mm", self.projection_mm),
            ("overall_mm", self.overall_mm),
            ("insulator_mm", self.insulator_mm),
        ]
    }
}

impl Check for Readings {
    fn faults(&self) -> Vec<Fault> {
        let lengths = [
            ("major_diameter_mm", self.major_diameter_mm),
            ("pitch_mm", self.pitch_mm),
            ("reach_mm", self.reach_mm),
            ("hex_mm", self.hex_mm),
            ("projection_mm", self.projection_mm),
            ("overall_mm", self.overall_mm),
            ("insulator_mm", self.insulator_mm),
        ];
        let mut faults: Vec<Fault> = lengths
            .iter()
            .filter_map(|(field, value)| bound_fault(field, (*value)?.get()))
            .collect();
        let ohm = self.resistance_ohm.map(Decimal::get);
        faults.extend(ohm.and_then(|ohm| outside("resistance_ohm", ohm, MOST_OHM)));
        if let Some(uncertainty) = &self.uncertainty {
            let (mm, ohms) = MOST_WRONG;
            let of_lengths = uncertainty
                .of_lengths()
                .into_iter()
                .filter_map(|(field, value)| outside(field, value?.get(), mm));
            let of_ohms = uncertainty
                .resistance_ohm
                .and_then(|value| outside("resistance_ohm", value.get(), ohms));
            faults.extend(
                of_lengths
                    .chain(of_ohms)
                    .map(|fault| fault.under("uncertainty")),
            );
        }
        if Measurement::ALL.iter().all(|m| self.raw(*m).is_none()) {
            let detail = format!(
                "give at least one reading: {}",
                Measurement::WORDS.join(", ")
            );
            faults.push(Fault::at("", FaultCode::Missing, detail));
        }
        faults
    }
}

/// The fault of a number that is not from 0 to the most.
pub(crate) fn outside(field: &str, value: f64, most: f64) -> Option<Fault> {
    let detail = format!("{value} is outside 0 to {most}");
    (!(0.0..=most).contains(&value)).then(|| Fault::at(field, FaultCode::OutOfRange, detail))
}
