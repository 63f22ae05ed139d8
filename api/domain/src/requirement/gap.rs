//! The gap to set: practice by power, physics by the coil, the smaller of the two.

use super::curves::{Coil, Shares};
use super::derive::Findings;
use super::sentence::{length, power, short};
use super::{Basis, BasisKind, Demand, GapNeed, OwnGap, Spark, Test, WhenUnknown};
use crate::attribute::Attr;
use crate::build::{Engine, Head};
use crate::caution::{Caution, CautionCode};
use crate::decimal::{Decimal, Length};
use crate::policy::{Label, Values};
use crate::spark::{AtSpark, Compression, largest_gap_mm};
use crate::words::Induction;

/// 0.01 mm, to which practice ends are rounded half up, and the physical limit down.
const HUNDREDTH: i64 = 100;

/// The gap of an engine and the musts for it.
pub(super) fn gap(engine: &Engine, head: &Head, values: &Values, found: &mut Findings) -> GapNeed {
    let band = practice(engine, head, values);
    let charge = compression(engine, values, found)
        .map(|(compression, assumed)| (compression.at_spark(), assumed));
    let Coil {
        kv: coil_kv,
        available_kv,
    } = Coil::of(engine, values);
    let limit = charge
        .as_ref()
        .map(|(at, _)| limit(at, available_kv, values));
    let chosen = choose(engine, band.as_ref(), limit, values, found);
    let set_mm = chosen.as_ref().map(|c| c.set);
    let spark = charge.map(|(at, assumed)| spark(&at, assumed, set_mm, available_kv, values));
    if let Some([_, most]) = spark.as_ref().and_then(|s| s.needed_kv_band)
        && most > coil_kv
    {
        let detail = format!(
            "At this gap it can need {} kV, the coil gives {} kV.",
            two_figures(most),
            short(coil_kv)
        );
        found
            .cautions
            .push(Caution::of(CautionCode::MayMisfireAtTheHighEnd).with(detail));
    }
    if let Some(chosen) = chosen {
        chosen.demand(found);
    }
    GapNeed {
        set_mm,
        tolerance_mm: values.gap_tolerance_mm.value,
        practice_min_mm: band.as_ref().map(|b| b.min),
        practice_max_mm: band.map(|b| b.max),
        physical_max_mm: limit,
        spark,
    }
}

/// Where each plug keeps its own gap; with a coil that fires none that can be used, none does.
pub(super) fn own_gap(engine: &Engine, need: &GapNeed, values: &Values) -> Option<OwnGap> {
    let keeps = engine.induction == Induction::NaturallyAspirated && engine.gap_mm.is_none();
    let fires = need
        .physical_max_mm
        .is_none_or(|limit| limit >= values.gap_least_mm.value);
    (keeps && fires).then_some(OwnGap {
        otherwise: values.gap_na_max_mm.value,
        limit: need.physical_max_mm,
    })
}

/// A practice band, its ends rounded.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Band {
    min: Length,
    max: Length,
    label: Label,
}

impl Band {
    fn of(min: f64, max: f64, label: Label) -> Self {
        Self {
            min: rounded(min),
            max: rounded(max),
            label,
        }
    }
}

/// To 0.01 mm, half up from 0.0001 mm; the argument in 0.0001 mm.
fn rounded(end: f64) -> Length {
    Decimal((end.round() as i64 + HUNDREDTH / 2).div_euclid(HUNDREDTH) * HUNDREDTH)
}

