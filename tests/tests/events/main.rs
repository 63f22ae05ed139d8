//! What happened, told to others: the feed and its long poll, signed deliveries and their fates.

mod feed;
mod kinds;
mod nodes;
mod targets;
mod webhooks;

use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

use plugwell_tests::{Shop, engines};

/// One running shop on each engine, shared by the tests of this process: it may send to this machine,
/// and tries again soon.
fn quick() -> impl Iterator<Item = &'static Shop> {
    static SHOPS: OnceLock<Vec<Shop>> = OnceLock::new();
    let settings = [
        "--webhook-allow",
        "127.0.0.1",
        "--webhook-schedule",
        "200ms,300ms",
        "--webhook-seconds",
        "2",
        "--low-stock-seconds",
        "1",
    ];
    let start = |engine| Shop::start_with(engine, &settings);
    SHOPS
        .get_or_init(|| engines().into_iter().map(start).collect())
        .iter()
        .inspect(|shop| println!("-- on {}", shop.engine()))
}

/// Holds off other tests that make heads: what goes to a webhook for them is one test's own.
fn heads_alone() -> MutexGuard<'static, ()> {
    static HEADS: Mutex<()> = Mutex::new(());
    HEADS.lock().unwrap_or_else(PoisonError::into_inner)
}
