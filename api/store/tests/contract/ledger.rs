use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::{
    Condition, Level, Lot, Movement, MovementKind, PlaceKind, Plan, ReservationState,
};
use plugwell_store::{
    AuditReport, Difference, Key, LevelFilter, LotFilter, MovementFilter, ReservationFilter, Store, StoreError,
    Target,
};

use crate::made_up::{Shop, gapped_lot, id, instant, lot, movement, moves, read, reservation, write};

pub fn a_plan_is_written(store: &Store) {
    let shop = Shop::set_up(store);
    let first = lot(shop.plug.id);
    let second = gapped_lot(shop.plug.id, first.id, 8128);
    let mut back = movement(MovementKind::Return, &second, &shop.difference, &shop.bin, 2);
    back.reason = Some("reason".into());
    back.note = Some("note".into());
    back.job = Some("Job 7".into());
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
    assert_eq!(applied.lots.iter().map(|l| l.code.as_str()).collect::<Vec<_>>(), ["L1", "L2"]);
    assert_eq!(applied.lots[1], Lot { code: "L2".into(), ..second });
    assert_eq!(applied.movements.iter().map(|m| m.sequence).collect::<Vec<_>>(), [1, 2]);
    assert_eq!(applied.movements[1], Movement { sequence: 2, ..back });
    for lot in &applied.lots {
        assert_eq!(read(store, |s| s.lot(lot.id)).as_ref(), Some(lot));
        assert_eq!(read(store, |s| s.lot_by_code(&lot.code)).as_ref(), Some(lot));
    }
    for movement in &applied.movements {
        assert_eq!(read(store, |s| s.movement(movement.id)).as_ref(), Some(movement));
    }
    assert_eq!(read(store, |s| s.reservation(kept.id)), Some(kept));
    assert_eq!(shop.apply(store, &moves(vec![shop.issue(&first, 1)])).stock_version, 2);
    let missing: Result<_, StoreError> = store.write(|s| s.apply(id(), &Plan::default()));
    assert!(matches!(missing, Err(StoreError::Fault(_))));
}

pub fn movements_are_listed_by_every_filter(store: &Store) {
    let shop = Shop::set_up(store);
    let other = Shop { plug: crate::made_up::bare_plug("Quillmark", "Q-1"), ..shop.clone() };
    write(store, |s| s.insert_plug(&other.plug));
    let lots = [shop.stocked(store, 10), shop.stocked(store, 10), other.stocked(store, 10)];
    shop.apply(store, &moves(vec![shop.issue(&lots[0], 1)]));
    other.apply(store, &moves(vec![movement(MovementKind::Transfer, &lots[2], &shop.bin, &shop.second_bin, 2)]));
    other.apply(store, &moves(vec![movement(MovementKind::Transfer, &lots[2], &shop.second_bin, &shop.bin, 2)]));
    let list = |filter: MovementFilter, after, limit| -> Vec<i64> {
        read(store, |s| s.list_movements(&filter, after, limit)).iter().map(|m| m.sequence).collect()
    };
    let all = MovementFilter::default;
    assert_eq!(list(all(), None, 9), [1, 2, 3, 4, 5, 6]);
    assert_eq!(list(all(), Some(2), 2), [3, 4]);
    assert_eq!(list(MovementFilter { plug_id: Some(other.plug.id), ..all() }, None, 9), [3, 5, 6]);
    assert_eq!(list(MovementFilter { lot_id: Some(lots[0].id), ..all() }, None, 9), [1, 4]);
    assert_eq!(list(MovementFilter { kind: Some(MovementKind::Transfer), ..all() }, None, 9), [5, 6]);
    assert_eq!(list(MovementFilter { job: Some("JOB 7".into()), ..all() }, None, 9), [4]);
    assert_eq!(list(MovementFilter { place_id: Some(shop.bin.id), ..all() }, None, 9), [1, 2, 3, 4, 5, 6]);
    assert_eq!(list(MovementFilter { place_id: Some(shop.bin.id), ..all() }, Some(2), 3), [3, 4, 5]);
    assert_eq!(list(MovementFilter { place_id: Some(shop.second_bin.id), ..all() }, None, 9), [5, 6]);
    let narrow = MovementFilter {
        place_id: Some(shop.bin.id),
        lot_id: Some(lots[2].id),
        kind: Some(MovementKind::Transfer),
        ..all()
    };
    assert_eq!(list(narrow, Some(5), 9), [6]);
    assert_eq!(list(MovementFilter { plug_id: Some(id()), ..all() }, None, 9), [0i64; 0]);
}