/// The practice band of the build's power; `None` where it is boosted and its power is unknown.
fn practice(engine: &Engine, head: &Head, values: &Values) -> Option<Band> {
    let raw = |length: Length| length.0 as f64;
    let band = |min: Length, max: Length, label| Band::of(raw(min), raw(max), label);
    if engine.induction == Induction::NaturallyAspirated {
        return Some(band(
            values.gap_na_min_mm.value,
            values.gap_na_max_mm.value,
            values.gap_na_max_mm.label,
        ));
    }
    let kw = engine.power_kw?;
    let (mid_min, mid_max) = (values.gap_mid_min_mm.value, values.gap_mid_max_mm.value);
    let (tight_min, tight_max) = (values.gap_tight_min_mm.value, values.gap_tight_max_mm.value);
    let (from, to) = (&values.gap_transition_from_kw, &values.gap_tight_from_kw);
    Some(if kw >= to.value {
        band(tight_min, tight_max, values.gap_tight_max_mm.label)
    } else if kw >= from.value && head.tight_gap == Some(true) {
        band(tight_min, tight_max, from.label)
    } else if kw >= from.value {
        let share = (kw - from.value) / (to.value - from.value);
        let between = |a: Length, b: Length| raw(a) + (raw(b) - raw(a)) * share;
        Band::of(
            between(mid_min, tight_min),
            between(mid_max, tight_max),
            from.label,
        )
    } else if kw >= values.gap_mid_from_kw.value {
        band(mid_min, mid_max, values.gap_mid_max_mm.label)
    } else {
        band(
            values.gap_low_min_mm.value,
            values.gap_low_max_mm.value,
            values.gap_low_max_mm.label,
        )
    })
}

/// What decides the charge at the spark, and the members of the build that were assumed for it;
/// `None`, and asked for, without compression ratio or boost.
pub(super) fn compression(
    engine: &Engine,
    values: &Values,
    found: &mut Findings,
) -> Option<(Compression, Vec<String>)> {
    let mut assumed = Assumed::default();
    let boost_kpa = match (engine.boost_kpa, engine.induction) {
        (None, Induction::NaturallyAspirated) => Some(0.0),
        (given, Induction::Nitrous) => Some(assumed.or(given, "boost_kpa", 0.0)),
        (given, _) => given,
    };
    if engine.compression_ratio.is_none() {
        found.ask(
            "compression_ratio",
            "What is the compression ratio? Without it nobody can say which gap the coil fires.",
        );
    }
    if boost_kpa.is_none() {
        found.ask(
            "boost_kpa",
            "What is the boost at full load? Without it nobody can say which gap the coil fires.",
        );
    }
    let (compression_ratio, boost_kpa) = (engine.compression_ratio?, boost_kpa?);
    let warm = match engine.induction {
        Induction::NaturallyAspirated => values.assumed_charge_temp_na_c.value,
        _ => values.assumed_charge_temp_c.value,
    };
    let rod_over_crank = match (engine.stroke_mm, engine.rod_mm) {
        (Some(stroke), Some(rod)) => rod / (stroke / 2.0),
        (stroke, rod) => {
            assumed.note_missing(stroke, "stroke_mm");
            assumed.note_missing(rod, "rod_mm");
            values.assumed_rod_over_crank.value
        }
    };
    let (closing, advance) = (
        &values.assumed_intake_close_deg_abdc,
        &values.assumed_spark_advance_deg,
    );
    let at = Compression {
        compression_ratio,
        rod_over_crank,
        intake_close_deg_abdc: assumed.or(
            engine.intake_close_deg_abdc,
            "intake_close_deg_abdc",
            closing.value,
        ),
        spark_advance_deg: assumed.or(engine.spark_advance_deg, "spark_advance_deg", advance.value),
        charge_temp_c: assumed.or(engine.charge_temp_c, "charge_temp_c", warm),
        altitude_m: assumed.or(
            engine.altitude_m,
            "altitude_m",
            values.assumed_altitude_m.value,
        ),
        boost_kpa,
        polytropic_n: values.polytropic_n.value,
    };
    assumed.note_missing(engine.coil_kv, "coil_kv");
    Some((at, assumed.0))
}

/// Members of the build that were assumed.
#[derive(Default)]
struct Assumed(Vec<String>);

impl Assumed {
    fn note_missing(&mut self, given: Option<f64>, name: &str) {
        if given.is_none() {
            self.0.push(name.to_owned());
        }
    }

    fn or(&mut self, given: Option<f64>, name: &str, otherwise: f64) -> f64 {
        self.note_missing(given, name);
        given.unwrap_or(otherwise)
    }
}

/// The largest gap whose need is within what the coil has left, rounded down.
fn limit(at: &AtSpark, available_kv: f64, values: &Values) -> Length {
    let kv = available_kv / values.breakdown_factor.value;
    let gap_mm = largest_gap_mm(kv, at.pressure_kpa, at.temperature_k);
    Decimal((gap_mm * 100.0).floor() as i64 * HUNDREDTH)
}

