//! Counts of bins, and the level that each line was held against.

use chrono::TimeDelta;
use plugwell_domain::instant::Period;
use plugwell_domain::ledger::counting::{
    ApprovedCount, Count, CountChoice, CountState, LevelAt, RecountLimits,
};
use plugwell_domain::ledger::{Lot, Money, MovementKind};
use plugwell_store::{CountFilter, Key, Store, StoreError};
use uuid::Uuid;

use crate::made_up::{Shop, id, instant, moved, movement, moves, read, write};

const LIMITS: RecountLimits = RecountLimits {
    plugs: 4,
    share: 0.1,
    cost_minor: 10_000,
};

fn begun(places: &[Uuid]) -> Count {
    Count {
        id: id(),
        state: CountState::Open,
        places: places.to_vec(),
        lines: Vec::new(),
        made_by: "test clerk".into(),
        approved_by: None,
        approved_at: None,
        reason: None,
        version: 1,
        created_at: instant(5),
        updated_at: instant(5),
    }
}

fn stored(store: &Store, places: &[Uuid]) -> Count {
    let count = begun(places);
    write(store, |s| s.insert_count(&count));
    read(store, |s| s.count(count.id)).expect("it was stored")
}

/// Counts the first line as so many, at this instant.
fn count_first(store: &Store, count: &mut Count, counted: i64, cost: Option<i64>, at: i64) {
    let line = &mut count.lines[0];
    let level = write(store, |s| {
        s.level_at(line.plug_id, line.lot_id, line.place_id)
    });
    line.count(counted, level, None, &LIMITS, "test clerk", instant(at));
    line.cost = cost.map(|minor| Money {
        minor,
        currency: "USD".into(),
    });
    count.version += 1;
    count.updated_at = instant(at);
    count.state = CountState::Counted;
    let changed = [count.lines[0].key()];
    write(store, |s| s.update_count(count, &changed));
}

fn approve(store: &Store, count: &mut Count, at: i64) {
    count.version += 1;
    count.state = CountState::Approved;
    count.approved_by = Some("test manager".into());
    count.approved_at = Some(instant(at));
    count.reason = Some("seen by two".into());
    let changed: Vec<_> = count.lines.iter().map(|line| line.key()).collect();
    write(store, |s| s.update_count(count, &changed));
}

pub fn a_count_is_kept(store: &Store) {
    let shop = Shop::set_up(store);
    let (first, second) = (shop.stocked(store, 10), shop.stocked(store, 4));
    shop.apply(
        store,
        &moves(vec![moved(&second, &shop.bin, &shop.second_bin, 1)]),
    );
    let mut count = stored(store, &[shop.second_bin.id, shop.bin.id]);
    // In the order of the numbers of bins and lots.
    assert_eq!(count.places, [shop.bin.id, shop.second_bin.id]);
    let keys: Vec<_> = count.lines.iter().map(|line| line.key()).collect();
    let wanted = [
        (first.id, shop.bin.id),
        (second.id, shop.bin.id),
        (second.id, shop.second_bin.id),
    ];
    assert_eq!(keys, wanted);
    assert!(
        count
            .lines
            .iter()
            .all(|line| line.on_sheet && line.tally.is_none())
    );
    count_first(store, &mut count, 2, Some(77), 6);
    count_first(store, &mut count, 9, Some(78), 7);
    // A lot that the sheet lacks.
    let mut found = count.lines[0].clone();
    (found.place_id, found.place_number, found.on_sheet) = (shop.second_bin.id, 4, false);
    let key = found.key();
    count.lines.insert(2, found);
    count.version += 1;
    write(store, |s| s.update_count(&count, &[key]));
    let again = read(store, |s| s.count(count.id)).expect("it is there");
    let place = |line: usize| again.lines[line].place_number;
    assert!(place(0) == place(1) && place(2) == place(3) && place(1) < place(2));
    let numbers: Vec<_> = again.lines.iter().map(|line| line.lot_number).collect();
    assert_eq!(numbers, [1, 2, 1, 2]);
    count
        .lines
        .iter_mut()
        .zip(&again.lines)
        .for_each(|(own, kept)| own.place_number = kept.place_number);
    assert_eq!(again, count);
    approve(store, &mut count, 9);
    let closed = read(store, |s| s.count(count.id)).expect("it is there");
    assert_eq!(closed, count);
    // A stale state is not written over it.
    let stale = store.write(|s| s.update_count(&count, &[]));
    assert!(
        matches!(stale, Err(StoreError::Busy | StoreError::Fault(_))),
        "{stale:?}"
    );
    let missing = read(store, |s| s.count(id()));
    assert_eq!(missing, None);
    let listed = read(store, |s| s.list_counts(&CountFilter::default(), None, 9));
    let told = (
        listed[0].id,
        listed[0].line_count,
        listed[0].counted_lines,
        listed[0].recount_lines,
    );
    assert_eq!(told, (count.id, 4, 2, Some(0)));
    assert_eq!(listed[0].places, count.places);
}

