//! What a part will sell: its demand by whole weeks or months, the pattern of it, and forecasts for
//! demand that comes in bursts.
//!
//! [`CalendarPeriod`] cuts time up, [`Pattern`] says how a series behaves, [`ForecastMethod`] forecasts it.

mod method;
mod pattern;

pub use method::{ForecastMethod, MethodParameters, mean, sample_deviation};
pub use pattern::{DemandClass, EDGE_INTERVAL, EDGE_VARIATION, Pattern};

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::calendar::CalendarPeriod;

/// Demand by period, oldest first: the last one is the last that is over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct DemandSeries {
    /// What one entry counts.
    pub period: CalendarPeriod,
    /// First day of the first entry.
    pub from: NaiveDate,
    /// Plugs: issues, and what was scrapped out of bins and quarantine, less what came back to bins
    /// of those very issues. Never empty, never below zero: what comes back is taken off the period
    /// in which it went out.
    pub series: Vec<i64>,
}

impl DemandSeries {
    /// A series that ends with the period of a number.
    pub fn ending(period: CalendarPeriod, last: i64, series: Vec<i64>) -> Self {
        let length = i64::try_from(series.len()).unwrap_or_default();
        let from = period.first_day(last + 1 - length);
        Self {
            period,
            from,
            series,
        }
    }
}
