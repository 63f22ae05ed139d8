//! A day of random commands by sixteen callers, and an audit at its end.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use plugwell_tests::bodies::{bin, issue, place, plug, receipt, stock_of, stored_plug, unique};
use plugwell_tests::{Shop, Who, engines};
use rand::RngExt;
use rand::rngs::ThreadRng;
use rand::seq::IndexedRandom;
use serde_json::{Value, json};

use crate::nothing_below_zero;

const MIXERS: usize = 16;
const COMMANDS: usize = 40;

/// What random callers know of a shop.
struct Floor<'s> {
    shop: &'s Shop,
    plugs: Vec<String>,
    places: Vec<String>,
    /// Movements and reservations that were answered.
    movements: Mutex<Vec<Value>>,
    reservations: Mutex<Vec<Value>>,
    done: AtomicUsize,
}

impl Floor<'_> {
    fn step(&self, dice: &mut ThreadRng) {
        let (path, body) = self.command(dice);
        let answer = self
            .shop
            .once(Who::Manager, &format!("/v1/stock/{path}"), &body);
        assert!(
            matches!(answer.status, 200 | 201 | 400 | 404 | 409),
            "{answer:?}"
        );
        if answer.status >= 300 {
            return;
        }
        self.done.fetch_add(1, Ordering::Relaxed);
        let moved = answer.json["movements"]
            .as_array()
            .into_iter()
            .flatten()
            .cloned();
        self.movements.lock().expect("no panic").extend(moved);
        if answer.json["state"] == "open" {
            self.reservations
                .lock()
                .expect("no panic")
                .push(answer.json);
        }
    }

    /// Any command, right or wrong.
    fn command(&self, dice: &mut ThreadRng) -> (String, Value) {
        let plug_id = self.plugs.choose(dice).expect("a part");
        let place_id = self.places.choose(dice).expect("a place");
        let known = |list: &Mutex<Vec<Value>>, dice: &mut ThreadRng| {
            list.lock()
                .expect("no panic")
                .choose(dice)
                .cloned()
                .unwrap_or_default()
        };
        let (movement, kept) = (
            known(&self.movements, dice),
            known(&self.reservations, dice),
        );
        let quantity = dice.random_range(1..=6);
        let job = format!("Job {}", dice.random_range(1..=5));
        let (path, body) = match dice.random_range(0..12) {
            0 | 1 => ("receipts", receipt(plug_id, place_id, quantity)),
            2 | 3 => ("issues", issue(plug_id, &job, quantity)),
            4 => (
                "issues",
                json!({ "plug_id": kept["plug_id"], "quantity": 1, "reservation_id": kept["id"] }),
            ),
            5 => (
                "returns",
                json!({
                    "movement_id": movement["id"], "quantity": 1, "place_id": place_id, "condition": "gapped", "gap_mm": 0.8
                }),
            ),
            6 => (
                "returns",
                json!({ "movement_id": movement["id"], "quantity": 1, "condition": "fitted" }),
            ),
            7 => (
                "transfers",
                json!({
                    "lot_id": movement["lot_id"], "from_place_id": movement["to_place_id"], "to_place_id": place_id,
                    "quantity": quantity
                }),
            ),
            8 => (
                "scrappings",
                json!({ "plug_id": plug_id, "place_id": place_id, "quantity": 1, "reason": "dropped" }),
            ),
            9 => (
                "reversals",
                json!({ "movement_id": movement["id"], "reason": "slip" }),
            ),
            10 => (
                "reservations",
                json!({ "plug_id": plug_id, "quantity": quantity, "job": job }),
            ),
            _ => {
                let id = kept["id"].as_str().unwrap_or_default();
                return (format!("reservations/{id}/release"), Value::Null);
            }
        };
        (path.to_owned(), body)
    }
}

#[test]
fn after_a_mixed_day_the_books_are_right() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let floor = Floor {
            shop: &shop,
            plugs: (0..6)
                .map(|_| stored_plug(&shop, &plug(&unique("MIX"))))
                .collect(),
            places: [
                bin(&shop, "A1"),
                bin(&shop, "A2"),
                place(&shop, "quarantine", "Hold"),
            ]
            .to_vec(),
            movements: Mutex::default(),
            reservations: Mutex::default(),
            done: AtomicUsize::new(0),
        };
        thread::scope(|scope| {
            for _ in 0..MIXERS {
                scope.spawn(|| (0..COMMANDS).for_each(|_| floor.step(&mut rand::rng())));
            }
        });
        let done = floor.done.load(Ordering::Relaxed);
        assert!(
            done > MIXERS * COMMANDS / 5,
            "only {done} commands were done"
        );
        let plugs = floor.plugs.clone();
        plugs
            .iter()
            .for_each(|plug_id| nothing_below_zero(&shop, plug_id));
        let before: Vec<(i64, i64)> = plugs
            .iter()
            .map(|plug_id| stock_of(&shop, plug_id))
            .collect();
        shop.stop();
        let audit = shop.run("audit", &[]);
        assert!(audit.status.success(), "{engine}: {audit:?}");
        shop.open();
        let after: Vec<(i64, i64)> = plugs
            .iter()
            .map(|plug_id| stock_of(&shop, plug_id))
            .collect();
        assert_eq!(
            after, before,
            "{engine}: the shelves in memory were those of the ledger"
        );
    }
}
