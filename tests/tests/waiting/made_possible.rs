//! Whatever brings plugs back into reach makes a waiting job possible.

use chrono::{TimeDelta, Utc};
use plugwell_tests::bodies::{place, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

use crate::bench::{Bench, job, told, until};

/// A job waits for 8 while only `there` plugs can be had; after `act` it need not.
fn possible_by(there: i64, before: impl Fn(&Bench<'_>) -> Value, act: impl Fn(&Bench<'_>, &Value)) {
    for shop in shared() {
        let bench = Bench::new(shop);
        if there > 0 {
            bench.receive(there);
        }
        let given = before(&bench);
        let name = job("Waits");
        let id = bench.wait(&name, 8);
        assert_eq!(bench.seen(&id)["possible_since"], Value::Null);
        act(&bench, &given);
        let seen = bench.becomes(&id, "possible");
        assert_eq!(seen["fits"][0]["plug_id"], bench.plug_id, "{seen}");
        let available = seen["fits"][0]["available"].as_i64();
        assert!(available.is_some_and(|plugs| plugs >= 8), "{seen}");
        assert!(seen["possible_since"].is_string());
        until("it is told", || told(shop, &name) == 1);
    }
}

#[test]
fn a_receipt() {
    let nothing = |_: &Bench<'_>| Value::Null;
    possible_by(0, nothing, |bench, _| drop(bench.receive(8)));
    // Several that come to it together do as well.
    possible_by(5, nothing, |bench, _| drop(bench.receive(3)));
}

#[test]
fn a_release() {
    possible_by(
        10,
        |bench| bench.reserve("Another", 6),
        |bench, kept| bench.release(kept),
    );
}

#[test]
fn the_expiry_of_a_reservation() {
    possible_by(
        10,
        |bench| {
            let until = (Utc::now() + TimeDelta::milliseconds(1_500))
                .format("%Y-%m-%dT%H:%M:%S%.6fZ")
                .to_string();
            let body = json!({
                "plug_id": bench.plug_id, "quantity": 10, "job": "Soon over", "expires_at": until
            });
            bench.command("reservations", &body)
        },
        // Nobody does anything.
        |_, _| {},
    );
}

#[test]
fn a_return() {
    possible_by(
        8,
        |bench| bench.issue("Another", 8),
        |bench, issued| {
            let body = json!({
                "movement_id": issued["id"], "quantity": 8, "place_id": bench.bin_id, "condition": "sealed"
            });
            bench.command("returns", &body);
        },
    );
}

#[test]
fn a_reversal() {
    possible_by(
        8,
        |bench| bench.issue("Another", 1),
        |bench, issued| {
            let body = json!({ "movement_id": issued["id"], "reason": "slip of the scanner" });
            bench.command("reversals", &body);
        },
    );
}

#[test]
fn what_is_let_out_of_quarantine() {
    possible_by(
        0,
        |bench| {
            let cage = place(bench.shop, "quarantine", &unique("Cage"));
            let received = bench.receive(8);
            let body = json!({
                "lot_id": received["lot_id"], "from_place_id": bench.bin_id, "to_place_id": cage, "quantity": 8
            });
            bench.command("transfers", &body);
            json!({ "lot_id": received["lot_id"], "from_place_id": cage, "to_place_id": bench.bin_id, "quantity": 8 })
        },
        |bench, back| drop(bench.command("transfers", back)),
    );
}

/// Counts the bin of a bench and lets a manager approve what was found.
fn counted(shop: &Shop, bench: &Bench<'_>, found: i64) {
    let begun = shop.post(
        Who::Clerk,
        "/v1/stock/counts",
        &json!({ "places": [bench.bin_id] }),
    );
    let begun = begun.expect(201);
    let path = format!("/v1/stock/counts/{}", begun.text("id"));
    let line = &begun.json["lines"][0];
    let patch = json!({ "lines": [{
        "lot_id": line["lot_id"], "place_id": line["place_id"], "counted": found
    }] });
    shop.patch(Who::Clerk, &path, &patch).expect(200);
    let approved = shop.once(Who::Manager, &format!("{path}/approval"), &Value::Null);
    approved.expect(200);
}

#[test]
fn a_count_that_was_approved() {
    possible_by(7, |_| Value::Null, |bench, _| counted(bench.shop, bench, 8));
}

#[test]
fn a_record_that_comes_to_meet_it() {
    for shop in shared() {
        let bench = Bench::new(shop);
        bench.receive(8);
        // The part stays; what it was thought to be does not.
        let path = format!("/v1/plugs/{}", bench.plug_id);
        let set = |heat: Value| {
            let patch = json!({ "heat_index": heat });
            shop.patch(Who::Clerk, &path, &patch).expect(200)
        };
        set(Value::Null);
        let id = bench.wait(&job("Waits"), 8);
        set(json!(bench.heat));
        bench.becomes(&id, "possible");
        let patch = json!({ "retired": true });
        shop.patch(Who::Clerk, &path, &patch).expect(200);
        assert_eq!(bench.becomes(&id, "waiting")["fits"], json!([]));
    }
}

#[test]
fn gapped_plugs_serve_whoever_sets_that_gap() {
    for shop in shared() {
        let bench = Bench::new(shop);
        bench.receive(8);
        let issued = bench.issue("Another", 8);
        let ask = |name: &str, set: Value| {
            let needs = with(bench.requirement(), json!({ "gap": { "set_mm": set } }));
            let body = json!({ "job": name, "requirement": needs, "quantity": 4 });
            shop.post(Who::Tuner, "/v1/waiting-jobs", &body)
                .expect(201)
                .text("id")
        };
        let wide = ask(&job("Wide"), json!(0.9));
        let narrow = ask(&job("Narrow"), json!(0.7));
        let body = json!({
            "movement_id": issued["id"], "quantity": 8, "place_id": bench.bin_id, "condition": "gapped", "gap_mm": 0.7
        });
        bench.command("returns", &body);
        bench.becomes(&narrow, "possible");
        assert_eq!(bench.seen(&wide)["state"], "waiting");
    }
}
