//! What a build needs: demands with their reasons.

use plugwell_domain::attribute::Attr;
use plugwell_domain::build::Build;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::decimal::{HeatIndex, Length};
use plugwell_domain::requirement::{BasisKind, Strength, WhenUnknown};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::client::Client;
use crate::error::Error;
use crate::word::Word;

/// What a plug has to be; it can be posted to a match as it came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Requirement {
    /// The policy that it was made with; null where it was posted.
    #[serde(default)]
    pub policy_version: Option<i64>,
    /// The demands.
    pub demands: Vec<Demand>,
    /// Heat.
    #[serde(default)]
    pub heat: Option<HeatNeed>,
    /// Gap.
    #[serde(default)]
    pub gap: Option<GapNeed>,
    /// How many plugs.
    #[serde(default)]
    pub quantity: Option<QuantityNeed>,
    /// Tightening torque.
    #[serde(default)]
    pub torque_nm: Option<TorqueNeed>,
    /// What to beware of.
    #[serde(default)]
    pub cautions: Vec<Caution>,
    /// What nobody told.
    #[serde(default)]
    pub unanswered: Vec<Unanswered>,
}

/// One demand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Demand {
    /// The member of a plug that the test is put to.
    pub attribute: Word<Attr>,
    /// Whether failing it rules a plug out.
    pub strength: Word<Strength>,
    /// The test.
    pub test: Test,
    /// In every must: what an unknown value does.
    #[serde(default)]
    pub unknown: Option<Word<WhenUnknown>>,
    /// Why, in a plain sentence.
    #[serde(default)]
    pub reason: String,
    /// What it rests on.
    #[serde(default)]
    pub basis: Option<Basis>,
}

/// A test, in the numbers and words of a plug's members.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Test {
    /// One of some values.
    OneOf {
        /// The values that pass.
        one_of: Vec<Value>,
    },
    /// From a least to a greatest value, ends included.
    Range {
        /// The least; null leaves it open.
        #[serde(deserialize_with = "Option::deserialize")]
        min: Option<f64>,
        /// The greatest; null leaves it open.
        #[serde(deserialize_with = "Option::deserialize")]
        max: Option<f64>,
    },
    /// A form of test that this client does not know: never to be taken for passed.
    New(Value),
}

/// What a demand rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Basis {
    /// Kind of ground.
    pub kind: Word<BasisKind>,
    /// The publication, if there is one.
    #[serde(default)]
    pub source: Option<String>,
}

/// How cold a plug has to be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeatNeed {
    /// Heat that the engine came with.
    #[serde(default)]
    pub base_index: Option<HeatIndex>,
    /// Unrounded steps by the rule.
    #[serde(default)]
    pub steps_asked: Option<f64>,
    /// Steps colder than the base.
    #[serde(default)]
    pub steps: Option<i64>,
    /// The heat that fits are ordered by.
    #[serde(default)]
    pub target_index: Option<HeatIndex>,
    /// Whether the policy's cap cut the steps.
    #[serde(default)]
    pub capped: bool,
}

/// Which gap to set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GapNeed {
    /// Gap to set; null where each plug keeps its own.
    #[serde(default)]
    pub set_mm: Option<Length>,
    /// How far the plugs of a set may differ.
    #[serde(default)]
    pub tolerance_mm: Option<Length>,
    /// Least by common practice.
    #[serde(default)]
    pub practice_min_mm: Option<Length>,
    /// Greatest by common practice.
    #[serde(default)]
    pub practice_max_mm: Option<Length>,
    /// Greatest that the coil fires.
    #[serde(default)]
    pub physical_max_mm: Option<Length>,
    /// The state at the spark, where enough was told.
    #[serde(default)]
    pub spark: Option<Spark>,
}

/// The state at the spark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Spark {
    /// Absolute pressure.
    pub pressure_kpa: f64,
    /// Temperature.
    pub temperature_k: f64,
    /// Voltage that the gap to set needs.
    #[serde(default)]
    pub needed_kv: Option<f64>,
    /// From and to.
    #[serde(default)]
    pub needed_kv_band: Option<Vec<f64>>,
    /// Voltage that the coil can give, less the reserve.
    pub available_kv: f64,
    /// What was assumed.
    #[serde(default)]
    pub assumed: Vec<String>,
}

/// How many plugs a set has.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct QuantityNeed {
    /// Plugs in the engine.
    #[serde(default)]
    pub fitted: Option<i64>,
    /// Spares.
    #[serde(default)]
    pub spares: Option<i64>,
    /// Both.
    #[serde(default)]
    pub total: Option<i64>,
}

/// Tightening torque, dry threads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TorqueNeed {
    /// Least.
    pub min: f64,
    /// Greatest.
    pub max: f64,
    /// Where it comes from.
    #[serde(default)]
    pub source: String,
}

/// What to beware of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Caution {
    /// Which one.
    pub code: Word<CautionCode>,
    /// What to do about it.
    pub text: String,
}

/// What nobody told.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Unanswered {
    /// The attribute, or the member of the build.
    pub attribute: String,
    /// What to ask, and whom.
    pub ask: String,
}

impl Client {
    /// What a build needs, and why; stores nothing.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn requirement(&self, build: &Build) -> Result<Requirement, Error> {
        self.ask("/v1/requirements", build).await
    }
}
