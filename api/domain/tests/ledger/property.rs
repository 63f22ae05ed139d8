//! Whatever is asked in whatever order: no level below zero where none may be, every lot sums to
//! zero, open reservations can be met, and the shelf that a match sees is the ledger's.

use std::collections::BTreeMap;

use chrono::TimeDelta;
use plugwell_domain::decimal::{Decimal, Length};
use plugwell_domain::ledger::commands::Issue;
use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::shelf::{OnShelf, ShelfTable};
use plugwell_domain::ledger::{Condition, PlaceKind, ReservationState};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, TestRunner};
use uuid::Uuid;

use crate::asked::{Answer, Asked, GAPS, ask, sequences};
use crate::books::{Books, TOLERANCE};

/// The part's place in the table.
const ORDINAL: u32 = 5;

/// What lots of a condition have in bins, by lot, worked out of the movements.
fn in_bins(books: &Books, sealed: bool) -> BTreeMap<Uuid, (Option<Length>, i64)> {
    let mut sums = BTreeMap::new();
    for ((lot_id, place_id), quantity) in books.levels() {
        let lot = books
            .lots
            .iter()
            .find(|l| l.id == lot_id)
            .expect("a known lot");
        let binned = books.place(place_id).kind == PlaceKind::Bin;
        if binned && sealed == (lot.condition == Condition::Sealed) {
            sums.entry(lot_id).or_insert((lot.gap_mm, 0)).1 += quantity;
        }
    }
    sums
}

fn reserved(books: &Books) -> i64 {
    books.reservations.iter().map(|r| r.open_quantity).sum()
}

/// What is kept from an issue that is asked for now: an hour passes before it is done.
fn kept(books: &Books, but: Option<Uuid>) -> i64 {
    let then = books.now + TimeDelta::hours(1);
    let keeps = books.reservations.iter().filter(|r| r.holds(then));
    keeps
        .filter(|r| Some(r.id) != but)
        .map(|r| r.open_quantity)
        .sum()
}

/// Sealed plugs and gapped ones near a wanted gap, less a reserved quantity, never below zero.
fn available(books: &Books, wanted: Option<Length>, reserved: i64) -> i64 {
    let near = |gap: Option<Length>| {
        gap.zip(wanted)
            .is_some_and(|(g, w)| (g.0 - w.0).abs() <= TOLERANCE.0)
    };
    let sealed: i64 = in_bins(books, true).values().map(|(_, q)| q).sum();
    let gapped: i64 = in_bins(books, false)
        .values()
        .filter(|(gap, _)| near(*gap))
        .map(|(_, q)| q)
        .sum();
    (sealed + gapped - reserved).max(0)
}

/// Issues, and compares with what the books say beforehand: an issue that names neither lot nor
/// bin goes exactly as far as available, and none makes anybody's reservation short.
pub fn judged_issue(books: &mut Books, issue: &Issue) -> Answer {
    let before = books.reservations.clone();
    let can = available(books, issue.gap_mm, kept(books, issue.reservation_id));
    let got = books.issue(issue);
    let free = issue.lot_id.is_none() && issue.place_id.is_none();
    match &got {
        Ok(plan) => {
            let taken: i64 = plan.movements.iter().map(|m| m.quantity).sum();
            assert_eq!(taken, issue.quantity);
            for (old, new) in before.iter().zip(&books.reservations) {
                let was_open = old.state == ReservationState::Open;
                assert!(
                    !was_open || new.state != ReservationState::Short,
                    "{issue:?} made {new:?} short"
                );
            }
            assert!(
                !free || issue.quantity <= can,
                "{issue:?} took more than {can}"
            );
        }
        Err(rejected) if rejected.rule == Rejection::NotEnoughStock => {
            assert!(rejected.available < Some(issue.quantity), "{rejected:?}");
            assert!(
                !free || rejected.available == Some(can),
                "{rejected:?}, yet {can} are available"
            );
        }
        Err(rejected) => assert!(
            !free || rejected.rule == Rejection::ReservationClosed,
            "{rejected:?}"
        ),
    }
    got
}

