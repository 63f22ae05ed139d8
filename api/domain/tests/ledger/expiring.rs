//! Reservations whose time runs out: from that instant on they keep nothing from anybody.

use chrono::TimeDelta;
use plugwell_domain::decimal::Length;
use plugwell_domain::ledger::Plan;
use plugwell_domain::ledger::ReservationState::{Expired, Issued, Open, Released, Short};
use plugwell_domain::ledger::commands::Issue;
use plugwell_domain::ledger::rules::{self, Rejection};
use plugwell_domain::ledger::shelf::OnShelf;

use crate::asking::issue_of;
use crate::books::Books;

/// Books with so many sealed plugs of which some are kept, for two hours of the books' clock.
fn kept(sealed: i64, quantity: i64) -> Books {
    let mut books = Books::with(&[sealed]);
    let place = books.reserve(quantity).expect("as many are there");
    books.reservations[place].expires_at = Some(books.now + TimeDelta::hours(2));
    books
}

/// Ends what has run out.
pub fn expire(books: &mut Books) -> Plan {
    let ended = books.act(&[], |_, shelf, act| Ok(rules::expire(shelf, act)));
    ended.expect("nothing forbids it")
}

fn drawing_on(books: &Books, quantity: i64) -> Issue {
    Issue {
        reservation_id: Some(books.reservations[0].id),
        ..issue_of(quantity)
    }
}

#[test]
fn it_keeps_its_plugs_until_its_last_instant_and_not_in_it() {
    let mut books = kept(8, 5);
    let until = books.reservations[0].expires_at.expect("it runs out");
    let own = &books.reservations[0];
    assert!(own.holds(until - TimeDelta::microseconds(1)));
    assert!(!own.holds(until) && own.is_due(until));
    // An hour passes with every command.
    assert_eq!(books.issue(&issue_of(4)).unwrap_err().available, Some(3));
    books.now = until - TimeDelta::hours(1);
    books.issue(&issue_of(8)).expect("nothing is kept any more");
    assert_eq!(books.states(), [Expired]);
    assert_eq!(books.reservations[0].open_quantity, 0);
    assert_eq!(books.reservations[0].version, 2);
}

#[test]
fn whoever_asks_first_ends_it_and_nobody_ends_it_twice() {
    let mut books = kept(8, 5);
    books.now += TimeDelta::days(1);
    let plan = expire(&mut books);
    assert_eq!(plan.reservations.len(), 1);
    assert!(plan.movements.is_empty() && plan.new_lots.is_empty());
    assert_eq!(books.states(), [Expired]);
    assert_eq!(
        expire(&mut books),
        Default::default(),
        "nothing is left to end"
    );
    let shown = OnShelf::of(&books.shelf(&[]));
    assert_eq!(shown.available(None, Length::default()), 8);
    // A reservation anew, as if nothing had been.
    books.reserve(8).expect("eight are nobody's");
    assert_eq!(books.states(), [Expired, Open]);
}

#[test]
fn what_ran_out_can_neither_be_drawn_on_nor_given_back() {
    let mut books = kept(8, 5);
    books.now += TimeDelta::days(1);
    let refused = books.issue(&drawing_on(&books, 1)).unwrap_err();
    assert_eq!(refused.rule, Rejection::ReservationClosed);
    assert_eq!(
        books.release(0).unwrap_err().rule,
        Rejection::ReservationClosed
    );
    assert_eq!(books.states(), [Open], "what is refused writes nothing");
}

#[test]
fn what_was_issued_before_it_ran_out_stays_issued() {
    let mut books = kept(8, 5);
    let issue = drawing_on(&books, 2);
    books.issue(&issue).expect("five are kept");
    let own = &books.reservations[0];
    assert_eq!((own.open_quantity, own.issued_quantity), (3, 2));
    books.now += TimeDelta::days(1);
    expire(&mut books);
    let own = &books.reservations[0];
    assert_eq!(
        (own.state, own.open_quantity, own.issued_quantity),
        (Expired, 0, 2)
    );
    // In full: nothing is left that could run out.
    let mut books = kept(8, 5);
    let issue = drawing_on(&books, 5);
    books.issue(&issue).expect("five are kept");
    books.now += TimeDelta::days(1);
    expire(&mut books);
    assert_eq!(books.states(), [Issued]);
    // Given back: the same.
    let mut books = kept(8, 5);
    books.release(0).expect("it is open");
    books.now += TimeDelta::days(1);
    expire(&mut books);
    assert_eq!(books.states(), [Released]);
}

#[test]
fn what_it_sets_free_opens_a_short_one() {
    let mut books = kept(8, 5);
    books.reservations[0].expires_at = Some(books.now + TimeDelta::hours(9));
    books.reserve(3).expect("three are nobody's");
    let bin = books.bins[0].id;
    books.discard(None, bin, 2).expect("eight are there");
    assert_eq!(books.states(), [Open, Short]);
    books.now += TimeDelta::days(1);
    expire(&mut books);
    assert_eq!(books.states(), [Expired, Open]);
}
