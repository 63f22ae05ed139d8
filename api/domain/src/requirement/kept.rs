//! A requirement as it is kept for later: whole, with what never goes over the wire.

use serde::Deserialize;
use serde_json::{Value, json};

use super::{
    Context, GapNeed, HeatNeed, Quantity, Requirement, TorqueNeed, Unanswered, posted::demand,
};
use crate::caution::Caution;

/// What is read as it was written.
#[derive(Deserialize)]
struct Rest {
    policy_version: Option<i64>,
    heat: HeatNeed,
    gap: GapNeed,
    quantity: Quantity,
    torque_nm: Option<TorqueNeed>,
    cautions: Vec<Caution>,
    unanswered: Vec<Unanswered>,
}

impl Requirement {
    /// All of it, to be read again by [`Requirement::from_kept`]; `requirement` is what the wire shows.
    pub fn to_kept(&self) -> Value {
        json!({ "requirement": self, "context": self.context })
    }

    /// Reads what [`Requirement::to_kept`] wrote.
    ///
    /// # Errors
    /// A sentence where it is something else.
    pub fn from_kept(kept: &Value) -> Result<Self, String> {
        let own = |name: &str| kept.get(name).cloned().unwrap_or_default();
        let whole = own("requirement");
        let demands = whole.get("demands").and_then(Value::as_array);
        let demands = demands.ok_or("a requirement without demands")?.iter();
        let demands = demands
            .map(|value| demand(value).map_err(|faults| format!("a demand: {faults:?}")))
            .collect::<Result<_, _>>()?;
        let rest: Rest =
            serde_json::from_value(whole).map_err(|e| format!("a requirement: {e}"))?;
        let context: Context =
            serde_json::from_value(own("context")).map_err(|e| format!("its context: {e}"))?;
        Ok(Self {
            policy_version: rest.policy_version,
            demands,
            heat: rest.heat,
            gap: rest.gap,
            quantity: rest.quantity,
            torque_nm: rest.torque_nm,
            cautions: rest.cautions,
            unanswered: rest.unanswered,
            context,
        })
    }
}