pub fn levels_hold(books: &Books) {
    let levels = books.levels();
    for ((lot, place), quantity) in &levels {
        let kind = books.place(*place).kind;
        let may = matches!(kind, PlaceKind::Supplier | PlaceKind::Difference);
        assert!(
            may || *quantity >= 0,
            "lot {lot} has {quantity} in a place of kind {kind}"
        );
    }
    for lot in &books.lots {
        let sum: i64 = levels
            .iter()
            .filter(|((id, _), _)| *id == lot.id)
            .map(|(_, q)| q)
            .sum();
        assert_eq!(sum, 0, "lot {} over all places", lot.id);
    }
}

pub fn reservations_hold(books: &Books) {
    let sealed: i64 = in_bins(books, true).values().map(|(_, q)| q).sum();
    let mut claimed = 0;
    let mut met = 0;
    for reservation in &books.reservations {
        let open = reservation.open_quantity;
        let issued = reservation.issued_quantity;
        assert!(open >= 0 && issued >= 0 && open + issued <= reservation.quantity);
        let whole = open + issued == reservation.quantity;
        let ended = matches!(
            reservation.state,
            ReservationState::Released | ReservationState::Expired
        );
        assert!(
            whole || ended,
            "{reservation:?}: what is neither kept nor out was given back"
        );
        match reservation.state {
            ReservationState::Open | ReservationState::Short => {
                assert!(open > 0, "{reservation:?} is finished");
                claimed += open;
                let can = claimed <= sealed;
                assert_eq!(
                    reservation.state == ReservationState::Open,
                    can,
                    "{reservation:?}, {sealed} sealed"
                );
                met += if can { open } else { 0 };
            }
            ReservationState::Issued | ReservationState::Released | ReservationState::Expired => {
                assert_eq!(open, 0);
            }
        }
    }
    assert!(met <= sealed, "{met} are promised of {sealed}");
}

/// What a match sees of the shelf is the ledger's, in numbers and in what is available of them.
fn shelf_holds(books: &Books, table: &mut ShelfTable, version: i64) {
    let on_shelf = OnShelf::of(&books.shelf(&[]));
    numbers_hold(books, &on_shelf);
    table_holds(&on_shelf, table, version);
    let (sealed, gapped) = (in_bins(books, true), in_bins(books, false));
    let lots: Vec<_> = sealed.into_values().chain(gapped.into_values()).collect();
    let steps = [-251, -250, 0, 250, 251];
    let near = GAPS
        .iter()
        .flat_map(|g| steps.map(|step| Length::exact(*g).map(|g| Decimal(g.0 + step))));
    for wanted in near.map(Result::ok).chain([None]) {
        let can = available(books, wanted, on_shelf.reserved);
        assert_eq!(on_shelf.available(wanted, TOLERANCE), can, "{wanted:?}");
        let level = table.level(ORDINAL);
        assert_eq!(level.at_most(), table.at_most(ORDINAL));
        assert!(level.at_most() >= can, "{wanted:?}");
        assert!(level.varies() || level.at_most() == can, "{wanted:?}");
        one_lot_holds(&lots, &on_shelf, wanted);
    }
}

fn numbers_hold(books: &Books, on_shelf: &OnShelf) {
    let (sealed, gapped) = (in_bins(books, true), in_bins(books, false));
    assert_eq!(
        on_shelf.sealed,
        sealed.values().map(|(_, q)| q).sum::<i64>()
    );
    assert_eq!(
        on_shelf.largest_sealed_lot,
        sealed.values().map(|(_, q)| *q).max().unwrap_or(0)
    );
    assert_eq!(on_shelf.reserved, reserved(books));
    let mut want: Vec<_> = gapped
        .values()
        .map(|(gap, q)| (gap.expect("a gapped lot has a gap"), *q))
        .collect();
    want.sort_unstable();
    assert_eq!(on_shelf.gapped, want);
    assert_eq!(
        on_shelf.on_hand(),
        on_shelf.sealed + want.iter().map(|(_, q)| q).sum::<i64>()
    );
}

/// Keeps the shelf in the table: under its own ordinal only, and the newest of it.
fn table_holds(on_shelf: &OnShelf, table: &mut ShelfTable, version: i64) {
    table.put(ORDINAL, version, on_shelf.clone());
    // A writer that finishes late does not bring an older state back.
    table.put(
        ORDINAL,
        version - 1,
        OnShelf {
            sealed: 1_000,
            ..OnShelf::default()
        },
    );
    assert_eq!(
        (table.get(ORDINAL), table.version(ORDINAL)),
        (on_shelf.clone(), version)
    );
    for other in [ORDINAL - 1, ORDINAL + 1] {
        assert_eq!(
            (table.get(other), table.at_most(other)),
            (OnShelf::default(), 0)
        );
    }
}

