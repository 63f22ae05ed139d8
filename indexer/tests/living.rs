//! What becomes of an index: opened, fed, merged, built anew, damaged.

mod record;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::StockMode;
use plugwell_domain::ledger::shelf::ShelfTable;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::requirement::Requirement;
use plugwell_indexer::{Fed, Index, IndexError, Question};
use record::{fed, record};
use serde_json::json;
use uuid::Uuid;

/// A part of a heat, by which the tests tell one state of a record from another.
fn part(number: u32, heat: i64) -> Plug {
    let mut data = PlugData::named("Ferrowick", format!("FW-{number}"));
    data.facts.set(Attr::Heat, Some(heat));
    record(u128::from(number), data)
}

fn batch(numbers: std::ops::Range<u32>, heat: i64) -> Vec<Fed> {
    numbers
        .map(|number| fed(number, part(number, heat)))
        .collect()
}

fn gone(number: u32) -> Fed {
    Fed {
        id: Uuid::from_u128(u128::from(number)),
        ordinal: number,
        record: None,
    }
}

/// Living parts of a heat, by the totals and by the list itself.
fn of_heat(index: &Index, heat: i64) -> usize {
    let heat = Attr::Heat.to_json(heat);
    let must = json!({ "attribute": "heat_index", "strength": "must", "test": { "min": heat, "max": heat }, "unknown": "fails" });
    let requirement = Requirement::from_json(&json!({ "demands": [must] })).unwrap();
    let question = Question {
        requirement: &requirement,
        quantity: 1,
        stock: StockMode::Ignore,
        limit: 10_000,
        near_misses: 0,
    };
    let found = index.search(&question, &ShelfTable::new()).unwrap();
    assert_eq!(found.fits_in_catalogue, found.fits.len() as u64);
    found.fits.len()
}

#[test]
fn an_index_is_shared_between_threads() {
    fn shared<T: Send + Sync>() {}
    shared::<Index>();
}

#[test]
fn a_new_index_is_empty_and_was_never_fed() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(&folder.path().join("not/yet/there")).unwrap();
    assert_eq!(
        (index.position(), index.count(), index.segments()),
        (None, 0, 0)
    );
    assert!(index.words("anything", 10).unwrap().is_empty());
    assert_eq!(of_heat(&index, 500), 0);
    drop(index);
    let again = Index::open(&folder.path().join("not/yet/there")).unwrap();
    assert_eq!(again.position(), None);
}

#[test]
fn what_was_fed_is_there_after_opening_again() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..10, 500), 7).unwrap();
    assert_eq!((index.position(), index.count()), (Some(7), 10));
    // A position may move on where nothing of the index changed.
    index.feed(Vec::new(), 9).unwrap();
    assert!(index.folder_size().unwrap() > 0);
    drop(index);
    let index = Index::open(folder.path()).unwrap();
    assert_eq!(
        (index.position(), index.count(), of_heat(&index, 500)),
        (Some(9), 10, 10)
    );
}

#[test]
fn changes_and_deletes_are_seen_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..10, 500), 1).unwrap();
    index.feed(batch(3..5, 600), 2).unwrap();
    assert_eq!(
        (of_heat(&index, 500), of_heat(&index, 600), index.count()),
        (8, 2, 10)
    );
    index.feed(vec![gone(0), gone(4)], 3).unwrap();
    assert_eq!(
        (of_heat(&index, 500), of_heat(&index, 600), index.count()),
        (7, 1, 8)
    );
    let mut retired = part(3, 600);
    retired.retired = true;
    index.feed(vec![fed(3, retired)], 4).unwrap();
    assert_eq!((of_heat(&index, 600), index.count()), (0, 7));
    // The last entry of a batch counts; deleting what is not there is no fault.
    index
        .feed(
            vec![
                fed(0, part(0, 500)),
                fed(0, part(0, 700)),
                gone(1),
                fed(2, part(2, 700)),
                gone(2),
                gone(99),
            ],
            5,
        )
        .unwrap();
    assert_eq!(
        (of_heat(&index, 500), of_heat(&index, 700), index.count()),
        (5, 1, 6)
    );
}

