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
    #[serde(deserialize_with = "crate::stand_in::trimmed")]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub maker: String,
    /// Which of the maker's scales; with the maker unique, case-blind.
    #[serde(deserialize_with = "crate::stand_in::trimmed")]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 80))]
    pub name: String,
    /// The codes in the maker's order; indices rise or fall along it, typed in strictly, calibrated
    /// ones may tie.
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
    /// When a calibration put the codes where they are, so that some may tie; null where they were
    /// typed in.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub calibrated_at: Option<DateTime<Utc>>,
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

    /// Whether plugs get colder along the maker's order.
    pub fn rises(&self) -> bool {
        let ends = self.codes.first().zip(self.codes.last());
        ends.is_some_and(|(first, last)| first.heat_index < last.heat_index)
    }

    /// Every fault of a scale that took the place of one with some codes: neighbours that tied there,
    /// as a calibration may leave them, may go on to tie.
    pub fn faults_after(&self, before: &[HeatCode]) -> Vec<Fault> {
        let names = [
            name_fault("maker", Some(&self.maker)),
            name_fault("name", Some(&self.name)),
        ];
        let mut faults: Vec<Fault> = names.into_iter().flatten().collect();
        faults.extend(self.code_faults());
        faults.extend(self.order_faults(before));
        faults
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

impl HeatScaleData {
    fn code_faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
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
        faults
    }

    fn order_faults(&self, before: &[HeatCode]) -> Vec<Fault> {
        let rises = self.rises();
        let mut faults = Vec::new();
        for (place, pair) in self.codes.windows(2).enumerate() {
            let (first, second) = (pair[0].heat_index, pair[1].heat_index);
            let tied_before = first == second && pair.iter().all(|code| before.contains(code));
            let in_order = if rises {
                first < second
            } else {
                first > second
            };
            if !in_order && !tied_before {
                let detail = format!(
                    "the index has to {} strictly along the maker's order: {second} after {first}",
                    if rises { "rise" } else { "fall" },
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

/// As it is typed in.
impl Check for HeatScaleData {
    fn faults(&self) -> Vec<Fault> {
        self.faults_after(&[])
    }
}
