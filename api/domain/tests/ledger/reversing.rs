//! An error is put right by the opposite movement, whatever its kind; scrap hardly ever.

use chrono::TimeDelta;
use plugwell_domain::ledger::commands::Return;
use plugwell_domain::ledger::rules::{self, Act, Rejection, ScrapSlip};
use plugwell_domain::ledger::{Movement, MovementKind, Returned};
use uuid::Uuid;

use crate::asking::return_of;
use crate::books::{Books, SLIP, mm};

/// Makes the movement that is to be reversed, after the levels that it is to lead back to.
type Wrong = fn(&mut Books) -> Vec<Movement>;

fn gapped_return(books: &mut Books) -> Vec<Movement> {
    let issue = books.movements[1].id;
    let back = Return {
        gap_mm: Some(mm(0.81)),
        ..return_of(issue, 2, Returned::Gapped, &books.bins[0])
    };
    books.give_back(&back).expect("four are out").movements
}

/// Counting found one less in the bin, or one more.
fn difference(books: &mut Books, less: bool) -> Vec<Movement> {
    let (bin, account) = (books.bins[0].id, books.difference.id);
    let (from_place_id, to_place_id) = if less { (bin, account) } else { (account, bin) };
    let movement = Movement {
        id: Uuid::from_u128(0xd1ff),
        kind: MovementKind::Difference,
        from_place_id,
        to_place_id,
        quantity: 1,
        ..books.movements[0].clone()
    };
    books.movements.push(movement.clone());
    vec![movement]
}

const WRONG: &[(&str, Wrong)] = &[
    ("receipt", |books| {
        books.receive(1, 5, None);
        books.movements[books.movements.len() - 1..].to_vec()
    }),
    ("issue", |books| books.issued(3)),
    ("sealed return", |books| {
        let back = return_of(books.movements[1].id, 2, Returned::Sealed, &books.bins[1]);
        books.give_back(&back).expect("four are out").movements
    }),
    ("gapped return", gapped_return),
    ("fitted return", |books| {
        let back = return_of(books.movements[1].id, 2, Returned::Fitted, &books.bins[1]);
        books.give_back(&back).expect("four are out").movements
    }),
    ("transfer", |books| {
        let (from, to) = (books.bins[0].id, books.quarantine.id);
        books
            .transfer(0, from, to, 3)
            .expect("eight are there")
            .movements
    }),
    ("scrapping", |books| {
        let bin = books.bins[0].id;
        books
            .discard(None, bin, 2)
            .expect("eight are there")
            .movements
    }),
    ("counted less", |books| difference(books, true)),
    ("counted more", |books| difference(books, false)),
];

/// Eight in the first bin, four out with the first job.
fn begun() -> Books {
    let mut books = Books::with(&[12]);
    books.issued(4);
    books
}

#[test]
fn a_reversal_of_any_kind_leads_back_to_where_it_was() {
    for (what, wrong) in WRONG {
        let mut books = begun();
        let before = books.levels();
        let originals = wrong(&mut books);
        assert_ne!(books.levels(), before, "{what}");
        let plan = books.reverse(originals[0].id, true).expect(what);
        assert_eq!(books.levels(), before, "{what}");
        assert_eq!(plan.movements.len(), originals.len(), "{what}");
        for (reversal, original) in plan.movements.iter().zip(originals.iter().rev()) {
            assert_eq!(reversal.kind, MovementKind::Reversal, "{what}");
            assert_eq!(reversal.reverses, Some(original.id), "{what}");
            assert_eq!(
                (reversal.from_place_id, reversal.to_place_id),
                (original.to_place_id, original.from_place_id)
            );
            assert_eq!(
                (reversal.lot_id, reversal.quantity),
                (original.lot_id, original.quantity),
                "{what}"
            );
            assert_eq!(reversal.reason.as_deref(), Some("wrong scan"), "{what}");
            assert_eq!(reversal.job, original.job, "{what}");
            let refused = books.reverse(reversal.id, true).unwrap_err();
            assert_eq!(refused.rule, Rejection::ReversalIsFinal, "{what}");
        }
        assert_eq!(
            books.reverse(originals[0].id, true).unwrap_err().rule,
            Rejection::AlreadyReversed,
            "{what}"
        );
    }
}

