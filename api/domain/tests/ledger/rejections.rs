//! The closed list of rejections: each once alone, and which comes first where two apply.

use plugwell_domain::ledger::commands::{Issue, Return};
use plugwell_domain::ledger::rules::{Rejected, Rejection, Rejection::*};
use plugwell_domain::ledger::{Plan, Returned};
use uuid::Uuid;

use crate::asking::{issue_of, return_of};
use crate::books::{Books, SLIP, mm};

/// A command that the rules refuse.
type Refused = fn(&mut Books) -> Result<Plan, Rejected>;

fn closed_reservation(books: &mut Books) -> Option<Uuid> {
    let kept = books.reserve(1).expect("one is there");
    books.release(kept).expect("it is open");
    Some(books.reservations[kept].id)
}

/// An issue of four out of eight, of which all are in the drum.
fn all_scrapped(books: &mut Books) -> Uuid {
    let issue = books.issued(4)[0].id;
    let back = return_of(issue, 4, Returned::Fitted, &books.bins[0]);
    books.give_back(&back).expect("four are out");
    let bin = books.bins[0].id;
    books.discard(None, bin, 4).expect("four are left");
    issue
}

/// A scrapping of two out of eight.
fn scrapped(books: &mut Books) -> Uuid {
    let bin = books.bins[0].id;
    books
        .discard(None, bin, 2)
        .expect("eight are there")
        .movements[0]
        .id
}

fn gapped_issue(books: &mut Books) -> Uuid {
    let lot = books.receive(0, 4, Some(0.81));
    let issue = Issue {
        lot_id: Some(books.lots[lot].id),
        ..issue_of(4)
    };
    books.issue(&issue).expect("four are there").movements[0].id
}

fn sealed(books: &mut Books, of: Uuid, quantity: i64) -> Result<Plan, Rejected> {
    let back = return_of(of, quantity, Returned::Sealed, &books.bins[0]);
    books.give_back(&back)
}

/// Each rule of the list that the shelf decides, broken alone.
const ALONE: &[(Rejection, Refused)] = &[
    (ScrapIsFinal, |books| {
        scrapped(books);
        let (drum, bin) = (books.scrap.id, books.bins[0].id);
        books.transfer(0, drum, bin, 2)
    }),
    (NotAnIssue, |books| {
        let receipt = books.movements[0].id;
        books.give_back(&return_of(receipt, 1, Returned::Fitted, &books.bins[0]))
    }),
    (ReversalIsFinal, |books| {
        let issue = books.issued(4)[0].id;
        let reversal = books.reverse(issue, true).expect("four are out").movements[0].id;
        books.reverse(reversal, true)
    }),
    (AlreadyReversed, |books| {
        let issue = books.issued(4)[0].id;
        books.reverse(issue, true).expect("four are out");
        // As many of the lot are in the job again, so that the levels would allow it.
        books.issued(4);
        books.reverse(issue, true)
    }),
    (ReservationClosed, |books| {
        let closed = closed_reservation(books);
        books.issue(&Issue {
            reservation_id: closed,
            ..issue_of(1)
        })
    }),
    (NotSealed, |books| {
        let issue = gapped_issue(books);
        sealed(books, issue, 1)
    }),
    (WrongGap, |books| {
        let lot = books.receive(0, 4, Some(0.81));
        let lot_id = Some(books.lots[lot].id);
        books.issue(&Issue {
            lot_id,
            gap_mm: Some(mm(1.0)),
            ..issue_of(1)
        })
    }),
    (MoreThanIssued, |books| {
        let issue = books.issued(3)[0].id;
        books.issued(3);
        sealed(books, issue, 4)
    }),
    (NotEnoughStock, |books| books.issue(&issue_of(9))),
];

#[test]
fn the_list_is_closed_and_in_its_documented_order() {
    let documented = [
        "plug_retired",
        "place_retired",
        "scrap_is_final",
        "not_an_issue",
        "reversal_is_final",
        "already_reversed",
        "reservation_closed",
        "not_sealed",
        "wrong_gap",
        "more_than_issued",
        "not_enough_stock",
    ];
    assert_eq!(Rejection::WORDS, documented);
    // The first two are put before the shelf is read; all others are in the table.
    let tested: Vec<Rejection> = ALONE.iter().map(|(rule, _)| *rule).collect();
    assert_eq!(tested, Rejection::ALL[2..]);
}

