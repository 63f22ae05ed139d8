//! Several clerks at one delivery at once: real threads, nothing counted twice, the books right.

use std::sync::Barrier;
use std::thread;

use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::{Value, json};

use crate::dock::{Dock, text};

/// All at once: each waits for the others before it asks.
pub fn at_once(callers: usize, ask: impl Fn(usize) -> Answer + Sync) -> Vec<Answer> {
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
        let joined = asking.into_iter().map(|t| t.join().expect("a caller"));
        joined.collect()
    })
}

#[test]
fn clerks_at_one_delivery_count_every_plug_once() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        {
            let dock = Dock::new(&shop);
            for _ in 0..4 {
                let (one, other) = (dock.part(json!({})), dock.part(json!({})));
                let order = dock.order(&[(&one, 16), (&other, 16)]);
                // Two lines of different parts: it is the order, not a part, that keeps them apart.
                let answers = at_once(8, |caller| dock.receive(&order["lines"][caller % 2], 4));
                assert!(
                    answers.iter().all(|a| a.status == 201),
                    "{engine}: {answers:?}"
                );
                let now = dock.now(&order);
                assert_eq!(now["state"], "closed", "{engine}: the last one closes it");
                for line in now["lines"].as_array().expect("lines") {
                    assert_eq!(
                        (&line["received"], &line["too_many"]),
                        (&json!(16), &json!(0))
                    );
                }
                assert_eq!(now["version"], 9, "every delivery is one change");
                let closing = answers
                    .iter()
                    .filter(|a| a.json["delivery"]["order_state"] == "closed");
                assert_eq!(closing.count(), 1, "{engine}");
                let mut before: Vec<i64> = answers
                    .iter()
                    .filter(|a| a.json["delivery"]["order_line_id"] == order["lines"][0]["id"])
                    .filter_map(|a| a.json["delivery"]["received_before"].as_i64())
                    .collect();
                before.sort_unstable();
                assert_eq!(
                    before,
                    [0, 4, 8, 12],
                    "{engine}: each saw what the others had brought"
                );
            }
        }
        audited(&mut shop);
    }
}

#[test]
fn receipts_reversals_and_changes_of_one_order_at_once() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        {
            let dock = Dock::new(&shop);
            for _ in 0..4 {
                let part = dock.part(json!({}));
                let order = dock.order(&[(&part, 40)]);
                let line = &order["lines"][0];
                let first = dock.receive(line, 4).expect(201).json["movements"][0].clone();
                let note = json!({ "note": "called" });
                let path = format!("/v1/orders/{}", text(&order, "id"));
                let answers = at_once(8, |caller| match caller % 4 {
                    0 | 1 => dock.receive(line, 4),
                    2 => dock.reverse(Who::Clerk, &first),
                    _ => shop.patch(Who::Clerk, &path, &note),
                });
                let done = |of: usize| {
                    let own = answers
                        .iter()
                        .enumerate()
                        .filter(|(i, a)| i % 4 == of && a.status < 300);
                    own.count()
                };
                assert_eq!((done(0), done(1)), (2, 2), "{engine}: {answers:?}");
                assert_eq!(done(2), 1, "{engine}: put right once");
                assert!(
                    answers
                        .iter()
                        .all(|a| matches!(a.status, 200 | 201 | 409 | 412)),
                    "{answers:?}"
                );
                let now = dock.now(&order);
                assert_eq!(now["lines"][0]["received"], 16, "{engine}");
                assert_eq!(dock.held(&part, "bin"), 16, "{engine}");
            }
        }
        audited(&mut shop);
    }
}

#[test]
fn a_lot_is_put_aside_once_and_decided_once_while_it_goes_out() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        {
            let dock = Dock::new(&shop);
            for _ in 0..4 {
                let part = dock.part(json!({}));
                let order = dock.order(&[(&part, 24)]);
                let lot =
                    dock.receive(&order["lines"][0], 24).expect(201).json["lots"][0]["id"].clone();
                let check = json!({ "lot_id": lot, "sample": 1, "reach_mm": [17.0] });
                let out = json!({ "plug_id": part, "job": "Kite", "quantity": 2 });
                let answers = at_once(8, |caller| match caller % 2 {
                    0 => shop.once(Who::Clerk, "/v1/stock/incoming-checks", &check),
                    _ => shop.once(Who::Clerk, "/v1/stock/issues", &out),
                });
                let waiting: Vec<&Value> = answers
                    .iter()
                    .map(|a| &a.json["check"])
                    .filter(|check| check["state"] == "waiting")
                    .collect();
                let [check] = waiting.as_slice() else {
                    panic!("{engine}: {answers:?}")
                };
                assert_eq!(
                    dock.held(&part, "bin"),
                    0,
                    "{engine}: nothing is left to be issued"
                );
                let aside = dock.held(&part, "quarantine");
                assert_eq!(aside + dock.held(&part, "job"), 24, "{engine}");
                let path = format!("/v1/stock/incoming-checks/{}/decision", text(check, "id"));
                let decisions = at_once(4, |caller| {
                    let body = match caller % 2 {
                        0 => json!({ "decision": "release", "place_id": dock.bin }),
                        _ => json!({ "decision": "scrap" }),
                    };
                    shop.once(Who::Manager, &path, &body)
                });
                let decided = decisions.iter().filter(|a| a.status == 200).count();
                assert_eq!(decided, 1, "{engine}: {decisions:?}");
                assert_eq!(
                    dock.held(&part, "bin") + dock.held(&part, "scrap"),
                    aside,
                    "{engine}"
                );
            }
        }
        audited(&mut shop);
    }
}

/// The books agree with themselves, and orders with them.
pub fn audited(shop: &mut Shop) {
    shop.stop();
    let audit = shop.run("audit", &[]);
    assert!(audit.status.success(), "{audit:?}");
}
