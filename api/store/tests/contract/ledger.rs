use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::{Lot, Movement, MovementKind, Place, Plan};
use plugwell_store::{Key, MovementFilter, Store, StoreError};

use crate::made_up::{Shop, gapped_lot, id, lot, moved, movement, moves, read, reservation, write};

pub fn a_plan_is_written(store: &Store) {
    let shop = Shop::set_up(store);
    let first = lot(shop.plug.id);
    let second = gapped_lot(shop.plug.id, first.id, 8128);
    let kind = MovementKind::Return;
    let mut back = movement(kind, &second, &shop.difference, &shop.bin, 2);
    back.reason = Some("reason".into());
    back.note = Some("note".into());
    back.job = Some("Job 7".into());
    back.dropped_by = Some("Odile".into());
    back.pair_id = Some(id());
    back.build_id = Some(id());
    back.odometer_km = Some(123_456);
    back.gap_mm = Some(Decimal(8128));
    let kept = reservation(shop.plug.id, "Job 7", 3);
    let plan = Plan {
        new_lots: vec![first.clone(), second.clone()],
        movements: vec![shop.receipt(&first, 10), back.clone()],
        reservations: vec![kept.clone()],
    };
    let applied = shop.apply(store, &plan);
    assert_eq!(applied.stock_version, 1);
    let coded = |lot: &Lot, code: &str| {
        let mut lot = lot.clone();
        lot.code = code.into();
        lot
    };
    assert_eq!(applied.lots, [coded(&first, "L1"), coded(&second, "L2")]);
    let mut numbered = plan.movements.clone();
    numbered[0].sequence = 1;
    numbered[1].sequence = 2;
    assert_eq!(applied.movements, numbered);
    for lot in applied.lots {
        assert_eq!(read(store, |s| s.lot(lot.id)), Some(lot.clone()));
        assert_eq!(read(store, |s| s.lot_by_code(&lot.code)), Some(lot));
    }
    for movement in numbered {
        assert_eq!(read(store, |s| s.movement(movement.id)), Some(movement));
    }
    assert_eq!(read(store, |s| s.reservation(kept.id)), Some(kept));
    assert_eq!(read(store, |s| s.reservation(id())), None);
    let next = shop.apply(store, &moves(vec![shop.issue(&first, 1)]));
    assert_eq!(next.stock_version, 2);
    let missing: Result<_, StoreError> = store.write(|s| s.apply(id(), &Plan::default()));
    assert!(matches!(missing, Err(StoreError::Fault(_))));
}

pub fn what_came_back(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let plan = moves(vec![shop.issue(&lot, 8)]);
    let issue = shop.apply(store, &plan).movements.remove(0);
    let came_back = || read(store, |s| s.returned_of(issue.id));
    assert_eq!(came_back(), 0);
    let answer = |kind, to: &Place, quantity| {
        let mut back = movement(kind, &lot, &shop.job, to, quantity);
        back.answers = Some(issue.id);
        back
    };
    let sealed = answer(MovementKind::Return, &shop.bin, 2);
    shop.apply(store, &moves(vec![sealed.clone()]));
    assert_eq!(came_back(), 2);
    let dropped = answer(MovementKind::Scrapping, &shop.scrap, 1);
    shop.apply(store, &moves(vec![dropped]));
    assert_eq!(came_back(), 3);
    // Set to a gap: over the difference account into a lot of its own, each plug counted once.
    let gapped = gapped_lot(shop.plug.id, lot.id, 8128);
    let kind = MovementKind::Return;
    let mut out = answer(kind, &shop.difference, 3);
    let mut into = movement(kind, &gapped, &shop.difference, &shop.bin, 3);
    let pair = id();
    into.answers = Some(issue.id);
    into.pair_id = Some(pair);
    out.pair_id = Some(pair);
    let mut plan = moves(vec![out, into]);
    plan.new_lots.push(gapped);
    let written = shop.apply(store, &plan);
    assert_eq!(came_back(), 6);
    assert_eq!(read(store, |s| s.pair(pair)), written.movements);
    assert_eq!(read(store, |s| s.pair(id())), []);
    // Put right since: does not count.
    let mut reversal = movement(MovementKind::Reversal, &lot, &shop.bin, &shop.job, 2);
    reversal.reverses = Some(sealed.id);
    shop.apply(store, &moves(vec![reversal.clone()]));
    assert_eq!(came_back(), 4);
    let found = read(store, |s| s.reversal_of(sealed.id));
    assert_eq!(found, Some(reversal.id));
    assert_eq!(read(store, |s| s.reversal_of(issue.id)), None);
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
}

pub fn a_movement_is_put_right_once(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let issue = shop.issue(&lot, 2);
    shop.apply(store, &moves(vec![issue.clone()]));
    shop.apply(store, &moves(vec![shop.issue(&lot, 2)]));
    let reversal = || {
        let mut reversal = movement(MovementKind::Reversal, &lot, &shop.job, &shop.bin, 2);
        reversal.reverses = Some(issue.id);
        moves(vec![reversal])
    };
    shop.apply(store, &reversal());
    let second = reversal();
    let refused = store.write(|s| s.apply(shop.plug.id, &second));
    let what = Key::Reversal;
    assert_eq!(refused, Err(StoreError::Duplicate { what }));
}

pub fn nothing_goes_below_zero(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let refused = |movement: Movement| {
        let plan = moves(vec![movement]);
        let outcome = store.write(|s| s.apply(shop.plug.id, &plan));
        assert!(matches!(outcome, Err(StoreError::Fault(_))), "{outcome:?}");
    };
    refused(shop.issue(&lot, 11));
    for place in [&shop.second_bin, &shop.job, &shop.quarantine, &shop.scrap] {
        refused(moved(&lot, place, &shop.bin, 1));
    }
    refused(moved(&lot, &shop.bin, &shop.bin, 1));
    refused(moved(&lot, &shop.bin, &shop.second_bin, 0));
    let found = movement(
        MovementKind::Difference,
        &lot,
        &shop.difference,
        &shop.bin,
        3,
    );
    shop.apply(store, &moves(vec![found]));
    shop.apply(store, &moves(vec![shop.issue(&lot, 13)]));
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
    let all = read(store, |s| {
        s.list_movements(&MovementFilter::default(), None, 9)
    });
    assert_eq!(all.len(), 3);
    // What is empty can be filled again.
    let mut reversal = movement(MovementKind::Return, &lot, &shop.job, &shop.bin, 13);
    reversal.answers = Some(all[2].id);
    shop.apply(store, &moves(vec![reversal]));
    let shelf = write(store, |s| s.shelf(shop.plug.id, &[shop.job.id]));
    let held: Vec<_> = shelf
        .holdings
        .iter()
        .map(|h| (h.place_id, h.quantity))
        .collect();
    assert_eq!(held, [(shop.bin.id, 13)]);
}
