//! What a clerk records of a sample, and what a manager decides.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{Decision, SampleReading};
use crate::build::bound_fault;
use crate::decimal::{Decimal, Length};
use crate::fault::{Check, Fault, FaultCode, text_fault};
use crate::identification::{MOST_OHM, MOST_WRONG, outside};
use crate::wording::counted;

/// Plugs of one sample.
pub const SAMPLE: std::ops::RangeInclusive<i64> = 1..=1000;

/// Measurements of a sample of a lot. Each list has a value for each plug that was measured so.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct IncomingCheck {
    /// The lot.
    pub lot_id: Uuid,
    /// Plugs that were taken out to be looked at.
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 1000))]
    pub sample: i64,
    /// From terminal to centre electrode, by ohmmeter.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Vec<f64>, max_items = 1000))]
    pub resistance_ohm: Vec<Decimal<1>>,
    /// Between the electrodes, as delivered.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(max_items = 1000))]
    pub gap_mm: Vec<Length>,
    /// From the seat to the end of the thread, by caliper.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(max_items = 1000))]
    pub reach_mm: Vec<Length>,
    /// What the instruments may be wrong by; the policy's figures where null.
    #[serde(default)]
    pub uncertainty: Option<CheckUncertainty>,
    /// The quarantine that the lot goes to where a reading contradicts the record; the first that there
    /// is, made where there is none, where null.
    #[serde(default)]
    pub quarantine_place_id: Option<Uuid>,
    /// Anything else that was seen.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub note: Option<String>,
}

/// What the instruments may be wrong by, either way, in the unit of the reading.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CheckUncertainty {
    /// Of the resistance.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 100_000))]
    pub resistance_ohm: Option<Decimal<1>>,
    /// Of the gap.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub gap_mm: Option<Length>,
    /// Of the reach.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(value_type = Option<f64>, minimum = 0, maximum = 0.5))]
    pub reach_mm: Option<Length>,
}

impl IncomingCheck {
    /// What was read, as the whole numbers that the record is kept in.
    pub(super) fn raw(&self, reading: SampleReading) -> Vec<i64> {
        let lengths = |values: &[Length]| values.iter().map(|value| value.0).collect();
        match reading {
            SampleReading::Resistance => self.resistance_ohm.iter().map(|value| value.0).collect(),
            SampleReading::Gap => lengths(&self.gap_mm),
            SampleReading::Reach => lengths(&self.reach_mm),
        }
    }
}

impl Check for IncomingCheck {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        if !SAMPLE.contains(&self.sample) {
            let detail = format!("a sample has 1 to 1000 plugs, not {}", self.sample);
            faults.push(Fault::at("sample", FaultCode::OutOfRange, detail));
        }
        let mut measured = 0;
        for reading in SampleReading::ALL {
            let values = self.raw(*reading);
            measured += values.len();
            if i64::try_from(values.len()).is_ok_and(|count| count > self.sample) {
                let detail = format!(
                    "{} of a sample of {}: one for each plug at the most",
                    counted(values.len(), "reading"),
                    self.sample
                );
                faults.push(Fault::at(reading.word(), FaultCode::Contradiction, detail));
            }
            let field = |place: usize| format!("{}/{place}", reading.word());
            faults.extend(values.iter().enumerate().filter_map(|(place, raw)| {
                let fault = match reading {
                    SampleReading::Resistance => {
                        outside("resistance_ohm", Decimal::<1>(*raw).get(), MOST_OHM)
                    }
                    SampleReading::Gap | SampleReading::Reach => {
                        bound_fault(reading.word(), Decimal::<4>(*raw).get())
                    }
                }?;
                Some(Fault::at(&field(place), fault.code, fault.detail))
            }));
        }
        if measured == 0 {
            let detail = format!(
                "give at least one reading: {}",
                SampleReading::WORDS.join(", ")
            );
            faults.push(Fault::at("", FaultCode::Missing, detail));
        }
        let given = self.uncertainty.unwrap_or_default();
        let (mm, ohms) = MOST_WRONG;
        let wrong = [
            given
                .resistance_ohm
                .and_then(|u| outside("resistance_ohm", u.get(), ohms)),
            given.gap_mm.and_then(|u| outside("gap_mm", u.get(), mm)),
            given
                .reach_mm
                .and_then(|u| outside("reach_mm", u.get(), mm)),
        ];
        faults.extend(wrong.into_iter().flatten().map(|f| f.under("uncertainty")));
        faults.extend(text_fault("note", self.note.as_deref()));
        faults
    }
}

/// What becomes of a lot that was put aside.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Decide {
    /// What.
    pub decision: Decision,
    /// The bin that it goes into; with `release` only.
    #[serde(default)]
    pub place_id: Option<Uuid>,
    /// Why.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub note: Option<String>,
}

impl Check for Decide {
    fn faults(&self) -> Vec<Fault> {
        let place = match (self.decision, self.place_id) {
            (Decision::Release, None) => Some(Fault::at(
                "place_id",
                FaultCode::Missing,
                "say which bin the plugs go into",
            )),
            (Decision::Scrap | Decision::SendBack, Some(_)) => Some(Fault::at(
                "place_id",
                FaultCode::NotTogether,
                "a bin goes with a release only",
            )),
            _ => None,
        };
        place
            .into_iter()
            .chain(text_fault("note", self.note.as_deref()))
            .collect()
    }
}
