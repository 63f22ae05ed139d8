//! Shared commits on SQLite: who fails fails alone, who is answered is on the disk.

mod made_up;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Barrier, Mutex};
use std::time::Duration;

use made_up::{Shop, bare_plug, id, moves, read, write};
use plugwell_store::{MarkKind, Options, Store, StoreError, Target};
use uuid::Uuid;

fn open(folder: &tempfile::TempDir, options: &Options) -> Store {
    Store::open(&Target::Sqlite(folder.path().join("shop.db")), options).unwrap()
}

/// Holds the writer until `waiting` others are surely in line, so that they share a commit.
fn with_all_in_line<'scope>(
    store: &'scope Store,
    scope: &'scope std::thread::Scope<'scope, '_>,
    start: &'scope Barrier,
) {
    scope.spawn(|| {
        write(store, |_| {
            start.wait();
            std::thread::sleep(Duration::from_millis(200));
            Ok(())
        });
    });
}

#[test]
fn one_fails_one_panics_the_others_are_kept() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(&folder, &Options::default());
    const CALLERS: usize = 24;
    let start = Barrier::new(CALLERS + 1);
    let outcomes: Vec<_> = std::thread::scope(|scope| {
        with_all_in_line(&store, scope, &start);
        let callers: Vec<_> = (0..CALLERS)
            .map(|n| {
                let (store, start) = (&store, &start);
                scope.spawn(move || {
                    start.wait();
                    let plug = bare_plug("Ferrowick", &format!("FW-{n}"));
                    catch_unwind(AssertUnwindSafe(|| {
                        store.write(|s| {
                            s.insert_plug(&plug)?;
                            match n {
                                5 => Err(StoreError::Fault("refused after writing".into())),
                                11 => panic!("a slip after writing"),
                                // The name of another's part, perhaps not committed yet.
                                17 => s.insert_plug(&bare_plug("Ferrowick", "FW-17")).map(drop),
                                _ => Ok(()),
                            }
                        })
                    }))
                })
            })
            .collect();
        callers
            .into_iter()
            .map(|caller| caller.join().unwrap())
            .collect()
    });
    let kept: Vec<String> = {
        let all = read(&store, |s| s.all_plugs(0, 100));
        all.into_iter()
            .map(|(_, plug)| plug.data.part_number)
            .collect()
    };
    for (n, outcome) in outcomes.into_iter().enumerate() {
        let stands = kept.contains(&format!("FW-{n}"));
        match n {
            5 => assert_eq!(
                (outcome.unwrap(), stands),
                (
                    Err(StoreError::Fault("refused after writing".into())),
                    false
                )
            ),
            11 => {
                let said = outcome.unwrap_err();
                assert_eq!(
                    (said.downcast_ref(), stands),
                    (Some(&"a slip after writing"), false)
                );
            }
            17 => assert!(matches!(outcome.unwrap(), Err(StoreError::Duplicate { .. })) && !stands),
            _ => assert_eq!((outcome.unwrap(), stands), (Ok(()), true), "{n}"),
        }
    }
    assert_eq!(kept.len(), CALLERS - 3);
    // And the line goes on.
    write(&store, |s| {
        s.insert_plug(&bare_plug("Ferrowick", "FW-last"))
    });
}

