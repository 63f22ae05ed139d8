//! What an approval books: bin to difference account and back, bounded by what lies there.

use plugwell_domain::ledger::ReservationState::{Open, Short};
use plugwell_domain::ledger::counting::{Overtaken, Settled, settle};
use plugwell_domain::ledger::rules::Act;
use plugwell_domain::ledger::{MovementKind, Plan};
use uuid::Uuid;

use crate::books::Books;

/// Books differences as an approval does.
pub fn settled(books: &mut Books, differences: &[Settled]) -> Result<Plan, Vec<Overtaken>> {
    let mut last = 0x9000_0000 + books.movements.len() as u128 * 0x1000;
    let mut new_id = || {
        last += 1;
        Uuid::from_u128(last)
    };
    let mut act = Act {
        now: books.now,
        actor: "manager",
        new_id: &mut new_id,
    };
    let plan = settle(
        &books.shelf(&[]),
        differences,
        &books.difference,
        "count 1",
        &mut act,
    )?;
    books.apply(&plan);
    Ok(plan)
}

fn difference(books: &Books, lot: usize, bin: usize, difference: i64) -> Settled {
    Settled {
        lot: books.lots[lot].clone(),
        place_id: books.bins[bin].id,
        difference,
    }
}

#[test]
fn what_is_missing_goes_to_the_difference_account_and_what_is_found_comes_back() {
    let mut books = Books::with(&[10, 6]);
    let differences = [difference(&books, 0, 0, -3), difference(&books, 1, 0, 2)];
    let plan = settled(&mut books, &differences).expect("ten are there");
    let told: Vec<_> = plan
        .movements
        .iter()
        .map(|m| (m.kind, m.from_place_id, m.to_place_id, m.quantity))
        .collect();
    let (bin, account) = (books.bins[0].id, books.difference.id);
    let kind = MovementKind::Difference;
    assert_eq!(told, [(kind, bin, account, 3), (kind, account, bin, 2)]);
    assert!(
        plan.movements
            .iter()
            .all(|m| m.note.as_deref() == Some("count 1"))
    );
    assert_eq!(
        (
            books.level(0, &books.bins[0]),
            books.level(1, &books.bins[0])
        ),
        (7, 8)
    );
    assert_eq!(
        (
            books.level(0, &books.difference),
            books.level(1, &books.difference)
        ),
        (3, -2)
    );
}

#[test]
fn a_lot_that_has_nothing_left_anywhere_is_found_again() {
    let mut books = Books::with(&[4]);
    books.issued(4);
    assert!(books.shelf(&[]).lots.is_empty());
    let found = [difference(&books, 0, 1, 1)];
    settled(&mut books, &found).expect("nothing stands against it");
    assert_eq!(books.level(0, &books.bins[1]), 1);
}

#[test]
fn what_went_out_since_is_named_and_nothing_is_booked() {
    let mut books = Books::with(&[10, 6]);
    let differences = [
        difference(&books, 0, 0, -3),
        difference(&books, 1, 0, -6),
        difference(&books, 1, 1, -1),
    ];
    books.issued(8);
    let before = books.movements.len();
    let gone = settled(&mut books, &differences).expect_err("two are left of three");
    let overtaken = |lot: usize, bin: usize, missing, on_hand| Overtaken {
        lot_id: books.lots[lot].id,
        place_id: books.bins[bin].id,
        missing,
        on_hand,
    };
    assert_eq!(gone, [overtaken(0, 0, 3, 2), overtaken(1, 1, 1, 0)]);
    assert_eq!(books.movements.len(), before);
}

#[test]
fn reservations_that_can_no_longer_be_met_are_short_newest_first_and_open_again() {
    let mut books = Books::with(&[10]);
    for quantity in [5, 3, 2] {
        books.reserve(quantity).expect("ten are there");
    }
    let missing = [difference(&books, 0, 0, -1)];
    let plan = settled(&mut books, &missing).expect("bounded by what lies there only");
    assert_eq!(books.states(), [Open, Open, Short]);
    assert_eq!(plan.reservations.len(), 1, "only what changed is written");
    let missing = [difference(&books, 0, 0, -3)];
    settled(&mut books, &missing).expect("nine are there");
    assert_eq!(books.states(), [Open, Short, Short]);
    let found = [difference(&books, 0, 0, 4)];
    settled(&mut books, &found).expect("nothing stands against it");
    assert_eq!(books.states(), [Open, Open, Open]);
}

#[test]
fn a_difference_is_reversed_once() {
    let mut books = Books::with(&[10]);
    let missing = [difference(&books, 0, 0, -3)];
    let booked = settled(&mut books, &missing)
        .expect("ten are there")
        .movements[0]
        .id;
    let undone = books
        .reverse(booked, true)
        .expect("they are in the difference account");
    assert_eq!(undone.movements[0].reverses, Some(booked));
    assert_eq!(
        (
            books.level(0, &books.bins[0]),
            books.level(0, &books.difference)
        ),
        (10, 0)
    );
    books
        .reverse(booked, true)
        .expect_err("it was put right before");
}
