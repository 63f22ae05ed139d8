//! Counting: against what a line is held, what its difference costs, when once is not enough and what
//! is shown of it.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::fault::Check;
use plugwell_domain::instant::Period;
use plugwell_domain::ledger::counting::{
    ApprovedCount, Count, CountApproval, CountLine, CountState, Counting, LevelAt, LotCost,
    NewCount, RecountLimits, ShownCount, accuracy,
};
use plugwell_domain::ledger::{Lot, Money};
use plugwell_domain::words::Role;
use serde_json::json;
use uuid::Uuid;

use crate::books::{Books, PART};

/// Four plugs, a tenth, 100.00: own figures, as the embedded policy has them.
pub const LIMITS: RecountLimits = RecountLimits {
    plugs: 4,
    share: 0.1,
    cost_minor: 10_000,
};

fn instant() -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::days(20_100)
}

/// A line of a lot in a bin that nobody has counted.
pub fn line(lot_id: Uuid, place_id: Uuid) -> CountLine {
    CountLine {
        place_id,
        place_number: 2,
        lot_id,
        lot_number: 1,
        plug_id: PART,
        on_sheet: true,
        tally: None,
        earlier: Vec::new(),
        recount: false,
        cost: None,
        movement_id: None,
    }
}

fn priced(received: i64, total_minor: i64) -> (Books, Lot) {
    let mut books = Books::with(&[received]);
    books.lots[0].total_cost = Some(Money {
        minor: total_minor,
        currency: "USD".into(),
    });
    let lot = books.lots[0].clone();
    (books, lot)
}

fn counted(times: &[(i64, i64)], cost: Option<&LotCost>) -> CountLine {
    let mut line = line(Uuid::from_u128(7), Uuid::from_u128(8));
    for (counted, quantity) in times {
        let level = LevelAt {
            quantity: *quantity,
            version: 3,
        };
        line.count(*counted, level, cost, &LIMITS, "clerk", instant());
    }
    line
}

#[test]
fn a_line_is_held_against_its_level_of_the_instant() {
    let mut line = counted(&[(7, 10)], None);
    assert_eq!((line.difference(), line.recount), (-3, false));
    line.count(
        7,
        LevelAt {
            quantity: 7,
            version: 9,
        },
        None,
        &LIMITS,
        "other",
        instant(),
    );
    assert_eq!((line.difference(), line.earlier.len()), (0, 1));
    let tally = line.tally.as_ref().expect("it was counted");
    assert_eq!(
        (tally.level_version, tally.counted_by.as_str()),
        (9, "other")
    );
    line.take_back();
    assert_eq!(
        (line.tally.clone(), line.difference(), line.earlier.len()),
        (None, 0, 2)
    );
}

#[test]
fn a_large_difference_is_counted_until_two_in_a_row_find_the_same() {
    // Four plugs are a box: never by the share. A fifth of forty-nine is more than a tenth.
    for (told, asks) in [
        ((0, 4), false),
        ((0, 5), true),
        ((45, 50), false),
        ((44, 50), true),
        ((5, 0), true),
        ((4, 0), false),
        ((100, 100), false),
    ] {
        assert_eq!(counted(&[told], None).recount, asks, "{told:?}");
    }
    let asks = |times: &[(i64, i64)]| counted(times, None).recount;
    assert!(!asks(&[(10, 30), (10, 30)]), "found twice");
    assert!(
        !asks(&[(10, 30), (6, 26)]),
        "found twice, while four went out"
    );
    assert!(asks(&[(10, 30), (12, 30)]), "another large one");
    assert!(!asks(&[(10, 30), (12, 30), (12, 30)]));
    assert!(!asks(&[(10, 30), (30, 30)]), "it was a slip");
    let (books, lot) = priced(100, 900_000);
    let dear = LotCost::of(&lot, None, &books.shelf(&[]));
    assert!(!counted(&[(99, 100)], dear.as_ref()).recount, "90.00");
    assert!(
        counted(&[(98, 100)], dear.as_ref()).recount,
        "180.00 of two plugs"
    );
}

