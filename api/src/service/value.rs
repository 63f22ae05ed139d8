//! What the stock is worth, as at any moment, and what a period did to it.

use chrono::{DateTime, Utc};
use plugwell_domain::instant::{self, Period};
use plugwell_domain::ledger::Money;
use plugwell_domain::money::SignedMoney;
use plugwell_domain::valuation::{Amount, Books, Flows, Method, flows};
use plugwell_store::PartBooks;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::{Refusal, Shop, now};

/// What all bins and quarantine are worth at a moment.
#[derive(Debug, Serialize, ToSchema)]
pub struct StockValue {
    /// The moment; what was booked at it counts.
    #[serde(serialize_with = "instant::serialize")]
    pub as_of: DateTime<Utc>,
    /// Up to when there are data: the moment, or the instant of the answer where that comes first.
    #[serde(serialize_with = "instant::serialize")]
    pub data_to: DateTime<Utc>,
    /// How plugs that left were valued.
    pub method: Method,
    /// The same in a sentence.
    pub text: String,
    /// A line for each part of which something lay there, by maker and part number.
    pub items: Vec<ValueLine>,
    /// All of it.
    pub total: ValueSum,
}

/// Plugs and what they are worth.
#[derive(Debug, Serialize, ToSchema)]
pub struct ValueSum {
    /// Plugs in bins and quarantine.
    pub quantity: i64,
    /// What those cost of which that is known.
    pub value: Money,
    /// Plugs of which nobody knows the cost; the value is without them.
    #[schema(minimum = 0)]
    pub quantity_without_cost: i64,
}

/// What a part is worth.
#[derive(Debug, Serialize, ToSchema)]
pub struct ValueLine {
    /// The part.
    pub plug_id: Uuid,
    /// Maker's name.
    pub maker: String,
    /// The maker's part number as printed.
    pub part_number: String,
    /// Its plugs.
    #[serde(flatten)]
    pub sum: ValueSum,
}

/// What a period did to the value of bins and quarantine: opening + receipts − issues + returns −
/// scrapped + differences + reversals = closing, of plugs and of money.
#[derive(Debug, Serialize, ToSchema)]
pub struct ValuePeriod {
    /// The first instant of the period; null: from the beginning.
    #[serde(serialize_with = "instant::serialize_option")]
    pub from: Option<DateTime<Utc>>,
    /// The first instant behind it; null: up to now.
    #[serde(serialize_with = "instant::serialize_option")]
    pub to: Option<DateTime<Utc>>,
    /// Up to when there are data: `to`, or the instant of the answer where that comes first.
    #[serde(serialize_with = "instant::serialize")]
    pub data_to: DateTime<Utc>,
    /// How plugs that left were valued.
    pub method: Method,
    /// What is to be known of the figures, in a sentence.
    pub text: String,
    /// A line for each part that lay there or moved, by maker and part number.
    pub items: Vec<ValueFlowsLine>,
    /// All of it.
    pub total: ValueFlows,
}

/// What happened to the value of a part.
#[derive(Debug, Serialize, ToSchema)]
pub struct ValueFlowsLine {
    /// The part.
    pub plug_id: Uuid,
    /// Maker's name.
    pub maker: String,
    /// The maker's part number as printed.
    pub part_number: String,
    /// What happened.
    #[serde(flatten)]
    pub flows: ValueFlows,
}

/// Opening + receipts − issues + returns − scrapped + differences + reversals = closing.
#[derive(Debug, Serialize, ToSchema)]
pub struct ValueFlows {
    /// Before the period.
    pub opening: ValueChange,
    /// From suppliers.
    pub receipts: ValueChange,
    /// To jobs.
    pub issues: ValueChange,
    /// Back from jobs.
    pub returns: ValueChange,
    /// Out of bins and quarantine into the drum; what jobs scrapped had been issued before.
    pub scrapped: ValueChange,
    /// Found less missed when counting.
    pub differences: ValueChange,
    /// What reversals brought in less what they took out.
    pub reversals: ValueChange,
    /// After the period.
    pub closing: ValueChange,
}

/// Plugs and what they are worth; differences and reversals may be below zero.
#[derive(Debug, Serialize, ToSchema)]
pub struct ValueChange {
    /// Plugs.
    pub quantity: i64,
    /// What those cost of which that is known.
    pub value: SignedMoney,
    /// Plugs of which nobody knows the cost; the value is without them.
    pub quantity_without_cost: i64,
}