fn spark(
    at: &AtSpark,
    assumed: Vec<String>,
    set: Option<Length>,
    available_kv: f64,
    values: &Values,
) -> Spark {
    let need = set.map(|gap| Shares::of(values).need(at, gap.get()));
    Spark {
        pressure_kpa: at.pressure_kpa,
        temperature_k: at.temperature_k,
        needed_kv: need.map(|n| n.needed_kv),
        needed_kv_band: need.map(|n| n.band_kv),
        available_kv,
        assumed,
    }
}

/// The gap that was chosen, and why.
struct Chosen {
    set: Length,
    reason: String,
    basis: Basis,
}

impl Chosen {
    /// The two musts: the plug's own range has to hold the gap.
    fn demand(self, found: &mut Findings) {
        for (attr, test) in held(self.set) {
            found.demands.push(Demand::must(
                attr,
                test,
                WhenUnknown::Allowed,
                self.reason.as_str(),
                self.basis.clone(),
            ));
        }
    }
}

/// The tests of a plug whose own range has to hold a gap.
pub(super) fn held(gap: Length) -> [(Attr, Test); 2] {
    [
        (
            Attr::GapMin,
            Test::Range {
                min: None,
                max: Some(gap.0),
            },
        ),
        (
            Attr::GapMax,
            Test::Range {
                min: Some(gap.0),
                max: None,
            },
        ),
    ]
}

fn choose(
    engine: &Engine,
    band: Option<&Band>,
    limit: Option<Length>,
    values: &Values,
    found: &mut Findings,
) -> Option<Chosen> {
    if let Some(asked) = engine.gap_mm {
        return Some(as_asked(asked, limit, found));
    }
    if band.is_none() {
        found.ask("power_kw", "What power does the engine make as built? The gap is set by it: measure it, or ask the kit's maker.");
    }
    let least = values.gap_least_mm.value;
    if let Some(limit) = limit.filter(|limit| *limit < least) {
        let detail = format!(
            "It fires up to {}, less than {}.",
            length(limit),
            length(least)
        );
        found
            .cautions
            .push(Caution::of(CautionCode::CoilTooWeak).with(detail));
        return None;
    }
    let band = band.filter(|_| engine.induction != Induction::NaturallyAspirated)?;
    let known = power(engine.power_kw.unwrap_or_default());
    let span = format!(
        "practice at {known} is {} to {}",
        length(band.min),
        length(band.max)
    );
    let practice = Basis::from(BasisKind::from(band.label));
    Some(match limit {
        None => Chosen {
            set: band.min,
            reason: format!("What the coil fires is unknown, so the lower end is set: {span}."),
            basis: practice,
        },
        Some(limit) if limit >= band.max => Chosen {
            set: band.max,
            reason: format!(
                "As large as reliably fires: {span}, and the coil fires up to {}.",
                length(limit)
            ),
            basis: practice,
        },
        Some(limit) => {
            if limit < band.min {
                let detail = format!("The coil fires up to {}, {span}.", length(limit));
                found
                    .cautions
                    .push(Caution::of(CautionCode::BelowPracticeBand).with(detail));
            }
            Chosen {
                set: limit,
                reason: format!(
                    "The coil, its reserve kept, fires up to {}, though {span}.",
                    length(limit)
                ),
                basis: BasisKind::Physics.into(),
            }
        }
    })
}

/// The caller's gap, whatever the coil fires.
fn as_asked(asked: Length, limit: Option<Length>, found: &mut Findings) -> Chosen {
    if let Some(limit) = limit.filter(|limit| asked > *limit) {
        let detail = format!("It fires up to {}.", length(limit));
        found
            .cautions
            .push(Caution::of(CautionCode::AbovePhysicalLimit).with(detail));
    }
    let reason = format!(
        "You asked for a gap of {}: the plug has to take it.",
        length(asked)
    );
    Chosen {
        set: asked,
        reason,
        basis: BasisKind::Caller.into(),
    }
}

/// Two figures, since it is an estimate.
fn two_figures(kv: f64) -> String {
    if kv < 10.0 {
        format!("{kv:.1}")
    } else {
        format!("{kv:.0}")
    }
}
