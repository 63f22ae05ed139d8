//! Asking, looking, and a line that is long.

use plugwell_tests::{Engine, Shop, Who, shared};
use serde_json::{Value, json};

use crate::bench::{Bench, job};

#[test]
fn asking_stores_and_says_where() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let name = job("Asks");
        let asked = bench.ask(&name, 8).expect(201);
        let path = format!("/v1/waiting-jobs/{}", asked.text("id"));
        assert_eq!(asked.header("location"), Some(path.as_str()));
        let seen = shop.get(Who::Reader, &path).expect(200);
        assert_eq!(seen.json, asked.json);
        assert_eq!(seen.etag(), asked.etag());
        let known = [("if-none-match", &*seen.etag())];
        let again = shop.send("GET", &path, Who::Reader, &known, "");
        assert_eq!(again.status, 304);
        for (member, value) in [
            ("job", json!(name)),
            ("quantity", json!(8)),
            ("open_quantity", json!(8)),
            ("state", json!("waiting")),
            ("fits", json!([])),
            ("build_id", Value::Null),
            ("closed_at", Value::Null),
            ("asked_by", json!("test tuner")),
            ("version", json!(1)),
        ] {
            assert_eq!(seen.json[member], value, "{member}");
        }
        let place = seen.json["place_id"].as_str().expect("a place");
        let place = shop.get(Who::Reader, &format!("/v1/stock/places/{place}"));
        let place = place.expect(200).json;
        assert_eq!(
            (&place["kind"], &place["name"]),
            (&json!("job"), &json!(name))
        );
        // What can be had at once need not wait.
        bench.receive(9);
        bench.becomes(&asked.text("id"), "possible");
        let second = bench.ask(&job("At once"), 1).expect(201);
        assert_eq!(second.json["state"], "possible", "{second:?}");
    }
}

#[test]
fn the_list_is_in_the_order_of_asking_and_goes_on() {
    for shop in shared() {
        let bench = Bench::new(shop);
        let name = job("Listed");
        let ids: Vec<String> = (1..=5).map(|n| bench.wait(&name, n)).collect();
        let path = format!("/v1/waiting-jobs?limit=2&job={}", name.to_uppercase());
        let listed: Vec<Value> = shop.all(Who::Reader, &path);
        let listed: Vec<&str> = listed.iter().filter_map(|own| own["id"].as_str()).collect();
        assert_eq!(listed, ids);
        let path = format!("/v1/waiting-jobs?state=possible&job={name}");
        assert!(shop.all(Who::Reader, &path).is_empty());
        let wrong = shop.get(Who::Reader, "/v1/waiting-jobs?state=hungry");
        wrong.refused_for(&["?state not_in_list"]);
    }
}

/// Nobody in a long line is passed over when there is enough for all.
#[test]
fn all_of_a_long_line_are_told() {
    let shop = Shop::start(Engine::Sqlite);
    let bench = Bench::new(&shop);
    for _ in 0..300 {
        bench.wait("Long", 1);
    }
    for _ in 0..20 {
        bench.receive(15);
    }
    let all = shop.all(Who::Reader, "/v1/waiting-jobs?state=possible&limit=200");
    assert_eq!(all.len(), 300);
}