#[test]
fn a_difference_costs_what_its_plugs_of_the_lot_cost() {
    // 10 plugs for 10.07: seven at 1.01 and three at 1.00, the dearer ones first.
    let (mut books, lot) = priced(10, 1_007);
    let minor = |cost: &LotCost, difference| cost.of_difference(difference).minor;
    let whole = LotCost::of(&lot, None, &books.shelf(&[])).expect("its cost is known");
    assert_eq!(
        [
            minor(&whole, -1),
            minor(&whole, -8),
            minor(&whole, -10),
            minor(&whole, 0)
        ],
        [101, 807, 1_007, 0]
    );
    // More than were ever received, each as dear as the dearest; and back again for the same.
    assert_eq!(minor(&whole, 2), 202);
    let mut surplus = whole.clone();
    surplus.after(2);
    assert_eq!([minor(&surplus, -2), minor(&surplus, -12)], [202, 1_209]);
    books.issued(6);
    let rest = LotCost::of(&lot, None, &books.shelf(&[])).expect("its cost is known");
    // One of the seven is left; what is found had cost a dearer share.
    assert_eq!(
        [minor(&rest, -1), minor(&rest, -2), minor(&rest, 1)],
        [101, 201, 101]
    );
    // In two bins the differences of a lot add up to what they cost together.
    let mut running = rest.clone();
    let parts: Vec<i64> = [-1, -2, -1]
        .iter()
        .map(|difference| {
            let minor = running.of_difference(*difference).minor;
            running.after(*difference);
            minor
        })
        .collect();
    assert_eq!(parts.iter().sum::<i64>(), minor(&rest, -4));
    // Plugs set to a gap cost what they were received for; without any figure nothing is guessed.
    let mut gapped = lot.clone();
    gapped.id = Uuid::from_u128(99);
    gapped.total_cost = None;
    let shelf = books.shelf(&[]);
    let descended = LotCost::of(&gapped, Some(&lot), &shelf).expect("its origin's cost is known");
    assert_eq!(minor(&descended, -2), 202);
    assert_eq!(LotCost::of(&gapped, None, &shelf), None);
}

fn count_of(lines: Vec<CountLine>, state: CountState) -> Count {
    Count {
        id: Uuid::from_u128(1),
        state,
        places: vec![Uuid::from_u128(8)],
        lines,
        made_by: "clerk".into(),
        approved_by: None,
        approved_at: None,
        reason: None,
        version: 1,
        created_at: instant(),
        updated_at: instant(),
    }
}

#[test]
fn an_open_count_is_blind() {
    let (books, lot) = priced(10, 1_000);
    let cost = LotCost::of(&lot, None, &books.shelf(&[]));
    let lines = vec![
        counted(&[(2, 10), (3, 10)], cost.as_ref()),
        counted(&[(12, 10)], None),
        counted(&[(5, 5)], None),
    ];
    let blind = ShownCount::of(
        &count_of(lines.clone(), CountState::Open),
        "USD",
        Role::Manager,
    );
    let text = serde_json::to_value(&blind).expect("JSON");
    for line in text["lines"].as_array().expect("lines") {
        for member in ["expected", "difference", "cost", "level_version"] {
            assert!(line[member].is_null(), "{member}: {line}");
        }
        assert_eq!(
            (&line["recount"], &line["earlier"]),
            (&json!(false), &json!([]))
        );
        assert!(line["counted"].is_number());
    }
    assert!(text["totals"].is_null());
    let count = count_of(lines, CountState::Counted);
    let seen = ShownCount::of(&count, "USD", Role::Manager);
    let first = &seen.lines[0];
    assert_eq!(
        (first.expected, first.difference, first.recount),
        (Some(10), Some(-7), true)
    );
    assert_eq!(
        (
            first.earlier.len(),
            &first.lot_code[..],
            &first.place_code[..]
        ),
        (1, "L1", "P2")
    );
    let totals = seen.totals.expect("it is counted");
    assert_eq!(
        (totals.lines, totals.exact_lines, totals.recount_lines),
        (3, 1, 1)
    );
    assert_eq!(
        (totals.missing.quantity, totals.missing.cost.minor),
        (7, 700)
    );
    assert_eq!(
        (totals.found.quantity, totals.found.quantity_without_cost),
        (2, 2)
    );
    a_recount_is_blind(count);
}

/// Below a manager a line that is to be counted once more tells nothing of the first time.
fn a_recount_is_blind(mut count: Count) {
    let blind = ShownCount::of(&count, "USD", Role::Clerk);
    let (again, other) = (&blind.lines[0], &blind.lines[1]);
    assert_eq!((again.recount, again.counted), (true, Some(3)));
    assert_eq!(
        (again.expected, again.difference, again.level_version),
        (None, None, None)
    );
    assert!(again.cost.is_none() && again.earlier.is_empty());
    assert_eq!((other.expected, other.difference), (Some(10), Some(2)));
    assert!(blind.totals.is_none(), "sums would tell it");
    // Approved over it, nothing is counted any more.
    count.state = CountState::Approved;
    let done = ShownCount::of(&count, "USD", Role::Reader);
    assert_eq!(done.lines[0].expected, Some(10));
    assert!(done.totals.is_some());
}