#[test]
fn each_rule_alone() {
    for (rule, refused) in ALONE {
        let mut books = Books::with(&[8]);
        let rejected = refused(&mut books).expect_err(rule.word());
        assert_eq!(rejected.rule, *rule);
        let figures = (rejected.available.is_some(), rejected.on_hand.is_some());
        let told = *rule == NotEnoughStock;
        assert_eq!(
            figures,
            (told, told),
            "{rule}: figures go with not_enough_stock only"
        );
    }
}

/// Where two rules are broken the earlier one of the list is told.
const BOTH: &[(Rejection, Rejection, Refused)] = &[
    (ScrapIsFinal, NotEnoughStock, |books| {
        let (drum, bin) = (books.scrap.id, books.bins[0].id);
        books.transfer(0, drum, bin, 1)
    }),
    (ScrapIsFinal, NotEnoughStock, |books| {
        let drum = books.scrap.id;
        books.discard(None, drum, 1)
    }),
    (ScrapIsFinal, AlreadyReversed, |books| {
        let scrapping = scrapped(books);
        books.reverse(scrapping, true).expect("a manager in time");
        books.reverse(scrapping, false)
    }),
    (ScrapIsFinal, AlreadyReversed, |books| {
        let scrapping = scrapped(books);
        books.reverse(scrapping, true).expect("a manager in time");
        books.now += SLIP;
        books.reverse(scrapping, true)
    }),
    (NotAnIssue, MoreThanIssued, |books| {
        let receipt = books.movements[0].id;
        sealed(books, receipt, 9)
    }),
    (NotAnIssue, NotSealed, |books| {
        books.receive(0, 4, Some(0.81));
        let receipt = books.movements[1].id;
        sealed(books, receipt, 1)
    }),
    (ReversalIsFinal, NotEnoughStock, |books| {
        let issue = books.issued(4)[0].id;
        let reversal = books.reverse(issue, true).expect("four are out").movements[0].id;
        books.issued(8);
        books.reverse(reversal, true)
    }),
    (AlreadyReversed, NotEnoughStock, |books| {
        let issue = books.issued(4)[0].id;
        books.reverse(issue, true).expect("four are out");
        books.reverse(issue, true)
    }),
    (ReservationClosed, WrongGap, |books| {
        let closed = closed_reservation(books);
        let lot = books.receive(0, 4, Some(0.81));
        let lot_id = Some(books.lots[lot].id);
        books.issue(&Issue {
            reservation_id: closed,
            lot_id,
            gap_mm: Some(mm(1.0)),
            ..issue_of(1)
        })
    }),
    (ReservationClosed, NotEnoughStock, |books| {
        let closed = closed_reservation(books);
        books.issue(&Issue {
            reservation_id: closed,
            ..issue_of(9)
        })
    }),
    (NotSealed, MoreThanIssued, |books| {
        let issue = gapped_issue(books);
        sealed(books, issue, 5)
    }),
    (WrongGap, NotEnoughStock, |books| {
        let lot = books.receive(0, 4, Some(0.81));
        let lot_id = Some(books.lots[lot].id);
        books.issue(&Issue {
            lot_id,
            gap_mm: Some(mm(1.0)),
            ..issue_of(9)
        })
    }),
    (MoreThanIssued, NotEnoughStock, |books| {
        // The lot has nothing left anywhere but in the drum.
        let issue = all_scrapped(books);
        sealed(books, issue, 1)
    }),
    (MoreThanIssued, NotEnoughStock, |books| {
        let issue = books.issued(4)[0].id;
        let back = return_of(issue, 5, Returned::Gapped, &books.bins[0]);
        books.give_back(&Return {
            gap_mm: Some(mm(0.81)),
            ..back
        })
    }),
];

#[test]
fn of_two_rules_the_earlier_one_is_told() {
    for (place, (first, second, refused)) in BOTH.iter().enumerate() {
        assert!(first < second, "case {place} is against the list");
        let mut books = Books::with(&[8]);
        let rejected = refused(&mut books).expect_err("two rules are broken");
        assert_eq!(rejected.rule, *first, "case {place}: before {second}");
    }
}
