//! Several days that want the same last set at once: real threads, nothing promised twice.

use std::sync::Barrier;
use std::thread;

use plugwell_tests::bodies::stock_of;
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::{Value, json};

use crate::floor::{DAYS, Floor};

/// All at once: each waits for the others before it asks.
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
        let joined = asking.into_iter().map(|t| t.join().expect("a caller"));
        joined.collect()
    })
}

fn kept(answer: &Answer) -> i64 {
    answer.json["reservation"]["quantity"].as_i64().unwrap_or(0)
}

#[test]
fn days_planned_at_once_never_keep_more_than_there_is() {
    for engine in engines() {
        let shop = Shop::start(engine);
        for round in 0..6 {
            let floor = Floor::new(&shop);
            let (cheap, dear) = (floor.part(json!({})), floor.part(json!({})));
            floor.receive(&cheap, 13, 1_300);
            if round % 2 == 1 {
                floor.receive(&dear, 13, 13_000);
            }
            let same = floor.asked(json!({}));
            let days = at_once(8, |caller| {
                // Half of them under one name: they share a job.
                let body = if caller % 2 == 0 {
                    same.clone()
                } else {
                    floor.asked(json!({}))
                };
                shop.once(Who::Tuner, DAYS, &body)
            });
            let whole = if round % 2 == 1 { 2 } else { 1 };
            for answer in &days {
                assert_eq!(answer.status, 201, "{answer:?}");
                let plan = &answer.json["plan"];
                let full = answer.json["state"] == "reserved";
                assert_eq!(
                    kept(answer),
                    if full { 13 } else { 0 },
                    "{engine}: {answer:?}"
                );
                assert_eq!(plan["short"].is_null(), full, "the plan says what was kept");
            }
            let full = days
                .iter()
                .filter(|d| d.json["state"] == "reserved")
                .count();
            assert_eq!(full, whole, "{engine}, round {round}");
            assert_eq!(stock_of(&shop, &cheap), (0, 13), "{engine}");
            if whole == 2 {
                assert_eq!(stock_of(&shop, &dear), (0, 13), "{engine}");
            }
        }
    }
}

#[test]
fn a_day_is_called_off_once_while_its_plugs_go_out() {
    for engine in engines() {
        let shop = Shop::start(engine);
        for _ in 0..4 {
            let floor = Floor::new(&shop);
            let part = floor.part(json!({}));
            floor.receive(&part, 13, 1_300);
            let day = floor.plan(json!({})).expect(201);
            let off = format!("{DAYS}/{}/withdrawal", day.text("id"));
            let draw = json!({ "plug_id": part, "quantity": 4, "reservation_id": day.json["reservation_id"] });
            let answers = at_once(8, |caller| match caller % 2 {
                0 => shop.once(Who::Tuner, &off, &Value::Null),
                _ => shop.once(Who::Tuner, "/v1/stock/issues", &draw),
            });
            let done = |status: u16| answers.iter().filter(|a| a.status == status).count();
            assert_eq!(done(200), 1, "{engine}: withdrawn once");
            let out = 4 * i64::try_from(done(201)).expect("few");
            assert!(
                answers.iter().all(|a| matches!(a.status, 200 | 201 | 409)),
                "{answers:?}"
            );
            assert_eq!(stock_of(&shop, &part), (13 - out, 13 - out), "{engine}");
            assert_eq!(floor.day(&day.text("id")).json["state"], "withdrawn");
        }
    }
}

#[test]
fn the_last_plug_of_an_issue_is_read_once() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let floor = Floor::new(&shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 4, 400);
        let out = floor.issue(&part, 3, json!({ "job": "Hill" }));
        let answers = at_once(8, |caller| {
            floor.read(json!({ "movement_id": out, "run": caller + 1 }))
        });
        assert!(answers.iter().all(|a| a.status == 201));
        let counted = answers.iter().filter(|a| a.json["evidence"] == true);
        assert_eq!(counted.count(), 3, "{engine}");
    }
}

#[test]
fn one_plug_is_read_once_after_one_run() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let floor = Floor::new(&shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 13, 1_300);
        let day = floor.plan(json!({})).expect(201).text("id");
        // None names an issue: it is not the part's lock that keeps them apart.
        let answers = at_once(8, |_| floor.read(json!({ "tuning_day_id": day })));
        let made = answers.iter().filter(|a| a.status == 201);
        assert_eq!(made.count(), 1, "{engine}");
        for answer in answers.into_iter().filter(|a| a.status != 201) {
            answer.problem(409, "duplicate_record");
        }
    }
}

#[test]
fn a_day_is_topped_up_once_by_several_at_once() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let floor = Floor::new(&shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 10, 1_000);
        let day = floor.plan(json!({})).expect(201).text("id");
        floor.receive(&part, 30, 3_000);
        let path = format!("{DAYS}/{day}/reservation");
        let answers = at_once(8, |_| shop.once(Who::Tuner, &path, &Value::Null));
        assert!(answers.iter().all(|a| a.status == 200), "{answers:?}");
        assert_eq!(stock_of(&shop, &part), (27, 40), "{engine}: 13 and no more");
        let now = floor.day(&day).json;
        assert_eq!(now["state"], "reserved");
        assert_eq!(
            now["further_reservations"].as_array().map(Vec::len),
            Some(1)
        );
    }
}