/// The value of the stock at a moment: of all that was booked before `until`, the first instant
/// that does not count.
///
/// # Errors
/// Where the database fails.
pub fn as_of(
    shop: &Shop,
    as_of: DateTime<Utc>,
    until: DateTime<Utc>,
    method: Method,
) -> Result<StockValue, Refusal> {
    let currency = shop.policy().values.currency.value.clone();
    let period = Period {
        from: None,
        to: Some(until),
    };
    let mut lines = Vec::new();
    let mut total = Amount::default();
    each(shop, period, method, &currency, |part, flows| {
        if flows.closing.quantity != 0 {
            total += flows.closing;
            lines.push(ValueLine {
                plug_id: part.plug_id,
                maker: part.maker,
                part_number: part.part_number,
                sum: sum(flows.closing, &currency),
            });
        }
    })?;
    lines.sort_by(|a, b| (&a.maker, &a.part_number).cmp(&(&b.maker, &b.part_number)));
    let worth = change(total, &currency).value;
    let text = format!(
        "The stock is worth {worth}.{}",
        left_out(total.without_cost)
    );
    Ok(StockValue {
        as_of,
        data_to: as_of.min(now()),
        method,
        text,
        items: lines,
        total: sum(total, &currency),
    })
}

/// What a period did to the value of the stock.
///
/// # Errors
/// Where the database fails.
pub fn over(shop: &Shop, period: Period, method: Method) -> Result<ValuePeriod, Refusal> {
    let currency = shop.policy().values.currency.value.clone();
    let mut lines = Vec::new();
    let mut total = Flows::default();
    each(shop, period, method, &currency, |part, flows| {
        if !flows.is_nothing() {
            total += flows;
            lines.push(ValueFlowsLine {
                plug_id: part.plug_id,
                maker: part.maker,
                part_number: part.part_number,
                flows: shown(&flows, &currency),
            });
        }
    })?;
    lines.sort_by(|a, b| (&a.maker, &a.part_number).cmp(&(&b.maker, &b.part_number)));
    let closing = change(total.closing, &currency).value;
    let opening = change(total.opening, &currency).value;
    let without = left_out(total.closing.without_cost);
    Ok(ValuePeriod {
        from: period.from,
        to: period.to,
        data_to: period.to.map_or_else(now, |to| to.min(now())),
        method,
        text: format!("The stock was worth {opening} before and {closing} after.{without}"),
        items: lines,
        total: shown(&total, &currency),
    })
}

/// Books every part that ever had stock.
fn each(
    shop: &Shop,
    period: Period,
    method: Method,
    currency: &str,
    mut take: impl FnMut(PartBooks, Flows),
) -> Result<(), Refusal> {
    shop.store.read(|session| {
        let parts = session.stocked_parts()?;
        session.each_part(&parts, currency, |part| {
            let flows = flows(Books::of(method, &part.lots), &part.entries, period);
            take(part, flows);
        })?;
        Ok(())
    })
}

fn left_out(without_cost: i64) -> String {
    match without_cost {
        0 => String::new(),
        1 => " 1 plug is left out: nobody knows what it cost.".into(),
        some => format!(" {some} plugs are left out: nobody knows what they cost."),
    }
}

fn sum(amount: Amount, currency: &str) -> ValueSum {
    ValueSum {
        quantity: amount.quantity,
        value: Money {
            minor: amount.minor,
            currency: currency.to_owned(),
        },
        quantity_without_cost: amount.without_cost,
    }
}

fn change(amount: Amount, currency: &str) -> ValueChange {
    ValueChange {
        quantity: amount.quantity,
        value: SignedMoney {
            minor: amount.minor,
            currency: currency.to_owned(),
        },
        quantity_without_cost: amount.without_cost,
    }
}

fn shown(flows: &Flows, currency: &str) -> ValueFlows {
    let of = |amount| change(amount, currency);
    ValueFlows {
        opening: of(flows.opening),
        receipts: of(flows.receipts),
        issues: of(flows.issues),
        returns: of(flows.returns),
        scrapped: of(flows.scrapped),
        differences: of(flows.differences),
        reversals: of(flows.reversals),
        closing: of(flows.closing),
    }
}
