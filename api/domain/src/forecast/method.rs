//! Forecasts of demand per period.
//!
//! Croston, J. D. (1972), "Forecasting and stock control for intermittent demands", Operational
//! Research Quarterly 23, 289-303. Syntetos, A. A. and Boylan, J. E. (2005), "The accuracy of
//! intermittent demand estimates", International Journal of Forecasting 21, 303-314. Teunter, R.,
//! Syntetos, A. A. and Babai, M. Z. (2011), "Intermittent demand: linking forecasting to inventory
//! obsolescence", European Journal of Operational Research 214, 606-615.

use serde::{Deserialize, Serialize};

use crate::words::closed_list;

closed_list! {
    /// How demand per period is forecast.
    ForecastMethod, "method of forecasting" {
        /// Size and interval are smoothed apart, and divided. Does not fall while nothing is asked for.
        Croston = "croston",
        /// The same, less the part by which it is too high on average.
        Sba = "sba",
        /// Size and probability are smoothed apart, and multiplied: falls while nothing is asked for.
        Tsb = "tsb",
        /// The mean of the series.
        Mean = "mean",
        /// Too little history: the mean of a series that was put together from elsewhere.
        Given = "given",
    }
}

/// What a method was run with; a member that it does not have is left out.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MethodParameters {
    /// Smoothing of size, and of the interval in croston and sba.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 1))]
    pub alpha: Option<f64>,
    /// Smoothing of the probability in tsb.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "schema", schema(minimum = 0, maximum = 1))]
    pub beta: Option<f64>,
}

impl ForecastMethod {
    /// The parameters that it has, of those of the shop.
    pub fn parameters(self, alpha: f64, beta: f64) -> MethodParameters {
        match self {
            Self::Croston | Self::Sba => MethodParameters {
                alpha: Some(alpha),
                beta: None,
            },
            Self::Tsb => MethodParameters {
                alpha: Some(alpha),
                beta: Some(beta),
            },
            Self::Mean | Self::Given => MethodParameters::default(),
        }
    }

    /// Demand per period as it is forecast after the last one; 0 of a series without demand.
    pub fn forecast(self, series: &[i64], alpha: f64, beta: f64) -> f64 {
        match self {
            Self::Croston => croston(series, alpha),
            Self::Sba => (1.0 - alpha / 2.0) * croston(series, alpha),
            Self::Tsb => tsb(series, alpha, beta),
            Self::Mean | Self::Given => mean(series),
        }
    }
}

/// Smooths the size of a demand and the periods since the one before; both begin with the first.
fn croston(series: &[i64], alpha: f64) -> f64 {
    let mut smoothed: Option<(f64, f64)> = None;
    let mut since = 0.0;
    for asked in series {
        since += 1.0;
        if *asked > 0 {
            let size = *asked as f64;
            smoothed = Some(match smoothed {
                None => (size, since),
                Some((level, interval)) => (
                    level + alpha * (size - level),
                    interval + alpha * (since - interval),
                ),
            });
            since = 0.0;
        }
    }
    smoothed.map_or(0.0, |(level, interval)| level / interval)
}

/// Smooths the size of a demand, from the first on, and in every period the probability of one.
fn tsb(series: &[i64], alpha: f64, beta: f64) -> f64 {
    let mut level: Option<f64> = None;
    let mut probability: Option<f64> = None;
    for asked in series {
        let any = f64::from(u8::from(*asked > 0));
        probability = Some(probability.map_or(any, |p| p + beta * (any - p)));
        if *asked > 0 {
            let size = *asked as f64;
            level = Some(level.map_or(size, |l| l + alpha * (size - l)));
        }
    }
    level.unwrap_or(0.0) * probability.unwrap_or(0.0)
}

/// The mean of a series; 0 of an empty one.
pub fn mean(series: &[i64]) -> f64 {
    match series.len() {
        0 => 0.0,
        n => series.iter().sum::<i64>() as f64 / n as f64,
    }
}

/// The sample deviation of a series (over n − 1); 0 where there are not two entries.
pub fn sample_deviation(series: &[i64]) -> f64 {
    if series.len() < 2 {
        return 0.0;
    }
    let mean = mean(series);
    let squares: f64 = series.iter().map(|n| (*n as f64 - mean).powi(2)).sum();
    (squares / (series.len() - 1) as f64).sqrt()
}
