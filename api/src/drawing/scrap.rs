//! What was thrown away, as bars.

use plugwell_domain::money::{SignedMoney, places};
use plugwell_domain::valuation::scrap::{ScrapReport, ScrapSum};
use plugwell_domain::wording::counted;

use crate::drawing::bars::{Bar, Bars, bars};
use crate::shown::stretch;

/// Bars at the most; what is less stands together in one more.
const MOST: usize = 24;

/// Draws what each line of a report had cost.
pub fn scrap(report: &ScrapReport) -> String {
    let lines = &report.items;
    let shown = if lines.len() > MOST + 1 {
        MOST
    } else {
        lines.len()
    };
    // Of months the last ones are looked at, of anything else the dearest.
    let by_month = report.by.word() == "month";
    let (shown, rest) = if by_month {
        let (rest, shown) = lines.split_at(lines.len() - shown);
        (shown, rest)
    } else {
        lines.split_at(shown)
    };
    let one = |line: &plugwell_domain::valuation::scrap::ScrapLine| bar(&line.label, &line.sum);
    let mut all: Vec<Bar> = shown.iter().map(one).collect();
    if let Some(first) = rest.first() {
        let sum = rest
            .iter()
            .map(|line| &line.sum)
            .fold(nought(&first.sum), added);
        let label = format!(
            "{} {}",
            rest.len(),
            if by_month { "before" } else { "others" }
        );
        let place = if by_month { 0 } else { all.len() };
        all.insert(place, bar(&label, &sum));
    }
    let currency = &report.total.cost.currency;
    bars(&Bars {
        title: &format!("Scrap by {}", report.by),
        notes: &[stretch(report.from, report.to), report.drops.text.clone()],
        unit: &format!("{currency}, what the plugs had cost by FIFO"),
        bars: &all,
    })
}

fn nought(like: &ScrapSum) -> ScrapSum {
    ScrapSum {
        quantity: 0,
        cost: SignedMoney {
            minor: 0,
            currency: like.cost.currency.clone(),
        },
        quantity_without_cost: 0,
    }
}

fn added(mut sum: ScrapSum, other: &ScrapSum) -> ScrapSum {
    sum.quantity += other.quantity;
    sum.cost.minor += other.cost.minor;
    sum.quantity_without_cost += other.quantity_without_cost;
    sum
}

fn bar(label: &str, sum: &ScrapSum) -> Bar {
    let whole = 10f64.powi(places(&sum.cost.currency) as i32);
    Bar {
        label: label.to_owned(),
        value: sum.cost.minor as f64 / whole,
        written: format!("{} · {}", sum.cost, counted(sum.quantity, "plug")),
    }
}
