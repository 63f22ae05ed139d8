//! Reservations: made, drawn on, short, open again, released.

use plugwell_domain::ledger::ReservationState::{Issued, Open, Released, Short};
use plugwell_domain::ledger::commands::Issue;
use plugwell_domain::ledger::rules::Rejection;

use crate::asking::issue_of;
use crate::books::{Books, PART, mm};

#[test]
fn a_reservation_goes_as_far_as_available_allows() {
    let mut books = Books::with(&[8]);
    // Gapped plugs are no good to a job whose gap nobody knows.
    books.receive(0, 6, Some(0.81));
    let kept = books.reserve(5).expect("eight are sealed");
    let reservation = &books.reservations[kept];
    assert_eq!(
        (reservation.plug_id, reservation.job.as_str()),
        (PART, "J-17")
    );
    assert_eq!((reservation.quantity, reservation.open_quantity), (5, 5));
    assert_eq!((reservation.state, reservation.version), (Open, 1));
    assert_eq!(reservation.created_at, books.now);
    let refused = books.reserve(4).unwrap_err();
    assert_eq!(refused.rule, Rejection::NotEnoughStock);
    assert_eq!((refused.available, refused.on_hand), (Some(3), Some(14)));
    books.reserve(3).expect("three are nobody's");
}

#[test]
fn what_can_no_longer_be_met_is_short_newest_first_and_opens_again() {
    let mut books = Books::with(&[10]);
    let bin = books.bins[0].id;
    for quantity in [4, 3, 3] {
        books.reserve(quantity).expect("ten are there");
    }
    let plan = books.discard(None, bin, 1).expect("the shelf is the truth");
    assert_eq!(books.states(), [Open, Open, Short]);
    // What did not change is not written.
    assert_eq!(plan.reservations.len(), 1);
    books.discard(None, bin, 2).expect("nine are there");
    assert_eq!(books.states(), [Open, Open, Short], "seven are there");
    let cage = books.quarantine.id;
    books.transfer(0, bin, cage, 1).expect("seven are there");
    assert_eq!(books.states(), [Open, Short, Short]);
    books.discard(None, bin, 3).expect("six are there");
    assert_eq!(
        books.states(),
        [Short, Short, Short],
        "three would do for a newer one, yet the oldest comes first"
    );
    assert!(
        books
            .reservations
            .iter()
            .all(|r| r.open_quantity == r.quantity)
    );

    books.receive(0, 3, None);
    assert_eq!(books.states(), [Open, Short, Short]);
    books.transfer(0, cage, bin, 1).expect("one is in the cage");
    assert_eq!(books.states(), [Open, Open, Short]);
    books.receive(0, 40, Some(0.81));
    assert_eq!(
        books.states(),
        [Open, Open, Short],
        "gapped plugs meet no reservation"
    );
    books.receive(0, 3, None);
    assert_eq!(books.states(), [Open, Open, Open]);
    let versions: Vec<i64> = books.reservations.iter().map(|r| r.version).collect();
    assert_eq!(versions, [3, 3, 3], "made, short, open again");
}

#[test]
fn nothing_is_available_while_a_reservation_is_short() {
    let mut books = Books::with(&[6]);
    books.reserve(6).expect("six are there");
    let bin = books.bins[0].id;
    books.discard(None, bin, 2).expect("six are there");
    assert_eq!(books.reserve(1).unwrap_err().available, Some(0));
    assert_eq!(books.issue(&issue_of(1)).unwrap_err().available, Some(0));
    // Its own job may have what is left of it.
    let own = Issue {
        reservation_id: Some(books.reservations[0].id),
        ..issue_of(4)
    };
    books.issue(&own).expect("four are left");
    assert_eq!(
        (books.states(), books.reservations[0].open_quantity),
        (vec![Short], 2)
    );
    books.receive(0, 2, None);
    assert_eq!(books.states(), [Open]);
    books
        .issue(&Issue { quantity: 2, ..own })
        .expect("two came in");
    assert_eq!(
        (books.states(), books.reservations[0].open_quantity),
        (vec![Issued], 0)
    );
}

#[test]
fn a_reservation_that_is_released_makes_room_for_newer_ones() {
    let mut books = Books::with(&[8]);
    let bin = books.bins[0].id;
    let first = books.reserve(5).expect("eight are there");
    let second = books.reserve(3).expect("three are left");
    books.discard(None, bin, 2).expect("eight are there");
    assert_eq!(books.states(), [Open, Short]);
    books.release(first).expect("it is open");
    assert_eq!(books.states(), [Released, Open]);
    assert_eq!(
        (
            books.reservations[first].open_quantity,
            books.reservations[first].quantity
        ),
        (0, 5)
    );
    assert_eq!(
        books.release(first).unwrap_err().rule,
        Rejection::ReservationClosed
    );
    // A short one can be released too.
    books.discard(None, bin, 4).expect("six are there");
    assert_eq!(books.states()[second], Short);
    books.release(second).expect("short is not closed");
    assert_eq!(books.states(), [Released, Released]);
}

#[test]
fn a_reservation_can_be_drawn_on_with_gapped_plugs() {
    let mut books = Books::with(&[4]);
    let gapped = books.receive(0, 4, Some(0.81));
    books.reserve(4).expect("four are sealed");
    let own = Issue {
        reservation_id: Some(books.reservations[0].id),
        lot_id: Some(books.lots[gapped].id),
        gap_mm: Some(mm(0.81)),
        ..issue_of(4)
    };
    books.issue(&own).expect("the job has its plugs");
    assert_eq!(books.states(), [Issued]);
    books
        .reserve(4)
        .expect("the sealed ones are nobody's again");
}
