//! What the stock is worth: worked examples to the printed digits, and what each movement carries.

use plugwell_domain::instant::Period;
use plugwell_domain::ledger::MovementKind;
use plugwell_domain::valuation::{Amount, Books, Border, LotCost, Method, flows};
use uuid::Uuid;

use crate::history::{ACCOUNT, BIN, DRUM, HOLD, History, JOB, SUPPLIER, amount, day};

/// IAS 2.25 allows FIFO and the weighted average; the figures of these examples were computed in
/// decimal arithmetic apart from this code. Received 40 at 3.20, 60 at 3.50, 24 at 3.80; issued 15, 50, 30.
#[test]
fn three_receipts_and_three_issues() {
    let mut history = History::default();
    let lot = history.receive(40, Some(12_800));
    history.issue(lot, 15);
    // Whichever lot is picked, what was received first is what it costs.
    let second = history.receive(60, Some(21_000));
    history.issue(second, 50);
    history.receive(24, Some(9_120));
    history.issue(lot, 30);
    let (out, left) = history.costs(Method::Fifo);
    assert_eq!(
        (out.as_slice(), left),
        (&[4_800, 16_750, 10_500][..], 10_870)
    );
    assert_eq!(out.iter().sum::<i64>(), 32_050);
    let (out, left) = history.costs(Method::MovingAverage);
    assert_eq!(
        (out.as_slice(), left),
        (&[4_800, 17_059, 10_709][..], 10_352)
    );
    assert_eq!(out.iter().sum::<i64>(), 32_568);
    assert_eq!(
        32_568 + 10_352,
        42_920,
        "what came is what went and what is left"
    );
    // The averages that the issues were made at: 3.20, 3.4117647, 3.5696909 (from there on rounding to
    // cents tells in the fifth place).
    let average = |entries: usize| {
        let part = History {
            lots: history.lots.clone(),
            entries: history.entries[..entries].to_vec(),
        };
        let stands = part.stands(Method::MovingAverage);
        stands.minor as f64 / stands.quantity as f64 / 100.0
    };
    for (entries, wanted) in [(1, 3.20), (3, 3.411_764_7), (5, 3.569_690_9)] {
        let got = average(entries);
        assert!((got - wanted).abs() < 5e-5, "{got}, not {wanted}");
    }
}

/// Received 100 at 10, 200 at 12, 100 at 13; issued 150 and 120.
#[test]
fn an_issue_over_two_receipts() {
    let mut history = History::default();
    let lot = history.receive(100, Some(100_000));
    history.receive(200, Some(240_000));
    history.issue(lot, 150);
    history.receive(100, Some(130_000));
    history.issue(lot, 120);
    let (out, left) = history.costs(Method::MovingAverage);
    assert_eq!((out, left), (vec![170_000, 144_000], 156_000));
    let (out, left) = history.costs(Method::Fifo);
    assert_eq!((out, left), (vec![160_000, 144_000], 166_000));
}

/// Received 3 at 10 and 4 at 11, issued one by one: 74.00 in all, and exactly nothing is left.
#[test]
fn the_last_plug_takes_the_last_cent() {
    for method in [Method::Fifo, Method::MovingAverage] {
        let mut history = History::default();
        let lot = history.receive(3, Some(3_000));
        history.receive(4, Some(4_400));
        for _ in 0..7 {
            history.issue(lot, 1);
        }
        let (out, left) = history.costs(method);
        assert_eq!((out.iter().sum::<i64>(), left), (7_400, 0));
        assert_eq!(history.stands(method), Amount::default());
        // A total that no plug has a whole share of.
        let mut history = History::default();
        let lot = history.receive(7, Some(1_000));
        (0..7).for_each(|_| _ = history.issue(lot, 1));
        let (out, left) = history.costs(method);
        assert_eq!((out.iter().sum::<i64>(), left), (1_000, 0));
        assert!(out.iter().all(|cost| (142..=143).contains(cost)), "{out:?}");
    }
}

