//! What comes back from a job: into its own lot, into one that descends from it, or into the drum.

use plugwell_domain::ledger::commands::Return;
use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::{Condition, MovementKind, Returned};

use crate::asking::{issue_of, return_of};
use crate::books::{Books, mm};

#[test]
fn sealed_plugs_go_back_into_their_own_lot() {
    let mut books = Books::with(&[8]);
    let issue = books.issued(8)[0].id;
    let plan = books
        .give_back(&return_of(issue, 3, Returned::Sealed, &books.bins[1]))
        .expect("three are out");
    assert!(plan.new_lots.is_empty());
    let [movement] = &plan.movements[..] else {
        panic!("one movement: {plan:?}")
    };
    assert_eq!(movement.kind, MovementKind::Return);
    assert_eq!(
        (movement.from_place_id, movement.to_place_id),
        (books.jobs[0].id, books.bins[1].id)
    );
    assert_eq!(
        (movement.lot_id, movement.answers, movement.quantity),
        (books.lots[0].id, Some(issue), 3)
    );
    assert_eq!(
        (movement.job.as_deref(), movement.pair_id),
        (Some("J-17"), None)
    );
}

#[test]
fn gapped_plugs_of_a_sealed_lot_become_a_lot_that_descends_from_it() {
    let mut books = Books::with(&[8]);
    let issue = books.issued(8)[0].id;
    let back = Return {
        gap_mm: Some(mm(0.81)),
        ..return_of(issue, 5, Returned::Gapped, &books.bins[0])
    };
    let plan = books.give_back(&back).expect("eight are out");

    let [child] = &plan.new_lots[..] else {
        panic!("one new lot: {plan:?}")
    };
    let parent = &books.lots[0];
    assert_eq!(
        (child.condition, child.gap_mm),
        (Condition::Gapped, Some(mm(0.81)))
    );
    assert_eq!(
        (child.from_lot_id, child.plug_id),
        (Some(parent.id), parent.plug_id)
    );
    assert_eq!(
        (child.received_at, &child.supplier),
        (parent.received_at, &parent.supplier)
    );
    assert_eq!((child.quantity_received, &child.total_cost), (5, &None));
    assert_ne!(child.id, parent.id);

    let [out, in_] = &plan.movements[..] else {
        panic!("two movements: {plan:?}")
    };
    assert_eq!(
        (out.kind, in_.kind),
        (MovementKind::Return, MovementKind::Return)
    );
    assert_eq!(
        (out.lot_id, out.from_place_id, out.to_place_id),
        (parent.id, books.jobs[0].id, books.difference.id)
    );
    assert_eq!(
        (in_.lot_id, in_.from_place_id, in_.to_place_id),
        (child.id, books.difference.id, books.bins[0].id)
    );
    assert_eq!((out.quantity, in_.quantity), (5, 5));
    assert!(out.pair_id.is_some() && out.pair_id == in_.pair_id);
    // Only what left the job answers the issue: five came back, not ten.
    assert_eq!(
        (out.answers, in_.answers, books.returned(issue)),
        (Some(issue), None, 5)
    );

    // Each lot sums to zero over all places.
    for lot in [0, 1] {
        let sum: i64 = books.places().iter().map(|p| books.level(lot, p)).sum();
        assert_eq!(sum, 0, "lot {lot}");
    }
    assert_eq!(
        (
            books.level(1, &books.bins[0]),
            books.level(0, &books.jobs[0])
        ),
        (5, 3)
    );
}

