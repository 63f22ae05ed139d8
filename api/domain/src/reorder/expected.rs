//! What is expected of a part's demand, and which rule chose the method.

use super::{Known, starts};
use crate::forecast::{DemandClass, ForecastMethod, MethodParameters, Pattern};
use crate::policy::Values;

/// The rule that chose a method, with the figures that it compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Chosen {
    /// Fewer whole periods behind the part than a forecast takes.
    LittleHistory { periods: usize, least: usize },
    /// Nothing was asked for.
    NoDemand,
    /// Nothing was asked for in the last periods, for more average intervals than the policy bears.
    Silent { periods: usize, intervals: f64 },
    /// Fewer periods with demand than the methods for bursts take.
    FewSizes { sizes: usize, least: usize },
    /// The policy names it for the class.
    OfClass(DemandClass),
}

impl Chosen {
    fn of(history: &[i64], pattern: Option<Pattern>, values: &Values) -> Self {
        let least_periods = values.demand_least_periods.value as usize;
        if history.len() < least_periods {
            return Self::LittleHistory {
                periods: history.len(),
                least: least_periods,
            };
        }
        let Some(pattern) = pattern else {
            return Self::NoDemand;
        };
        let intervals = values.demand_silent_intervals.value;
        if pattern.is_silent(history, intervals) {
            return Self::Silent {
                periods: Pattern::quiet(history),
                intervals,
            };
        }
        let sizes = history.iter().filter(|asked| **asked > 0).count();
        let least = values.demand_least_sizes.value as usize;
        if sizes < least {
            Self::FewSizes { sizes, least }
        } else {
            Self::OfClass(pattern.class)
        }
    }

    fn method(self, values: &Values) -> ForecastMethod {
        match self {
            Self::LittleHistory { .. } => ForecastMethod::Given,
            Self::NoDemand | Self::FewSizes { .. } => ForecastMethod::Mean,
            Self::Silent { .. } => values.method_silent.value,
            Self::OfClass(DemandClass::Smooth) => values.method_smooth.value,
            Self::OfClass(DemandClass::Erratic) => values.method_erratic.value,
            Self::OfClass(DemandClass::Intermittent) => values.method_intermittent.value,
            Self::OfClass(DemandClass::Lumpy) => values.method_lumpy.value,
        }
    }

    /// Whether demand has fallen silent.
    pub const fn is_silent(self) -> bool {
        matches!(self, Self::Silent { .. })
    }
}

/// Demand as it is expected, and how that was found.
pub(super) struct Expected {
    pub series: Vec<i64>,
    pub pattern: Option<Pattern>,
    pub chosen: Chosen,
    pub method: ForecastMethod,
    pub parameters: MethodParameters,
    pub per_period: f64,
    /// What a part without history begins with.
    pub start: Option<String>,
}

impl Expected {
    pub fn of(known: &Known<'_>, values: &Values) -> Self {
        let (alpha, beta) = (values.forecast_alpha.value, values.forecast_beta.value);
        let pattern = Pattern::of(known.history);
        let chosen = Chosen::of(known.history, pattern, values);
        let method = chosen.method(values);
        let (series, pattern, start) = match chosen {
            Chosen::LittleHistory { .. } => {
                let none = || starts(Vec::new(), values.demand_period.value);
                let start = known.start.clone().unwrap_or_else(none);
                (start.series, None, Some(start.text))
            }
            _ => (known.history.to_vec(), pattern, None),
        };
        Self {
            per_period: method.forecast(&series, alpha, beta),
            series,
            pattern,
            chosen,
            method,
            parameters: method.parameters(alpha, beta),
            start,
        }
    }
}
