use plugwell_domain::ledger::{Movement, Reservation};
use plugwell_store::{AuditReport, Difference, Store, Target};
use uuid::Uuid;

use crate::made_up::{Shop, bare_plug, moves, read, reservation, write};

/// A shop of one lot with eight in a bin and two in a job, a reservation, and what was issued.
struct Audited {
    shop: Shop,
    lot_id: Uuid,
    kept: Reservation,
    issue: Movement,
}

impl Audited {
    /// Set up, and found clean.
    fn clean(store: &Store) -> Self {
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
        Self {
            shop,
            lot_id: lot.id,
            kept,
            issue,
        }
    }

    /// What the audit says of the bin's level when it holds so many.
    fn level(&self, kept: i64) -> Difference {
        Difference::Level {
            lot_id: self.lot_id,
            place_id: self.shop.bin.id,
            kept,
            summed: 8,
        }
    }
}

/// The differences after some SQL past the store.
fn spoil(store: &Store, sql: &str) -> Vec<Difference> {
    behind_the_back(store, sql);
    read(store, |s| s.audit_levels()).differences
}

/// Differences that name the lot say so to people too.
fn names(lot_id: Uuid, differences: &[Difference]) {
    for difference in differences {
        assert!(difference.to_string().contains(&lot_id.to_string()));
    }
}

pub fn a_spoilt_level_is_found(store: &Store) {
    let audited = Audited::clean(store);
    let (lot_id, place_id) = (audited.lot_id, audited.shop.bin.id);
    let spoil_level = |change: &str| {
        let sql = format!("UPDATE levels SET {change} WHERE place_id = '{place_id}'");
        spoil(store, &sql)
    };
    let (level, sum) = (audited.level(9), Difference::Lot { lot_id, sum: 1 });
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
    let version = Difference::Version {
        lot_id,
        place_id,
        kept: 1,
        last: 2,
    };
    assert_eq!(spoil_level("version = 1"), [version]);
    names(lot_id, &[level, sum, copy, below, version]);
}

/// A level that is missing counts as none.
pub fn a_missing_level_is_found(store: &Store) {
    let audited = Audited::clean(store);
    let (lot_id, place_id) = (audited.lot_id, audited.shop.bin.id);
    let delete = format!("DELETE FROM levels WHERE place_id = '{place_id}'");
    assert!(spoil(store, &delete).contains(&audited.level(0)));
    let again = format!(
        "INSERT INTO levels (lot_id, place_id, plug_id, place_kind, quantity, version) \
         VALUES ('{lot_id}', '{place_id}', '{}', 'bin', 8, 2)",
        audited.shop.plug.id
    );
    assert_eq!(spoil(store, &again), []);
}

pub fn a_spoilt_movement_or_reservation_is_found(store: &Store) {
    let audited = Audited::clean(store);
    let other = bare_plug("Quillmark", "Q-1");
    write(store, |s| s.insert_plug(&other));
    let (lot_id, movement_id) = (audited.lot_id, audited.issue.id);
    let renamed =
        |plug| format!("UPDATE movements SET plug_id = '{plug}' WHERE id = '{movement_id}'");
    let part = Difference::Part {
        movement_id,
        lot_id,
    };
    assert_eq!(spoil(store, &renamed(other.id)), [part]);
    assert_eq!(spoil(store, &renamed(audited.shop.plug.id)), []);
    let finished = Difference::Reservation {
        id: audited.kept.id,
        open_quantity: 3,
    };
    let state = |state| format!("UPDATE reservations SET state = '{state}'");
    assert_eq!(spoil(store, &state("released")), [finished]);
    assert_eq!(spoil(store, &state("open")), []);
    names(lot_id, &[part]);
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
