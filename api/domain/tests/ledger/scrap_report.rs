//! What was thrown away, summed up.

use chrono::{DateTime, Utc};
use plugwell_domain::instant::Period;
use plugwell_domain::valuation::Amount;
use plugwell_domain::valuation::scrap::{ScrapBy, ScrapReport, TakenBack, Thrown};
use uuid::Uuid;

fn at(day: &str) -> DateTime<Utc> {
    format!("{day}T12:00:00Z").parse().expect("an instant")
}

fn thrown(day: &str, reason: &str, person: Option<&str>, amount: (i64, i64, i64)) -> Thrown {
    let (quantity, minor, without_cost) = amount;
    Thrown {
        at: at(day),
        plug_id: Uuid::from_u128(1),
        part: "Ferrowick FW-3207".into(),
        reason: reason.into(),
        bin: None,
        person: person.map(str::to_owned),
        amount: Amount {
            quantity,
            minor,
            without_cost,
        },
    }
}

fn taken_back(day: &str, thrown: Thrown) -> TakenBack {
    TakenBack {
        movement_id: Uuid::from_u128(2),
        scrapping_id: Uuid::from_u128(3),
        at: at(day),
        who: "counter".into(),
        why: "slip".into(),
        thrown,
    }
}

/// Label, plugs and minor units of every line.
fn lines(by: ScrapBy, all: &[Thrown], back: &[TakenBack]) -> Vec<(String, i64, i64)> {
    let report = ScrapReport::of(Period::default(), by, "USD", all, back);
    let sum: i64 = report.items.iter().map(|line| line.sum.cost.minor).sum();
    assert_eq!(sum, report.total.cost.minor, "lines add up to the total");
    let line = |line: plugwell_domain::valuation::scrap::ScrapLine| {
        (line.label, line.sum.quantity, line.sum.cost.minor)
    };
    report.items.into_iter().map(line).collect()
}

#[test]
fn months_follow_one_another_and_what_is_taken_back_counts_in_its_own() {
    let all = [
        thrown("2025-11-30", "dropped", None, (2, 400, 0)),
        thrown("2026-02-01", "other", None, (1, 90, 0)),
    ];
    let back = [taken_back(
        "2026-01-01",
        thrown("2025-11-30", "dropped", None, (1, 200, 0)),
    )];
    let line = |label: &str, quantity, minor| (label.to_owned(), quantity, minor);
    assert_eq!(
        lines(ScrapBy::Month, &all, &back),
        [
            line("2025-11", 2, 400),
            line("2025-12", 0, 0),
            line("2026-01", -1, -200),
            line("2026-02", 1, 90)
        ]
    );
    // By reason it stands with what it puts right.
    assert_eq!(
        lines(ScrapBy::Reason, &all, &back),
        [line("dropped", 1, 200), line("other", 1, 90)]
    );
    assert_eq!(lines(ScrapBy::Month, &[], &[]), []);
}

#[test]
fn people_are_the_same_whatever_case_they_are_written_in() {
    let all = [
        thrown("2026-01-02", "dropped", Some("Odile"), (1, 10, 0)),
        thrown("2026-01-03", "dropped", Some("odile "), (1, 20, 0)),
        thrown("2026-01-03", "dropped", None, (1, 25, 0)),
    ];
    let told = lines(ScrapBy::Person, &all, &[]);
    assert_eq!(
        told,
        [
            ("Odile".to_owned(), 2, 30),
            ("nobody named".to_owned(), 1, 25)
        ]
    );
}

#[test]
fn one_line_says_what_drops_cost() {
    let said = |all: &[Thrown], back: &[TakenBack]| {
        ScrapReport::of(Period::default(), ScrapBy::Reason, "USD", all, back)
            .drops
            .text
    };
    let dropped = |amount| thrown("2026-01-02", "dropped", None, amount);
    let other = thrown("2026-01-02", "other", None, (5, 6_170, 0));
    assert_eq!(
        said(&[dropped((9, 12_340, 0)), other], &[]),
        "Drops cost 123.40 USD in this time: 9 plugs, 67 % of the cost of all scrap."
    );
    assert_eq!(
        said(&[dropped((3, 150, 1))], &[]),
        "Drops cost 1.50 USD in this time: 3 plugs, 100 % of the cost of all scrap; \
         nobody knows what 1 of them had cost."
    );
    assert_eq!(
        said(&[dropped((1, 0, 1))], &[]),
        "1 plug was dropped in this time; nobody knows what that had cost."
    );
    let slip = taken_back("2026-01-03", dropped((1, 100, 0)));
    assert_eq!(
        said(&[], std::slice::from_ref(&slip)),
        "Drops of an earlier time were put right in this one: 1 plug, 1.00 USD less."
    );
    assert_eq!(
        said(&[dropped((1, 100, 0))], &[slip]),
        "No plug was dropped in this time."
    );
    let other = thrown("2026-01-02", "other", None, (2, 0, 2));
    assert_eq!(said(&[other], &[]), "No plug was dropped in this time.");
    assert_eq!(said(&[], &[]), "No plug was dropped in this time.");
}
