//! A maker's heat codes along the neutral index.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::build::bound_fault;
use crate::decimal::HeatIndex;
use crate::fault::{Check, Fault, FaultCode, name_fault};

/// One code of a scale.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct HeatCode {
    /// The code as the maker prints it.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub code: String,
    /// Its place on the neutral index.
    pub heat_index: HeatIndex,
}

/// A scale as it is typed in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct HeatScaleData {
    /// Whose codes they are.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub maker: String,
    /// Which of the maker's scales; with the maker unique, case-blind.
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: String,
    /// The codes in the maker's order; indices rise strictly or fall strictly along it.
    #[cfg_attr(feature = "schema", schema(min_items = 1, max_items = 200))]
    pub codes: Vec<HeatCode>,
}

/// A stored scale.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct HeatScale {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Maker, name and codes.
    #[serde(flatten)]
    pub data: HeatScaleData,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was first stored.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub updated_at: DateTime<Utc>,
}

impl HeatScaleData {
    /// The place of a code on the index, compared as printed.
    pub fn index_of(&self, code: &str) -> Option<HeatIndex> {
        self.codes
            .iter()
            .find(|c| c.code == code)
            .map(|c| c.heat_index)
    }
}

/// The most codes that a scale can have.
pub const CODES_MAX: usize = 200;

/// A code is compared as printed, so it has no space around it.
fn code_fault(code: &str) -> Option<Fault> {
    name_fault("code", Some(code)).or_else(|| {
        let detail = format!("the code {code:?} has a space before or behind it");
        (code.trim() != code).then(|| Fault::at("code", FaultCode::WrongForm, detail))
    })
}

impl Check for HeatScaleData {
    fn faults(&self) -> Vec<Fault> {
        let mut faults: Vec<Fault> = [
            name_fault("maker", Some(&self.maker)),
            name_fault("name", Some(&self.name)),
        ]
        .into_iter()
        .flatten()
        .collect();
        if !(1..=CODES_MAX).contains(&self.codes.len()) {
            let detail = format!(
                "a scale has 1 to {CODES_MAX} codes, not {}",
                self.codes.len()
            );
            faults.push(Fault::at("codes", FaultCode::OutOfRange, detail));
        }
        for (place, code) in self.codes.iter().enumerate() {
            faults.extend(code_fault(&code.code).map(|f| f.under(&format!("codes/{place}"))));
            if let Some(fault) = bound_fault("heat_index", code.heat_index.get()) {
                faults.push(fault.under(&format!("codes/{place}")));
            }
            if self.codes[..place]
                .iter()
                .any(|earlier| earlier.code == code.code)
            {
                let detail = format!("the code {:?} stands twice", code.code);
                faults.push(Fault::at(
                    &format!("codes/{place}/code"),
                    FaultCode::Duplicate,
                    detail,
                ));
            }
        }
        let rises = self
            .codes
            .first()
            .zip(self.codes.last())
            .is_some_and(|(first, last)| first.heat_index < last.heat_index);
        for (place, pair) in self.codes.windows(2).enumerate() {
            let in_order = if rises {
                pair[0].heat_index < pair[1].heat_index
            } else {
                pair[0].heat_index > pair[1].heat_index
            };
            if !in_order {
                let detail = format!(
                    "the index has to {} strictly along the maker's order: {} after {}",
                    if rises { "rise" } else { "fall" },
                    pair[1].heat_index,
                    pair[0].heat_index
                );
                faults.push(Fault::at(
                    &format!("codes/{}/heat_index", place + 1),
                    FaultCode::Contradiction,
                    detail,
                ));
            }
        }
        faults
    }
}
