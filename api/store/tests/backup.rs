//! Copies: taken while the database is in use, read back, never written over anything.

mod cluster;
mod made_up;

use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use diesel::connection::SimpleConnection;
use diesel::{Connection, SqliteConnection};
use made_up::{Shop, bare_plug, moves, read, write};
use plugwell_store::{BackupError, Options, Store, Target, restore};

fn open(path: &Path) -> Store {
    Store::open(&Target::Sqlite(path.to_owned()), &Options::default()).unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_copy_taken_in_use_is_whole() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(&folder.path().join("shop.db"));
    let shop = Shop::set_up(&store);
    let lot = shop.stocked(&store, 1_000_000);
    let copies = tempfile::tempdir().unwrap();
    let done = AtomicBool::new(false);
    let moved = std::thread::scope(|scope| {
        let writer = scope.spawn(|| {
            let mut moved = 0;
            while !done.load(Ordering::SeqCst) || moved < 20 {
                shop.apply(&store, &moves(vec![shop.issue(&lot, 1)]));
                moved += 1;
            }
            moved
        });
        for n in 0..5 {
            let report = store
                .backup(&copies.path().join(format!("{n}.db")))
                .unwrap();
            assert!(report.bytes > 0);
            let rows = |name: &str| {
                report
                    .tables
                    .iter()
                    .find(|(table, _)| table == name)
                    .unwrap()
                    .1
            };
            assert_eq!((rows("plugs"), rows("lots"), rows("places")), (1, 1, 7));
        }
        done.store(true, Ordering::SeqCst);
        writer.join().unwrap()
    });
    assert_eq!(
        names(copies.path()),
        ["0.db", "1.db", "2.db", "3.db", "4.db"]
    );
    let restored = folder.path().join("restored.db");
    let report = restore(&copies.path().join("4.db"), &restored).unwrap();
    let back = open(&restored);
    let audit = read(&back, |s| s.audit_levels());
    assert_eq!(audit.differences, []);
    assert!(
        audit.movements > 1 && audit.movements <= moved + 1,
        "{audit:?}"
    );
    assert!(
        report
            .tables
            .contains(&("movements".to_owned(), audit.movements))
    );
    // Positions begin anew: whoever follows them can tell.
    assert_ne!(read(&back, |s| s.lineage()), read(&store, |s| s.lineage()));
    write(&back, |s| s.insert_plug(&bare_plug("Ferrowick", "FW-9")));
}

#[test]
fn nothing_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.db");
    let store = open(&path);
    let copy = folder.path().join("copy.db");
    store.backup(&copy).unwrap();
    assert!(matches!(store.backup(&copy), Err(BackupError::Occupied(_))));
    assert!(matches!(
        restore(&copy, &path),
        Err(BackupError::Occupied(_))
    ));
    let fresh = folder.path().join("fresh.db");
    std::fs::write(folder.path().join("fresh.db-wal"), "left over").unwrap();
    assert!(matches!(
        restore(&copy, &fresh),
        Err(BackupError::Occupied(_))
    ));
    // What a copy that was cut off left behind is in nobody's way.
    std::fs::write(folder.path().join("second.db.partial"), "cut off").unwrap();
    store.backup(&folder.path().join("second.db")).unwrap();
    assert!(!folder.path().join("second.db.partial").exists());
}

#[test]
fn what_cannot_be_trusted_is_thrown_away() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("shop.db");
    let store = open(&path);
    let shop = Shop::set_up(&store);
    shop.stocked(&store, 10);
    let sql = "UPDATE levels SET quantity = 11 WHERE quantity = 10";
    SqliteConnection::establish(path.to_str().unwrap())
        .unwrap()
        .batch_execute(sql)
        .unwrap();
    let copies = tempfile::tempdir().unwrap();
    let refused = store.backup(&copies.path().join("copy.db"));
    assert!(
        matches!(refused, Err(BackupError::NotTheSame(_))),
        "{refused:?}"
    );
    assert!(store.backup(&copies.path().join("no/copy.db")).is_err());

    let text = copies.path().join("text.db");
    std::fs::write(
        &text,
        "no database at all, but long enough to look at. ".repeat(100),
    )
    .unwrap();
    assert!(restore(&text, &copies.path().join("a.db")).is_err());
    let foreign = copies.path().join("foreign.db");
    SqliteConnection::establish(foreign.to_str().unwrap())
        .unwrap()
        .batch_execute("CREATE TABLE t (x)")
        .unwrap();
    assert!(restore(&foreign, &copies.path().join("b.db")).is_err());
    assert!(
        restore(
            &copies.path().join("missing.db"),
            &copies.path().join("c.db")
        )
        .is_err()
    );
    assert_eq!(names(copies.path()), ["foreign.db", "text.db"]);
}

#[test]
fn a_damaged_copy_is_not_restored() {
    let folder = tempfile::tempdir().unwrap();
    let store = open(&folder.path().join("shop.db"));
    write(&store, |s| {
        (0..500).try_for_each(|n| {
            s.insert_plug(&bare_plug("Ferrowick", &format!("FW-{n}")))
                .map(drop)
        })
    });
    let copy = folder.path().join("copy.db");
    store.backup(&copy).unwrap();
    let whole = std::fs::read(&copy).unwrap();
    let restored = folder.path().join("restored.db");
    let refused = |from: usize, length: usize| {
        let mut damaged = whole.clone();
        damaged[from..from + length].fill(0x5a);
        std::fs::write(&copy, damaged).unwrap();
        let refused = restore(&copy, &restored).is_err();
        assert_eq!(restored.exists(), !refused);
        std::fs::remove_file(&restored).ok();
        refused
    };
    assert!(
        refused(whole.len() / 8192 * 4096, 4096),
        "a page overwritten"
    );
    // The key of a part stands in the table and in two indexes; each has to agree with the others.
    // (More places than that are bytes that no row uses any more.)
    let key = |place: &usize| whole[*place..].starts_with(b"fw-321");
    let places: Vec<usize> = (0..whole.len()).filter(key).collect();
    let noticed = places.iter().filter(|place| refused(**place, 6)).count();
    assert_eq!(noticed, 3, "of {} places", places.len());
    std::fs::write(&copy, &whole).unwrap();
    restore(&copy, &restored).unwrap();
}

#[test]
fn postgres_has_its_own_tools() {
    let Some(url) = cluster::new_database() else {
        return;
    };
    let store = Store::open(&Target::parse(&url).unwrap(), &Options::default()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let refused = store.backup(&folder.path().join("copy.db"));
    assert!(
        matches!(refused, Err(BackupError::NotSqlite)),
        "{refused:?}"
    );
}
