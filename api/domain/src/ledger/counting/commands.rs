//! The bodies that begin a count, count its lines and approve it.

use std::collections::HashSet;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::CountState;
use crate::fault::{Check, Fault, FaultCode, text_fault};
use crate::ledger::QUANTITY_MAX;
use crate::words::closed_list;

/// The most bins of one count, and lines of one change.
pub const PLACES_MAX: usize = 200;
const LINES_MAX: usize = 2_000;

closed_list! {
    /// Which bins the service chooses.
    CountChoice, "choice of bins" {
        /// Those that were counted longest ago, or never.
        LongestUncounted = "longest_uncounted",
        /// Those with most movements since they were counted.
        MostMoved = "most_moved",
    }
}

/// A count to be begun: of these bins, or of so many that the service chooses.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct NewCount {
    /// The bins.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_items = 1, max_items = 200))]
    pub places: Option<Vec<Uuid>>,
    /// How to choose bins, instead of naming them: of those that hold something and are not being
    /// counted.
    #[serde(default)]
    pub choose: Option<CountChoice>,
    /// How many to choose.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 1, maximum = 200))]
    pub bins: Option<i64>,
}

impl Check for NewCount {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        match (&self.places, self.choose) {
            (None, None) => faults.push(Fault::at(
                "places",
                FaultCode::Missing,
                "say which bins, or how to choose them",
            )),
            (Some(_), Some(_)) => faults.push(Fault::at(
                "choose",
                FaultCode::NotTogether,
                "give places or choose, not both",
            )),
            _ => {}
        }
        match (self.choose, self.bins) {
            (Some(_), None) => faults.push(Fault::at(
                "bins",
                FaultCode::Missing,
                "say how many bins to choose",
            )),
            (None, Some(_)) => faults.push(Fault::at(
                "bins",
                FaultCode::NotTogether,
                "only a choice of bins has a number",
            )),
            _ => {}
        }
        let mut seen = HashSet::new();
        for (at, place) in self.places.iter().flatten().enumerate() {
            if !seen.insert(place) {
                faults.push(Fault::at(
                    &format!("places/{at}"),
                    FaultCode::Duplicate,
                    "the bin is named before",
                ));
            }
        }
        faults
    }
}

/// What was counted of a lot in a bin.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CountedLine {
    /// The lot; one that the sheet lacks was found.
    pub lot_id: Uuid,
    /// The bin, one of the count's.
    pub place_id: Uuid,
    /// Plugs; null takes a number back.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 1_000_000))]
    pub counted: Option<i64>,
}

/// Numbers for the lines of a count, and where it stands from now on. Lines that are not named stay
/// as they are.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Counting {
    /// The lines that were counted.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(max_items = 2000))]
    pub lines: Option<Vec<CountedLine>>,
    /// `open` to go on counting, `counted` when nothing is left, `withdrawn` to call it off; without
    /// it a count is `counted` once every line has a number.
    #[serde(default)]
    pub state: Option<CountState>,
}

impl Counting {
    /// The lines that are named.
    pub fn named(&self) -> &[CountedLine] {
        self.lines.as_deref().unwrap_or_default()
    }
}

impl Check for Counting {
    fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        if self.named().len() > LINES_MAX {
            let detail = format!("at most {LINES_MAX} lines at a time");
            faults.push(Fault::at("lines", FaultCode::OutOfRange, detail));
        }
        let mut seen = HashSet::new();
        for (at, line) in self.named().iter().enumerate() {
            if line
                .counted
                .is_some_and(|plugs| !(0..=QUANTITY_MAX).contains(&plugs))
            {
                let detail = format!("a count is from 0 to {QUANTITY_MAX} plugs");
                faults.push(Fault::at(
                    &format!("lines/{at}/counted"),
                    FaultCode::OutOfRange,
                    detail,
                ));
            }
            if !seen.insert((line.lot_id, line.place_id)) {
                faults.push(Fault::at(
                    &format!("lines/{at}"),
                    FaultCode::Duplicate,
                    "the lot is counted in that bin before: give the sum",
                ));
            }
        }
        match self.state {
            Some(CountState::Approved) => faults.push(Fault::at(
                "state",
                FaultCode::NotInList,
                "a count is approved by a manager: POST to its approval",
            )),
            Some(CountState::Withdrawn) if !self.named().is_empty() => faults.push(Fault::at(
                "lines",
                FaultCode::NotTogether,
                "nothing is counted of what is called off",
            )),
            _ => {}
        }
        faults
    }
}

/// A manager's approval of a count.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CountApproval {
    /// Why lines that are to be counted again are booked all the same; not needed where there are none.
    #[serde(default)]
    #[cfg_attr(feature = "schema", schema(min_length = 1, max_length = 500))]
    pub reason: Option<String>,
}

impl Check for CountApproval {
    fn faults(&self) -> Vec<Fault> {
        text_fault("reason", self.reason.as_deref())
            .into_iter()
            .collect()
    }
}
