use plugwell_domain::ledger::PlaceKind;
use plugwell_store::{Key, Store, StoreError};

use crate::made_up::{id, instant, read, write};

pub fn codes_run_on(store: &Store) {
    let bins: Vec<_> = (0..3)
        .map(|n| {
            write(store, |s| {
                s.insert_place(id(), PlaceKind::Bin, &format!("Drawer {n}"), instant(n))
            })
        })
        .collect();
    // The scrap drum and the difference account came first.
    assert_eq!(
        bins.iter().map(|b| b.code.as_str()).collect::<Vec<_>>(),
        ["P3", "P4", "P5"]
    );
    let bin = bins[1].clone();
    assert_eq!(
        (bin.kind, bin.name.as_str(), bin.retired, bin.version),
        (PlaceKind::Bin, "Drawer 1", false, 1)
    );
    assert_eq!(read(store, |s| s.place(bin.id)), Some(bin.clone()));
    assert_eq!(read(store, |s| s.place_by_code("P4")), Some(bin.clone()));
    assert_eq!(read(store, |s| s.place_by_code("p4")), Some(bin.clone()));
    for code in ["P99", "L4", "4", ""] {
        assert_eq!(read(store, |s| s.place_by_code(code)), None);
    }
    let list = |kind, code: Option<&str>, after, limit| {
        read(store, |s| s.list_places(kind, code, after, limit))
    };
    assert_eq!(list(Some(PlaceKind::Bin), None, None, 9), bins);
    assert_eq!(
        list(Some(PlaceKind::Bin), None, Some(bins[0].id), 1),
        bins[1..2]
    );
    assert_eq!(list(None, Some("P4"), None, 9), bins[1..2]);
    assert_eq!(list(None, Some("drawer"), None, 9), []);
    assert_eq!(list(None, None, None, 9).len(), 5);
}

pub fn names_are_unique_within_a_kind(store: &Store) {
    let bin = write(store, |s| {
        s.insert_place(id(), PlaceKind::Bin, "Drawer", instant(0))
    });
    let refused = store.write(|s| s.insert_place(id(), PlaceKind::Bin, "DRAWER", instant(0)));
    assert_eq!(
        refused,
        Err(StoreError::Duplicate {
            what: Key::PlaceName
        })
    );
    let cage = write(store, |s| {
        s.insert_place(id(), PlaceKind::Quarantine, "Drawer", instant(0))
    });
    assert_eq!(
        read(store, |s| s.place_named(PlaceKind::Bin, "drawer")),
        Some(bin.clone())
    );
    assert_eq!(
        read(store, |s| s.place_named(PlaceKind::Quarantine, "drawer")),
        Some(cage)
    );
    assert_eq!(
        read(store, |s| s.place_named(PlaceKind::Job, "drawer")),
        None
    );
    let mut renamed = bin;
    renamed.name = "Shelf".into();
    renamed.retired = true;
    renamed.version = 2;
    write(store, |s| s.update_place(&renamed));
    assert_eq!(
        read(store, |s| s.place_named(PlaceKind::Bin, "SHELF")),
        Some(renamed)
    );
}

pub fn suppliers_and_jobs_are_made_on_first_use(store: &Store) {
    let first = write(store, |s| {
        s.place_for(PlaceKind::Supplier, "Hollis Parts", instant(0), id())
    });
    let second = write(store, |s| {
        s.place_for(PlaceKind::Supplier, "hollis PARTS", instant(5), id())
    });
    assert_eq!(first, second);
    assert_eq!(first.name, "Hollis Parts");
    let job = write(store, |s| {
        s.place_for(PlaceKind::Job, "Hollis Parts", instant(0), id())
    });
    assert_ne!(first.id, job.id);
    // Many at once want the same new job.
    let ids: Vec<_> = std::thread::scope(|scope| {
        let all: Vec<_> = (0..8)
            .map(|_| {
                scope.spawn(|| {
                    write(store, |s| {
                        s.place_for(PlaceKind::Job, "Rush", instant(0), id())
                    })
                    .id
                })
            })
            .collect();
        all.into_iter().map(|one| one.join().unwrap()).collect()
    });
    assert!(ids.iter().all(|one| *one == ids[0]), "{ids:?}");
}

pub fn there_is_one_scrap_drum(store: &Store) {
    let scrap = read(store, |s| s.scrap_place());
    let difference = read(store, |s| s.difference_place());
    assert_eq!(
        (scrap.kind, difference.kind),
        (PlaceKind::Scrap, PlaceKind::Difference)
    );
    for kind in [PlaceKind::Scrap, PlaceKind::Difference] {
        let refused = store.write(|s| s.insert_place(id(), kind, "Second", instant(0)));
        assert_eq!(
            refused,
            Err(StoreError::Duplicate {
                what: Key::SinglePlace
            })
        );
    }
}