#[test]
fn what_comes_back_carries_what_it_went_out_with() {
    let mut history = History::default();
    let cheap = history.receive(4, Some(400));
    let dear = history.receive(8, Some(1_600));
    let issue = history.issue(dear, 6);
    let (out, _) = history.costs(Method::Fifo);
    assert_eq!(out, [4 * 100 + 2 * 200]);
    // Two come back: the same as though four had been issued.
    history.give_back(dear, issue, 2);
    assert_eq!(history.stands(Method::Fifo), amount(8, 1_600, 0));
    assert_eq!(history.stands(Method::MovingAverage), amount(8, 1_333, 0));
    // The other four are thrown away: what is inside does not change, the drum has their cost.
    let entry = history.add(MovementKind::Scrapping, dear, JOB, DRUM, 4);
    entry.answers = Some(issue);
    let (booked, stands) = history.booked(Method::Fifo);
    assert_eq!(stands, amount(8, 1_600, 0));
    assert_eq!(
        booked.last().map(|b| (b.amount, b.border)),
        Some((amount(4, 400, 0), Border::Not))
    );
    // A set aside plug is worth what it was.
    history.add(MovementKind::Transfer, cheap, BIN, HOLD, 3);
    assert_eq!(history.stands(Method::Fifo), amount(8, 1_600, 0));
}

/// Of 10 plugs for 10.05 six go back: the shares of the first six, and what is left adds up.
#[test]
fn a_delivery_that_goes_back_in_part_takes_its_part_of_the_cost() {
    let mut history = History::default();
    let lot = history.receive(10, Some(1_005));
    let receipt = history.entries[0].id;
    history.issue(lot, 4);
    history.add(MovementKind::Transfer, lot, BIN, HOLD, 6);
    history.add(MovementKind::Transfer, lot, HOLD, BIN, 6);
    let back = history.add(MovementKind::Reversal, lot, BIN, SUPPLIER, 6);
    back.reverses = Some(receipt);
    let (booked, stands) = history.booked(Method::Fifo);
    assert_eq!(stands, Amount::default());
    assert_eq!(booked.last().map(|b| b.amount), Some(amount(6, 601, 0)));
    // With plugs of another delivery beside it only its own cost goes.
    let mut history = History::default();
    let lot = history.receive(10, Some(1_000));
    let receipt = history.entries[0].id;
    history.receive(10, Some(3_000));
    let back = history.add(MovementKind::Reversal, lot, BIN, SUPPLIER, 6);
    back.reverses = Some(receipt);
    assert_eq!(history.stands(Method::Fifo), amount(14, 3_400, 0));
}

#[test]
fn a_lot_that_descends_costs_what_its_first_lot_cost() {
    let mut history = History::default();
    let sealed = history.receive(4, Some(1_001));
    let issue = history.issue(sealed, 4);
    history.lots.push(LotCost {
        id: Uuid::from_u128(0x777),
        from_lot_id: Some(history.lots[0].id),
        quantity_received: 3,
        minor: None,
    });
    let pair = Some(Uuid::from_u128(0x99));
    let first = history.add(MovementKind::Return, 0, JOB, ACCOUNT, 3);
    (first.answers, first.pair_id) = (Some(issue), pair);
    let first = first.id;
    let second = history.add(MovementKind::Return, 1, ACCOUNT, BIN, 3);
    second.pair_id = pair;
    let second = second.id;
    assert_eq!(history.stands(Method::Fifo), amount(3, 750, 0));
    // Taken back as a pair, the last first; then the issue stands alone and can go, too.
    let pair = Some(Uuid::from_u128(0x9a));
    for id in [second, first] {
        let id = history.reverse(id);
        let entry = history
            .entries
            .iter_mut()
            .find(|e| e.id == id)
            .expect("one");
        entry.pair_id = pair;
    }
    assert_eq!(history.stands(Method::Fifo), Amount::default());
    history.reverse(issue);
    assert_eq!(history.stands(Method::Fifo), amount(4, 1_001, 0));
}

#[test]
fn a_reversed_receipt_takes_out_what_it_brought_in() {
    let build = || {
        let mut history = History::default();
        let cheap = history.receive(10, Some(1_000));
        history.receive(10, Some(2_000));
        (history, cheap)
    };
    for method in [Method::Fifo, Method::MovingAverage] {
        let (mut history, _) = build();
        history.reverse(history.entries[0].id);
        assert_eq!(history.stands(method), amount(10, 2_000, 0));
    }
    // By FIFO the first receipt's cost went with an issue of the second lot: what is left goes instead,
    // since nothing can be worth something.
    let (mut history, _) = build();
    history.issue(1, 10);
    history.reverse(history.entries[0].id);
    for method in [Method::Fifo, Method::MovingAverage] {
        assert_eq!(history.stands(method), Amount::default());
    }
}

