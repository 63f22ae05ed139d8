//! What reordering asks of the database, over 10 000 parts with 1 000 000 movements of two years on
//! SQLite, and the lines that are made of it. `cargo bench -p plugwell-store --bench reorder`; filling
//! takes a few minutes.

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use std::collections::HashMap;
use std::hint::black_box;

use chrono::{DateTime, TimeDelta, Utc};
use criterion::{Criterion, criterion_group, criterion_main};
use made_up::{Shop, bare_plug, lot, read, write};
use plugwell_domain::calendar::CalendarPeriod;
use plugwell_domain::ledger::Plan;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{Known, LeadDays, Position, ReorderLine, Reordering};
use plugwell_store::{Options, Store, Target};
use uuid::Uuid;

const PARTS: u64 = 10_000;
/// Issues of one part; its receipt comes on top.
const ISSUES: u64 = 99;
/// Parts of one transaction: SQLite is slow in very long ones.
const AT_ONCE: u64 = 2;
const WEEKS: usize = 104;

fn start() -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::days(20_000)
}

/// Parts that sold sets of 4 to 9 now and then over two years.
fn filled(store: &Store) -> Vec<Plug> {
    let shop = Shop::set_up(store);
    let mut plugs = Vec::new();
    for first in (0..PARTS).step_by(AT_ONCE as usize) {
        plugs.extend(write(store, |s| {
            let part = |n: u64| bare_plug("Quillmark", &format!("Q-{n}"));
            (first..first + AT_ONCE)
                .map(|n| {
                    let plug = part(n);
                    s.insert_plug(&plug)?;
                    let lot = lot(plug.id);
                    let mut movements = vec![shop.receipt(&lot, 1_000)];
                    movements.extend((0..ISSUES).map(|k| {
                        let mut issue = shop.issue(&lot, 4 + ((n + k) % 6) as i64);
                        // A step without a factor in common with the days: spread over all of them.
                        let day = (n * 37 + k * 617) % (WEEKS as u64 * 7);
                        issue.created_at = start() + TimeDelta::days(day as i64);
                        issue
                    }));
                    let plan = Plan {
                        new_lots: vec![lot],
                        movements,
                        reservations: vec![],
                    };
                    s.apply(plug.id, &plan)?;
                    Ok(plug)
                })
                .collect::<Result<Vec<_>, plugwell_store::StoreError>>()
        }));
    }
    plugs
}

fn reorder(criterion: &mut Criterion) {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let target = Target::Sqlite(folder.path().join("shop.db"));
    let store = Store::open(&target, &Options::default()).unwrap();
    let plugs = filled(&store);
    let end = start() + TimeDelta::weeks(WEEKS as i64);
    let mut group = criterion.benchmark_group("reorder");
    group.sample_size(10);
    for period in [CalendarPeriod::Week, CalendarPeriod::Month] {
        group.bench_function(format!("demand_by_{period}"), |bencher| {
            bencher.iter(|| black_box(read(&store, |s| s.demand(period, start(), end, None))));
        });
    }
    group.bench_function("bought", |bencher| {
        bencher.iter(|| black_box(read(&store, |s| s.bought(None))));
    });
    group.bench_function("on_hand", |bencher| {
        bencher.iter(|| black_box(read(&store, |s| s.on_hand(None))));
    });
    let series = series(&store, end);
    group.bench_function("lines", |bencher| {
        bencher.iter(|| black_box(lines(&plugs, &series)))
    });
    group.finish();
}

fn series(store: &Store, end: DateTime<Utc>) -> HashMap<Uuid, Vec<i64>> {
    let first = CalendarPeriod::Week.number(start());
    let mut series: HashMap<Uuid, Vec<i64>> = HashMap::new();
    let asked = read(store, |s| {
        s.demand(CalendarPeriod::Week, start(), end, None)
    });
    for asked in asked.into_values().flatten() {
        let own = series
            .entry(asked.plug_id)
            .or_insert_with(|| vec![0; WEEKS + 1]);
        own[(asked.period - first) as usize] += asked.quantity;
    }
    series
}

fn lines(plugs: &[Plug], series: &HashMap<Uuid, Vec<i64>>) -> Vec<ReorderLine> {
    let (policy, hand) = (Policy::default(), Reordering::default());
    let of = |plug: &Plug| {
        let known = Known {
            plug,
            last_period: 2_900,
            history: &series[&plug.id],
            start: None,
            hand: &hand,
            supplier: Some("Hollis Parts".to_owned()),
            lead: LeadDays::of(&hand, &[6.0, 8.0, 11.0], None, &policy.values),
            unit_cost: Some(410),
            pack_size: Some(4),
            position: Position {
                on_hand: 12,
                reserved: 2,
                on_order: 0,
            },
            use_first: Vec::new(),
        };
        ReorderLine::of(known, &policy)
    };
    plugs.iter().map(of).collect()
}

criterion_group!(benches, reorder);
criterion_main!(benches);
