//! How long the value of the whole stock takes on SQLite: 10 000 parts with 100 movements each, by either
//! method. Filling takes a few minutes. `cargo bench -p plugwell-store --bench value`.

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use std::hint::black_box;
use std::time::{Duration, Instant};

use criterion::{Criterion, criterion_group, criterion_main};
use made_up::{Shop, bare_plug, lot, write};
use plugwell_domain::instant::Period;
use plugwell_domain::ledger::{Movement, MovementKind, Plan};
use plugwell_domain::valuation::{Books, Flows, Method, flows};
use plugwell_store::{Options, Store, StoreError, Target};

const PARTS: u64 = 10_000;
/// Movements of a part: a receipt for every nine others.
const MOVEMENTS: usize = 100;
/// Movements that share a transaction; a longer one takes more for each.
const AT_ONCE: u64 = 2;

fn value(criterion: &mut Criterion) {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let target = Target::Sqlite(folder.path().join("shop.db"));
    let store = Store::open(&target, &Options::default()).unwrap();
    let started = Instant::now();
    filled(&store);
    println!(
        "{PARTS} parts of {MOVEMENTS} movements in {:?}",
        started.elapsed()
    );
    let mut group = criterion.benchmark_group("value of all stock, 1 000 000 movements");
    group
        .sample_size(10)
        .measurement_time(Duration::from_secs(20));
    for method in [Method::Fifo, Method::MovingAverage] {
        let started = Instant::now();
        let total = worth(&store, method);
        println!(
            "{method}: {} in {:?}",
            total.closing.minor,
            started.elapsed()
        );
        assert_eq!(total.comes_to(), total.closing);
        group.bench_function(method.word(), |b| {
            b.iter(|| black_box(worth(&store, method)))
        });
    }
    group.finish();
}

fn worth(store: &Store, method: Method) -> Flows {
    let mut total = Flows::default();
    let read = store.read(|s| {
        let parts = s.stocked_parts()?;
        s.each_part(&parts, "USD", |part| {
            total += flows(
                Books::of(method, &part.lots),
                &part.entries,
                Period::default(),
            );
        })
    });
    read.map_err(|e: StoreError| e).unwrap();
    total
}

/// Parts that live alike: ten receipts each, nine movements after each of them.
fn filled(store: &Store) {
    let shop = Shop::set_up(store);
    for first in (0..PARTS).step_by(AT_ONCE as usize) {
        write(store, |s| {
            for number in first..(first + AT_ONCE).min(PARTS) {
                let plug = bare_plug("Quillmark", &format!("Q-{number}"));
                s.insert_plug(&plug)?;
                let own = Shop {
                    plug,
                    ..shop.clone()
                };
                s.apply(own.plug.id, &lived(&own))?;
            }
            Ok(())
        });
    }
}

fn lived(shop: &Shop) -> Plan {
    let mut plan = Plan::default();
    while plan.movements.len() < MOVEMENTS {
        let mut received = lot(shop.plug.id);
        received.quantity_received = 40;
        let issue = shop.issue(&received, 4);
        let back = Movement {
            kind: MovementKind::Return,
            from_place_id: issue.to_place_id,
            to_place_id: issue.from_place_id,
            quantity: 1,
            answers: Some(issue.id),
            id: made_up::id(),
            ..issue.clone()
        };
        let aside = made_up::moved(&received, &shop.bin, &shop.second_bin, 2);
        plan.movements.push(shop.receipt(&received, 40));
        plan.movements.extend([issue, back, aside]);
        plan.movements
            .extend((0..6).map(|_| shop.issue(&received, 4)));
        plan.new_lots.push(received);
    }
    plan
}

criterion_group!(benches, value);
criterion_main!(benches);
