//! How demand behaves: how often there is any, and how much its sizes vary.

use crate::words::closed_list;

closed_list! {
    /// Classes of demand by Syntetos, Boylan and Croston (2005), "On the categorization of demand
    /// patterns", Journal of the Operational Research Society 56, 495-503.
    DemandClass, "class of demand" {
        /// In almost every period, about as much.
        Smooth = "smooth",
        /// In almost every period, of very different sizes.
        Erratic = "erratic",
        /// Seldom, about as much each time.
        Intermittent = "intermittent",
        /// Seldom, of very different sizes.
        Lumpy = "lumpy",
    }
}

/// From this average interval on demand is intermittent or lumpy (the same paper).
pub const EDGE_INTERVAL: f64 = 1.32;
/// From this squared variation on it is erratic or lumpy (the same paper).
pub const EDGE_VARIATION: f64 = 0.49;

/// The pattern of a series that has any demand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pattern {
    /// Periods from one with demand to the next, on average: all periods over those with demand.
    pub average_interval: f64,
    /// Variance of the sizes over the square of their mean, of periods with demand only.
    pub squared_variation: f64,
    /// The class that follows.
    pub class: DemandClass,
}

impl Pattern {
    /// The pattern of a series; `None` where nothing was asked for in it.
    pub fn of(series: &[i64]) -> Option<Self> {
        let sizes: Vec<f64> = series
            .iter()
            .filter(|n| **n > 0)
            .map(|n| *n as f64)
            .collect();
        if sizes.is_empty() {
            return None;
        }
        let count = sizes.len() as f64;
        let mean = sizes.iter().sum::<f64>() / count;
        let variance = sizes.iter().map(|size| (size - mean).powi(2)).sum::<f64>() / count;
        let average_interval = series.len() as f64 / count;
        let squared_variation = variance / (mean * mean);
        let seldom = average_interval >= EDGE_INTERVAL;
        let varied = squared_variation >= EDGE_VARIATION;
        let class = match (seldom, varied) {
            (false, false) => DemandClass::Smooth,
            (false, true) => DemandClass::Erratic,
            (true, false) => DemandClass::Intermittent,
            (true, true) => DemandClass::Lumpy,
        };
        Some(Self {
            average_interval,
            squared_variation,
            class,
        })
    }

    /// Whether nothing was asked for lately, for so many average intervals.
    pub fn is_silent(&self, series: &[i64], intervals: f64) -> bool {
        Self::quiet(series) as f64 > intervals * self.average_interval
    }

    /// Periods without demand since the last that had any.
    pub fn quiet(series: &[i64]) -> usize {
        series.iter().rev().take_while(|n| **n == 0).count()
    }
}