#[test]
fn the_dead_stay_dead_through_segments_and_merges() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    let mut most = 0;
    for round in 0..30 {
        // Each round changes a third of what the rounds before left.
        index
            .feed(
                batch(round * 10..round * 10 + 30, 500 + i64::from(round)),
                i64::from(round),
            )
            .unwrap();
        most = most.max(index.segments());
        assert_eq!(index.count(), u64::from(round * 10 + 30));
        for before in 0..round {
            assert_eq!(
                of_heat(&index, 500 + i64::from(before)),
                10,
                "round {round}"
            );
        }
        assert_eq!(of_heat(&index, 500 + i64::from(round)), 30);
    }
    assert!(most > 1, "one segment all along: nothing was tried");
    let start = Instant::now();
    while index.segments() >= 4 && start.elapsed() < Duration::from_secs(20) {
        std::thread::sleep(Duration::from_millis(20));
        index.refresh().unwrap();
    }
    assert!(
        index.segments() < 4,
        "{} segments are never merged",
        index.segments()
    );
    assert_eq!(
        (
            index.count(),
            of_heat(&index, 500),
            of_heat(&index, 529),
            index.position()
        ),
        (320, 10, 30, Some(29))
    );
    drop(index);
    let index = Index::open(folder.path()).unwrap();
    assert_eq!(
        (
            index.count(),
            of_heat(&index, 500),
            of_heat(&index, 529),
            index.position()
        ),
        (320, 10, 30, Some(29))
    );
}

#[test]
fn a_search_sees_whole_batches_only() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..50, 500), 0).unwrap();
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let searching = scope.spawn(|| {
            let mut searches = 0;
            while !over.load(Ordering::Relaxed) {
                // All fifty have the same heat at any time, one of two.
                assert_eq!(index.count(), 50);
                let all = index.words("FW", 100).unwrap();
                assert_eq!(all.len(), 50);
                searches += 1;
            }
            searches
        });
        for round in 1..40 {
            index
                .feed(batch(0..50, 500 + 10 * (round % 2)), round)
                .unwrap();
            assert_eq!(of_heat(&index, 500 + 10 * (round % 2)), 50);
        }
        over.store(true, Ordering::Relaxed);
        assert!(searching.join().unwrap() > 0);
    });
}

#[test]
fn a_batch_is_all_or_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..3, 500), 1).unwrap();
    // 200 is the end of the heat scale.
    let refused = index.feed(
        vec![gone(0), fed(5, part(5, 500)), fed(6, part(6, 2001))],
        2,
    );
    assert!(
        matches!(
            refused,
            Err(IndexError::OutOfBounds {
                attribute: Attr::Heat,
                ..
            })
        ),
        "{refused:?}"
    );
    assert_eq!((of_heat(&index, 500), index.position()), (3, Some(1)));
    index.feed(batch(7..8, 500), 3).unwrap();
    assert_eq!(
        (of_heat(&index, 500), index.count(), index.position()),
        (4, 4, Some(3))
    );
}

#[test]
fn a_rebuild_shows_nothing_before_it_is_finished() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..5, 500), 1).unwrap();
    let mut rebuild = index.rebuild();
    for number in 10..30 {
        rebuild.add(number, &part(number, 600)).unwrap();
    }
    let mut retired = part(40, 600);
    retired.retired = true;
    rebuild.add(40, &retired).unwrap();
    assert_eq!(
        (of_heat(&index, 500), of_heat(&index, 600), index.position()),
        (5, 0, Some(1))
    );
    rebuild.finish(8).unwrap();
    assert_eq!(
        (of_heat(&index, 500), of_heat(&index, 600), index.position()),
        (0, 20, Some(8))
    );
    drop(index);
    let index = Index::open(folder.path()).unwrap();
    assert_eq!(
        (index.count(), of_heat(&index, 600), index.position()),
        (20, 20, Some(8))
    );
}

#[test]
fn a_rebuild_that_is_given_up_leaves_the_old_contents() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..5, 500), 1).unwrap();
    let mut rebuild = index.rebuild();
    rebuild.add(10, &part(10, 600)).unwrap();
    drop(rebuild);
    drop(index.rebuild());
    assert_eq!((index.count(), index.position()), (5, Some(1)));
    index.feed(batch(5..6, 500), 2).unwrap();
    assert_eq!(
        (of_heat(&index, 500), of_heat(&index, 600), index.position()),
        (6, 0, Some(2))
    );
    index.rebuild().finish(3).unwrap();
    assert_eq!((index.count(), index.position()), (0, Some(3)));
}

#[test]
fn a_folder_is_written_by_one_only_and_a_lock_left_behind_is_no_lock() {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..5, 500), 1).unwrap();
    assert!(matches!(Index::open(folder.path()), Err(IndexError::InUse)));
    index.feed(batch(5..6, 500), 2).unwrap();
    drop(index);
    // What a process that was killed leaves.
    for lock in [".tantivy-writer.lock", ".tantivy-meta.lock"] {
        fs::write(folder.path().join(lock), "").unwrap();
    }
    let index = Index::open(folder.path()).unwrap();
    assert_eq!((index.count(), index.position()), (6, Some(2)));
}

