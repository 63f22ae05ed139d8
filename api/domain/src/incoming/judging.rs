//! A sample against the record of its part, by what tolerances and instruments let through.

use serde::{Deserialize, Serialize};

use super::{IncomingCheck, SampleReading, SampleVerdict};
use crate::attribute::Attr;
use crate::decimal::Decimal;
use crate::identification::{Means, Measurement, Readings, Uncertainty};
use crate::ledger::Lot;
use crate::plug::Shows;
use crate::policy::Policy;

/// One kind of reading of a sample against the record; numbers in the unit of the reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct JudgedSample {
    /// What was measured.
    pub reading: SampleReading,
    /// Plugs measured.
    pub measured: i64,
    /// The least that was read.
    pub least: f64,
    /// The greatest that was read.
    pub greatest: f64,
    /// What the record says; null where nobody has established it, or where it tells only whether there
    /// is a resistor.
    pub record: Option<f64>,
    /// The least reading that can be that of the record.
    pub from: Option<f64>,
    /// The greatest.
    pub to: Option<f64>,
    /// Plugs whose reading lies outside.
    pub contradicting: i64,
    /// How it stands.
    pub verdict: SampleVerdict,
    /// The same in a sentence.
    pub text: String,
}

/// Each kind of reading that was taken, against the record and, for a gapped lot, against its own gap.
pub fn judge(
    check: &IncomingCheck,
    plug: &impl Shows,
    lot: &Lot,
    policy: &Policy,
) -> Vec<JudgedSample> {
    let given = check.uncertainty.unwrap_or_default();
    let readings = Readings {
        uncertainty: Some(Uncertainty {
            reach_mm: given.reach_mm,
            resistance_ohm: given.resistance_ohm,
            ..Uncertainty::default()
        }),
        ..Readings::default()
    };
    let means = Means::of(&readings, policy);
    let taken = SampleReading::ALL.iter().filter_map(|reading| {
        let values = check.raw(*reading);
        let (least, greatest) = (*values.iter().min()?, *values.iter().max()?);
        let (record, span) = match reading {
            SampleReading::Resistance => (
                plug.shown(Attr::Resistance),
                means.span(Measurement::Resistance, plug),
            ),
            SampleReading::Reach => (
                plug.shown(Attr::Reach),
                means.span(Measurement::Reach, plug),
            ),
            SampleReading::Gap => gap(check, plug, lot, policy),
        };
        let outside = |value: &&i64| span.is_some_and(|(from, to)| **value < from || **value > to);
        let contradicting = values.iter().filter(outside).count();
        let unit = |raw: i64| in_unit(*reading, raw);
        let mut judged = JudgedSample {
            reading: *reading,
            measured: count(values.len()),
            least: unit(least),
            greatest: unit(greatest),
            record: record.map(unit),
            from: span.map(|(from, _)| unit(from.max(0))),
            to: span.map(|(_, to)| unit(to)),
            contradicting: count(contradicting),
            verdict: match (span, contradicting) {
                (None, _) => SampleVerdict::Unknown,
                (Some(_), 0) => SampleVerdict::Agrees,
                (Some(_), _) => SampleVerdict::Contradicts,
            },
            text: String::new(),
        };
        judged.text = told(&judged);
        Some(judged)
    });
    taken.collect()
}

/// The gap that a plug of the lot has to have: its own where the lot was set, else that of the box.
fn gap(
    check: &IncomingCheck,
    plug: &impl Shows,
    lot: &Lot,
    policy: &Policy,
) -> (Option<i64>, Option<(i64, i64)>) {
    let values = &policy.values;
    let (nominal, tolerance) = match lot.gap_mm {
        Some(set) => (Some(set.0), values.gap_tolerance_mm.value),
        None => (
            plug.shown(Attr::GapPreset),
            values.incoming_gap_tolerance_mm.value,
        ),
    };
    let given = check.uncertainty.and_then(|u| u.gap_mm);
    let wide = tolerance.0 + given.unwrap_or(values.gauge_uncertainty_mm.value).0;
    (nominal, nominal.map(|gap| (gap - wide, gap + wide)))
}

fn in_unit(reading: SampleReading, raw: i64) -> f64 {
    match reading {
        SampleReading::Resistance => Decimal::<1>(raw).get(),
        SampleReading::Gap | SampleReading::Reach => Decimal::<4>(raw).get(),
    }
}

fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

fn told(judged: &JudgedSample) -> String {
    let (what, unit) = match judged.reading {
        SampleReading::Resistance => ("Resistance", "Ω"),
        SampleReading::Gap => ("Gap", "mm"),
        SampleReading::Reach => ("Reach", "mm"),
    };
    let read = if judged.least == judged.greatest {
        format!("{what} {} {unit}", judged.least)
    } else {
        format!("{what} {} to {} {unit}", judged.least, judged.greatest)
    };
    let (Some(from), Some(to)) = (judged.from, judged.to) else {
        return format!("{read}: nobody has established what it should be.");
    };
    let allowed = format!("{from} to {to} {unit} the instrument's uncertainty included");
    match judged.contradicting {
        0 => format!("{read}: as the record says, {allowed}."),
        wrong => format!(
            "{read}: {wrong} of {} contradict the record, {allowed}.",
            judged.measured
        ),
    }
}