pub fn what_came_back(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let issue = shop.apply(store, &moves(vec![shop.issue(&lot, 8)])).movements.remove(0);
    let came_back = || read(store, |s| s.returned_of(issue.id));
    assert_eq!(came_back(), 0);
    let answer = |kind, to, quantity| {
        let mut back = movement(kind, &lot, &shop.job, to, quantity);
        back.answers = Some(issue.id);
        back
    };
    let sealed = answer(MovementKind::Return, &shop.bin, 2);
    shop.apply(store, &moves(vec![sealed.clone()]));
    assert_eq!(came_back(), 2);
    shop.apply(store, &moves(vec![answer(MovementKind::Scrapping, &shop.scrap, 1)]));
    assert_eq!(came_back(), 3);
    // Set to a gap: over the difference account into a lot of its own, each plug counted once.
    let gapped = gapped_lot(shop.plug.id, lot.id, 8128);
    let pair = id();
    let mut out = answer(MovementKind::Return, &shop.difference, 3);
    out.pair_id = Some(pair);
    let mut into = movement(MovementKind::Return, &gapped, &shop.difference, &shop.bin, 3);
    into.answers = Some(issue.id);
    into.pair_id = Some(pair);
    let written = shop.apply(store, &Plan { new_lots: vec![gapped], ..moves(vec![out, into]) });
    assert_eq!(came_back(), 6);
    assert_eq!(read(store, |s| s.pair(pair)), written.movements);
    assert_eq!(read(store, |s| s.pair(id())), []);
    // Put right since: does not count.
    let mut reversal = movement(MovementKind::Reversal, &lot, &shop.bin, &shop.job, 2);
    reversal.reverses = Some(sealed.id);
    shop.apply(store, &moves(vec![reversal.clone()]));
    assert_eq!(came_back(), 4);
    assert_eq!(read(store, |s| s.reversal_of(sealed.id)), Some(reversal.id));
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
    let refused = store.write(|s| s.apply(shop.plug.id, &reversal()));
    assert_eq!(refused, Err(StoreError::Duplicate { what: Key::Reversal }));
}

pub fn reservations(store: &Store) {
    let shop = Shop::set_up(store);
    let mut kept: Vec<_> = ["Job 7", "Job 8", "Job 7"].map(|job| reservation(shop.plug.id, job, 3)).into();
    kept[1].expires_at = Some(instant(50));
    // Made in another order than their ids run.
    kept[0].created_at = instant(20);
    let plan = |reservations| Plan { reservations, ..Plan::default() };
    shop.apply(store, &plan(kept.clone()));
    let list = |filter: ReservationFilter, after| read(store, |s| s.list_reservations(&filter, after, 9));
    let all = ReservationFilter::default;
    assert_eq!(list(all(), None), kept);
    assert_eq!(list(all(), Some(kept[0].id)), kept[1..]);
    assert_eq!(list(ReservationFilter { plug_id: Some(id()), ..all() }, None), []);
    assert_eq!(list(ReservationFilter { plug_id: Some(shop.plug.id), ..all() }, None), kept);
    assert_eq!(list(ReservationFilter { job: Some("job 8".into()), ..all() }, None), kept[1..2]);
    assert_eq!(list(ReservationFilter { expires_by: Some(instant(49)), ..all() }, None), []);
    assert_eq!(list(ReservationFilter { expires_by: Some(instant(50)), ..all() }, None), kept[1..2]);
    let waiting = || -> Vec<_> {
        read(store, |s| s.shelf(shop.plug.id, &[])).reservations.iter().map(|r| r.id).collect()
    };
    assert_eq!(waiting(), [kept[1].id, kept[2].id, kept[0].id]);
    kept[1].open_quantity = 0;
    kept[1].state = ReservationState::Issued;
    kept[1].version = 2;
    kept[2].state = ReservationState::Short;
    kept[2].version = 2;
    shop.apply(store, &plan(kept[1..].to_vec()));
    assert_eq!(list(all(), None), kept);
    assert_eq!(list(ReservationFilter { state: Some(ReservationState::Short), ..all() }, None), kept[2..]);
    assert_eq!(waiting(), [kept[2].id, kept[0].id]);
    // Over another version than it was read at: not written.
    kept[2].version = 5;
    assert!(store.write(|s| s.apply(shop.plug.id, &plan(kept[2..].to_vec()))).is_err());
    assert_eq!(read(store, |s| s.reservation(kept[2].id)).unwrap().version, 2);
}

