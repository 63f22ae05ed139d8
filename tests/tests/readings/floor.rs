//! A build with a reach of its own, so that only parts made for it fit, and what is done with it.

use std::sync::atomic::{AtomicU64, Ordering};

use chrono::{Days, NaiveDate, Utc};
use plugwell_tests::bodies::{bin, build, head, plug, receipt, stored_plug, unique, with};
use plugwell_tests::{Answer, Shop, Who};
use serde_json::{Value, json};

pub const DAYS: &str = "/v1/tuning-days";
pub const READINGS: &str = "/v1/readings";

/// A build that nothing else fits.
pub struct Floor<'s> {
    pub shop: &'s Shop,
    pub build_id: String,
    bin_id: String,
    reach_mm: f64,
}

/// The day so many days from today.
pub fn in_days(days: u64) -> NaiveDate {
    Utc::now().date_naive() + Days::new(days)
}

impl<'s> Floor<'s> {
    /// A four-cylinder of its own in this shop, with one bin.
    pub fn new(shop: &'s Shop) -> Self {
        static NUMBER: AtomicU64 = AtomicU64::new(0);
        // Reaches that the tolerance of 0.3 mm keeps apart.
        let number = NUMBER.fetch_add(1, Ordering::Relaxed);
        let reach_mm = (600 + 35 * number) as f64 / 100.0;
        let body = with(
            build(),
            json!({ "head": with(head(), json!({ "reach_mm": reach_mm })), "cylinders": 4 }),
        );
        let made = shop.post(Who::Tuner, "/v1/builds", &body).expect(201);
        Self {
            shop,
            build_id: made.text("id"),
            bin_id: bin(shop, &unique("Bin")),
            reach_mm,
        }
    }

    /// A part that fits, with some members changed.
    pub fn part(&self, over: Value) -> String {
        let body = with(plug(&unique("TD")), json!({ "reach_mm": self.reach_mm }));
        stored_plug(self.shop, &with(body, over))
    }

    /// Receives sealed plugs that cost so much together; the lot.
    pub fn receive(&self, plug_id: &str, quantity: i64, minor: i64) -> String {
        let cost = json!({ "total_cost": { "minor": minor, "currency": "USD" } });
        self.receive_as(plug_id, quantity, cost)
    }

    pub fn receive_as(&self, plug_id: &str, quantity: i64, over: Value) -> String {
        let body = with(receipt(plug_id, &self.bin_id, quantity), over);
        let answer = self.shop.once(Who::Clerk, "/v1/stock/receipts", &body);
        word(&answer.expect(201).json["movements"][0], "lot_id")
    }

    /// A day in two weeks with three pulls, with some members changed: 3 × 4 + 1 = 13 plugs.
    pub fn asked(&self, over: Value) -> Value {
        let body = json!({ "name": unique("Hill"), "build_id": self.build_id, "day": in_days(14), "pulls": 3 });
        with(body, over)
    }

    /// Plans such a day.
    pub fn plan(&self, over: Value) -> Answer {
        self.shop.once(Who::Tuner, DAYS, &self.asked(over))
    }

    /// Issues plugs of a part, with some members added; the movement.
    pub fn issue(&self, plug_id: &str, quantity: i64, over: Value) -> String {
        let body = with(
            json!({ "plug_id": plug_id, "quantity": quantity, "build_id": self.build_id }),
            over,
        );
        let answer = self.shop.once(Who::Tuner, "/v1/stock/issues", &body);
        word(&answer.expect(201).json["movements"][0], "id")
    }

    /// A right reading of cylinder 1 that was seen to be fine, with some members changed.
    pub fn reading(&self, over: Value) -> Value {
        let body = json!({
            "build_id": self.build_id, "run": 1, "cylinder": 1, "full_load": true, "clean_shut_off": true,
            "heat_line": "midway", "base_ring": "dark_all_round"
        });
        with(body, over)
    }

    /// Records such a reading.
    pub fn read(&self, over: Value) -> Answer {
        self.shop.post(Who::Tuner, READINGS, &self.reading(over))
    }

    /// A tuning day as it is now.
    pub fn day(&self, id: &str) -> Answer {
        self.shop
            .get(Who::Reader, &format!("{DAYS}/{id}"))
            .expect(200)
    }
}

/// A member that is text.
#[track_caller]
pub fn word(value: &Value, member: &str) -> String {
    value[member]
        .as_str()
        .unwrap_or_else(|| panic!("no {member} in {value}"))
        .to_owned()
}

/// The codes of a list of things with codes.
pub fn codes(list: &Value) -> Vec<String> {
    let items = list.as_array().into_iter().flatten();
    items.map(|item| word(item, "code")).collect()
}
