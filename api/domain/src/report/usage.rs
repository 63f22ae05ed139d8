//! What was used: issues less what came back into bins, and what was scrapped out of bins.
//!
//! A reversal takes back what it puts right, at the time at which it was booked. What is scrapped
//! from a job was used when it was issued; transfers and count differences use nothing.

use std::collections::{BTreeMap, HashMap};
use std::hash::Hash;

use chrono::NaiveDate;
use serde::Serialize;

use crate::calendar::{CalendarPeriod, Span, midnight};
use crate::ledger::{MovementKind, PlaceKind};
use crate::words::closed_list;

closed_list! {
    /// What usage is summed up by.
    UsageBy, "sum of usage" {
        /// By calendar month.
        Month = "month",
        /// By calendar week, from Monday (ISO 8601).
        Week = "week",
        /// By part.
        Part = "part",
        /// By job.
        Job = "job",
    }
}

/// Movements of one sort, summed up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Flow {
    /// What they did; of reversals, what the movements did that they put right.
    pub kind: MovementKind,
    /// Whether they are reversals.
    pub reversal: bool,
    /// The kind of place that they took from.
    pub from: PlaceKind,
    /// The kind of place that they brought to.
    pub to: PlaceKind,
    /// Plugs.
    pub quantity: i64,
}

/// What was used, in plugs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Used {
    /// Issued from bins to jobs, less issues that were put right.
    pub issued: i64,
    /// Come back from jobs into bins, less returns that were put right.
    pub returned: i64,
    /// Scrapped out of bins, less scrappings that were put right.
    pub scrapped: i64,
    /// Issued less returned, plus scrapped.
    pub used: i64,
}

impl Used {
    /// Counts movements of one sort.
    pub fn count(&mut self, flow: Flow) {
        // A reversal goes the other way: what it puts right came from where it brings to.
        let (sign, from, to) = match flow.reversal {
            true => (-1, flow.to, flow.from),
            false => (1, flow.from, flow.to),
        };
        let plugs = sign * flow.quantity;
        match flow.kind {
            MovementKind::Issue => self.issued += plugs,
            // Of a pair over the difference account only what reaches the bin.
            MovementKind::Return if to == PlaceKind::Bin => self.returned += plugs,
            MovementKind::Scrapping if from == PlaceKind::Bin => self.scrapped += plugs,
            _ => {}
        }
        self.used = self.issued - self.returned + self.scrapped;
    }

    /// Adds what was used elsewhere.
    pub fn add(&mut self, other: Self) {
        self.issued += other.issued;
        self.returned += other.returned;
        self.scrapped += other.scrapped;
        self.used += other.used;
    }

    /// Whether nothing moved at all.
    pub fn is_nothing(self) -> bool {
        self == Self::default()
    }
}

/// Usage by periods of the calendar, by their numbers: every one that the stretch of time touches, those
/// without any among them.
pub fn by_period(
    by: CalendarPeriod,
    span: Span,
    flows: impl IntoIterator<Item = (NaiveDate, Flow)>,
) -> Vec<(i64, Used)> {
    let mut periods: BTreeMap<i64, Used> = by
        .touched(span)
        .map(|number| (number, Used::default()))
        .collect();
    for (day, flow) in flows {
        let number = by.number(midnight(day));
        periods.entry(number).or_default().count(flow);
    }
    periods.into_iter().collect()
}

/// Usage by anything else, those with most first; what moved and used nothing stays.
pub fn by_key<K: Eq + Hash + Ord>(flows: impl IntoIterator<Item = (K, Flow)>) -> Vec<(K, Used)> {
    let mut keys: HashMap<K, Used> = HashMap::new();
    for (key, flow) in flows {
        keys.entry(key).or_default().count(flow);
    }
    let mut sums: Vec<(K, Used)> = keys
        .into_iter()
        .filter(|(_, used)| !used.is_nothing())
        .collect();
    sums.sort_by(|(a, one), (b, other)| other.used.cmp(&one.used).then_with(|| a.cmp(b)));
    sums
}
