//! A count amid other commands: what is booked of a line is what was counted less its level at the
//! instant of counting, whatever came before and after.

use std::collections::BTreeMap;

use plugwell_domain::ledger::counting::{CountLine, LevelAt, Settled};
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::ledger::{MovementKind, ReservationState};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, TestRunner};

use crate::asked::{Asked, ask, asked};
use crate::books::{Books, TOLERANCE};
use crate::counting::{LIMITS, line};
use crate::property::{judged_issue, levels_hold, reservations_hold};
use crate::settling::settled;

/// What happens in the stock room.
#[derive(Debug, Clone)]
enum Step {
    /// Any command.
    Command(Asked),
    /// A lot in a bin is counted: so many more or fewer than its level, or not at all.
    Count { lot: usize, bin: usize, off: i64 },
}

/// Steps, and whether everything that is left is reserved before the count is approved.
fn steps() -> impl Strategy<Value = (Vec<Step>, bool)> {
    let count = (0..100usize, 0..2usize, -4..4i64);
    let step = prop_oneof![
        3 => asked().prop_map(Step::Command),
        1 => count.prop_map(|(lot, bin, off)| Step::Count { lot, bin, off }),
    ];
    (proptest::collection::vec(step, 1..60), any::<bool>())
}

/// The sum of what moved into and out of a place of a lot in the first so many movements.
fn summed(books: &Books, lot: usize, bin: usize, movements: usize) -> i64 {
    let (lot, bin) = (books.lots[lot].id, books.bins[bin].id);
    let own = books.movements[..movements]
        .iter()
        .filter(|m| m.lot_id == lot);
    own.map(|m| match (m.to_place_id == bin, m.from_place_id == bin) {
        (true, _) => m.quantity,
        (_, true) => -m.quantity,
        _ => 0,
    })
    .sum()
}

/// The place of the last movement that concerns a lot in a bin, counted from 1.
fn version(books: &Books, lot: usize, bin: usize) -> i64 {
    let (lot, bin) = (books.lots[lot].id, books.bins[bin].id);
    let concerns = |m: &plugwell_domain::ledger::Movement| {
        m.lot_id == lot && (m.from_place_id == bin || m.to_place_id == bin)
    };
    let last = books.movements.iter().rposition(concerns);
    last.map_or(0, |place| place as i64 + 1)
}

fn count(
    books: &Books,
    lines: &mut BTreeMap<(usize, usize), (CountLine, i64)>,
    lot: usize,
    bin: usize,
    off: i64,
) {
    let level = summed(books, lot, bin, books.movements.len());
    let counted = (level + off).max(0);
    let key = (books.lots[lot].id, books.bins[bin].id);
    let entry = lines
        .entry((lot, bin))
        .or_insert_with(|| (line(key.0, key.1), 0));
    let level_at = LevelAt {
        quantity: level,
        version: version(books, lot, bin),
    };
    entry
        .0
        .count(counted, level_at, None, &LIMITS, "clerk", books.now);
    entry.1 = counted - level;
}

/// Runs the steps, then approves; counts what came about.
fn run((steps, reserved): &(Vec<Step>, bool), done: &mut BTreeMap<&'static str, u32>) {
    let mut books = Books::new();
    let mut lines = BTreeMap::new();
    for step in steps {
        match step {
            Step::Command(asked) => {
                ask(&mut books, asked, judged_issue);
            }
            Step::Count { lot, bin, off } if !books.lots.is_empty() => {
                let lot = lot % books.lots.len();
                count(&books, &mut lines, lot, *bin, *off);
            }
            Step::Count { .. } => {}
        }
    }
    for ((lot, bin), (line, wanted)) in &lines {
        let tally = line.tally.as_ref().expect("it was counted");
        assert_eq!(line.difference(), *wanted);
        let then = usize::try_from(tally.level_version).expect("a place");
        assert_eq!(
            summed(&books, *lot, *bin, then),
            tally.expected,
            "recomputed from the movements"
        );
    }
    let left = OnShelf::of(&books.shelf(&[])).available(None, TOLERANCE);
    if *reserved && left > 0 {
        books.reserve(left).expect("it is available");
    }
    approve(&mut books, &lines, done);
    levels_hold(&books);
    reservations_hold(&books);
}

fn approve(
    books: &mut Books,
    lines: &BTreeMap<(usize, usize), (CountLine, i64)>,
    done: &mut BTreeMap<&'static str, u32>,
) {
    let off: Vec<_> = lines
        .iter()
        .filter(|(_, (line, _))| line.difference() != 0)
        .collect();
    let differences: Vec<Settled> = off
        .iter()
        .map(|((lot, _), (line, _))| Settled {
            lot: books.lots[*lot].clone(),
            place_id: line.place_id,
            difference: line.difference(),
        })
        .collect();
    let levels: Vec<i64> = off
        .iter()
        .map(|((lot, bin), _)| books.level(*lot, &books.bins[*bin]))
        .collect();
    let before = books.movements.len();
    let short = |books: &Books| {
        books
            .states()
            .iter()
            .filter(|s| **s == ReservationState::Short)
            .count()
    };
    let (was_short, outcome) = (short(books), settled(books, &differences));
    let cannot: Vec<_> = off
        .iter()
        .zip(&levels)
        .filter(|((_, (line, _)), level)| line.difference() + **level < 0)
        .map(|((_, (line, _)), _)| line.key())
        .collect();
    match outcome {
        Err(gone) => {
            *done.entry("overtaken").or_default() += 1;
            let named: Vec<_> = gone
                .iter()
                .map(|line| (line.lot_id, line.place_id))
                .collect();
            assert_eq!(named, cannot, "all of them, and no other");
            assert_eq!(books.movements.len(), before, "nothing half done");
        }
        Ok(plan) => {
            assert!(cannot.is_empty(), "{cannot:?} went below zero");
            assert_eq!(plan.movements.len(), off.len());
            for ((((lot, bin), (_, wanted)), level), movement) in
                off.iter().zip(&levels).zip(&plan.movements)
            {
                assert_eq!(
                    (movement.kind, movement.quantity),
                    (MovementKind::Difference, wanted.abs())
                );
                assert_eq!(books.level(*lot, &books.bins[*bin]), level + wanted);
                let what = if *wanted < 0 { "missing" } else { "found" };
                *done.entry(what).or_default() += 1;
            }
            *done.entry("made short").or_default() += u32::from(short(books) > was_short);
        }
    }
}

proptest! {
    #![proptest_config(Config { cases: 300, failure_persistence: None, ..Config::default() })]

    #[test]
    fn the_difference_is_that_of_the_instant_of_counting(steps in steps()) {
        run(&steps, &mut BTreeMap::new());
    }
}

#[test]
fn the_steps_reach_every_outcome() {
    let mut done = BTreeMap::new();
    let mut runner = TestRunner::deterministic();
    for _ in 0..300 {
        let steps = steps().new_tree(&mut runner).expect("steps").current();
        run(&steps, &mut done);
    }
    for what in ["missing", "found", "overtaken", "made short"] {
        let times = done.get(what).copied().unwrap_or(0);
        assert!(times >= 10, "{what}: {times} times in {done:?}");
    }
}
