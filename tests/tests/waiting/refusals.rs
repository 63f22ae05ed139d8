//! What is wrong with asking, and who may.

use plugwell_tests::bodies::{build, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::bench::{Bench, job};

#[test]
fn every_fault_is_named_where_it_is() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let ask = |body: Value| shop.post(Who::Tuner, "/v1/waiting-jobs", &body);
        let whole = json!({ "job": "Faulty", "requirement": bench.requirement(), "quantity": 8 });
        let but = |over: Value| ask(with(whole.clone(), over));
        let nobody = Uuid::now_v7();
        ask(json!({ "job": "Faulty" })).refused_for(&["# missing"]);
        but(json!({ "build_id": nobody })).refused_for(&["#/requirement not_together"]);
        ask(json!({ "job": "Faulty", "build": build(), "build_id": nobody }))
            .refused_for(&["#/build_id not_together"]);
        ask(json!({ "job": "Faulty", "build_id": nobody })).refused_for(&["#/build_id not_found"]);
        let over = with(build(), json!({ "head": null, "head_id": nobody }));
        ask(json!({ "job": "Faulty", "build": over })).refused_for(&["#/build/head_id not_found"]);
        for quantity in [0, -1, 1_000_001] {
            but(json!({ "quantity": quantity })).refused_for(&["#/quantity out_of_range"]);
        }
        but(json!({ "quantity": 1.5 })).refused_for(&["#/quantity wrong_type"]);
        but(json!({ "job": " " })).refused_for(&["#/job out_of_range"]);
        but(json!({ "job": "x".repeat(81) })).refused_for(&["#/job out_of_range"]);
        but(json!({ "plug_id": bench.plug_id })).refused_for(&["#/plug_id unknown_member"]);
        let missing = with(whole.clone(), json!({ "requirement": {} }));
        ask(missing).refused_for(&["#/requirement/demands missing"]);
        assert!(
            shop.all(Who::Reader, "/v1/waiting-jobs?job=Faulty")
                .is_empty()
        );
        // A refused request makes no job either.
        let jobs = shop.all(Who::Reader, "/v1/stock/places?kind=job&limit=200");
        assert!(jobs.iter().all(|place| place["name"] != "Faulty"));
    }
}

#[test]
fn a_tuner_asks_and_calls_off_under_the_version() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let body = json!({ "job": unique("No"), "requirement": bench.requirement() });
        let path = "/v1/waiting-jobs";
        shop.post(Who::Reader, path, &body)
            .problem(403, "forbidden");
        let asked = bench.ask(&job("Called off"), 8).expect(201);
        let path = format!("{path}/{}", asked.text("id"));
        shop.delete(Who::Reader, &path).problem(403, "forbidden");
        shop.send("DELETE", &path, Who::Tuner, &[], "")
            .problem(428, "precondition_required");
        let stale = [("if-match", "\"9\"")];
        shop.send("DELETE", &path, Who::Tuner, &stale, "")
            .problem(412, "stale");
        let meant = [("if-match", &*asked.etag())];
        shop.send("DELETE", &path, Who::Tuner, &meant, "")
            .expect(204);
        shop.send("DELETE", &path, Who::Tuner, &meant, "")
            .problem(404, "not_found");
        shop.get(Who::Reader, "/v1/waiting-jobs/nothing")
            .refused_for(&["/id wrong_form"]);
    }
}
