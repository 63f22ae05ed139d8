//! Movements per second on SQLite, each with all that belongs to it (once-only key, shelf,
//! movement, levels, mark), durable when it is answered: shared commits against one transaction
//! each, at 1, 8 and 64 callers. `cargo bench -p plugwell-store`, about a minute.

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use std::hint::black_box;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use made_up::{Shop, bare_plug, id, instant, lot, moves, write};
use plugwell_domain::ledger::{Lot, Plan};
use plugwell_store::{OnceRow, Options, Store, StoreError, Target};

/// Parts that movements are spread over.
const PARTS: u64 = 1000;

fn movements(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("movements");
    group
        .sample_size(10)
        .warm_up_time(Duration::from_secs(1))
        .measurement_time(Duration::from_secs(5));
    group.throughput(Throughput::Elements(1));
    for callers in [1, 8, 64] {
        for (name, largest) in [
            ("in_groups", Options::default().group),
            ("one_transaction_each", 1),
        ] {
            let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
            let target = Target::Sqlite(folder.path().join("shop.db"));
            let store = Store::open(
                &target,
                &Options {
                    group: largest,
                    ..Options::default()
                },
            )
            .unwrap();
            let shelves = stocked(&store);
            let next = AtomicU64::new(0);
            group.bench_function(
                BenchmarkId::new(name, format!("{callers}_callers")),
                |bencher| {
                    bencher.iter_custom(|movements| {
                        spread(&store, &shelves, &next, callers, movements)
                    });
                },
            );
        }
    }
    group.finish();
}

/// A thousand parts with one lot of a million plugs each, in one bin.
fn stocked(store: &Store) -> Vec<(Shop, Lot)> {
    let shop = Shop::set_up(store);
    write(store, |s| {
        (0..PARTS)
            .map(|n| {
                let plug = bare_plug("Quillmark", &format!("Q-{n}"));
                s.insert_plug(&plug)?;
                let shop = Shop {
                    plug,
                    ..shop.clone()
                };
                let lot = lot(shop.plug.id);
                let movements = vec![shop.receipt(&lot, 1_000_000)];
                let plan = Plan {
                    new_lots: vec![lot.clone()],
                    movements,
                    reservations: vec![],
                };
                s.apply(shop.plug.id, &plan)?;
                Ok((shop, lot))
            })
            .collect()
    })
}

/// So many movements by so many callers at once; how long until all are answered.
fn spread(
    store: &Store,
    shelves: &[(Shop, Lot)],
    next: &AtomicU64,
    callers: u64,
    movements: u64,
) -> Duration {
    let token = id();
    let started = Instant::now();
    std::thread::scope(|scope| {
        for caller in 0..callers {
            let share = movements / callers + u64::from(caller < movements % callers);
            scope.spawn(move || {
                for _ in 0..share {
                    // A step that has no factor in common with the number of parts: all in turn,
                    // neighbours far apart.
                    let part = next.fetch_add(1, Ordering::Relaxed) * 617 % PARTS;
                    let (shop, lot) = &shelves[part as usize];
                    black_box(issue(store, shop, lot, token).unwrap());
                }
            });
        }
    });
    started.elapsed()
}

fn issue(store: &Store, shop: &Shop, lot: &Lot, token: uuid::Uuid) -> Result<i64, StoreError> {
    let key = id().to_string();
    store.write(|s| {
        if s.once(token, &key)?.is_some() {
            return Err(StoreError::Fault("the key was new".into()));
        }
        let shelf = s.shelf(shop.plug.id, &[])?;
        if shelf.holdings.iter().all(|h| h.quantity == 0) {
            return Err(StoreError::Fault("a million were enough".into()));
        }
        let applied = s.apply(shop.plug.id, &moves(vec![shop.issue(lot, 1)]))?;
        let answer = OnceRow {
            fingerprint: "5f".repeat(32),
            status: 201,
            headers: "{}".into(),
            body: vec![b' '; 400],
            created_at: instant(0),
        };
        s.put_once(token, &key, &answer)?;
        Ok(applied.movements[0].sequence)
    })
}

criterion_group!(benches, movements);
criterion_main!(benches);