#[test]
fn either_of_a_pair_stands_for_both() {
    for named in [0, 1] {
        let mut books = begun();
        let before = books.levels();
        let pair = gapped_return(&mut books);
        let plan = books
            .reverse(pair[named].id, false)
            .expect("both are where they went");
        assert_eq!(books.levels(), before);
        let [first, second] = &plan.movements[..] else {
            panic!("two movements: {plan:?}")
        };
        assert!(first.pair_id.is_some() && first.pair_id == second.pair_id);
        assert_ne!(first.pair_id, pair[0].pair_id);
        assert_eq!(
            books.reverse(pair[1 - named].id, false).unwrap_err().rule,
            Rejection::AlreadyReversed
        );
        assert_eq!(
            books.returned(books.movements[1].id),
            0,
            "what was put right can come back anew"
        );
        gapped_return(&mut books);
    }
}

#[test]
fn only_a_manager_reverses_scrap_and_only_in_time() {
    let hour = TimeDelta::hours(1);
    // Who, how long after the scrapping, whether it goes.
    let cases = [
        (false, hour, false),
        (true, hour, true),
        (true, SLIP, true),
        (true, SLIP + TimeDelta::microseconds(1), false),
        (false, SLIP + hour, false),
    ];
    for kind in ["scrapping", "fitted return"] {
        let (_, scrap) = WRONG
            .iter()
            .find(|(what, _)| *what == kind)
            .expect("a kind of the table");
        for (manager, after, goes) in cases {
            let mut books = begun();
            let wrong = scrap(&mut books)[0].id;
            // An hour passes with the reversal itself.
            books.now += after - hour;
            let got = books
                .reverse(wrong, manager)
                .map(|_| ())
                .map_err(|r| r.rule);
            let want = if goes {
                Ok(())
            } else {
                Err(Rejection::ScrapIsFinal)
            };
            assert_eq!(got, want, "{kind}: manager {manager}, {after} after");
        }
    }
}

#[test]
fn what_has_gone_on_cannot_be_put_right() {
    let mut books = Books::with(&[8]);
    let receipt = books.movements[0].id;
    books.issued(3);
    let refused = books.reverse(receipt, true).unwrap_err();
    assert_eq!(
        (refused.rule, refused.available, refused.on_hand),
        (Rejection::NotEnoughStock, Some(5), Some(5))
    );
    // Of a pair the new lot is out again: neither half is put right.
    let mut books = begun();
    let pair = gapped_return(&mut books);
    let bin = books.bins[0].id;
    books.discard(Some(1), bin, 1).expect("two are there");
    let before = books.levels();
    let refused = books.reverse(pair[0].id, true).unwrap_err();
    assert_eq!(
        (refused.rule, refused.available),
        (Rejection::NotEnoughStock, Some(1))
    );
    assert_eq!(books.levels(), before);
}

#[test]
fn a_reversal_is_bounded_by_the_shelf_and_not_by_reservations() {
    use plugwell_domain::ledger::ReservationState::{Open, Short};
    let mut books = Books::with(&[4]);
    books.receive(0, 4, None);
    books.reserve(6).expect("eight are there");
    let second = books.movements[1].id;
    books
        .reverse(second, false)
        .expect("the shelf is the truth");
    assert_eq!(books.states(), [Short]);
    let receipt = books.receive(0, 2, None);
    assert_eq!((receipt, books.states()), (2, vec![Open]));
}

#[test]
fn half_a_pair_is_never_put_right() {
    let mut books = begun();
    let pair = gapped_return(&mut books);
    let also: Vec<Uuid> = books.places().iter().map(|p| p.id).collect();
    let places = [books.bins[0].clone(), books.difference.clone()];
    let mut new_id = Uuid::nil;
    let mut act = Act {
        now: books.now,
        actor: "counter",
        new_id: &mut new_id,
    };
    let slip = ScrapSlip {
        manager: true,
        within: SLIP,
    };
    let plan = rules::reverse(
        &books.shelf(&also),
        &pair,
        false,
        &places,
        "wrong scan",
        slip,
        &mut act,
    );
    assert!(plan.is_err(), "the job was not handed in: {plan:?}");
}

#[test]
fn the_difference_account_may_go_below_zero() {
    let mut books = begun();
    let pair = gapped_return(&mut books);
    // The account shows two of the old lot; counting finds three more of it in the bin.
    for id in 0..3 {
        let mut found = difference(&mut books, false).remove(0);
        books.movements.pop();
        found.id = Uuid::from_u128(0xd100 + id);
        books.movements.push(found);
    }
    assert_eq!(books.level(0, &books.difference), -1);
    books
        .reverse(pair[0].id, false)
        .expect("the account is no shelf");
    assert_eq!(books.level(0, &books.difference), -3);
}
