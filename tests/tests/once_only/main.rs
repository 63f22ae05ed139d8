//! Once-only keys: the same request twice is done once and answered alike, also across a kill.

mod keys;
mod killing;

use plugwell_tests::bodies::{bin, plug, stored_plug, unique};
use plugwell_tests::{Answer, Shop, Who};
use serde_json::Value;

const RECEIPTS: &str = "/v1/stock/receipts";

/// A part of its own and a bin of its own.
fn shelf(shop: &Shop) -> (String, String) {
    (
        stored_plug(shop, &plug(&unique("ONCE"))),
        bin(shop, &unique("Once")),
    )
}

fn movements_of(shop: &Shop, plug_id: &str) -> Vec<Value> {
    shop.all(
        Who::Reader,
        &format!("/v1/stock/movements?plug_id={plug_id}&limit=200"),
    )
}

fn replayed(answer: &Answer) -> bool {
    answer.header("once-only-replayed") == Some("true")
}