/// A folder with an index of two segments, one with a deleted record in it, and a file of somebody
/// else's.
fn filled() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let index = Index::open(folder.path()).unwrap();
    index.feed(batch(0..400, 500), 1).unwrap();
    index
        .feed(
            batch(400..410, 500).into_iter().chain([gone(3)]).collect(),
            2,
        )
        .unwrap();
    assert_eq!((index.segments(), index.count()), (2, 409));
    fs::write(folder.path().join("notes.txt"), "not of the index").unwrap();
    folder
}

fn files(folder: &Path) -> Vec<PathBuf> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect()
}

/// Opens a folder that something was done to: either all is there, or nothing and no position.
fn whole_or_anew(folder: &Path, done: &str) -> bool {
    let index = Index::open(folder).unwrap_or_else(|e| panic!("{done}: {e}"));
    let state = (index.position(), index.count(), of_heat(&index, 500));
    let whole = state == (Some(2), 409, 409);
    assert!(whole || state == (None, 0, 0), "{done}: {state:?}");
    index.feed(batch(0..410, 600), 3).unwrap();
    assert_eq!((index.count(), of_heat(&index, 600)), (410, 410), "{done}");
    assert!(
        folder.join("notes.txt").exists(),
        "{done}: a file of somebody else's is gone"
    );
    whole
}

#[test]
fn a_damaged_index_is_made_anew() {
    let names: Vec<PathBuf> = files(filled().path());
    let kinds: std::collections::BTreeSet<String> = names
        .iter()
        .map(|path| path.extension().unwrap().to_string_lossy().into_owned())
        .collect();
    for kind in ["fast", "term", "idx", "del", "json"] {
        assert!(kinds.contains(kind), "no file .{kind} among {kinds:?}");
    }
    type Harm = fn(&Path, Vec<u8>);
    let harms: [(&str, Harm); 5] = [
        ("deleted", |path, _| fs::remove_file(path).unwrap()),
        ("emptied", |path, _| fs::write(path, "").unwrap()),
        ("cut in half", |path, bytes| {
            fs::write(path, &bytes[..bytes.len() / 2]).unwrap()
        }),
        ("first bit flipped", |path, mut bytes| {
            bytes[0] ^= 1;
            fs::write(path, bytes).unwrap();
        }),
        ("middle bit flipped", |path, mut bytes| {
            let middle = bytes.len() / 2;
            bytes[middle] ^= 0x10;
            fs::write(path, bytes).unwrap();
        }),
    ];
    for kind in kinds
        .iter()
        .filter(|kind| *kind != "lock" && *kind != "txt")
    {
        for (name, harm) in &harms {
            let folder = filled();
            // The largest of its kind: that of the larger segment.
            let of_kind = files(folder.path())
                .into_iter()
                .filter(|p| p.extension().is_some_and(|e| e == kind.as_str()));
            let path = of_kind
                .filter(|p| !p.ends_with(".managed.json"))
                .max_by_key(|p| fs::metadata(p).unwrap().len())
                .unwrap();
            harm(&path, fs::read(&path).unwrap());
            let whole = whole_or_anew(folder.path(), &format!("{kind} {name}"));
            // Nobody can tell one bit of a description from another where it still can be read.
            assert!(
                !whole || (kind == "json" && name.contains("bit")),
                ".{kind} {name} went unnoticed"
            );
        }
    }
}

#[test]
fn a_lost_list_of_files_is_survived() {
    for text in [None, Some(""), Some("garbage"), Some("[]")] {
        let folder = filled();
        let list = folder.path().join(".managed.json");
        match text {
            None => fs::remove_file(list).unwrap(),
            Some(text) => fs::write(list, text).unwrap(),
        }
        whole_or_anew(folder.path(), &format!("list of files {text:?}"));
    }
}

#[test]
fn an_index_of_another_version_is_made_anew() {
    let replaced = |from: &str, to: &str| {
        let folder = filled();
        let meta = folder.path().join("meta.json");
        let text = fs::read_to_string(&meta).unwrap();
        assert!(text.contains(from), "{text}");
        fs::write(&meta, text.replace(from, to)).unwrap();
        whole_or_anew(folder.path(), from)
    };
    assert!(
        replaced("{\\\"schema\\\":2,", "{\\\"schema\\\":2,"),
        "it is not the writing of it"
    );
    assert!(!replaced("{\\\"schema\\\":2,", "{\\\"schema\\\":0,"));
    assert!(!replaced("\\\"position\\\":2", "\\\"place\\\":2"));
    assert!(!replaced("\"fact_heat_index\"", "\"fact_warmth\""));
    assert!(!replaced("\"order\": \"Asc\"", "\"order\": \"Desc\""));
}
