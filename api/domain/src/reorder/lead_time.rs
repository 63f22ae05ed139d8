//! How long a supplier takes, and how sure that is.

use serde::{Deserialize, Serialize};

use super::Reordering;
use crate::calendar::CalendarPeriod;
use crate::policy::Values;
use crate::words::closed_list;

closed_list! {
    /// What a lead time rests on.
    LeadSource, "source of a lead time" {
        /// Given by hand for the part.
        ByHand = "by_hand",
        /// The supplier's past orders.
        PastOrders = "past_orders",
        /// What the supplier promises.
        Promised = "promised",
        /// The shop's policy.
        Policy = "policy",
    }
}

/// A lead time in days, as it was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeadDays {
    /// Days from order to delivery, on average.
    pub mean: f64,
    /// Their deviation.
    pub sd: f64,
    /// What the mean rests on.
    pub source: LeadSource,
    /// Deliveries that tell of it.
    pub deliveries: usize,
    /// Whether the deviation is the policy's share and was not measured or given.
    pub spread_assumed: bool,
}

impl LeadDays {
    /// The lead time of a part: by hand, else from past deliveries of the supplier (days each), else
    /// what it promises, else the policy's. The deviation is that of two deliveries or more, over
    /// n − 1.
    pub fn of(hand: &Reordering, past: &[f64], promised: Option<i64>, values: &Values) -> Self {
        let (mean, source) = if let Some(days) = hand.lead_time_days {
            (days, LeadSource::ByHand)
        } else if !past.is_empty() {
            (
                past.iter().sum::<f64>() / past.len() as f64,
                LeadSource::PastOrders,
            )
        } else if let Some(days) = promised {
            (days as f64, LeadSource::Promised)
        } else {
            (f64::from(values.order_lead_days.value), LeadSource::Policy)
        };
        let measured = (source == LeadSource::PastOrders && past.len() > 1).then(|| {
            let squares: f64 = past.iter().map(|days| (days - mean).powi(2)).sum();
            (squares / (past.len() - 1) as f64).sqrt()
        });
        let known = hand.lead_time_sd_days.or(measured);
        Self {
            mean,
            sd: known.unwrap_or(values.lead_time_spread_share.value * mean),
            source,
            deliveries: if source == LeadSource::PastOrders {
                past.len()
            } else {
                0
            },
            spread_assumed: known.is_none(),
        }
    }

    /// The same in periods.
    pub fn periods(&self, period: CalendarPeriod) -> LeadTimePeriods {
        LeadTimePeriods {
            mean: self.mean / period.days(),
            sd: self.sd / period.days(),
        }
    }
}

/// A lead time in periods of demand.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LeadTimePeriods {
    /// From order to delivery, on average.
    pub mean: f64,
    /// Its deviation.
    pub sd: f64,
}
