//! A part and a requirement that only this part meets, and the jobs that wait for it.

use std::sync::atomic::{AtomicU32, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use plugwell_tests::bodies::{bin, plug, receive, stored_plug, unique, with};
use plugwell_tests::{Answer, Shop, Who};
use serde_json::{Value, json};

/// How long the service may take to tell.
pub const PATIENCE: Duration = Duration::from_secs(15);

pub struct Bench<'s> {
    pub shop: &'s Shop,
    /// A heat index that no other bench of this process has.
    pub heat: f64,
    pub plug_id: String,
    pub bin_id: String,
}

impl<'s> Bench<'s> {
    pub fn new(shop: &'s Shop) -> Self {
        static HEAT: AtomicU32 = AtomicU32::new(301);
        let heat = f64::from(HEAT.fetch_add(3, Ordering::Relaxed)) / 10.0;
        let plug_id = stored_plug(shop, &of_heat(heat));
        Self {
            shop,
            heat,
            plug_id,
            bin_id: bin(shop, &unique("Bin")),
        }
    }

    /// Another part that meets the same.
    pub fn another(&self) -> String {
        stored_plug(self.shop, &of_heat(self.heat))
    }

    /// What the part meets and no other does.
    pub fn requirement(&self) -> Value {
        let must = |attribute: &str, value: Value| {
            json!({
                "attribute": attribute, "strength": "must", "test": { "one_of": [value] }, "unknown": "fails"
            })
        };
        json!({ "demands": [
            must("thread", json!("M14x1.25")),
            must("seat", json!("gasket")),
            { "attribute": "heat_index", "strength": "must", "unknown": "fails",
              "test": { "min": self.heat, "max": self.heat } },
        ] })
    }

    pub fn ask(&self, job: &str, quantity: i64) -> Answer {
        let body = json!({ "job": job, "requirement": self.requirement(), "quantity": quantity });
        self.shop.post(Who::Tuner, "/v1/waiting-jobs", &body)
    }

    /// Lets a job wait; its id.
    #[track_caller]
    pub fn wait(&self, job: &str, quantity: i64) -> String {
        let asked = self.ask(job, quantity).expect(201);
        assert_eq!(asked.json["state"], "waiting", "{asked:?}");
        asked.text("id")
    }

    pub fn receive(&self, quantity: i64) -> Value {
        receive(self.shop, &self.plug_id, &self.bin_id, quantity)
    }

    /// A command on stock, given by a manager.
    #[track_caller]
    pub fn command(&self, kind: &str, body: &Value) -> Value {
        let answer = self
            .shop
            .once(Who::Manager, &format!("/v1/stock/{kind}"), body);
        answer.expect(201).json
    }

    /// The first movement of an issue.
    #[track_caller]
    pub fn issue(&self, job: &str, quantity: i64) -> Value {
        let body = json!({ "plug_id": self.plug_id, "quantity": quantity, "job": job });
        self.command("issues", &body)["movements"][0].clone()
    }

    #[track_caller]
    pub fn reserve(&self, job: &str, quantity: i64) -> Value {
        let body = json!({ "plug_id": self.plug_id, "quantity": quantity, "job": job });
        self.command("reservations", &body)
    }

    #[track_caller]
    pub fn release(&self, reservation: &Value) {
        let id = reservation["id"].as_str().expect("an id");
        let path = format!("/v1/stock/reservations/{id}/release");
        let answer = self.shop.once(Who::Tuner, &path, &Value::Null);
        answer.expect(200);
    }

    pub fn seen(&self, id: &str) -> Value {
        let path = format!("/v1/waiting-jobs/{id}");
        self.shop.get(Who::Reader, &path).expect(200).json
    }

    /// Waits until a job stands so; how it does then.
    #[track_caller]
    pub fn becomes(&self, id: &str, state: &str) -> Value {
        let end = Instant::now() + PATIENCE;
        loop {
            let seen = self.seen(id);
            if seen["state"] == state {
                return seen;
            }
            assert!(Instant::now() < end, "not {state}: {seen}");
            thread::sleep(Duration::from_millis(20));
        }
    }
}

pub fn of_heat(heat: f64) -> Value {
    with(plug(&unique("WJ")), json!({ "heat_index": heat }))
}

/// How often the log says that a job was told.
pub fn told(shop: &Shop, job: &str) -> usize {
    let log = shop.log();
    let of = |line: &&str| line.contains("what a waiting job waits for can be had");
    log.lines()
        .filter(of)
        .filter(|line| line.contains(job))
        .count()
}

pub fn until(what: &str, mut done: impl FnMut() -> bool) {
    let end = Instant::now() + PATIENCE;
    while !done() {
        assert!(Instant::now() < end, "{what}");
        thread::sleep(Duration::from_millis(20));
    }
}

/// A job's name that stands in no other's.
pub fn job(stem: &str) -> String {
    format!("{}.", unique(stem))
}
