//! What was thrown away, by reason, part, bin, person or month, and what it had cost.

use std::collections::BTreeMap;

use chrono::{DateTime, Datelike, Months, NaiveDate, Utc};
use serde::Serialize;
use uuid::Uuid;

use super::Amount;
use crate::instant::{self, Period};
use crate::ledger::ScrapReason;
use crate::money::SignedMoney;
use crate::wording::counted;
use crate::words::closed_list;

closed_list! {
    /// By what scrap is summed up.
    ScrapBy, "grouping of scrap" {
        /// Why it was scrapped.
        Reason = "reason",
        /// The part.
        Part = "part",
        /// The bin or quarantine that it came from; what jobs scrapped is one group.
        Bin = "bin",
        /// Who dropped it, as far as somebody said so.
        Person = "person",
        /// The month (UTC).
        Month = "month",
    }
}

/// A scrapping, as the report needs it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thrown {
    /// When.
    pub at: DateTime<Utc>,
    /// The part.
    pub plug_id: Uuid,
    /// Maker and part number.
    pub part: String,
    /// Why.
    pub reason: String,
    /// Bin or quarantine with its name; `None` for a job.
    pub bin: Option<(Uuid, String)>,
    /// Who dropped it.
    pub person: Option<String>,
    /// Plugs, and the cost that they had left the stock with, by FIFO.
    pub amount: Amount,
}

/// A scrapping that was put right within the period.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenBack {
    /// The reversing movement.
    pub movement_id: Uuid,
    /// The scrapping.
    pub scrapping_id: Uuid,
    /// When it was put right.
    pub at: DateTime<Utc>,
    /// By whom.
    pub who: String,
    /// Why.
    pub why: String,
    /// The scrapping.
    pub thrown: Thrown,
}

/// What was scrapped in a period, less what was put right in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ScrapReport {
    /// The first instant of the period; null: from the beginning.
    #[serde(serialize_with = "instant::serialize_option")]
    pub from: Option<DateTime<Utc>>,
    /// The first instant behind it; null: up to now.
    #[serde(serialize_with = "instant::serialize_option")]
    pub to: Option<DateTime<Utc>>,
    /// What drops cost.
    pub drops: Drops,
    /// By what the lines sum up.
    pub by: ScrapBy,
    /// The lines: months in their order, anything else the dearest first.
    pub items: Vec<ScrapLine>,
    /// All of it.
    pub total: ScrapSum,
    /// Every scrapping that was put right in the period; the lines are less by it.
    pub reversals: Vec<ScrapReversal>,
}

/// What drops cost, and a sentence that says it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Drops {
    /// The plugs.
    #[serde(flatten)]
    pub sum: ScrapSum,
    /// The same in a sentence.
    pub text: String,
}

/// Plugs and what they had cost.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ScrapSum {
    /// Plugs; below zero where more was put right than scrapped.
    pub quantity: i64,
    /// What they had cost, by FIFO, those left out of which nobody knows it.
    pub cost: SignedMoney,
    /// Plugs of which nobody knows what they had cost; below zero as the quantity.
    pub quantity_without_cost: i64,
}

/// A line of the report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ScrapLine {
    /// The reason's word, the part's or place's identifier, the person's name or the month
    /// (`2026-03`); null for what jobs scrapped, and where nobody was named.
    pub key: Option<String>,
    /// The same as people read it.
    pub label: String,
    /// The plugs.
    #[serde(flatten)]
    pub sum: ScrapSum,
}

/// A scrapping that was put right.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ScrapReversal {
    /// The reversing movement.
    pub movement_id: Uuid,
    /// The scrapping.
    pub scrapping_id: Uuid,
    /// When it was put right.
    #[serde(serialize_with = "instant::serialize")]
    pub at: DateTime<Utc>,
    /// By whom.
    pub who: String,
    /// Why.
    pub why: String,
    /// The part.
    pub plug_id: Uuid,
    /// Maker and part number.
    pub part: String,
    /// Why it had been scrapped.
    pub reason: String,
    /// The plugs, as they were scrapped.
    #[serde(flatten)]
    pub sum: ScrapSum,
}

impl ScrapSum {
    fn of(amount: Amount, currency: &str) -> Self {
        Self {
            quantity: amount.quantity,
            cost: SignedMoney {
                minor: amount.minor,
                currency: currency.to_owned(),
            },
            quantity_without_cost: amount.without_cost,
        }
    }
}

