//! The voltage that an engine's plugs need against their gap: what a picture of the spark draws, from
//! the same physics as the requirement's single figures.

use super::derive::Findings;
use super::{GapNeed, Unanswered, gap};
use crate::build::{Engine, Head};
use crate::caution::Caution;
use crate::policy::Values;
use crate::spark::{AtSpark, Compression, uniform_breakdown_kv};
use crate::words::Induction;

/// What the coil gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coil {
    /// The whole of it, kV.
    pub kv: f64,
    /// What is left after the reserve, kV.
    pub available_kv: f64,
}

impl Coil {
    /// The engine's own coil, or the one that the policy assumes.
    pub(super) fn of(engine: &Engine, values: &Values) -> Self {
        let kv = engine.coil_kv.unwrap_or(values.assumed_coil_kv.value);
        Self {
            kv,
            available_kv: kv * (1.0 - values.coil_reserve.value),
        }
    }
}

/// What plugs need of the uniform-field voltage, as shares of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shares {
    taken: f64,
    least: f64,
    most: f64,
}

impl Shares {
    /// The policy's.
    pub(super) fn of(values: &Values) -> Self {
        Self {
            taken: values.breakdown_factor.value,
            least: values.breakdown_band_min.value,
            most: values.breakdown_band_max.value,
        }
    }

    /// The voltage that a gap needs at a charge.
    pub(super) fn need(self, at: &AtSpark, gap_mm: f64) -> Need {
        let uniform = uniform_breakdown_kv(gap_mm, at.pressure_kpa, at.temperature_k);
        Need {
            needed_kv: self.taken * uniform,
            band_kv: [self.least * uniform, self.most * uniform],
        }
    }
}

/// The voltage that a gap needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Need {
    /// What a plug is taken to need, kV.
    pub needed_kv: f64,
    /// The least and the most that real plugs may need, kV.
    pub band_kv: [f64; 2],
}

/// Needed voltage against gap at one boost.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// How much more boost than the build's own, as a share of it; 0 is as given.
    pub more: f64,
    /// The boost, kPa gauge.
    pub boost_kpa: f64,
    /// The charge at the spark.
    pub at: AtSpark,
    shares: Shares,
}

impl Curve {
    /// The voltage that a gap needs.
    pub fn need(&self, gap_mm: f64) -> Need {
        self.shares.need(&self.at, gap_mm)
    }
}

/// All that is known of an engine's spark, as far as it can be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct SparkCurves {
    /// The gap to set, and the limits that it lies between.
    pub gap: GapNeed,
    /// The coil.
    pub coil: Coil,
    /// The build's own boost first, then less and more; the first alone without boost, none without
    /// compression ratio or boost.
    pub curves: Vec<Curve>,
    /// What to beware of at the gap to set, or why there is none.
    pub cautions: Vec<Caution>,
    /// What keeps something from being drawn.
    pub unanswered: Vec<Unanswered>,
}

impl SparkCurves {
    /// The curve of more boost, and the voltage that the set gap needs there, where that is more than can be
    /// used of the coil.
    pub fn beyond_the_coil(&self) -> Option<(&Curve, f64)> {
        let set = self.gap.set_mm?;
        let more = self.curves.iter().find(|curve| curve.more > 0.0)?;
        let kv = more.need(set.get()).needed_kv;
        (kv > self.coil.available_kv).then_some((more, kv))
    }
}

/// The curves of an engine. Engine and head are taken to be free of faults.
pub fn spark_curves(engine: &Engine, head: &Head, values: &Values) -> SparkCurves {
    let mut found = Findings::default();
    let gap = gap::gap(engine, head, values, &mut found);
    // What it asks for has been asked for above.
    let given = gap::compression(engine, values, &mut Findings::default());
    let share = values.picture_boost_share.value;
    let curves = given.map_or(Vec::new(), |(given, _)| {
        let blown = engine.induction != Induction::NaturallyAspirated && given.boost_kpa > 0.0;
        let steps: &[f64] = if blown && share > 0.0 {
            &[0.0, -share, share]
        } else {
            &[0.0]
        };
        let at_boost = |more: &f64| {
            let boost_kpa = given.boost_kpa * (1.0 + more);
            Curve {
                more: *more,
                boost_kpa,
                at: Compression { boost_kpa, ..given }.at_spark(),
                shares: Shares::of(values),
            }
        };
        steps.iter().map(at_boost).collect()
    });
    SparkCurves {
        gap,
        coil: Coil::of(engine, values),
        curves,
        cautions: found.cautions,
        unanswered: found.unanswered,
    }
}
