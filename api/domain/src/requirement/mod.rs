//! What a build needs: demands, each with the test that an outside program can repeat.

mod curves;
mod demand;
mod derive;
mod fitted;
mod gap;
mod heat;
mod kept;
mod metal;
mod part;
mod posted;
pub(crate) mod sentence;
mod suppression;

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use crate::attribute::Attr;
use crate::caution::Caution;
use crate::decimal::{HeatIndex, Length};
use crate::fault::Fault;

pub use curves::{Coil, Curve, Need, SparkCurves, spark_curves};
pub use demand::{Basis, BasisKind, Demand, Strength, Test, WhenUnknown};
pub use derive::{base_heat, derive};
pub use fitted::{fit_cautions, range_musts, set_gap_of, unconfirmed_of};
pub(crate) use heat::STEP;
pub use part::of_part;

/// Steps colder than the base plug.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct HeatNeed {
    /// Heat that the engine came with.
    pub base_index: Option<HeatIndex>,
    /// Unrounded steps by the rule; null where neither power nor boost tells.
    pub steps_asked: Option<f64>,
    /// Steps taken.
    pub steps: Option<u32>,
    /// Base plus ten for each step.
    pub target_index: Option<HeatIndex>,
    /// Whether the cap of the use cut the rule's figure.
    pub capped: bool,
}

/// Pressure, temperature and voltage at the spark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Spark {
    /// Absolute pressure at the spark.
    pub pressure_kpa: f64,
    /// Temperature at the spark.
    pub temperature_k: f64,
    /// Voltage that the set gap needs.
    pub needed_kv: Option<f64>,
    /// The band that real plugs may need.
    pub needed_kv_band: Option<[f64; 2]>,
    /// What the coil has left after the reserve.
    pub available_kv: f64,
    /// Members of the build that were assumed from the policy.
    pub assumed: Vec<String>,
}

/// The gap to set and the limits it lies between.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct GapNeed {
    /// Gap to set; null where each plug keeps its own.
    pub set_mm: Option<Length>,
    /// How far the plugs of a set may differ.
    pub tolerance_mm: Length,
    /// Lower end of the practice band.
    pub practice_min_mm: Option<Length>,
    /// Upper end of the practice band.
    pub practice_max_mm: Option<Length>,
    /// Largest gap that the coil jumps with its reserve kept, rounded down to 0.01.
    pub physical_max_mm: Option<Length>,
    /// The state at the spark; null where compression or boost is unknown.
    pub spark: Option<Spark>,
}

/// How many plugs a set takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Quantity {
    /// Plugs in the engine.
    pub fitted: Option<u32>,
    /// Spares.
    pub spares: Option<u32>,
    /// Both.
    pub total: Option<u32>,
}

/// Tightening torque by thread, seat and head material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TorqueNeed {
    /// Least, in newton metres, dry threads.
    pub min: f64,
    /// Greatest.
    pub max: f64,
    /// Where the figures come from.
    pub source: String,
}

/// A question that the build leaves open, and whom to ask.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Unanswered {
    /// The attribute, or the member of the build, that nobody answered.
    pub attribute: String,
    /// What to ask, and whom.
    pub ask: String,
}

/// All that a build needs of its plugs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Requirement {
    /// The policy that it was made with; null where the requirement was posted.
    pub policy_version: Option<i64>,
    /// The demands.
    pub demands: Vec<Demand>,
    /// Heat.
    pub heat: HeatNeed,
    /// Gap.
    pub gap: GapNeed,
    /// How many.
    pub quantity: Quantity,
    /// Torque, in newton metres.
    pub torque_nm: Option<TorqueNeed>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
    /// What remains to be asked.
    pub unanswered: Vec<Unanswered>,
    /// What verdicts on single plugs need beyond the demands; never on the wire.
    #[serde(skip)]
    pub context: Context,
}

/// What order, gap and cautions of single plugs need beyond the demands.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Context {
    /// Projection that distances are counted from: the middle of the window, its one known end, or
    /// the base plug's projection. In 0.05 µm, so that a middle stays whole: twice the raw length.
    pub projection_twice: Option<i64>,
    /// Attributes that stay unconfirmed whatever the plug is.
    pub unconfirmed: Vec<Attr>,
    /// Where each plug keeps its own gap: an engine without boost for which no gap was given, its coil
    /// strong enough for one that can be used.
    pub own_gap: Option<OwnGap>,
    /// With nitrous: the projection from which a tip is called projected.
    pub nitrous_projected_from: Option<Length>,
}

/// The gap of a plug that keeps its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct OwnGap {
    /// The gap of a plug whose own is unknown.
    pub otherwise: Length,
    /// The largest gap that the coil fires; `None` where it is unknown.
    pub limit: Option<Length>,
}

impl Requirement {
    /// The musts, in order.
    pub fn musts(&self) -> impl Iterator<Item = &Demand> {
        self.demands.iter().filter(|d| d.strength == Strength::Must)
    }

    /// The demand on an attribute of a strength, if there is one.
    pub fn demand(&self, attribute: Attr, strength: Strength) -> Option<&Demand> {
        self.demands
            .iter()
            .find(|d| d.attribute == attribute && d.strength == strength)
    }

    /// Whether a fit's projection stays unconfirmed: no whole window is known.
    pub fn projection_unconfirmed(&self) -> bool {
        self.context.unconfirmed.contains(&Attr::Projection)
    }

    /// Reads a posted requirement: `demands`, `heat.target_index`, `gap.set_mm` and
    /// `quantity.total`; all else is ignored.
    ///
    /// # Errors
    /// Every fault, with pointers into the requirement.
    pub fn from_json(value: &Value) -> Result<Self, Vec<Fault>> {
        posted::read(value)
    }
}

/// The member of an object, null counting as absent.
fn member<'a>(map: &'a Map<String, Value>, name: &str) -> Option<&'a Value> {
    map.get(name).filter(|v| !v.is_null())
}
