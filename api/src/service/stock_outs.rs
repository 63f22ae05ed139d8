//! When parts were out of stock.

use chrono::{DateTime, Utc};
use plugwell_domain::calendar::in_days;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::instant::{self, Period};
use plugwell_domain::report::stock_outs::StockOuts;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::usage::Stretch;
use crate::service::{Refusal, Shop};

/// What counts.
const DEFINITION: &str = "Out of stock: nothing of the part in bins, after there had been some. What was reserved, \
    and what lay in quarantine, counts as gone only once it had left the bins. Refused requests are not recorded.";

/// A time at which a part was out of stock.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct StockOutLine {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its number.
    pub part_number: String,
    /// When the last plug left.
    #[serde(serialize_with = "instant::serialize")]
    pub since: DateTime<Utc>,
    /// When the next one came; null where none had come before the period's end.
    #[serde(serialize_with = "instant::serialize_option")]
    pub until: Option<DateTime<Utc>>,
    /// How many days of it lie in the period, to a hundredth.
    #[schema(value_type = f64)]
    pub days: Decimal<2>,
}

/// When parts were out of stock.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct StockOutReport {
    /// From when, before when, and up to when there are data.
    #[serde(flatten)]
    pub stretch: Stretch,
    /// What counts, in words.
    pub text: String,
    /// The longest within the period first.
    pub items: Vec<StockOutLine>,
    /// How many parts.
    pub parts: usize,
    /// How many of the times had not ended with the period.
    pub still_out: usize,
}

/// The report.
///
/// # Errors
/// Where the database fails.
pub fn report(shop: &Shop, period: Period) -> Result<StockOutReport, Refusal> {
    shop.store.read(|session| {
        let stretch = Stretch::of(session, period)?;
        let span = stretch.known();
        let mut outs = StockOuts::within(span);
        session.each_change_in_bins(span.to, |change| outs.read(change))?;
        let mut found = outs.finish();
        found.sort_by_key(|out| (std::cmp::Reverse(out.micros), out.since, out.plug_id));
        let mut ids: Vec<Uuid> = found.iter().map(|out| out.plug_id).collect();
        ids.sort_unstable();
        ids.dedup();
        let names = session.part_names(&ids)?;
        let lines = found.iter().filter_map(|out| {
            let name = names.get(&out.plug_id)?;
            Some(StockOutLine {
                plug_id: out.plug_id,
                maker: name.maker.clone(),
                part_number: name.part_number.clone(),
                since: out.since,
                until: out.until,
                days: in_days(out.micros),
            })
        });
        Ok(StockOutReport {
            stretch,
            text: DEFINITION.to_owned(),
            items: lines.collect(),
            parts: ids.len(),
            still_out: found.iter().filter(|out| out.until.is_none()).count(),
        })
    })
}
