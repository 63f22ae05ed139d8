use std::time::{Duration, Instant};

use plugwell_store::{MarkKind, Store, StoreError};

use crate::made_up::{Shop, bare_plug, id, moves, read, write};

/// Waits until a mark is shown. On PostgreSQL it is not while older transactions run, be it in
/// another database of the same server.
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

pub fn marks_follow_the_writes(store: &Store) {
    // Those of the scrap drum and the difference account.
    let start = shown(store, 1);
    let mut plug = bare_plug("Ferrowick", "FW-1");
    let state = read(store, |s| s.state());
    let (position, said) = write(store, |s| {
        s.insert_plug(&plug)?;
        let position = s.mark(MarkKind::Build, plug.id)?;
        Ok((position, s.position()))
    });
    assert_eq!(said, Some(position));
    let then = read(store, |s| s.state());
    assert_ne!(
        then, state,
        "whoever keeps what rests on the state sees that it is another"
    );
    assert!(position > start);
    assert_eq!(shown(store, position), position);
    let what = |after| -> Vec<_> {
        read(store, |s| s.marks_after(after, 100))
            .iter()
            .map(|m| (m.kind, m.id))
            .collect()
    };
    assert_eq!(
        what(start),
        [(MarkKind::Plug, plug.id), (MarkKind::Build, plug.id)]
    );
    assert_eq!(what(position), []);
    plug.version = 2;
    write(store, |s| s.update_plug(&plug));
    write(store, |s| s.delete_plug(plug.id));
    let marked = (MarkKind::Head, id());
    let before = write(store, |s| s.mark(marked.0, marked.1));
    assert_eq!(shown(store, before), before);
    assert_eq!(
        what(position),
        [(MarkKind::Plug, plug.id), (MarkKind::Plug, plug.id), marked]
    );
    assert!(!write(store, |s| s.delete_plug(id())));
    // What was undone leaves no mark.
    let refused: Result<(), StoreError> = store.write(|s| {
        s.insert_plug(&bare_plug("Ferrowick", "FW-2"))?;
        Err(StoreError::Busy)
    });
    assert_eq!(refused, Err(StoreError::Busy));
    assert_eq!(read(store, |s| s.last_mark()), before);
    assert_eq!(write(store, |s| Ok(s.position())), None);
    // Movements mark the stock of their part.
    let shop = Shop::set_up(store);
    let lot = shop.stocked(store, 10);
    let applied = shop.apply(store, &moves(vec![shop.issue(&lot, 2)]));
    assert_eq!(shown(store, applied.position), applied.position);
    let marks = read(store, |s| s.marks_after(before, 100));
    let last = marks.last().unwrap();
    assert_eq!(
        (last.position, last.kind, last.id),
        (applied.position, MarkKind::Stock, shop.plug.id)
    );
    // Page by page nothing is lost and nothing comes twice.
    let mut paged = Vec::new();
    let mut after = start;
    loop {
        let page = read(store, |s| s.marks_after(after, 1));
        let Some(last) = page.last() else { break };
        after = last.position;
        paged.extend(page);
    }
    assert_eq!(paged, read(store, |s| s.marks_after(start, 1000)));
}