pub fn nothing_goes_below_zero(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let refused = |movement: Movement| {
        let outcome = store.write(|s| s.apply(shop.plug.id, &moves(vec![movement.clone()])));
        assert!(matches!(outcome, Err(StoreError::Fault(_))), "{outcome:?}");
    };
    refused(shop.issue(&lot, 11));
    for place in [&shop.second_bin, &shop.job, &shop.quarantine, &shop.scrap] {
        refused(movement(MovementKind::Transfer, &lot, place, &shop.bin, 1));
    }
    refused(movement(MovementKind::Transfer, &lot, &shop.bin, &shop.bin, 1));
    refused(movement(MovementKind::Transfer, &lot, &shop.bin, &shop.second_bin, 0));
    let allowed = movement(MovementKind::Difference, &lot, &shop.difference, &shop.bin, 3);
    shop.apply(store, &moves(vec![allowed]));
    shop.apply(store, &moves(vec![shop.issue(&lot, 13)]));
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
    assert_eq!(read(store, |s| s.list_movements(&MovementFilter::default(), None, 9)).len(), 3);
}

pub fn lots_and_levels_are_listed(store: &Store) {
    let shop = Shop::set_up(store);
    let sealed = shop.stocked(store, 10);
    let gapped = gapped_lot(shop.plug.id, sealed.id, 8128);
    let into = movement(MovementKind::Return, &gapped, &shop.difference, &shop.bin, 4);
    let gapped = shop.apply(store, &Plan { new_lots: vec![gapped], ..moves(vec![into]) }).lots.remove(0);
    let lots = |filter: LotFilter, after| read(store, |s| s.list_lots(&filter, after, 9));
    let all = LotFilter::default;
    assert_eq!(lots(all(), None), [sealed.clone(), gapped.clone()]);
    assert_eq!(lots(all(), Some(sealed.id)), [gapped.clone()]);
    assert_eq!(lots(LotFilter { plug_id: Some(id()), ..all() }, None), []);
    assert_eq!(lots(LotFilter { code: Some("l2".into()), ..all() }, None), [gapped.clone()]);
    assert_eq!(lots(LotFilter { code: Some("drawer".into()), ..all() }, None), []);
    assert_eq!(lots(LotFilter { condition: Some(Condition::Sealed), ..all() }, None), [sealed.clone()]);

    // All of the gapped lot leaves the bin: a level of zero is not listed.
    let away = movement(MovementKind::Transfer, &gapped, &shop.bin, &shop.quarantine, 4);
    shop.apply(store, &moves(vec![away]));
    let level = |lot: &Lot, place_id, quantity| Level { plug_id: shop.plug.id, lot_id: lot.id, place_id, quantity };
    let mut expected = vec![
        level(&sealed, shop.supplier.id, -10),
        level(&sealed, shop.bin.id, 10),
        level(&gapped, shop.difference.id, -4),
        level(&gapped, shop.quarantine.id, 4),
    ];
    expected.sort_by_key(|l| (l.lot_id, l.place_id));
    let levels = |filter: LevelFilter, after| read(store, |s| s.list_levels(&filter, after, 9));
    let all = LevelFilter::default;
    assert_eq!(levels(all(), None), expected);
    let first = &expected[0];
    assert_eq!(levels(all(), Some((first.lot_id, first.place_id))), expected[1..]);
    assert_eq!(levels(LevelFilter { plug_id: Some(shop.plug.id), ..all() }, None), expected);
    assert_eq!(levels(LevelFilter { plug_id: Some(id()), ..all() }, None), []);
    assert_eq!(levels(LevelFilter { lot_id: Some(sealed.id), ..all() }, None).len(), 2);
    let in_bin = [level(&sealed, shop.bin.id, 10)];
    assert_eq!(levels(LevelFilter { place_id: Some(shop.bin.id), ..all() }, None), in_bin);
    assert_eq!(levels(LevelFilter { kind: Some(PlaceKind::Bin), ..all() }, None), in_bin);
}

