//! Very many records in a transaction of their own.

use std::panic::AssertUnwindSafe;
use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::time::Duration;

use plugwell_domain::plug::Plug;
use plugwell_store::{Key, MarkKind, Store, StoreError, Turn};

use crate::made_up::{bare_plug, full_plug, read, write};

/// More than one statement takes.
const MANY: usize = 150;

fn parts() -> Vec<Plug> {
    (0..MANY)
        .map(|n| {
            let name = format!("FW-{n:03}");
            if n % 2 == 0 {
                full_plug("Ferrowick", &name)
            } else {
                bare_plug("Ferrowick", &name)
            }
        })
        .collect()
}

pub fn many_parts_are_stored_and_found_by_name(store: &Store) {
    let parts = parts();
    let start = read(store, |s| s.last_mark());
    let (ordinals, position) = write(store, |s| Ok((s.insert_plugs(&parts)?, s.position())));
    assert!(position.is_some_and(|position| position > start));
    let (numbers, stored): (Vec<u32>, Vec<Plug>) =
        read(store, |s| s.all_plugs(-1, 1_000)).into_iter().unzip();
    assert_eq!(stored, parts, "each as it was, in their order");
    assert_eq!(ordinals, numbers, "each under the number that it was told");
    let mut found = read(store, |s| {
        s.plugs_named(&[
            ("FERROWICK", "fw-007"),
            ("Ferrowick", "FW-148"),
            ("Ferrowick", "FW-999"),
            ("Other", "FW-007"),
            ("Ferrowick", "FW\0"),
            ("it's \"quoted\"", "?"),
        ])
    });
    found.sort_by_key(|plug| plug.id);
    assert_eq!(found, [parts[7].clone(), parts[148].clone()]);
    assert_eq!(read(store, |s| s.plugs_named(&[])), []);
    // Every one is marked; on PostgreSQL once no older transaction runs on the server.
    let behind = |most| read(store, |s| s.marks_behind(start, MarkKind::Plug, most));
    for _ in 0..2_000 {
        if behind(1_000) == MANY as i64 {
            break;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    assert_eq!((behind(1_000), behind(20)), (MANY as i64, 20));
    assert_eq!(
        read(store, |s| s.marks_behind(start, MarkKind::Stock, 20)),
        0
    );
    // A name that stands refuses them all.
    let again = [
        bare_plug("Ferrowick", "FW-500"),
        bare_plug("ferrowick", "fw-000"),
    ];
    let refused: Result<Vec<u32>, StoreError> = store.write(|s| s.insert_plugs(&again));
    let what = Key::PlugName;
    assert_eq!(refused, Err(StoreError::Duplicate { what }));
    assert_eq!(read(store, |s| s.count_plugs()), MANY as i64);
}

pub fn a_write_alone_is_all_or_nothing_and_others_wait(store: &Store) {
    let refused: Result<(), StoreError> = store.write_in(
        Turn::Alone,
        |s| {
            s.insert_plugs(&parts())?;
            Err(StoreError::Busy)
        },
        |()| unreachable!("nothing was written"),
    );
    assert!(refused.is_err());
    assert_eq!(read(store, |s| s.count_plugs()), 0);
    let (ended, after) = (AtomicBool::new(false), AtomicI64::new(0));
    std::thread::scope(|scope| {
        let alone = scope.spawn(|| {
            store.write_in(
                Turn::Alone,
                |s| {
                    s.insert_plugs(&parts())?;
                    std::thread::sleep(Duration::from_millis(200));
                    ended.store(true, Ordering::SeqCst);
                    s.count_plugs()
                },
                |count| after.store(*count, Ordering::SeqCst),
            )
        });
        let others: Vec<_> = (0..4)
            .map(|n| {
                scope.spawn(move || {
                    std::thread::sleep(Duration::from_millis(20 * n));
                    write(store, |s| {
                        s.insert_plug(&bare_plug("Other", &format!("O-{n}")))
                    })
                })
            })
            .collect();
        let count: Result<i64, StoreError> = alone.join().unwrap();
        assert!(count.is_ok_and(|count| count >= MANY as i64));
        for other in others {
            other.join().unwrap();
        }
    });
    assert!(ended.load(Ordering::SeqCst));
    assert!(
        after.load(Ordering::SeqCst) >= MANY as i64,
        "told before the caller was"
    );
    assert_eq!(read(store, |s| s.count_plugs()), MANY as i64 + 4);
}

pub fn a_panic_alone_keeps_nothing(store: &Store) {
    let panicked = std::panic::catch_unwind(AssertUnwindSafe(|| {
        store.write_in(
            Turn::Alone,
            |s| -> Result<(), StoreError> {
                s.insert_plugs(&parts())?;
                panic!("on purpose");
            },
            |()| {},
        )
    }));
    assert!(panicked.is_err());
    assert_eq!(read(store, |s| s.count_plugs()), 0);
    write(store, |s| s.insert_plug(&bare_plug("Ferrowick", "FW-1")));
    assert_eq!(read(store, |s| s.count_plugs()), 1, "the writer goes on");
}
