//! What to order, over HTTP and on both databases: every line recomputed from its members alone, its
//! demand recounted from the movements, what is given by hand, and the draft orders.

mod by_hand;
mod instead;
mod kept;
mod lines;
mod new_parts;
mod ordering;
mod paper;
mod recomputed;
mod shared_out;

use std::sync::OnceLock;

use plugwell_tests::Shop;
use plugwell_tests::shop::engines;

/// The invented shop with its year, one on each engine, shared by the tests that only look.
fn demos() -> impl Iterator<Item = &'static Shop> {
    static SHOPS: OnceLock<Vec<Shop>> = OnceLock::new();
    let shops = SHOPS.get_or_init(|| engines().into_iter().map(Shop::start_demo).collect());
    shops
        .iter()
        .inspect(|shop| println!("-- on {}", shop.engine()))
}