pub fn the_audit_finds_every_kind_of_difference(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let kept = reservation(shop.plug.id, "Job 7", 3);
    let plan = Plan { reservations: vec![kept.clone()], ..moves(vec![shop.issue(&lot, 2)]) };
    let issue = shop.apply(store, &plan).movements.remove(0);
    let clean = AuditReport { movements: 2, levels: 3, lots: 1, reservations: 1, differences: vec![] };
    assert_eq!(read(store, |s| s.audit_levels()), clean);
    let other = crate::made_up::bare_plug("Quillmark", "Q-1");
    write(store, |s| s.insert_plug(&other));

    let spoil = |sql: &str| behind_the_back(store, sql);
    let found = || read(store, |s| s.audit_levels()).differences;
    spoil(&format!("UPDATE levels SET quantity = 9 WHERE place_id = '{}'", shop.bin.id));
    let level = Difference::Level { lot_id: lot.id, place_id: shop.bin.id, kept: 9, summed: 8 };
    assert_eq!(found(), [level, Difference::Lot { lot_id: lot.id, sum: 1 }]);
    spoil(&format!("UPDATE levels SET quantity = 8, place_kind = 'difference' WHERE place_id = '{}'", shop.bin.id));
    assert_eq!(found(), [Difference::Copy { lot_id: lot.id, place_id: shop.bin.id }]);
    // Under a wrong kind it can go below zero, which the right kind forbids.
    spoil(&format!("UPDATE levels SET quantity = -1 WHERE place_id = '{}'", shop.bin.id));
    let below = Difference::BelowZero { lot_id: lot.id, place_id: shop.bin.id, quantity: -1 };
    assert!(found().contains(&below), "{:?}", found());
    spoil(&format!("UPDATE levels SET quantity = 8, place_kind = 'bin' WHERE place_id = '{}'", shop.bin.id));
    spoil(&format!("UPDATE movements SET plug_id = '{}' WHERE id = '{}'", other.id, issue.id));
    assert_eq!(found(), [Difference::Part { movement_id: issue.id, lot_id: lot.id }]);
    spoil(&format!("UPDATE movements SET plug_id = '{}' WHERE id = '{}'", shop.plug.id, issue.id));
    spoil("UPDATE reservations SET state = 'released'");
    assert_eq!(found(), [Difference::Reservation { id: kept.id, open_quantity: 3 }]);
    spoil("UPDATE reservations SET state = 'open'");
    assert_eq!(found(), []);
    for difference in [level, below] {
        assert!(difference.to_string().contains(&lot.id.to_string()));
    }
}

/// SQL past the store, as only a fault could do it.
fn behind_the_back(store: &Store, sql: &str) {
    use diesel::connection::SimpleConnection;
    use diesel::{Connection, PgConnection, SqliteConnection};
    match store.target() {
        Target::Sqlite(path) => {
            SqliteConnection::establish(path.to_str().unwrap()).unwrap().batch_execute(sql).unwrap();
        }
        Target::Postgres(url) => PgConnection::establish(url).unwrap().batch_execute(sql).unwrap(),
    }
}
