//! What becomes of an index: opened, fed, merged, built anew, damaged.

mod damage;
#[path = "../record/mod.rs"]
mod record;

use std::fs;
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
