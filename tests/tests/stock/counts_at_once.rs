//! A count while the shop works on: plugs come and go on several threads, lines are counted, a manager
//! approves, and every difference is that of the instant of its counting.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;

use plugwell_tests::bodies::{bin, issue, plug, receive, stored_plug, unique};
use plugwell_tests::{Shop, Who, engines};
use serde_json::{Value, json};

use crate::counter::word;

/// Times that every line is counted.
const COUNTINGS: usize = 12;

struct Floor<'s> {
    shop: &'s Shop,
    plugs: [String; 2],
    bins: [String; 2],
    lots: Vec<String>,
    stop: AtomicBool,
    moved: AtomicUsize,
}

impl Floor<'_> {
    /// Works on until the count is approved: issues, what comes back, plugs from bin to bin.
    fn work(&self, number: usize) {
        for round in 0.. {
            if self.stop.load(Ordering::Relaxed) {
                return;
            }
            let job = format!("Job {number}");
            let plug = &self.plugs[(round + number) % 2];
            let issued = self
                .shop
                .once(Who::Clerk, "/v1/stock/issues", &issue(plug, &job, 2));
            if issued.status == 201 {
                self.moved.fetch_add(1, Ordering::Relaxed);
                for movement in issued.json["movements"].as_array().into_iter().flatten() {
                    let back = json!({ "movement_id": movement["id"], "quantity": movement["quantity"], "place_id": movement["from_place_id"], "condition": "sealed" });
                    self.shop
                        .once(Who::Clerk, "/v1/stock/returns", &back)
                        .expect(201);
                }
            }
            let turn = round + number;
            let lot = &self.lots[turn % self.lots.len()];
            // To and fro, so that no bin runs empty.
            let (from, to) = if turn / self.lots.len() % 2 == 0 {
                (0, 1)
            } else {
                (1, 0)
            };
            let over = json!({ "lot_id": lot, "from_place_id": self.bins[from], "to_place_id": self.bins[to], "quantity": 1 });
            let answer = self.shop.once(Who::Clerk, "/v1/stock/transfers", &over);
            assert!(matches!(answer.status, 201 | 409), "{answer:?}");
        }
    }

    /// The sum of a lot's movements into and out of a bin up to a running number.
    fn summed(&self, movements: &[Value], line: &Value, up_to: i64) -> i64 {
        let own = movements.iter().filter(|m| {
            m["lot_id"] == line["lot_id"] && m["sequence"].as_i64().is_some_and(|n| n <= up_to)
        });
        own.map(|m| {
            let quantity = m["quantity"].as_i64().expect("a quantity");
            match (
                m["to_place_id"] == line["place_id"],
                m["from_place_id"] == line["place_id"],
            ) {
                (true, _) => quantity,
                (_, true) => -quantity,
                _ => 0,
            }
        })
        .sum()
    }

    /// Counts all lines over and over, each time other numbers.
    fn count(&self, path: &str) {
        for round in 0..COUNTINGS {
            let known = self.shop.get(Who::Clerk, path).expect(200);
            let lines: Vec<Value> = self
                .lots
                .iter()
                .flat_map(|lot| self.bins.iter().map(move |bin| (lot, bin)))
                .map(|(lot, bin)| json!({ "lot_id": lot, "place_id": bin, "counted": 30 + round }))
                .collect();
            let headers = [("if-match", &*known.etag())];
            let counted = self.shop.send_json(
                "PATCH",
                path,
                Who::Clerk,
                &headers,
                &json!({ "lines": lines }),
            );
            counted.expect(200);
        }
    }
}

/// Every counting that the answer tells of.
fn tallies(line: &Value) -> Vec<(i64, i64)> {
    let number = |of: &Value, member: &str| of[member].as_i64().expect("a number");
    let earlier = line["earlier"].as_array().expect("countings").iter();
    earlier
        .chain([line])
        .map(|tally| (number(tally, "level_version"), number(tally, "expected")))
        .collect()
}

#[test]
fn a_count_while_plugs_come_and_go() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let plugs = [(); 2].map(|()| stored_plug(&shop, &plug(&unique("CNT"))));
        let bins = [bin(&shop, "A1"), bin(&shop, "A2")];
        let lots = plugs
            .iter()
            .flat_map(|plug| bins.iter().map(move |bin| (plug, bin)))
            .map(|(plug, bin)| word(&receive(&shop, plug, bin, 200), "lot_id"))
            .collect();
        let floor = Floor {
            shop: &shop,
            plugs,
            bins,
            lots,
            stop: AtomicBool::new(false),
            moved: AtomicUsize::new(0),
        };
        let made = shop
            .post(
                Who::Clerk,
                "/v1/stock/counts",
                &json!({ "places": floor.bins }),
            )
            .expect(201);
        let path = format!("/v1/stock/counts/{}", made.text("id"));
        let done = thread::scope(|scope| {
            for number in 0..4 {
                let floor = &floor;
                scope.spawn(move || floor.work(number));
            }
            floor.count(&path);
            let reason = json!({ "reason": "counted amid the rush" });
            let approved = shop.once(Who::Manager, &format!("{path}/approval"), &reason);
            floor.stop.store(true, Ordering::Relaxed);
            approved
        });
        assert!(
            floor.moved.load(Ordering::Relaxed) > 20,
            "{engine}: the shop worked on"
        );
        assert_eq!(done.status, 200, "{engine}: {done:?}");
        let movements = shop.all(Who::Reader, "/v1/stock/movements?limit=200");
        let last = i64::MAX;
        let mut differing = 0;
        for line in done.json["lines"].as_array().expect("lines") {
            for (version, expected) in tallies(line) {
                assert_eq!(
                    floor.summed(&movements, line, version),
                    expected,
                    "{engine}: {line}"
                );
            }
            let difference = line["difference"].as_i64().expect("a difference");
            differing += i64::from(difference != 0);
            let booked = movements
                .iter()
                .filter(|m| m["kind"] == "difference" && m["id"] == line["movement_id"]);
            let signed = booked.map(|m| {
                let quantity = m["quantity"].as_i64().expect("a quantity");
                if m["to_place_id"] == line["place_id"] {
                    quantity
                } else {
                    -quantity
                }
            });
            assert_eq!(signed.sum::<i64>(), difference, "{engine}: {line}");
            let path = format!(
                "/v1/stock/levels?lot_id={}&place_id={}",
                word(line, "lot_id"),
                word(line, "place_id")
            );
            let held = shop
                .all(Who::Reader, &path)
                .first()
                .map_or(0, |l| l["quantity"].as_i64().expect("a quantity"));
            assert_eq!(
                held,
                floor.summed(&movements, line, last),
                "{engine}: {line}"
            );
        }
        assert!(differing >= 4, "{engine}: {differing} lines differed");
        shop.stop();
        let audit = shop.run("audit", &[]);
        assert!(audit.status.success(), "{engine}: {audit:?}");
    }
}
