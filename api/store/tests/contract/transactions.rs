use std::panic::AssertUnwindSafe;
use std::sync::atomic::{AtomicI64, Ordering};

use plugwell_domain::ledger::PlaceKind;
use plugwell_store::{Key, Store, StoreError};

use crate::made_up::{Shop, bare_plug, id, instant, moves, read, write};

#[derive(Debug, PartialEq)]
enum Refused {
    NotEnough(i64),
    Store(StoreError),
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

pub fn an_error_keeps_nothing(store: &Store) {
    let refused: Result<(), Refused> = store.write(|s| {
        s.insert_plug(&bare_plug("Ferrowick", "FW-1"))?;
        Err(Refused::NotEnough(3))
    });
    assert_eq!(refused, Err(Refused::NotEnough(3)));
    assert_eq!(read(store, |s| s.count_plugs()), 0);
    assert_eq!(store.health(), Ok(()));
}

pub fn a_read_is_one_state(store: &Store) {
    let counts = read(store, |s| {
        let before = s.count_plugs()?;
        write(store, |w| w.insert_plug(&bare_plug("Ferrowick", "FW-1")));
        Ok((before, s.count_plugs()?))
    });
    assert_eq!(counts, (0, 0));
    assert_eq!(read(store, |s| s.count_plugs()), 1);
    // And it cannot write.
    let refused: Result<u32, StoreError> =
        store.read(|s| s.insert_plug(&bare_plug("Ferrowick", "FW-2")));
    assert!(refused.is_err());
}

pub fn a_command_that_goes_on_after_an_error_is_not_kept(store: &Store) {
    write(store, |s| {
        s.insert_place(id(), PlaceKind::Bin, "Drawer", instant(0))
    });
    let outcome: Result<(), StoreError> = store.write(|s| {
        s.insert_plug(&bare_plug("Ferrowick", "FW-1"))?;
        let refused = s.insert_place(id(), PlaceKind::Bin, "drawer", instant(0));
        assert_eq!(
            refused,
            Err(StoreError::Duplicate {
                what: Key::PlaceName
            })
        );
        Ok(())
    });
    assert!(matches!(outcome, Err(StoreError::Fault(_))), "{outcome:?}");
    assert_eq!(read(store, |s| s.count_plugs()), 0);
}

pub fn values_come_after_the_commit(store: &Store) {
    let seen = AtomicI64::new(-1);
    let plug = bare_plug("Ferrowick", "FW-1");
    let ordinal: Result<u32, StoreError> = store.write_then(
        |s| s.insert_plug(&plug),
        |ordinal| {
            // Another connection sees it already.
            let found = read(store, |s| s.ordinal_of(plug.id));
            assert_eq!(found, Some(*ordinal));
            seen.store(i64::from(*ordinal), Ordering::SeqCst);
        },
    );
    assert_eq!(i64::from(ordinal.unwrap()), seen.load(Ordering::SeqCst));
    let refused: Result<(), StoreError> = store.write_then(
        |_| Err(StoreError::Busy),
        |()| seen.store(99, Ordering::SeqCst),
    );
    assert!(refused.is_err());
    assert_ne!(seen.load(Ordering::SeqCst), 99);
}

pub fn a_panic_keeps_nothing(store: &Store) {
    let panicked = std::panic::catch_unwind(AssertUnwindSafe(|| {
        store.write(|s| -> Result<(), StoreError> {
            s.insert_plug(&bare_plug("Ferrowick", "FW-1"))?;
            panic!("a slip in a command");
        })
    }));
    assert!(panicked.is_err());
    let panicked = std::panic::catch_unwind(AssertUnwindSafe(|| {
        store.read(|_| -> Result<(), StoreError> { panic!("a slip") })
    }));
    assert!(panicked.is_err());
    assert_eq!(read(store, |s| s.count_plugs()), 0);
    write(store, |s| s.insert_plug(&bare_plug("Ferrowick", "FW-1")));
    assert_eq!(read(store, |s| s.count_plugs()), 1);
}

pub fn the_last_set_goes_to_one(store: &Store) {
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 8);
    let outcomes: Vec<Result<(), Refused>> = std::thread::scope(|scope| {
        let callers: Vec<_> = (0..32)
            .map(|_| {
                scope.spawn(|| {
                    store.write(|s| {
                        let there = s
                            .shelf(shop.plug.id, &[])?
                            .holdings
                            .iter()
                            .map(|h| h.quantity)
                            .sum();
                        if there < 8 {
                            return Err(Refused::NotEnough(there));
                        }
                        s.apply(shop.plug.id, &moves(vec![shop.issue(&lot, 8)]))?;
                        Ok(())
                    })
                })
            })
            .collect();
        callers
            .into_iter()
            .map(|caller| caller.join().unwrap())
            .collect()
    });
    assert_eq!(outcomes.iter().filter(|o| o.is_ok()).count(), 1);
    assert_eq!(
        outcomes
            .iter()
            .filter(|o| **o == Err(Refused::NotEnough(0)))
            .count(),
        31
    );
    assert_eq!(read(store, |s| s.audit_levels()).differences, []);
}

/// Edits of one record from many threads, each over the version it read: none is lost.
pub fn edits_at_once_are_not_lost(store: &Store) {
    let plug = bare_plug("Ferrowick", "FW-1");
    write(store, |s| s.insert_plug(&plug));
    std::thread::scope(|scope| {
        for _ in 0..6 {
            scope.spawn(|| {
                write(store, |s| {
                    let mut mine = s.plug(plug.id)?.expect("it is not deleted yet");
                    mine.version += 1;
                    s.update_plug(&mine)
                });
            });
        }
    });
    assert_eq!(read(store, |s| s.plug(plug.id)).unwrap().version, 7);
    assert!(write(store, |s| s.delete_plug(plug.id)));
}