pub fn a_bin_is_counted_once_at_a_time(store: &Store) {
    let shop = Shop::set_up(store);
    shop.stocked(store, 10);
    let mut first = stored(store, &[shop.bin.id]);
    let both = begun(&[shop.second_bin.id, shop.bin.id]);
    let refused = store.write(|s| s.insert_count(&both));
    let what = Key::CountedPlace;
    assert_eq!(refused, Err(StoreError::Duplicate { what }));
    let taken = read(store, |s| s.being_counted(&both.places));
    assert_eq!(taken, [(shop.bin.id, first.id)]);
    let chosen = |choice| read(store, |s| s.bins_to_count(choice, 9));
    // The second bin holds nothing, the first is being counted.
    assert!(chosen(CountChoice::LongestUncounted).is_empty());
    count_first(store, &mut first, 10, None, 6);
    first.version += 1;
    first.state = CountState::Withdrawn;
    write(store, |s| s.update_count(&first, &[]));
    assert_eq!(chosen(CountChoice::MostMoved), [shop.bin.id]);
    write(store, |s| s.insert_count(&both));
    let of = |state, place_id| {
        let filter = CountFilter { state, place_id };
        let found = read(store, |s| s.list_counts(&filter, None, 9));
        found.into_iter().map(|head| head.id).collect::<Vec<_>>()
    };
    assert_eq!(of(None, None), [both.id, first.id], "the newest first");
    assert_eq!(of(None, Some(shop.second_bin.id)), [both.id]);
    assert_eq!(
        of(Some(CountState::Withdrawn), Some(shop.bin.id)),
        [first.id]
    );
    let behind = read(store, |s| {
        s.list_counts(&CountFilter::default(), Some(both.id), 9)
    });
    assert_eq!(behind.len(), 1);
}

pub fn a_level_names_its_last_movement(store: &Store) {
    let shop = Shop::set_up(store);
    let lot: Lot = shop.stocked(store, 10);
    let at = |place: Uuid| read(store, |s| s.level_at(shop.plug.id, lot.id, place));
    let level = |quantity, version| LevelAt { quantity, version };
    assert_eq!(
        (at(shop.bin.id), at(shop.second_bin.id)),
        (level(10, 1), level(0, 0))
    );
    shop.apply(
        store,
        &moves(vec![moved(&lot, &shop.bin, &shop.second_bin, 10)]),
    );
    // An empty level has no row, and still its last movement.
    assert_eq!(
        (at(shop.bin.id), at(shop.second_bin.id)),
        (level(0, 2), level(10, 2))
    );
    let there_and_back = vec![
        moved(&lot, &shop.second_bin, &shop.bin, 4),
        moved(&lot, &shop.second_bin, &shop.bin, 1),
    ];
    shop.apply(store, &moves(there_and_back));
    assert_eq!(
        (at(shop.bin.id), at(shop.second_bin.id)),
        (level(5, 4), level(5, 4))
    );
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
}

/// What a count found of which nothing more is said.
fn sum(at: i64, lines: i64, expected: i64) -> ApprovedCount {
    ApprovedCount {
        approved_at: instant(at),
        lines,
        exact_lines: 0,
        expected,
        missing: 0,
        found: 0,
        missing_minor: 0,
        found_minor: 0,
        without_cost: 0,
        reversed_lines: 0,
    }
}

pub fn approved_counts_are_summed_up(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let sums = |period| read(store, |s| s.approved_counts(period));
    let mut first = stored(store, &[shop.bin.id]);
    count_first(store, &mut first, 7, Some(33), 6);
    assert_eq!(sums(Period::default()), [], "nothing is approved");
    let booked = movement(
        MovementKind::Difference,
        &lot,
        &shop.bin,
        &shop.difference,
        3,
    );
    shop.apply(store, &moves(vec![booked.clone()]));
    first.lines[0].movement_id = Some(booked.id);
    approve(store, &mut first, 10);
    let mut second = stored(store, &[shop.bin.id]);
    count_first(store, &mut second, 8, None, 11);
    approve(store, &mut second, 20);
    let empty = Count {
        approved_by: None,
        ..stored(store, &[shop.second_bin.id])
    };
    approve(store, &mut empty.clone(), 30);
    let one_missing = ApprovedCount {
        missing: 3,
        missing_minor: 33,
        ..sum(10, 1, 10)
    };
    let one_found = ApprovedCount {
        found: 1,
        without_cost: 1,
        ..sum(20, 1, 7)
    };
    assert_eq!(
        sums(Period::default()),
        [one_missing, one_found, sum(30, 0, 0)]
    );
    let behind = |micros| Some(instant(10) + TimeDelta::microseconds(micros));
    let within = |from, to| sums(Period { from, to }).len();
    assert_eq!(
        (
            within(behind(0), behind(10)),
            within(behind(1), None),
            within(None, behind(0))
        ),
        (1, 2, 0)
    );
    // Put right since: counts as none.
    let mut undone = movement(MovementKind::Reversal, &lot, &shop.difference, &shop.bin, 3);
    undone.reverses = Some(booked.id);
    shop.apply(store, &moves(vec![undone]));
    let put_right = ApprovedCount {
        exact_lines: 1,
        reversed_lines: 1,
        ..sum(10, 1, 10)
    };
    assert_eq!(sums(Period::default())[0], put_right);
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
}
