//! Count accuracy by months: a bar for each, its share of lines without a difference.

use plugwell_domain::ledger::counting::{AccuracyFigures, AccuracyMonth, CountAccuracy};
use plugwell_domain::money::decimal;
use plugwell_domain::wording::counted;

use crate::drawing::bars::{Bar, Bars, bars};

/// Most months that one picture has room for: the last ones.
const MONTHS: usize = 60;

/// Draws the chart.
pub fn count_accuracy(report: &CountAccuracy) -> String {
    let left_out = report.months.len().saturating_sub(MONTHS);
    let mut notes = told(&report.total);
    if left_out > 0 {
        notes.push(format!("The last {MONTHS} months only."));
    }
    let months: Vec<Bar> = report.months.iter().skip(left_out).map(bar).collect();
    bars(&Bars {
        title: "Counted lines without a difference",
        notes: &notes,
        unit: "% of lines",
        bars: &months,
    })
}

fn told(total: &AccuracyFigures) -> Vec<String> {
    let Some(share) = total.exact_share else {
        return vec!["No count was approved in this time.".to_owned()];
    };
    let money = |minor: i64| {
        let currency = &total.net_cost.currency;
        format!("{} {currency}", decimal(minor, currency))
    };
    let mut notes = vec![
        format!(
            "{} of {} in {}: {}.",
            total.exact_lines,
            counted(total.lines, "line"),
            counted(total.counts, "count"),
            percent(share)
        ),
        format!(
            "{} differed, {} missing and {} too many, at a cost of {}; net {}.",
            counted(total.absolute_difference, "plug"),
            total.missing,
            total.found,
            money(total.absolute_cost.minor),
            money(total.net_cost.minor)
        ),
    ];
    if total.quantity_without_cost > 0 {
        let unknown = total.quantity_without_cost;
        notes.push(format!("Of {unknown} of them nobody knows the cost."));
    }
    notes
}

fn percent(share: f64) -> String {
    // Never rounded up to all of them.
    format!("{:.1} %", (share * 1000.0).floor() / 10.0)
}

fn bar(month: &AccuracyMonth) -> Bar {
    let figures = &month.figures;
    let written = match figures.exact_share {
        None => "none counted".to_owned(),
        Some(share) => format!("{} of {}", percent(share), counted(figures.lines, "line")),
    };
    Bar {
        label: month.month.clone(),
        value: figures.exact_share.unwrap_or(0.0) * 100.0,
        written,
    }
}

#[cfg(test)]
mod tests {
    use chrono::{DateTime, Utc};
    use plugwell_domain::instant::Period;
    use plugwell_domain::ledger::counting::{ApprovedCount, accuracy};

    use super::*;

    fn approved(at: &str, lines: i64, exact_lines: i64) -> ApprovedCount {
        let approved_at: DateTime<Utc> = at.parse().expect("an instant");
        ApprovedCount {
            approved_at,
            lines,
            exact_lines,
            expected: 100,
            missing: 2,
            found: 1,
            missing_minor: 1_800,
            found_minor: 900,
            without_cost: 0,
            reversed_lines: 0,
        }
    }

    #[test]
    fn every_month_has_its_bar_and_its_words() {
        let counts = [
            approved("2026-01-31T23:59:59Z", 4, 3),
            approved("2026-03-01T00:00:00Z", 3000, 2999),
        ];
        let picture = count_accuracy(&accuracy(&counts, "USD", Period::default()));
        for words in [
            "2026-01: 75.0 % of 4 lines",
            "2026-02: none counted",
            // Not all of them, so not 100 %.
            "2026-03: 99.9 % of 3000 lines",
            "3002 of 3004 lines in 2 counts: 99.9 %.",
            "6 plugs differed, 4 missing and 2 too many, at a cost of 54.00 USD; net -18.00 USD.",
        ] {
            assert!(picture.contains(words), "{words}: {picture}");
        }
        assert_eq!(picture.matches("class=\"filled\"").count(), 3);
    }

    #[test]
    fn without_counts_it_says_so() {
        let picture = count_accuracy(&accuracy(&[], "USD", Period::default()));
        assert!(picture.contains("No count was approved in this time."));
    }
}
