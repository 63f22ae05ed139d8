//! A count while the shop works on: plugs come and go on several threads, lines are counted, a manager
//! approves, and every difference is that of the instant of its counting.

use std::sync::Barrier;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;

use plugwell_tests::bodies::{bin, issue, plug, receive, stored_plug, unique};
use plugwell_tests::{Answer, Shop, Who, engines, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, word};
use crate::counts::{approve, count};

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
            let (from, to) = if (turn / self.lots.len()).is_multiple_of(2) {
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

    /// Every counting is that of its instant, and what was booked is the last one's difference.
    fn holds(&self, approved: &Value) {
        let movements = self.shop.all(Who::Reader, "/v1/stock/movements?limit=200");
        let last = i64::MAX;
        let mut differing = 0;
        for line in approved["lines"].as_array().expect("lines") {
            for (version, expected) in tallies(line) {
                assert_eq!(self.summed(&movements, line, version), expected, "{line}");
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
            assert_eq!(signed.sum::<i64>(), difference, "{line}");
            let path = format!(
                "/v1/stock/levels?lot_id={}&place_id={}",
                word(line, "lot_id"),
                word(line, "place_id")
            );
            let held = self
                .shop
                .all(Who::Reader, &path)
                .first()
                .map_or(0, |l| l["quantity"].as_i64().expect("a quantity"));
            assert_eq!(held, self.summed(&movements, line, last), "{line}");
        }
        assert!(differing >= 4, "{differing} lines differed");
    }
}

/// Lets the shop stop working also where a counting fails.
struct Stop<'f>(&'f AtomicBool);

impl Drop for Stop<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
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
            let _stop = Stop(&floor.stop);
            floor.count(&path);
            let reason = json!({ "reason": "counted amid the rush" });
            shop.once(Who::Manager, &format!("{path}/approval"), &reason)
        });
        assert!(
            floor.moved.load(Ordering::Relaxed) > 20,
            "{engine}: the shop worked on"
        );
        assert_eq!(done.status, 200, "{engine}: {done:?}");
        floor.holds(&done.json);
        shop.stop();
        let audit = shop.run("audit", &[]);
        assert!(audit.status.success(), "{engine}: {audit:?}");
    }
}

/// Asked by eight at once: the statuses, the lowest first.
fn statuses(ask: impl Fn() -> Answer + Sync) -> Vec<u16> {
    let (barrier, ask) = (Barrier::new(8), &ask);
    let mut statuses: Vec<u16> = thread::scope(|scope| {
        let asking: Vec<_> = (0..8)
            .map(|_| {
                let barrier = &barrier;
                scope.spawn(move || {
                    barrier.wait();
                    ask().status
                })
            })
            .collect();
        let answered = asking
            .into_iter()
            .map(|thread| thread.join().expect("a caller"));
        answered.collect()
    });
    statuses.sort_unstable();
    statuses
}

#[test]
fn a_bin_is_begun_and_a_count_approved_by_one_of_many() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let one_of_many = |status: u16| [&[status][..], &[409; 7]].concat();
        let body = json!({ "places": [shelf.bin_id] });
        let begun = statuses(|| shop.post(Who::Clerk, "/v1/stock/counts", &body));
        assert_eq!(begun, one_of_many(201));
        let listed = shop.all(
            Who::Reader,
            &format!("/v1/stock/counts?place_id={}", shelf.bin_id),
        );
        assert_eq!(listed.len(), 1);
        let path = format!("/v1/stock/counts/{}", word(&listed[0], "id"));
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 8).expect(200);
        assert_eq!(statuses(|| approve(shop, &path)), one_of_many(200));
        assert_eq!(shelf.held("bin"), 8, "booked once");
    }
}