#[test]
fn gapped_plugs_of_a_lot_with_that_gap_go_back_into_it() {
    let mut books = Books::new();
    let lot = books.receive(0, 8, Some(0.81));
    let issue = books.issue(&plugwell_domain::ledger::commands::Issue {
        gap_mm: Some(mm(0.81)),
        ..issue_of(8)
    });
    let issue = issue.expect("eight are set so").movements[0].id;
    let back = |books: &Books, gap| Return {
        gap_mm: Some(mm(gap)),
        ..return_of(issue, 4, Returned::Gapped, &books.bins[0])
    };
    let plan = books.give_back(&back(&books, 0.81)).expect("eight are out");
    assert_eq!((plan.new_lots.len(), plan.movements.len()), (0, 1));
    assert_eq!(books.level(lot, &books.bins[0]), 4);
    // Bent to another gap: another lot, however little they differ.
    let plan = books.give_back(&back(&books, 0.82)).expect("four are out");
    assert_eq!((plan.new_lots.len(), plan.movements.len()), (1, 2));
    assert_eq!(plan.new_lots[0].from_lot_id, Some(books.lots[lot].id));
}

#[test]
fn anything_else_goes_into_the_drum_whatever_bin_is_named() {
    let cases = [
        (Returned::Fitted, "fitted"),
        (Returned::Handled, "other"),
        (Returned::Dropped, "dropped"),
    ];
    for (condition, reason) in cases {
        let mut books = Books::with(&[8]);
        let issue = books.issued(8)[0].id;
        let plan = books
            .give_back(&return_of(issue, 2, condition, &books.bins[0]))
            .expect("eight are out");
        let [movement] = &plan.movements[..] else {
            panic!("one movement: {plan:?}")
        };
        assert_eq!(movement.kind, MovementKind::Scrapping, "{condition}");
        assert_eq!(
            (movement.from_place_id, movement.to_place_id),
            (books.jobs[0].id, books.scrap.id)
        );
        assert_eq!(
            (movement.reason.as_deref(), movement.answers),
            (Some(reason), Some(issue)),
            "{condition}"
        );
        assert_eq!(books.level(0, &books.bins[0]), 0);
    }
}

#[test]
fn no_more_comes_back_than_went_out() {
    let mut books = Books::with(&[20]);
    let issue = books.issued(8)[0].id;
    // Another issue of the same lot to the same job does not make room.
    books.issued(8);
    let sealed =
        |books: &Books, quantity| return_of(issue, quantity, Returned::Sealed, &books.bins[0]);
    assert_eq!(
        books.give_back(&sealed(&books, 9)).unwrap_err().rule,
        Rejection::MoreThanIssued
    );
    books
        .give_back(&Return {
            gap_mm: Some(mm(0.81)),
            ..return_of(issue, 3, Returned::Gapped, &books.bins[0])
        })
        .expect("eight are out");
    books
        .give_back(&return_of(issue, 2, Returned::Dropped, &books.bins[0]))
        .expect("five are out");
    assert_eq!(
        books.give_back(&sealed(&books, 4)).unwrap_err().rule,
        Rejection::MoreThanIssued
    );
    books.give_back(&sealed(&books, 3)).expect("three are out");
    assert_eq!(
        books.give_back(&sealed(&books, 1)).unwrap_err().rule,
        Rejection::MoreThanIssued
    );
}

#[test]
fn what_was_thrown_away_out_of_the_job_does_not_come_back() {
    let mut books = Books::with(&[8]);
    let issue = books.issued(8)[0].id;
    let job = books.jobs[0].id;
    books.discard(None, job, 6).expect("eight are in the job");
    let refused = books
        .give_back(&return_of(issue, 3, Returned::Sealed, &books.bins[0]))
        .unwrap_err();
    assert_eq!(
        (refused.rule, refused.available),
        (Rejection::NotEnoughStock, Some(2))
    );
}

#[test]
fn plugs_that_could_go_back_are_never_scrapped_for_want_of_a_bin() {
    let mut books = Books::with(&[8]);
    let issue = books.issued(8)[0].id;
    for condition in [Returned::Sealed, Returned::Gapped] {
        let back = Return {
            place_id: None,
            gap_mm: Some(mm(0.81)),
            ..return_of(issue, 2, condition, &books.bins[0])
        };
        books.give_back(&back).unwrap_err();
    }
    assert_eq!(
        (books.level(0, &books.jobs[0]), books.level(0, &books.scrap)),
        (8, 0)
    );
}
