//! Whatever happened before: once a lot is put aside nothing of its family can be seen or issued, and
//! whatever is decided leaves books that hold.

use plugwell_domain::ledger::aside::{SentBack, Settled, set_aside, settle};
use plugwell_domain::ledger::family::descended;
use plugwell_domain::ledger::rules::{Rejection, Wanted, picks_of_issue};
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::ledger::{Movement, MovementKind, PlaceKind};
use proptest::prelude::*;
use uuid::Uuid;

use crate::asked::{Asked, GAPS, ask, sequences};
use crate::books::{Books, TOLERANCE, mm};
use crate::property::{levels_hold, reservations_hold};

/// What a family has in places of a kind.
fn held(books: &Books, family: &[Uuid], kind: PlaceKind) -> i64 {
    let levels = books.levels();
    let own = levels
        .iter()
        .filter(|((lot, place), _)| family.contains(lot) && books.place(*place).kind == kind);
    own.map(|(_, quantity)| quantity).sum()
}

/// Puts a family aside.
fn put_aside(books: &mut Books, family: &[Uuid]) {
    let cage = books.quarantine.clone();
    books
        .act(&[], |_, shelf, act| {
            Ok(set_aside(shelf, family, &cage, act))
        })
        .expect("nothing bounds it");
}

/// Nothing of a family is in what a match or an issue sees of the shelf.
fn nothing_to_be_had(books: &Books, family: &[Uuid]) {
    assert_eq!(held(books, family, PlaceKind::Bin), 0);
    let shelf = books.shelf(&[]);
    let mut without = shelf.clone();
    without.holdings.retain(|h| !family.contains(&h.lot_id));
    without.lots.retain(|lot| !family.contains(&lot.id));
    assert_eq!(OnShelf::of(&shelf), OnShelf::of(&without));
    for gap in GAPS.iter().map(|gap| Some(mm(*gap))).chain([None]) {
        for lot_id in family.iter().copied().map(Some).chain([None]) {
            let wanted = Wanted {
                quantity: 50,
                gap_mm: gap,
                tolerance: TOLERANCE,
                lot_id,
                place_id: None,
                reservation_id: None,
            };
            let picks = picks_of_issue(&shelf, &wanted, books.now);
            assert!(picks.iter().all(|pick| !family.contains(&pick.lot_id)));
        }
    }
}

/// The receipt of a lot, and whether it was put right.
fn receipt_of(books: &Books, lot: Uuid) -> (Movement, bool) {
    let receipt = books
        .movements
        .iter()
        .find(|m| m.lot_id == lot && m.kind == MovementKind::Receipt);
    let receipt = receipt.expect("it was received").clone();
    let reversed = books
        .movements
        .iter()
        .any(|m| m.reverses == Some(receipt.id));
    (receipt, reversed)
}

/// Decides, and says how many the decision found.
fn decide(books: &mut Books, family: &[Uuid], decision: usize) {
    let there = held(books, family, PlaceKind::Quarantine);
    let others = books.levels();
    let (receipt, reversed) = receipt_of(books, family[0]);
    let lot = books.lots.iter().find(|lot| lot.id == family[0]).cloned();
    let lot = lot.expect("a lot of these books");
    let plan = books.act(&[], |books, shelf, act| {
        let settled = match decision {
            0 => Settled::Release(&books.bins[1]),
            1 => Settled::Scrap(&books.scrap, "wrong reach"),
            _ => Settled::SendBack(SentBack {
                lot: &lot,
                receipt: &receipt,
                reversed,
                supplier: &books.supplier,
                bin: &books.bins[0],
                difference: &books.difference,
                reason: "wrong reach",
            }),
        };
        settle(shelf, family, &books.quarantine, settled, act)
    });
    match plan {
        Ok(_) => assert_eq!(held(books, family, PlaceKind::Quarantine), 0),
        Err(refused) if decision == 2 && reversed => {
            assert_eq!(refused.rule, Rejection::AlreadyReversed);
        }
        Err(refused) => {
            assert!(decision > 0, "a release is never refused");
            assert_eq!((refused.rule, there), (Rejection::NotEnoughStock, 0));
        }
    }
    // Nobody else's plugs were touched.
    for ((lot, place), quantity) in books.levels() {
        if !family.contains(&lot) {
            assert_eq!(others.get(&(lot, place)), Some(&quantity));
        }
    }
}

/// Runs what happened before, puts a lot aside and decides; whether anything of a descendant lay in a bin.
fn run(sequence: &[Asked], which: usize, decision: usize) -> bool {
    let mut books = Books::new();
    for asked in sequence {
        _ = ask(&mut books, asked, |books, issue| books.issue(issue));
    }
    let received = books.lots.iter().filter(|lot| lot.from_lot_id.is_none());
    let mut roots: Vec<Uuid> = received.map(|lot| lot.id).collect();
    // Those with descendants in bins, if there are any.
    let in_bins = |id: &Uuid| {
        let family = descended(*id, &books.lots);
        held(&books, &family[1..], PlaceKind::Bin) > 0
    };
    if roots.iter().any(in_bins) {
        roots.retain(in_bins);
    }
    let Some(root) = roots.get(which % roots.len().max(1)).copied() else {
        return false;
    };
    let family = descended(root, &books.lots);
    let of_descendants = held(&books, &family[1..], PlaceKind::Bin);
    put_aside(&mut books, &family);
    nothing_to_be_had(&books, &family);
    levels_hold(&books);
    reservations_hold(&books);
    decide(&mut books, &family, decision);
    levels_hold(&books);
    reservations_hold(&books);
    of_descendants > 0
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_of_a_family_that_is_put_aside_is_to_be_had(
        sequence in sequences(), which in 0..100usize, decision in 0..3usize
    ) {
        run(&sequence, which, decision);
    }
}

#[test]
fn the_sequences_put_descendants_aside() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut seen = [0; 3];
    for number in 0..300 {
        let sequence = sequences().new_tree(&mut runner).expect("a sequence");
        let decision = number % 3;
        seen[decision] += usize::from(run(&sequence.current(), number / 3, decision));
    }
    assert!(seen.iter().all(|times| *times >= 5), "{seen:?}");
}
