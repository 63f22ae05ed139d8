//! Transfers and scrapping: bounded by what lies there, and what is in the drum stays there.

use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::{Condition, MovementKind};

use crate::books::{Books, mm};

#[test]
fn a_receipt_makes_a_lot() {
    let mut books = Books::new();
    let sealed = books.receive(0, 40, None);
    let gapped = books.receive(1, 4, Some(0.81));
    let [first, second] = [&books.lots[sealed], &books.lots[gapped]];
    assert_eq!(
        (first.condition, first.gap_mm, first.pack_size),
        (Condition::Sealed, None, Some(4))
    );
    assert_eq!(
        (first.quantity_received, first.supplier.as_str()),
        (40, "Brackwater Supply")
    );
    assert_eq!(
        (second.condition, second.gap_mm),
        (Condition::Gapped, Some(mm(0.81)))
    );
    assert_eq!((second.received_at, second.from_lot_id), (books.now, None));
    let movement = &books.movements[0];
    assert_eq!(
        (movement.kind, movement.quantity),
        (MovementKind::Receipt, 40)
    );
    assert_eq!(
        (movement.from_place_id, movement.to_place_id),
        (books.supplier.id, books.bins[0].id)
    );
    assert_eq!(movement.note.as_deref(), Some("delivery note 12"));
    assert_eq!(
        (
            books.level(sealed, &books.supplier),
            books.level(sealed, &books.bins[0])
        ),
        (-40, 40)
    );
}

#[test]
fn a_transfer_takes_what_lies_there_and_no_more() {
    let mut books = Books::with(&[5, 9]);
    let (bin, other) = (books.bins[0].id, books.bins[1].id);
    let refused = books.transfer(0, bin, other, 6).unwrap_err();
    assert_eq!(
        (refused.rule, refused.available, refused.on_hand),
        (Rejection::NotEnoughStock, Some(5), Some(14))
    );
    let plan = books.transfer(0, bin, other, 5).expect("five are there");
    assert_eq!(plan.movements[0].kind, MovementKind::Transfer);
    assert_eq!(
        (
            books.level(0, &books.bins[0]),
            books.level(0, &books.bins[1])
        ),
        (0, 5)
    );
    assert_eq!(
        books.transfer(0, bin, other, 1).unwrap_err().available,
        Some(0)
    );
}

#[test]
fn scrapping_says_why_and_takes_the_oldest_lot_unless_one_is_named() {
    let mut books = Books::with(&[5, 9]);
    let bin = books.bins[0].id;
    let plan = books.discard(None, bin, 2).expect("fourteen are there");
    let [movement] = &plan.movements[..] else {
        panic!("one movement: {plan:?}")
    };
    assert_eq!(
        (movement.kind, movement.lot_id),
        (MovementKind::Scrapping, books.lots[0].id)
    );
    assert_eq!(
        (movement.from_place_id, movement.to_place_id),
        (bin, books.scrap.id)
    );
    assert_eq!(
        (movement.reason.as_deref(), movement.note.as_deref()),
        (Some("dropped"), Some("fell off the bench"))
    );
    assert_eq!(movement.dropped_by.as_deref(), Some("Odile"), "trimmed");
    assert_eq!(movement.job, None);
    books.discard(Some(1), bin, 9).expect("nine are there");
    assert_eq!(
        (books.level(0, &books.scrap), books.level(1, &books.scrap)),
        (2, 9)
    );
    let refused = books.discard(Some(1), bin, 1).unwrap_err();
    assert_eq!(
        (refused.rule, refused.available, refused.on_hand),
        (Rejection::NotEnoughStock, Some(0), Some(3))
    );
}

#[test]
fn plugs_are_scrapped_out_of_a_job_and_out_of_quarantine_too() {
    let mut books = Books::with(&[8]);
    let (bin, cage, job) = (books.bins[0].id, books.quarantine.id, books.jobs[0].id);
    books.issued(3);
    let plan = books.discard(None, job, 1).expect("three are out");
    assert_eq!(plan.movements[0].job.as_deref(), Some("J-17"));
    books.transfer(0, bin, cage, 2).expect("five are there");
    books.discard(None, cage, 2).expect("two are set aside");
    assert_eq!(books.level(0, &books.scrap), 3);
    // Gapped lots are scrapped like any other, whatever their gap.
    books.receive(1, 4, Some(0.6));
    let second = books.bins[1].id;
    books.discard(None, second, 4).expect("four are there");
}

#[test]
fn nothing_moves_out_of_the_drum() {
    let mut books = Books::with(&[8]);
    let (bin, drum) = (books.bins[0].id, books.scrap.id);
    books.discard(None, bin, 8).expect("eight are there");
    assert_eq!(
        books.transfer(0, drum, bin, 1).unwrap_err().rule,
        Rejection::ScrapIsFinal
    );
    assert_eq!(
        books.discard(None, drum, 1).unwrap_err().rule,
        Rejection::ScrapIsFinal
    );
    assert_eq!(books.level(0, &books.scrap), 8);
}
