//! What only PostgreSQL can do to a transaction: undo it for another's sake, lose its connection,
//! commit in another order than numbers were drawn.

mod cluster;
mod made_up;

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Barrier, mpsc};
use std::time::{Duration, Instant};

use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection};
use made_up::{Shop, bare_plug, id, moves, read, write};
use plugwell_domain::event::{Event, EventKind};
use plugwell_store::{MarkKind, Options, Store, StoreError, Target};

fn new_store() -> Option<(Store, PgConnection)> {
    let url = cluster::new_database()?;
    let store = Store::open(&Target::parse(&url).unwrap(), &Options::default()).unwrap();
    Some((store, PgConnection::establish(&url).unwrap()))
}

/// Waits until a mark is shown: older transactions of the whole server come first.
fn shown(store: &Store, position: i64) -> i64 {
    let deadline = Instant::now() + Duration::from_secs(20);
    loop {
        let last = read(store, |s| s.last_mark());
        if last >= position || Instant::now() > deadline {
            return last;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn a_deadlock_is_tried_again() {
    let Some((store, _)) = new_store() else {
        return;
    };
    let plugs = [
        bare_plug("Ferrowick", "FW-1"),
        bare_plug("Ferrowick", "FW-2"),
    ];
    write(&store, |s| {
        plugs
            .iter()
            .try_for_each(|plug| s.insert_plug(plug).map(drop))
    });
    let both_hold_one = Barrier::new(2);
    let runs = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for order in [[0, 1], [1, 0]] {
            let (store, plugs, both_hold_one, runs) = (&store, &plugs, &both_hold_one, &runs);
            scope.spawn(move || {
                let mut first = true;
                write(store, |s| {
                    runs.fetch_add(1, Ordering::SeqCst);
                    s.shelf(plugs[order[0]].id, &[])?;
                    if std::mem::take(&mut first) {
                        both_hold_one.wait();
                    }
                    s.shelf(plugs[order[1]].id, &[])?;
                    s.mark(MarkKind::Stock, plugs[order[0]].id)
                });
            });
        }
    });
    assert!(runs.load(Ordering::SeqCst) > 2, "no deadlock came about");
}

#[test]
fn stock_of_different_parts_is_written_side_by_side() {
    let Some((store, _)) = new_store() else {
        return;
    };
    let shop = Shop::set_up(&store);
    let lot = shop.stocked(&store, 10);
    let other = bare_plug("Quillmark", "Q-1");
    write(&store, |s| s.insert_plug(&other));
    let (tell, told) = mpsc::channel();
    std::thread::scope(|scope| {
        let (store, shop, lot) = (&store, &shop, &lot);
        scope.spawn(move || {
            write(store, |s| {
                s.apply(shop.plug.id, &moves(vec![shop.issue(lot, 1)]))?;
                // Holds its part until the other is through.
                told.recv_timeout(Duration::from_secs(10))
                    .expect("the other part was not held up");
                Ok(())
            });
        });
        std::thread::sleep(Duration::from_millis(100));
        write(store, |s| s.apply(other.id, &moves(vec![])));
        tell.send(()).unwrap();
    });
}

#[test]
fn closed_connections_are_replaced() {
    let Some((store, mut other)) = new_store() else {
        return;
    };
    // As many as the pool holds, each used once.
    let all = Barrier::new(8);
    std::thread::scope(|scope| {
        for _ in 0..8 {
            scope.spawn(|| read(&store, |_| Ok(all.wait())));
        }
    });
    let close = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
                 WHERE datname = current_database() AND pid <> pg_backend_pid()";
    other.batch_execute(close).unwrap();
    assert_eq!(store.health(), Ok(()));
    // In the middle of a command: it runs once more, and counts once.
    let mut closed = false;
    write(&store, |s| {
        s.insert_plug(&bare_plug("Ferrowick", "FW-1"))?;
        if !std::mem::replace(&mut closed, true) {
            other.batch_execute(close).unwrap();
        }
        s.mark(MarkKind::Build, id())
    });
    assert_eq!(read(&store, |s| s.count_plugs()), 1);
}

#[test]
fn a_row_that_another_holds_makes_it_busy() {
    let Some((store, mut other)) = new_store() else {
        return;
    };
    let shop = Shop::set_up(&store);
    other
        .batch_execute("BEGIN; SELECT * FROM plugs FOR UPDATE")
        .unwrap();
    let refused: Result<(), StoreError> = store.write(|s| s.shelf(shop.plug.id, &[]).map(drop));
    assert_eq!(refused, Err(StoreError::Busy));
    other.batch_execute("ROLLBACK").unwrap();
    assert_eq!(write(&store, |s| s.shelf(shop.plug.id, &[])).lots, []);
}

/// The one that began first commits last: a reader that went by its number alone would lose it.
#[test]
fn no_mark_appears_before_one_that_was_read() {
    let Some((store, _)) = new_store() else {
        return;
    };
    let start = shown(&store, 1);
    let (early, late) = (id(), id());
    let (hold, held) = mpsc::channel();
    let (began, has_begun) = mpsc::channel();
    std::thread::scope(|scope| {
        let slow_store = store.clone();
        let slow = scope.spawn(move || {
            write(&slow_store, |s| {
                let position = s.mark(MarkKind::Build, early)?;
                began.send(()).unwrap();
                held.recv().unwrap();
                Ok(position)
            })
        });
        has_begun.recv().unwrap();
        let quick = write(&store, |s| s.mark(MarkKind::Build, late));
        // Committed, and all the same not shown while an earlier one may yet come.
        assert_eq!(read(&store, |s| s.marks_after(start, 10)), []);
        assert_eq!(read(&store, |s| s.last_mark()), start);
        hold.send(()).unwrap();
        let slow = slow.join().unwrap();
        assert!(slow < quick);
        assert_eq!(shown(&store, quick), quick);
        let ids: Vec<_> = read(&store, |s| s.marks_after(start, 10))
            .iter()
            .map(|m| m.id)
            .collect();
        assert_eq!(ids, [early, late]);
    });
}

/// All events behind a place, each with its subject and version.
fn told_after(store: &Store, after: i64) -> Vec<(i64, String, i64)> {
    while read(store, |s| s.any_event_to_place()) {
        write(store, |s| s.place_events());
    }
    let told = read(store, |s| s.events_between(after, i64::MAX, &[], 1_000));
    told.into_iter()
        .map(|told| (told.sequence, told.subject, told.version))
        .collect()
}

/// Writers whose transactions stay open and end in another order than they began, while a reader
/// goes on by its cursor: it waits for nobody, loses nothing, and sees each entity's versions in order.
#[test]
fn events_of_transactions_that_end_out_of_order_are_all_read() {
    let Some((store, _)) = new_store() else {
        return;
    };
    let heads = [id(), id(), id()];
    let bare = |head: usize, version| Event::bare(EventKind::HeadChanged, heads[head], version);
    let mut cursor = told_after(&store, 0).last().map_or(0, |told| told.0);
    let mut seen = Vec::new();
    let mut look = |store: &Store| {
        let found = told_after(store, cursor);
        cursor = found.last().map_or(cursor, |told| told.0);
        let count = found.len();
        seen.extend(found);
        count
    };
    let (began, has_begun) = mpsc::channel();
    std::thread::scope(|scope| {
        let held: Vec<_> = (0..2)
            .map(|head| {
                let (go, went) = mpsc::channel::<()>();
                let (store, began) = (store.clone(), began.clone());
                let writer = scope.spawn(move || {
                    write(&store, |s| {
                        s.tell(&bare(head, 1))?;
                        began.send(()).unwrap();
                        went.recv().unwrap();
                        s.tell(&bare(head, 2))
                    });
                });
                has_begun.recv().unwrap();
                (go, writer)
            })
            .collect();
        assert_eq!(look(&store), 0);
        write(&store, |s| s.tell(&bare(2, 1)));
        assert_eq!(look(&store), 1, "older transactions hold nobody up");
        // The later one ends first.
        for (go, writer) in held.into_iter().rev() {
            go.send(()).unwrap();
            writer.join().unwrap();
            assert_eq!(look(&store), 2);
        }
    });
    assert_eq!(look(&store), 0);
    let what: Vec<_> = seen
        .iter()
        .map(|(_, subject, version)| (subject.clone(), *version))
        .collect();
    let expected = [(2, 1), (1, 1), (1, 2), (0, 1), (0, 2)]
        .map(|(head, version)| (format!("heads/{}", heads[head]), version));
    assert_eq!(what, expected);
}

/// One that began first waits for another's part and writes its next version: the number of its
/// transaction is the lower one, its event comes behind all the same.
#[test]
fn events_of_one_entity_come_in_the_order_of_its_versions() {
    let Some((store, _)) = new_store() else {
        return;
    };
    let shop = Shop::set_up(&store);
    let lot = shop.stocked(&store, 10);
    let start = told_after(&store, 0).last().map_or(0, |told| told.0);
    let (began, has_begun) = mpsc::channel();
    let (held, hold) = mpsc::channel::<()>();
    std::thread::scope(|scope| {
        let (store, shop, lot) = (&store, &shop, &lot);
        let early = scope.spawn(move || {
            let mut first = true;
            write(store, |s| {
                // Draws the number of its transaction.
                s.mark(MarkKind::Build, id())?;
                if std::mem::take(&mut first) {
                    began.send(()).unwrap();
                    hold.recv().unwrap();
                }
                s.apply(shop.plug.id, &moves(vec![shop.issue(lot, 1)]))
            })
        });
        has_begun.recv().unwrap();
        let late = shop.apply(store, &moves(vec![shop.issue(lot, 2)]));
        held.send(()).unwrap();
        let early = early.join().unwrap();
        assert!(early.position < late.position && early.stock_version > late.stock_version);
        let told = told_after(store, start);
        let versions: Vec<i64> = told.iter().map(|told| told.2).collect();
        assert_eq!(versions, [late.stock_version, early.stock_version]);
    });
}

/// Many writers at once, some of which undo what they did, and a reader beside them.
#[test]
fn nothing_is_lost_or_told_twice_while_many_write() {
    let Some((store, _)) = new_store() else {
        return;
    };
    const WRITERS: usize = 6;
    const EACH: i64 = 25;
    let start = told_after(&store, 0).last().map_or(0, |told| told.0);
    let left = AtomicUsize::new(WRITERS);
    let seen = std::thread::scope(|scope| {
        for _ in 0..WRITERS {
            scope.spawn(|| {
                let head = id();
                for version in 1..=EACH {
                    let event = Event::bare(EventKind::HeadChanged, head, version);
                    let undone: Result<(), StoreError> = store.write(|s| {
                        s.tell(&event)?;
                        Err(StoreError::Busy)
                    });
                    assert!(undone.is_err());
                    write(&store, |s| s.tell(&event));
                }
                left.fetch_sub(1, Ordering::SeqCst);
            });
        }
        let (mut cursor, mut seen) = (start, Vec::new());
        loop {
            let done = left.load(Ordering::SeqCst) == 0;
            let found = told_after(&store, cursor);
            cursor = found.last().map_or(cursor, |told| told.0);
            seen.extend(found);
            if done {
                return seen;
            }
        }
    });
    let mut versions = HashMap::<String, Vec<i64>>::new();
    for (_, subject, version) in seen {
        versions.entry(subject).or_default().push(version);
    }
    assert_eq!(versions.len(), WRITERS);
    for (subject, versions) in versions {
        assert_eq!(versions, (1..=EACH).collect::<Vec<_>>(), "{subject}");
    }
}

#[test]
fn marks_from_another_server_begin_a_new_lineage() {
    let Some((store, mut other)) = new_store() else {
        return;
    };
    let lineage = read(&store, |s| s.lineage());
    let again = || Store::open(store.target(), &Options::default()).unwrap();
    assert_eq!(read(&again(), |s| s.lineage()), lineage);
    // As a dump of a server that has come further would leave it.
    other
        .batch_execute(
            "INSERT INTO outbox (position, kind, id) SELECT 4000000000000, kind, id FROM outbox",
        )
        .unwrap();
    let restored = again();
    assert_ne!(read(&restored, |s| s.lineage()), lineage);
    let position = write(&restored, |s| s.mark(MarkKind::Build, id()));
    assert_eq!(shown(&restored, position), position);
}
