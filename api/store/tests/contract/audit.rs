use plugwell_store::{AuditReport, Difference, Store, Target};

use crate::made_up::{Shop, bare_plug, moves, read, reservation, write};

pub fn every_kind_of_difference_is_found(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let kept = reservation(shop.plug.id, "Job 7", 3);
    let mut plan = moves(vec![shop.issue(&lot, 2)]);
    plan.reservations.push(kept.clone());
    let issue = shop.apply(store, &plan).movements.remove(0);
    let clean = AuditReport {
        movements: 2,
        levels: 3,
        lots: 1,
        reservations: 1,
        differences: vec![],
    };
    assert_eq!(read(store, |s| s.audit_levels()), clean);
    let other = bare_plug("Quillmark", "Q-1");
    write(store, |s| s.insert_plug(&other));

    let (lot_id, place_id) = (lot.id, shop.bin.id);
    let spoil_level = |change: &str| {
        let sql = format!("UPDATE levels SET {change} WHERE place_id = '{place_id}'");
        behind_the_back(store, &sql);
        read(store, |s| s.audit_levels()).differences
    };
    let (kept_there, summed) = (9, 8);
    let level = Difference::Level {
        lot_id,
        place_id,
        kept: kept_there,
        summed,
    };
    let sum = Difference::Lot { lot_id, sum: 1 };
    assert_eq!(spoil_level("quantity = 9"), [level, sum]);
    let copy = Difference::Copy { lot_id, place_id };
    assert_eq!(
        spoil_level("quantity = 8, place_kind = 'difference'"),
        [copy]
    );
    // Under a wrong kind it can go below zero, which the right kind forbids.
    let below = Difference::BelowZero {
        lot_id,
        place_id,
        quantity: -1,
    };
    assert!(spoil_level("quantity = -1").contains(&below));
    assert_eq!(spoil_level("quantity = 8, place_kind = 'bin'"), []);
    // A level that is missing counts as none.
    behind_the_back(
        store,
        &format!("DELETE FROM levels WHERE place_id = '{place_id}'"),
    );
    let missing = Difference::Level {
        lot_id,
        place_id,
        kept: 0,
        summed,
    };
    assert!(
        read(store, |s| s.audit_levels())
            .differences
            .contains(&missing)
    );
    let again = format!(
        "INSERT INTO levels (lot_id, place_id, plug_id, place_kind, quantity) \
         VALUES ('{lot_id}', '{place_id}', '{}', 'bin', 8)",
        shop.plug.id
    );
    behind_the_back(store, &again);

    let spoil = |sql: &str| {
        behind_the_back(store, sql);
        read(store, |s| s.audit_levels()).differences
    };
    let movement_id = issue.id;
    let renamed =
        |plug| format!("UPDATE movements SET plug_id = '{plug}' WHERE id = '{movement_id}'");
    let part = Difference::Part {
        movement_id,
        lot_id,
    };
    assert_eq!(spoil(&renamed(other.id)), [part]);
    assert_eq!(spoil(&renamed(shop.plug.id)), []);
    let finished = Difference::Reservation {
        id: kept.id,
        open_quantity: 3,
    };
    assert_eq!(
        spoil("UPDATE reservations SET state = 'released'"),
        [finished]
    );
    assert_eq!(spoil("UPDATE reservations SET state = 'open'"), []);
    for difference in [level, sum, copy, below, part] {
        assert!(difference.to_string().contains(&lot_id.to_string()));
    }
}

/// SQL past the store, as only a fault could do it.
fn behind_the_back(store: &Store, sql: &str) {
    use diesel::connection::SimpleConnection;
    use diesel::{Connection, PgConnection, SqliteConnection};
    match store.target() {
        Target::Sqlite(path) => SqliteConnection::establish(path.to_str().unwrap())
            .unwrap()
            .batch_execute(sql)
            .unwrap(),
        Target::Postgres(url) => PgConnection::establish(url)
            .unwrap()
            .batch_execute(sql)
            .unwrap(),
    }
}
