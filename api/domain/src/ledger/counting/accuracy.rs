//! How well books and bins agree over time: the share of counted lines without a difference.

use chrono::{DateTime, Datelike, Utc};
use serde::Serialize;

use crate::instant::Period;
use crate::ledger::Money;
use crate::money::SignedMoney;

/// What one approved count found, summed over its lines. A difference that was reversed since counts
/// as none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ApprovedCount {
    /// When it was approved.
    pub approved_at: DateTime<Utc>,
    /// Lines.
    pub lines: i64,
    /// Lines without a difference.
    pub exact_lines: i64,
    /// Plugs that the books had.
    pub expected: i64,
    /// Plugs that were missing.
    pub missing: i64,
    /// Plugs too many.
    pub found: i64,
    /// What the missing ones cost, as far as it is known, in minor units.
    pub missing_minor: i64,
    /// What those too many cost.
    pub found_minor: i64,
    /// Plugs that do not agree and whose cost nobody knows.
    pub without_cost: i64,
    /// Lines whose difference was reversed since.
    pub reversed_lines: i64,
}

/// How well books and bins agreed.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct AccuracyFigures {
    /// Approved counts.
    pub counts: i64,
    /// Lines that were counted.
    pub lines: i64,
    /// Lines without a difference; one that was reversed since counts as none.
    pub exact_lines: i64,
    /// Of the lines the share without a difference, 0 to 1; null where none was counted.
    pub exact_share: Option<f64>,
    /// Plugs that the books had at the instants of counting.
    pub expected: i64,
    /// Plugs that were missing.
    pub missing: i64,
    /// Plugs too many.
    pub found: i64,
    /// Plugs that did not agree, whichever way: missing and found together.
    pub absolute_difference: i64,
    /// What they cost, whichever way, as far as it is known.
    pub absolute_cost: Money,
    /// What was found less what was missing: what the books lost where it is below zero.
    pub net_cost: SignedMoney,
    /// Plugs that did not agree and whose cost nobody knows.
    #[cfg_attr(feature = "schema", schema(minimum = 0))]
    pub quantity_without_cost: i64,
    /// Lines whose difference was reversed since.
    pub reversed_lines: i64,
}

/// One month (UTC).
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct AccuracyMonth {
    /// As `2030-01`.
    pub month: String,
    /// What the counts that were approved in it found.
    #[serde(flatten)]
    pub figures: AccuracyFigures,
}

/// Count accuracy over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CountAccuracy {
    /// Counts approved at this instant or later; null from the first on.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub from: Option<DateTime<Utc>>,
    /// Counts approved before this instant; null up to now.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub to: Option<DateTime<Utc>>,
    /// Every month from the first to the last that has a count.
    pub months: Vec<AccuracyMonth>,
    /// All of them together.
    pub total: AccuracyFigures,
}

/// Sums approved counts up by months; `counts` in the order of their approval.
pub fn accuracy(counts: &[ApprovedCount], currency: &str, period: Period) -> CountAccuracy {
    let mut months: Vec<AccuracyMonth> = Vec::new();
    if let (Some(first), Some(last)) = (counts.first(), counts.last()) {
        let mut month = month_of(first.approved_at);
        let end = month_of(last.approved_at);
        while month <= end {
            let within = counts.iter().filter(|c| month_of(c.approved_at) == month);
            months.push(AccuracyMonth {
                month: format!("{:04}-{:02}", month.0, month.1),
                figures: AccuracyFigures::of(within, currency),
            });
            month = if month.1 == 12 {
                (month.0 + 1, 1)
            } else {
                (month.0, month.1 + 1)
            };
        }
    }
    CountAccuracy {
        from: period.from,
        to: period.to,
        months,
        total: AccuracyFigures::of(counts.iter(), currency),
    }
}

fn month_of(at: DateTime<Utc>) -> (i32, u32) {
    (at.year(), at.month())
}

impl AccuracyFigures {
    fn of<'a>(counts: impl Iterator<Item = &'a ApprovedCount>, currency: &str) -> Self {
        let mut sum = Self {
            counts: 0,
            lines: 0,
            exact_lines: 0,
            exact_share: None,
            expected: 0,
            missing: 0,
            found: 0,
            absolute_difference: 0,
            absolute_cost: Money {
                minor: 0,
                currency: currency.to_owned(),
            },
            net_cost: SignedMoney {
                minor: 0,
                currency: currency.to_owned(),
            },
            quantity_without_cost: 0,
            reversed_lines: 0,
        };
        for count in counts {
            sum.counts += 1;
            sum.lines += count.lines;
            sum.exact_lines += count.exact_lines;
            sum.expected += count.expected;
            sum.missing += count.missing;
            sum.found += count.found;
            sum.absolute_difference += count.missing + count.found;
            sum.absolute_cost.minor += count.missing_minor + count.found_minor;
            sum.net_cost.minor += count.found_minor - count.missing_minor;
            sum.quantity_without_cost += count.without_cost;
            sum.reversed_lines += count.reversed_lines;
        }
        sum.exact_share = (sum.lines > 0).then(|| sum.exact_lines as f64 / sum.lines as f64);
        sum
    }
}