#[test]
fn scrapping_and_its_reversal_leave_everything_as_it_was() {
    for (from, which) in [(BIN, Border::Out), (JOB, Border::Not)] {
        let mut history = History::default();
        let lot = history.receive(5, Some(503));
        history.issue(lot, 2);
        let before = history.stands(Method::Fifo);
        let scrapped = history.add(MovementKind::Scrapping, lot, from, DRUM, 2).id;
        history.reverse(scrapped);
        let (booked, stands) = history.booked(Method::Fifo);
        assert_eq!(stands, before);
        let [.., out, back] = booked.as_slice() else {
            panic!("two")
        };
        assert_eq!((out.border, out.amount), (which, back.amount));
        assert_eq!(out.amount.quantity, 2);
        assert!(out.amount.minor > 200);
    }
}

#[test]
fn what_counting_finds_is_worth_what_was_missed() {
    let mut history = History::default();
    let lot = history.receive(4, Some(1_000));
    let dear = history.receive(4, Some(4_000));
    history.add(MovementKind::Difference, dear, BIN, ACCOUNT, 2);
    assert_eq!(history.stands(Method::Fifo), amount(6, 4_500, 0));
    history.add(MovementKind::Difference, dear, ACCOUNT, BIN, 2);
    assert_eq!(history.stands(Method::Fifo), amount(8, 5_000, 0));
    // More than was ever missed: at the lot's own cost.
    history.add(MovementKind::Difference, lot, ACCOUNT, BIN, 1);
    assert_eq!(history.stands(Method::Fifo), amount(9, 5_250, 0));
    assert_eq!(history.stands(Method::MovingAverage), amount(9, 5_250, 0));
    let all = flows(
        Books::of(Method::Fifo, &history.lots),
        &history.entries,
        Period::default(),
    );
    assert_eq!(all.differences, amount(1, 250, 0));
    assert_eq!(all.comes_to(), all.closing);
}

#[test]
fn what_nobody_knows_the_cost_of_is_counted_and_never_free() {
    for method in [Method::Fifo, Method::MovingAverage] {
        let mut history = History::default();
        let unknown = history.receive(6, None);
        let known = history.receive(4, Some(1_000));
        assert_eq!(history.stands(method), amount(10, 1_000, 6));
        // Its plugs go without a cost, and take nothing away from the others.
        let issue = history.issue(unknown, 4);
        history.issue(known, 1);
        let (booked, stands) = history.booked(method);
        assert_eq!(stands, amount(5, 750, 2));
        assert_eq!(booked[2].amount, amount(4, 0, 4));
        history.give_back(unknown, issue, 3);
        history.add(MovementKind::Difference, unknown, ACCOUNT, BIN, 1);
        assert_eq!(history.stands(method), amount(9, 750, 6));
    }
}

#[test]
fn a_period_closes_as_the_next_one_opens() {
    let mut history = History::default();
    let lot = history.receive(10, Some(999));
    let issue = history.issue(lot, 5);
    history.give_back(lot, issue, 1);
    history.add(MovementKind::Scrapping, lot, BIN, DRUM, 2);
    let over = |from: usize, to: usize| {
        let period = Period {
            from: Some(day(from)),
            to: Some(day(to)),
        };
        flows(
            Books::of(Method::Fifo, &history.lots),
            &history.entries,
            period,
        )
    };
    let (first, second) = (over(0, 2), over(2, 9));
    assert_eq!(
        (first.opening, first.receipts),
        (Amount::default(), amount(10, 999, 0))
    );
    assert_eq!(
        (first.issues, first.closing),
        (amount(5, 500, 0), amount(5, 499, 0))
    );
    assert_eq!(
        (second.opening, second.returns),
        (first.closing, amount(1, 100, 0))
    );
    assert_eq!(
        (second.scrapped, second.closing),
        (amount(2, 200, 0), amount(4, 399, 0))
    );
    assert!(over(9, 10).comes_to() == over(9, 10).closing && over(9, 10).issues.quantity == 0);
}

#[test]
fn an_instant_never_shows_a_piece_out_of_the_books() {
    let mut history = History::default();
    let lot = history.receive(2, Some(200));
    history.issue(lot, 2);
    // Written second with the earlier instant: the issue is not there before its receipt.
    history.entries[0].at = day(5);
    history.entries[1].at = day(4);
    let at = |to: usize| {
        let period = Period {
            from: None,
            to: Some(day(to)),
        };
        flows(
            Books::of(Method::Fifo, &history.lots),
            &history.entries,
            period,
        )
    };
    assert!(at(5).is_nothing(), "nothing had come");
    assert_eq!(
        (at(6).receipts, at(6).issues),
        (amount(2, 200, 0), amount(2, 200, 0))
    );
}