/// Whether one lot alone, of these with their gaps, is enough at a wanted gap.
fn one_lot_holds(lots: &[(Option<Length>, i64)], on_shelf: &OnShelf, wanted: Option<Length>) {
    for quantity in [1, 4, 8] {
        let enough = |(gap, q): &(Option<Length>, i64)| {
            let set = gap.is_none()
                || gap
                    .zip(wanted)
                    .is_some_and(|(g, w)| (g.0 - w.0).abs() <= TOLERANCE.0);
            set && *q >= quantity
        };
        let want = lots.iter().any(enough);
        assert_eq!(
            on_shelf.one_lot_enough(quantity, wanted, TOLERANCE),
            want,
            "{quantity} at {wanted:?}"
        );
    }
}

/// What is in the drum goes out only by a reversal.
fn drum(books: &Books) -> i64 {
    let levels = books.levels();
    levels
        .iter()
        .filter(|((_, place), _)| *place == books.scrap.id)
        .map(|(_, q)| q)
        .sum()
}

/// Runs a sequence and checks the books after every command; counts what was done by kind.
fn run(sequence: &[Asked], done: &mut BTreeMap<&'static str, u32>) {
    let mut books = Books::new();
    let mut table = ShelfTable::new();
    for (step, asked) in sequence.iter().enumerate() {
        let scrapped = drum(&books);
        let Some(got) = ask(&mut books, asked, judged_issue) else {
            continue;
        };
        let what = match (asked, &got) {
            (_, Err(_)) => "rejected",
            (Asked::Receive { .. }, _) => "receive",
            (
                Asked::Issue {
                    reservation: Some(_),
                    ..
                },
                _,
            ) => "draw",
            (Asked::Issue { .. }, _) => "issue",
            (Asked::GiveBack { .. }, Ok(plan)) if plan.movements.len() == 2 => {
                "return over the difference"
            }
            (Asked::GiveBack { .. }, _) => "return",
            (Asked::Transfer { .. }, _) => "transfer",
            (Asked::Discard { .. }, _) => "discard",
            (Asked::Reverse { .. }, Ok(plan)) if plan.movements.len() == 2 => "reverse a pair",
            (Asked::Reverse { .. }, _) => "reverse",
            (Asked::Reserve { .. }, _) => "reserve",
            (Asked::Release { .. }, _) => "release",
            (Asked::Expire, Ok(plan)) if plan.reservations.is_empty() => "nothing to expire",
            (Asked::Expire, _) => "expire",
        };
        *done.entry(what).or_default() += 1;
        let by_manager = matches!(
            asked,
            Asked::Reverse {
                manager: true,
                late: false,
                ..
            }
        );
        assert!(
            drum(&books) >= scrapped || by_manager,
            "{asked:?} took out of the drum"
        );
        levels_hold(&books);
        reservations_hold(&books);
        shelf_holds(&books, &mut table, step as i64 + 1);
        let short = books.states().contains(&ReservationState::Short);
        *done.entry("with a short reservation").or_default() += u32::from(short);
    }
}

proptest! {
    #![proptest_config(Config { cases: 300, failure_persistence: None, ..Config::default() })]

    #[test]
    fn the_books_hold_whatever_is_asked(sequence in sequences()) {
        run(&sequence, &mut BTreeMap::new());
    }
}

#[test]
fn the_sequences_reach_every_command() {
    let mut done = BTreeMap::new();
    let mut runner = TestRunner::deterministic();
    for _ in 0..400 {
        let sequence = sequences()
            .new_tree(&mut runner)
            .expect("a sequence")
            .current();
        run(&sequence, &mut done);
    }
    let kinds = [
        "receive",
        "issue",
        "draw",
        "return",
        "return over the difference",
        "transfer",
        "discard",
        "reverse",
        "reverse a pair",
        "reserve",
        "release",
        "expire",
        "rejected",
        "with a short reservation",
    ];
    for kind in kinds {
        let times = done.get(kind).copied().unwrap_or(0);
        assert!(times >= 10, "{kind}: {times} times in {done:?}");
    }
}
