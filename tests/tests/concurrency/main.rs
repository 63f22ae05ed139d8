//! Many callers at once, with real threads over HTTP: nobody gets what is not there, every answer
//! shows what was answered before, and a stop loses nothing.

mod expiring;
mod freshness;
mod last_set;
mod mixed_day;
mod scales;
mod stopping;

use std::collections::BTreeMap;
use std::sync::Barrier;
use std::thread;

use plugwell_tests::{Answer, Shop, Who};

/// Callers who all want the same.
const CALLERS: usize = 64;

/// All callers at once: each waits for the others before it asks.
fn at_once(callers: usize, ask: impl Fn(usize) -> Answer + Sync) -> Vec<Answer> {
    let (barrier, ask) = (Barrier::new(callers), &ask);
    thread::scope(|scope| {
        let asking: Vec<_> = (0..callers)
            .map(|caller| {
                let barrier = &barrier;
                scope.spawn(move || {
                    barrier.wait();
                    ask(caller)
                })
            })
            .collect();
        asking
            .into_iter()
            .map(|thread| thread.join().expect("a caller"))
            .collect()
    })
}

#[track_caller]
fn nothing_below_zero(shop: &Shop, plug_id: &str) {
    let bounded: Vec<_> = ["bin", "job", "quarantine", "scrap"]
        .iter()
        .flat_map(|kind| {
            shop.get(
                Who::Reader,
                &format!("/v1/stock/places?kind={kind}&limit=200"),
            )
            .expect(200)
            .column("id")
        })
        .collect();
    let levels = shop
        .get(
            Who::Reader,
            &format!("/v1/stock/levels?plug_id={plug_id}&limit=200"),
        )
        .expect(200);
    let mut sums = BTreeMap::<String, i64>::new();
    for level in levels.items() {
        let quantity = level["quantity"].as_i64().expect("a quantity");
        assert!(
            quantity >= 0 || !bounded.contains(&level["place_id"]),
            "{level}"
        );
        *sums.entry(level["lot_id"].to_string()).or_default() += quantity;
    }
    assert!(!sums.is_empty());
    assert!(
        sums.values().all(|sum| *sum == 0),
        "each lot sums to zero: {sums:?}"
    );
}