#[test]
fn those_in_line_share_a_commit_and_are_answered_in_its_order() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(&folder, &Options::default());
    const CALLERS: usize = 32;
    let start = Barrier::new(CALLERS + 1);
    let written = Mutex::new(Vec::new());
    let told = Mutex::new(Vec::new());
    let commands = AtomicUsize::new(0);
    let commands_at_first_answer = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        with_all_in_line(&store, scope, &start);
        for _ in 0..CALLERS {
            scope.spawn(|| {
                start.wait();
                let answered = AtomicBool::new(false);
                let position: i64 = store
                    .write_then(
                        |s| {
                            let position = s.mark(MarkKind::Plug, id())?;
                            written.lock().unwrap().push(position);
                            commands.fetch_add(1, Ordering::SeqCst);
                            Ok::<_, StoreError>(position)
                        },
                        |position| {
                            // Committed by now: a reader sees it.
                            assert!(read(&store, |s| s.last_mark()) >= *position);
                            let count = commands.load(Ordering::SeqCst);
                            commands_at_first_answer
                                .compare_exchange(0, count, Ordering::SeqCst, Ordering::SeqCst)
                                .ok();
                            told.lock().unwrap().push(*position);
                            answered.store(true, Ordering::SeqCst);
                        },
                    )
                    .unwrap();
                assert!(
                    answered.load(Ordering::SeqCst) && told.lock().unwrap().contains(&position)
                );
            });
        }
    });
    assert_eq!(*told.lock().unwrap(), *written.lock().unwrap());
    assert_eq!(told.lock().unwrap().len(), CALLERS);
    // While one held the writer all the others came in line: nobody is told anything before the
    // commit that they share, and by then most have run.
    let first = commands_at_first_answer.load(Ordering::SeqCst);
    assert!(
        first > CALLERS / 2,
        "the first was told when {first} of {CALLERS} had run: no commit was shared"
    );
}

#[test]
fn a_panic_in_an_after_stops_nobody() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(&folder, &Options::default());
    let told = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for n in 0..16 {
            let (store, told) = (&store, &told);
            scope.spawn(move || {
                let outcome = catch_unwind(AssertUnwindSafe(|| {
                    store.write_then(
                        |s| s.mark(MarkKind::Plug, id()),
                        |_| {
                            assert!(n != 3, "a slip after the commit");
                            told.fetch_add(1, Ordering::SeqCst);
                        },
                    )
                }));
                assert_eq!(outcome.is_err(), n == 3);
            });
        }
    });
    assert_eq!(told.load(Ordering::SeqCst), 15);
    let marks = read(&store, |s| s.marks_after(0, 100));
    assert_eq!(
        marks.iter().filter(|m| m.kind == MarkKind::Plug).count(),
        16
    );
}

#[test]
fn what_was_answered_is_there_after_a_crash() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(&folder, &Options::default());
    let answered: Vec<Uuid> = std::thread::scope(|scope| {
        let callers: Vec<_> = (0..8)
            .map(|caller| {
                let store = &store;
                scope.spawn(move || -> Vec<Uuid> {
                    (0..25)
                        .map(|n| {
                            let plug = bare_plug("Ferrowick", &format!("FW-{caller}-{n}"));
                            write(store, |s| s.insert_plug(&plug));
                            plug.id
                        })
                        .collect()
                })
            })
            .collect();
        callers
            .into_iter()
            .flat_map(|caller| caller.join().unwrap())
            .collect()
    });
    // The files as a crash at this instant would leave them: the store is still open, nothing
    // was written back from the log.
    let after = tempfile::tempdir().unwrap();
    for file in ["shop.db", "shop.db-wal"] {
        std::fs::copy(folder.path().join(file), after.path().join(file)).unwrap();
    }
    for (store, which) in [
        (open(&after, &Options::default()), "after a crash"),
        (store, "still open"),
    ] {
        let found = read(&store, |s| s.plugs_by_id(&answered));
        assert_eq!(found.len(), 200, "{which}");
    }
}

#[test]
fn a_group_of_one_gives_each_its_own_commit() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(
        &folder,
        &Options {
            group: 1,
            ..Options::default()
        },
    );
    let shop = Shop::set_up(&store);
    let lot = shop.stocked(&store, 100);
    std::thread::scope(|scope| {
        for _ in 0..10 {
            scope.spawn(|| shop.apply(&store, &moves(vec![shop.issue(&lot, 1)])));
        }
    });
    let shelf = read(&store, |s| s.shelf(shop.plug.id, &[]));
    assert_eq!(shelf.holdings[0].quantity, 90);
}
