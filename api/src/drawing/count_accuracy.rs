//! Count accuracy by months: a bar for each, its share of lines with a difference, so that the axis
//! begins at nought and still fits what is there.

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
        title: "Counted lines with a difference",
        notes: &notes,
        unit: "% of lines",
        bars: &months,
    })
}

/// The figures in sentences.
pub fn told(total: &AccuracyFigures) -> Vec<String> {
    let Some(share) = total.exact_share else {
        return vec!["No count was approved in this time.".to_owned()];
    };
    let money = |minor: i64| {
        let currency = &total.net_cost.currency;
        format!("{} {currency}", decimal(minor, currency))
    };
    let mut notes = vec![format!(
        "{} of {} in {} had no difference: {}.",
        total.exact_lines,
        counted(total.lines, "line"),
        counted(total.counts, "count"),
        percent(share)
    )];
    if total.absolute_difference > 0 {
        let (both, net) = (total.absolute_cost.minor, total.net_cost.minor);
        let end = match net {
            0 => "neither loss nor gain".to_owned(),
            net if net < 0 => format!("a loss of {}", money(-net)),
            net => format!("a gain of {}", money(net)),
        };
        notes.push(format!(
            "Missing: {}, a loss of {}. Too many: {}, a gain of {}. Together {end}.",
            plugs(total.missing),
            money((both - net) / 2),
            plugs(total.found),
            money((both + net) / 2)
        ));
    }
    if total.quantity_without_cost > 0 {
        let unknown = total.quantity_without_cost;
        notes.push(format!(
            "Nobody knows the cost of {}: they are in neither sum.",
            plugs(unknown)
        ));
    }
    notes
}

fn plugs(quantity: i64) -> String {
    counted(quantity, "plug")
}

/// A share as a percentage: rounded, halves away from nought, but never to all or nothing of what is
/// neither.
fn percent(share: f64) -> String {
    let thousandths = (share * 1000.0).round();
    let thousandths = if share > 0.0 && share < 1.0 {
        thousandths.clamp(1.0, 999.0)
    } else {
        thousandths
    };
    format!("{:.1} %", thousandths / 10.0)
}

fn bar(month: &AccuracyMonth) -> Bar {
    let figures = &month.figures;
    let off = figures.lines - figures.exact_lines;
    let share = figures.exact_share.map_or(0.0, |share| 1.0 - share);
    let written = match (figures.lines, off) {
        (0, _) => "none counted".to_owned(),
        (lines, 0) => format!("none of {lines} lines"),
        (lines, _) => format!("{} of {lines} lines", percent(share)),
    };
    Bar {
        label: month.month.clone(),
        value: share * 100.0,
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
            "2026-01: 25.0 % of 4 lines",
            "2026-02: none counted",
            // One of them, so not none; and not all without a difference, so not 100 %.
            "2026-03: 0.1 % of 3000 lines",
            "3002 of 3004 lines in 2 counts had no difference: 99.9 %.",
            "Missing: 4 plugs, a loss of 36.00 USD. Too many: 2 plugs, a gain of 18.00 USD.",
            "Together a loss of 18.00 USD.",
        ] {
            assert!(picture.contains(words), "{words}: {picture}");
        }
        assert_eq!(picture.matches("class=\"filled\"").count(), 3);
    }

    #[test]
    fn shares_are_rounded_to_the_nearest() {
        let counts = [approved("2026-01-31T23:59:59Z", 14, 13)];
        let picture = count_accuracy(&accuracy(&counts, "USD", Period::default()));
        for words in ["had no difference: 92.9 %.", "2026-01: 7.1 % of 14 lines"] {
            assert!(picture.contains(words), "{words}: {picture}");
        }
    }

    #[test]
    fn without_counts_it_says_so() {
        let picture = count_accuracy(&accuracy(&[], "USD", Period::default()));
        assert!(picture.contains("No count was approved in this time."));
    }
}
