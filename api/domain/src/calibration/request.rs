//! What a calibration is asked with.

use std::collections::{BTreeSet, HashMap};

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{Code, Statement};
use crate::fault::{Check, Fault, FaultCode};
use crate::heat_scale::HeatScale;

/// Most statements that one calibration takes.
pub const STATEMENTS_MAX: usize = 5_000;
/// Least weight of a statement.
pub const WEIGHT_MIN: f64 = 0.001;
/// Greatest weight of a statement.
pub const WEIGHT_MAX: f64 = 1_000.0;

/// A code of a stored scale.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ScaleCode {
    /// The scale.
    pub scale_id: Uuid,
    /// The code as the maker prints it.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub code: String,
}

/// "Code a is as cold as code b": said once, with the weight of all who say it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct HeatStatement {
    /// One code.
    pub a: ScaleCode,
    /// The other; also one of the same scale, which says that the two tie.
    pub b: ScaleCode,
    /// How much it counts against the others; 1 where null.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0.001, maximum = 1000.0))]
    pub weight: Option<f64>,
}

/// Statements to fit scales by.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CalibrationRequest {
    /// The scale that stands as it is.
    pub anchor_scale_id: Uuid,
    /// What is known of other scales, of the anchor, and of one another.
    #[cfg_attr(feature = "schema", schema(min_items = 1, max_items = 5000))]
    pub statements: Vec<HeatStatement>,
    /// True stores the fitted indices in the scales and re-derives the parts that carry their
    /// codes; that takes a manager. Null and false only answer.
    #[serde(default)]
    pub apply: Option<bool>,
    /// Goes with `apply`: that of the answer that was looked at. What would be stored now and was
    /// not looked at is then refused.
    #[serde(default)]
    #[cfg_attr(
        feature = "schema",
        schema(min_length = 64, max_length = 64, pattern = "^[0-9a-f]{64}$")
    )]
    pub fingerprint: Option<String>,
}

/// The statements of a request by the places of codes in stored scales.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// Place of the anchor among the scales.
    pub anchor: usize,
    /// What was stated.
    pub statements: Vec<Statement>,
}

impl CalibrationRequest {
    /// Every scale that it names, each once.
    pub fn scale_ids(&self) -> BTreeSet<Uuid> {
        let sides = self.statements.iter().flat_map(|s| [&s.a, &s.b]);
        sides
            .map(|side| side.scale_id)
            .chain([self.anchor_scale_id])
            .collect()
    }

    /// Finds its codes in the scales that there are.
    ///
    /// # Errors
    /// Every scale and every code that there is not.
    pub fn named(&self, scales: &[HeatScale]) -> Result<Named, Vec<Fault>> {
        let mut faults = Vec::new();
        let by_id: HashMap<Uuid, usize> =
            scales.iter().enumerate().map(|(i, s)| (s.id, i)).collect();
        let codes: HashMap<(Uuid, &str), Code> = scales
            .iter()
            .enumerate()
            .flat_map(|(scale, own)| {
                let codes = own.data.codes.iter().enumerate();
                codes
                    .map(move |(place, code)| ((own.id, code.code.as_str()), Code { scale, place }))
            })
            .collect();
        let anchor = by_id.get(&self.anchor_scale_id).copied();
        if anchor.is_none() {
            faults.push(no_scale("anchor_scale_id"));
        }
        let mut find = |side: &ScaleCode, path: String| {
            let found = codes.get(&(side.scale_id, side.code.as_str())).copied();
            if found.is_none() {
                faults.push(match by_id.get(&side.scale_id) {
                    None => no_scale(&format!("{path}/scale_id")),
                    Some(scale) => no_code(&format!("{path}/code"), &scales[*scale], &side.code),
                });
            }
            found
        };
        let mut statements = Vec::with_capacity(self.statements.len());
        for (i, statement) in self.statements.iter().enumerate() {
            let a = find(&statement.a, format!("statements/{i}/a"));
            let b = find(&statement.b, format!("statements/{i}/b"));
            let weight = statement.weight.unwrap_or(1.0);
            statements.extend(a.zip(b).map(|(a, b)| Statement { a, b, weight }));
        }
        match anchor {
            Some(anchor) if faults.is_empty() => Ok(Named { anchor, statements }),
            _ => Err(faults),
        }
    }
}

fn no_scale(path: &str) -> Fault {
    Fault::at(path, FaultCode::NotFound, "there is no such heat scale")
}

fn no_code(path: &str, scale: &HeatScale, code: &str) -> Fault {
    let detail = format!(
        "{} {} has no code {code:?}",
        scale.data.maker, scale.data.name
    );
    Fault::at(path, FaultCode::NotInList, detail)
}

impl Check for HeatStatement {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        if self.a == self.b {
            let detail = "a code is as cold as itself: name another";
            faults.push(Fault::at("b", FaultCode::Contradiction, detail));
        }
        if let Some(weight) = self.weight
            && !(WEIGHT_MIN..=WEIGHT_MAX).contains(&weight)
        {
            let detail = format!("{weight} is outside {WEIGHT_MIN} to {WEIGHT_MAX}");
            faults.push(Fault::at("weight", FaultCode::OutOfRange, detail));
        }
        faults
    }
}

impl Check for CalibrationRequest {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        if !(1..=STATEMENTS_MAX).contains(&self.statements.len()) {
            let detail = format!(
                "a calibration takes 1 to {STATEMENTS_MAX} statements, not {}",
                self.statements.len()
            );
            faults.push(Fault::at("statements", FaultCode::OutOfRange, detail));
        }
        let mut said = HashMap::new();
        for (i, statement) in self.statements.iter().enumerate() {
            let path = format!("statements/{i}");
            faults.extend(statement.faults().into_iter().map(|f| f.under(&path)));
            let HeatStatement { a, b, .. } = statement;
            if let Some(earlier) = said.insert((a.min(b), a.max(b)), i) {
                let detail =
                    format!("statement {earlier} says so already; raise its weight instead");
                faults.push(Fault::at(&path, FaultCode::Duplicate, detail));
            }
        }
        if self.fingerprint.is_some() && self.apply != Some(true) {
            let detail = "a fingerprint goes with apply: true; without that nothing is stored";
            faults.push(Fault::at("fingerprint", FaultCode::NotTogether, detail));
        }
        faults
    }
}