#[test]
fn the_cost_of_a_lot_is_laid_to_its_lines_one_behind_the_other() {
    // 6 plugs for 10.03: 1.68 and five of 1.67.
    let (books, lot) = priced(6, 1_003);
    let cost = LotCost::of(&lot, None, &books.shelf(&[])).expect("its cost is known");
    let off = |place: u128, counted, expected| {
        let mut line = line(lot.id, Uuid::from_u128(place));
        let level = LevelAt {
            quantity: expected,
            version: 3,
        };
        line.count(counted, level, Some(&cost), &LIMITS, "clerk", instant());
        line
    };
    let other = counted(&[(1, 2)], None);
    let open = line(lot.id, Uuid::from_u128(13));
    let lines = vec![off(11, 1, 3), other, open, off(12, 1, 3)];
    let mut count = count_of(lines, CountState::Counted);
    count.lay_cost(lot.id, cost);
    let minor = |line: &CountLine| line.cost.as_ref().map(|cost| cost.minor);
    let told: Vec<_> = count.lines.iter().map(minor).collect();
    assert_eq!(told, [Some(168 + 167), None, None, Some(167 + 167)]);
}

#[test]
fn accuracy_is_summed_up_by_months() {
    let approved = |at: &str, lines, exact_lines, missing, missing_minor| ApprovedCount {
        approved_at: at.parse().expect("an instant"),
        lines,
        exact_lines,
        expected: 100,
        missing,
        found: 1,
        missing_minor,
        found_minor: 50,
        without_cost: 2,
        reversed_lines: 1,
    };
    let counts = [
        approved("2026-11-30T23:59:59.999999Z", 10, 9, 1, 100),
        approved("2027-01-01T00:00:00Z", 10, 8, 2, 250),
        approved("2027-01-31T10:00:00Z", 20, 20, 0, 0),
    ];
    let report = accuracy(&counts, "USD", Period::default());
    let months: Vec<_> = report
        .months
        .iter()
        .map(|m| (m.month.as_str(), m.figures.lines, m.figures.exact_share))
        .collect();
    let none = ("2026-12", 0, None);
    assert_eq!(
        months,
        [
            ("2026-11", 10, Some(0.9)),
            none,
            ("2027-01", 30, Some(28.0 / 30.0))
        ]
    );
    let total = &report.total;
    assert_eq!((total.counts, total.lines, total.exact_lines), (3, 40, 37));
    assert_eq!(
        (total.missing, total.found, total.absolute_difference),
        (3, 3, 6)
    );
    assert_eq!(
        (total.absolute_cost.minor, total.net_cost.minor),
        (500, -200)
    );
    assert_eq!((total.quantity_without_cost, total.reversed_lines), (6, 3));
    let nothing = accuracy(&[], "USD", Period::default());
    assert_eq!((nothing.months.len(), nothing.total.exact_share), (0, None));
}

fn faults_of<T: Check + serde::de::DeserializeOwned>(body: serde_json::Value) -> Vec<String> {
    let read: T = serde_json::from_value(body).expect("the shape is right");
    let told = read.faults().into_iter();
    told.map(|fault| format!("{} {}", fault.pointer, fault.code))
        .collect()
}

#[test]
fn bodies_say_all_their_faults() {
    let id = |n: u128| Uuid::from_u128(n);
    let begin = faults_of::<NewCount>;
    assert_eq!(begin(json!({})), ["#/places missing"]);
    assert_eq!(begin(json!({ "choose": "most_moved" })), ["#/bins missing"]);
    let both = json!({ "places": [id(1), id(2), id(1)], "choose": "longest_uncounted" });
    assert_eq!(
        begin(both),
        [
            "#/choose not_together",
            "#/bins missing",
            "#/places/2 duplicate"
        ]
    );
    assert_eq!(
        begin(json!({ "places": [id(1)], "bins": 2 })),
        ["#/bins not_together"]
    );
    assert!(begin(json!({ "choose": "most_moved", "bins": 3 })).is_empty());
    let line = |counted: i64| json!({ "lot_id": id(1), "place_id": id(2), "counted": counted });
    let count = faults_of::<Counting>;
    let twice = json!({ "lines": [line(-1), line(1_000_001)], "state": "approved" });
    let told = [
        "#/lines/0/counted out_of_range",
        "#/lines/1/counted out_of_range",
        "#/lines/1 duplicate",
        "#/state not_in_list",
    ];
    assert_eq!(count(twice), told);
    let called_off = json!({ "lines": [line(1)], "state": "withdrawn" });
    assert_eq!(count(called_off), ["#/lines not_together"]);
    assert!(count(json!({})).is_empty());
    assert_eq!(
        faults_of::<CountApproval>(json!({ "reason": " " })),
        ["#/reason out_of_range"]
    );
}