impl ScrapReport {
    /// Sums up scrappings and what was put right of them, both of the period, in a currency.
    pub fn of(
        period: Period,
        by: ScrapBy,
        currency: &str,
        thrown: &[Thrown],
        back: &[TakenBack],
    ) -> Self {
        let out = thrown.iter().map(|t| (t, t.at, t.amount));
        let again = back.iter().map(|b| (&b.thrown, b.at, -b.thrown.amount));
        let all: Vec<_> = out.chain(again).collect();
        let mut groups: BTreeMap<(Option<String>, String), Amount> = BTreeMap::new();
        let mut named: BTreeMap<Option<String>, String> = BTreeMap::new();
        for (thrown, at, amount) in &all {
            let (key, label) = group(by, thrown, *at);
            // People are told apart by their names whatever case they are written in.
            let same = key.as_deref().map(str::to_lowercase);
            let label = named.entry(same.clone()).or_insert(label).clone();
            *groups.entry((same, label)).or_default() += *amount;
        }
        if by == ScrapBy::Month {
            fill(&mut groups);
        }
        let mut lines: Vec<_> = groups.into_iter().collect();
        if by != ScrapBy::Month {
            lines.sort_by_key(|(_, sum)| std::cmp::Reverse((sum.minor, sum.quantity)));
        }
        let line = |((key, label), sum): ((Option<String>, String), Amount)| ScrapLine {
            key: match by {
                ScrapBy::Person => key.is_some().then(|| label.clone()),
                _ => key,
            },
            label,
            sum: ScrapSum::of(sum, currency),
        };
        let total: Amount = all.iter().map(|(.., amount)| *amount).sum();
        let dropped = all
            .iter()
            .filter(|(thrown, ..)| thrown.reason == ScrapReason::Dropped.word());
        let dropped: Amount = dropped.map(|(.., amount)| *amount).sum();
        Self {
            from: period.from,
            to: period.to,
            drops: Drops {
                sum: ScrapSum::of(dropped, currency),
                text: sentence(dropped, total, currency),
            },
            by,
            items: lines.into_iter().map(line).collect(),
            total: ScrapSum::of(total, currency),
            reversals: back.iter().map(|b| reversal(b, currency)).collect(),
        }
    }
}

fn reversal(back: &TakenBack, currency: &str) -> ScrapReversal {
    ScrapReversal {
        movement_id: back.movement_id,
        scrapping_id: back.scrapping_id,
        at: back.at,
        who: back.who.clone(),
        why: back.why.clone(),
        plug_id: back.thrown.plug_id,
        part: back.thrown.part.clone(),
        reason: back.thrown.reason.clone(),
        sum: ScrapSum::of(back.thrown.amount, currency),
    }
}

/// Key and label of the line that a scrapping stands in; what was put right stands in that of its
/// scrapping, but in its own month.
fn group(by: ScrapBy, thrown: &Thrown, at: DateTime<Utc>) -> (Option<String>, String) {
    let some = |key: &str, label: &str| (Some(key.to_owned()), label.to_owned());
    match by {
        ScrapBy::Reason => some(&thrown.reason, &thrown.reason.replace('_', " ")),
        ScrapBy::Part => some(&thrown.plug_id.to_string(), &thrown.part),
        ScrapBy::Bin => match &thrown.bin {
            Some((id, name)) => some(&id.to_string(), name),
            None => (None, "jobs".to_owned()),
        },
        ScrapBy::Person => match &thrown.person {
            Some(name) => some(name.trim(), name.trim()),
            None => (None, "nobody named".to_owned()),
        },
        ScrapBy::Month => {
            let month = at.format("%Y-%m").to_string();
            some(&month, &month)
        }
    }
}

/// Months without scrap between others are months of nought.
fn fill(groups: &mut BTreeMap<(Option<String>, String), Amount>) {
    let first_day = |label: &str| format!("{label}-01").parse::<NaiveDate>().ok();
    let ends = groups.keys().next().zip(groups.keys().next_back());
    let Some((mut month, last)) =
        ends.and_then(|((_, first), (_, last))| Some((first_day(first)?, first_day(last)?)))
    else {
        return;
    };
    while month < last {
        let label = format!("{:04}-{:02}", month.year(), month.month());
        groups.entry((Some(label.clone()), label)).or_default();
        let Some(next) = month.checked_add_months(Months::new(1)) else {
            return;
        };
        month = next;
    }
}

fn sentence(dropped: Amount, all: Amount, currency: &str) -> String {
    if dropped.quantity == 0 && dropped.minor == 0 {
        return "No plug was dropped in this time.".to_owned();
    }
    let plugs = counted(dropped.quantity.abs(), "plug");
    let cost = |minor| SignedMoney {
        minor,
        currency: currency.to_owned(),
    };
    if dropped.quantity < 0 {
        let less = cost(-dropped.minor);
        return format!(
            "Drops of an earlier time were put right in this one: {plugs}, {less} less."
        );
    }
    if dropped.without_cost == dropped.quantity && dropped.minor == 0 {
        let were = if dropped.quantity == 1 { "was" } else { "were" };
        return format!("{plugs} {were} dropped in this time; nobody knows what that had cost.");
    }
    let cost = cost(dropped.minor);
    let mut text = format!("Drops cost {cost} in this time: {plugs}");
    if dropped.minor > 0 && all.minor >= dropped.minor {
        let share =
            (100 * i128::from(dropped.minor) + i128::from(all.minor) / 2) / i128::from(all.minor);
        text += &format!(", {share} % of the cost of all scrap");
    }
    match dropped.without_cost {
        0 => {}
        some => text += &format!("; nobody knows what {some} of them had cost"),
    }
    text + "."
}
