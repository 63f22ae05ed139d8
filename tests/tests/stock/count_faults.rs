//! What is refused of a count, and why.

use plugwell_tests::bodies::{place, unique, with};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::Shelf;
use crate::counts::{approve, begin, count};

#[test]
fn faults_of_a_count_to_be_begun() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        let bad = |body: Value| shop.post(Who::Clerk, "/v1/stock/counts", &body);
        bad(json!({})).refused_for(&["#/places missing"]);
        bad(json!({ "places": [] })).refused_for(&["#/places out_of_range"]);
        bad(json!({ "choose": "dearest", "bins": 0 }))
            .refused_for(&["#/bins out_of_range", "#/choose not_in_list"]);
        bad(json!({ "choose": "most_moved", "places": [shelf.bin_id] }))
            .refused_for(&["#/bins missing", "#/choose not_together"]);
        let cage = place(shop, "quarantine", &unique("Cage"));
        bad(json!({ "places": [Uuid::now_v7(), shelf.bin_id, cage] }))
            .refused_for(&["#/places/0 not_found", "#/places/2 contradiction"]);
        let body = json!({ "places": [shelf.bin_id] });
        shop.post(Who::Tuner, "/v1/stock/counts", &body)
            .problem(403, "forbidden");
        assert!(
            shop.all(
                Who::Reader,
                &format!("/v1/stock/counts?place_id={}", shelf.bin_id)
            )
            .is_empty()
        );
    }
}

#[test]
fn faults_of_what_is_counted() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        let path = begin(shop, &[&shelf.bin_id]);
        let own = json!({ "lot_id": shelf.lot_id, "place_id": shelf.bin_id, "counted": 4 });
        let counting = |body: Value| shop.patch(Who::Clerk, &path, &body);
        counting(json!({ "lines": [with(own.clone(), json!({ "counted": -1, "box": 1 }))] }))
            .refused_for(&[
                "#/lines/0/box unknown_member",
                "#/lines/0/counted out_of_range",
            ]);
        counting(json!({ "lines": [own, own] })).refused_for(&["#/lines/1 duplicate"]);
        let elsewhere = Shelf::empty(shop).bin_id;
        let wrong = [
            with(own.clone(), json!({ "lot_id": Uuid::now_v7() })),
            with(own.clone(), json!({ "place_id": elsewhere })),
        ];
        counting(json!({ "lines": wrong })).refused_for(&[
            "#/lines/0/lot_id not_found",
            "#/lines/1/place_id contradiction",
        ]);
        counting(json!({ "state": "approved" })).refused_for(&["#/state not_in_list"]);
        let missing = counting(json!({ "state": "counted" })).problem(409, "count_incomplete");
        let line = json!({ "lot_id": shelf.lot_id, "place_id": shelf.bin_id });
        assert_eq!(missing.json["lines"], json!([line]));
        approve(shop, &path).problem(409, "count_incomplete");
        // Kept open, with every number there.
        let open = counting(json!({ "lines": [own], "state": "open" })).expect(200);
        assert_eq!(open.json["state"], "open");
        approve(shop, &path).problem(409, "count_incomplete");
        let read = shop.get(Who::Reader, &path).expect(200);
        assert!(read.json["lines"][0]["expected"].is_null(), "still blind");
        counting(json!({ "state": "counted" })).expect(200);
        approve(shop, &path).expect(200);
    }
}

#[test]
fn a_change_says_which_version_it_is_meant_for() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        let path = begin(shop, &[&shelf.bin_id]);
        let own = json!({ "lot_id": shelf.lot_id, "place_id": shelf.bin_id, "counted": 4 });
        let patch = |who: Who, version: Option<&str>| {
            let mut headers = vec![("content-type", "application/json")];
            headers.extend(version.map(|v| ("if-match", v)));
            shop.send(
                "PATCH",
                &path,
                who,
                &headers,
                json!({ "lines": [own] }).to_string(),
            )
        };
        patch(Who::Clerk, None).problem(428, "precondition_required");
        patch(Who::Clerk, Some("\"9\"")).problem(412, "stale");
        patch(Who::Tuner, Some("*")).problem(403, "forbidden");
        patch(Who::Clerk, Some("*")).expect(200);
        let nowhere = format!("/v1/stock/counts/{}", Uuid::now_v7());
        shop.get(Who::Reader, &nowhere).problem(404, "not_found");
        approve(shop, &nowhere).problem(404, "not_found");
    }
}

/// An approval with these headers besides a new key.
fn approval(shop: &Shop, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
    let key = plugwell_tests::call::key();
    let headers = [headers, &[("idempotency-key", &*key)]].concat();
    shop.send(
        "POST",
        &format!("{path}/approval"),
        Who::Manager,
        &headers,
        body,
    )
}

#[test]
fn an_approval_is_a_managers_once_and_of_what_was_looked_at() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        let path = begin(shop, &[&shelf.bin_id]);
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 3).expect(200);
        let at = format!("{path}/approval");
        for who in [Who::Reader, Who::Tuner, Who::Clerk] {
            shop.once(who, &at, &Value::Null).problem(403, "forbidden");
        }
        shop.send("POST", &at, Who::Manager, &[], "")
            .problem(400, "once_key_missing");
        approval(shop, &path, &[("content-type", "text/plain")], "{}")
            .problem(415, "unsupported_media_type");
        shop.once(Who::Manager, &at, &json!({ "reason": "", "why": 1 }))
            .refused_for(&["#/reason out_of_range", "#/why unknown_member"]);
        approval(shop, &path, &[("if-match", "\"1\"")], "").problem(412, "stale");
        let etag = shop.get(Who::Reader, &path).expect(200).etag();
        let key = plugwell_tests::call::key();
        let fresh = [("idempotency-key", &*key), ("if-match", &*etag)];
        let done = shop.send("POST", &at, Who::Manager, &fresh, "").expect(200);
        assert_eq!(done.json["movements"][0]["quantity"], 1);
        // The same key: the same answer, and nothing twice.
        let again = shop.send("POST", &at, Who::Manager, &fresh, "").expect(200);
        assert_eq!(
            (again.header("once-only-replayed"), &again.body),
            (Some("true"), &done.body)
        );
        approve(shop, &path).problem(409, "count_closed");
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 1).problem(409, "count_closed");
        assert_eq!(shelf.held("bin"), 3);
    }
}
