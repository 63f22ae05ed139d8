//! How often the stock turned over in a stretch of time.

use std::cmp::Reverse;

use plugwell_domain::calendar::{CalendarPeriod, Span};
use plugwell_domain::decimal::Decimal;
use plugwell_domain::instant::Period;
use plugwell_domain::ledger::Money;
use plugwell_domain::money::SignedMoney;
use plugwell_domain::report::turns::{Turned, Turning, TurnsBy};
use plugwell_domain::stand_in::PartName;
use plugwell_domain::valuation::{Books, Method};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::usage::{Stretch, begun};
use crate::service::{Refusal, Shop};

/// How turns are worked out.
const DEFINITION: &str = "Turns: cost of what went to jobs and scrap, less what came back, over the average value of \
    bins and quarantine, every value weighed with the time for which it stood (common practice, no source). Valued by \
    FIFO; plugs of which nobody knows the cost have no part in it. Days of stock: how long the average value lasts at \
    that rate.";

/// What a stock did.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct TurnsSum {
    /// Cost of what went out, less what came back.
    pub cost_out: SignedMoney,
    /// Average value of what lay there.
    pub average_value: Money,
    /// How often it turned over in that time, to a hundredth; null where nothing lay there.
    #[schema(value_type = Option<f64>)]
    pub turns: Option<Decimal<2>>,
    /// For how many days the average lasts, to a tenth; null where nothing went out.
    #[schema(value_type = Option<f64>)]
    pub days_of_stock: Option<Decimal<1>>,
}

/// A line of the report.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct TurnsLine {
    /// The part's identifier or the month (`2026-03`).
    pub key: String,
    /// The same as people read it.
    pub label: String,
    /// What it did.
    #[serde(flatten)]
    pub sum: TurnsSum,
}

/// How often the stock turned over.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct TurnsReport {
    /// From when, before when, and up to when there are data.
    #[serde(flatten)]
    pub stretch: Stretch,
    /// By what the lines sum up.
    pub by: TurnsBy,
    /// How it is worked out, in words.
    pub text: String,
    /// The lines: months in their order; parts with the most days of stock first, those of which
    /// nothing went out before them.
    pub items: Vec<TurnsLine>,
    /// All of it.
    pub total: TurnsSum,
}

/// The report.
///
/// # Errors
/// Where the database fails.
pub fn report(shop: &Shop, period: Period, by: TurnsBy) -> Result<TurnsReport, Refusal> {
    let currency = shop.policy().values.currency.value.clone();
    shop.store.read(|session| {
        let stretch = Stretch::of(session, period)?;
        let span = stretch.known();
        let mut turning = Turning::within(span, begun(session, span)?, CalendarPeriod::Month);
        let mut total = Turned::default();
        let mut parts = Vec::new();
        let ids = session.stocked_parts()?;
        session.each_part(&ids, &currency, |part| {
            let books = Books::of(Method::Fifo, &part.lots);
            let turned = turning.part(books, &part.entries);
            total.add(turned);
            if turned != Turned::default() {
                let name = PartName::new(part.maker, part.part_number);
                parts.push((part.plug_id, name, turned));
            }
        })?;
        let items = match by {
            TurnsBy::Month => months(turning, &currency),
            TurnsBy::Part => lines(parts, span.micros(), &currency),
        };
        Ok(TurnsReport {
            stretch,
            by,
            text: DEFINITION.to_owned(),
            items,
            total: sum(total, span.micros(), &currency),
        })
    })
}

fn months(turning: Turning, currency: &str) -> Vec<TurnsLine> {
    let line = |(month, turned): (Span, Turned)| {
        let name = CalendarPeriod::Month.name(CalendarPeriod::Month.number(month.from));
        TurnsLine {
            key: name.clone(),
            label: name,
            sum: sum(turned, month.micros(), currency),
        }
    };
    turning.periods().into_iter().map(line).collect()
}

fn lines(mut parts: Vec<(Uuid, PartName, Turned)>, micros: i64, currency: &str) -> Vec<TurnsLine> {
    parts.sort_by_cached_key(|(id, _, turned)| {
        let days = turned.days_of_stock();
        (Reverse((days.is_none(), days)), *id)
    });
    let line = |(id, name, turned): (Uuid, PartName, Turned)| TurnsLine {
        key: id.to_string(),
        label: name.to_string(),
        sum: sum(turned, micros, currency),
    };
    parts.into_iter().map(line).collect()
}

fn sum(turned: Turned, micros: i64, currency: &str) -> TurnsSum {
    TurnsSum {
        cost_out: SignedMoney {
            minor: turned.cost_out,
            currency: currency.to_owned(),
        },
        average_value: Money {
            minor: turned.average(micros),
            currency: currency.to_owned(),
        },
        turns: turned.turns(micros),
        days_of_stock: turned.days_of_stock(),
    }
}
