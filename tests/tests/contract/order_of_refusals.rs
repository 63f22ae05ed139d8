//! Whoever breaks two rules at once is told the one that comes first: 401, 403, 404, 405, 415, 413,
//! missing once-only key, body, 422, 428, 412, 409. Every pair that one request can break is tried.

use plugwell_tests::bodies::{bin, plug, receipt, receive, stored_plug, unique};
use plugwell_tests::call::key;
use plugwell_tests::{Shop, Who, shared};
use serde_json::json;

const NOTHING: &str = "/v1/plugs/018f4f5e-0000-7000-8000-000000000000";
const JSON: (&str, &str) = ("content-type", "application/json");
const TEXT: (&str, &str) = ("content-type", "text/plain");

fn huge() -> String {
    json!({ "supplier": "x".repeat(1 << 20) }).to_string()
}

#[test]
fn nobody_is_told_anything_but_to_show_a_token() {
    for shop in shared() {
        let asked = |method: &str, path: &str, headers: &[(&str, &str)], body: String| {
            shop.send(method, path, Who::Nobody, headers, body)
                .problem(401, "unauthorized");
        };
        asked("GET", "/v1/nowhere", &[], String::new());
        asked("GET", NOTHING, &[], String::new());
        asked("PUT", "/v1/plugs", &[], String::new());
        asked("POST", "/v1/plugs", &[TEXT], "x".into());
        asked("POST", "/v1/plugs", &[JSON], huge());
        asked("POST", "/v1/plugs", &[JSON], "{".into());
        asked("POST", "/v1/stock/receipts", &[JSON], "{}".into());
        asked("PATCH", NOTHING, &[JSON], "{}".into());
        asked("DELETE", NOTHING, &[("if-match", "\"9\"")], String::new());
    }
}

#[test]
fn who_may_not_is_told_no_more() {
    for shop in shared() {
        let asked = |method: &str, path: &str, headers: &[(&str, &str)], body: String| {
            shop.send(method, path, Who::Reader, headers, body)
                .problem(403, "forbidden");
        };
        asked("PATCH", NOTHING, &[JSON], "{}".into());
        asked("DELETE", NOTHING, &[("if-match", "\"9\"")], String::new());
        asked("POST", "/v1/plugs", &[TEXT], "x".into());
        asked("POST", "/v1/plugs", &[JSON], huge());
        asked("POST", "/v1/plugs", &[JSON], "{".into());
        asked("POST", "/v1/stock/receipts", &[JSON], "{}".into());
        asked("PUT", "/v1/policy", &[JSON], "{}".into());
        let id = stored_plug(shop, &plug(&unique("MAY")));
        asked(
            "PATCH",
            &format!("/v1/plugs/{id}"),
            &[JSON],
            json!({ "reach_mm": 999 }).to_string(),
        );
    }
}

#[test]
fn what_is_not_there_comes_before_how_it_was_asked() {
    for shop in shared() {
        let asked = |method: &str, headers: &[(&str, &str)], body: String| {
            shop.send(method, NOTHING, Who::Clerk, headers, body)
                .problem(404, "not_found");
        };
        asked("PATCH", &[TEXT], "x".into());
        asked("PATCH", &[JSON], huge());
        asked("PATCH", &[JSON], "{".into());
        asked("PATCH", &[JSON], json!({ "colour": "red" }).to_string());
        asked("PATCH", &[JSON], "{}".into());
        asked("PATCH", &[JSON, ("if-match", "\"9\"")], "{}".into());
        asked("DELETE", &[], String::new());
        asked("DELETE", &[("if-match", "\"9\"")], String::new());
        let release = "/v1/stock/reservations/018f4f5e-0000-7000-8000-000000000000/release";
        shop.send("POST", release, Who::Tuner, &[], "")
            .problem(404, "not_found");
    }
}

#[test]
fn method_then_type_then_size_then_key_then_body() {
    for shop in shared() {
        let clerk = |method: &str, path: &str, headers: &[(&str, &str)], body: String| {
            shop.send(method, path, Who::Clerk, headers, body)
        };
        clerk("PUT", "/v1/plugs", &[TEXT], "x".into()).problem(405, "method_not_allowed");
        clerk("PUT", "/v1/plugs", &[JSON], huge()).problem(405, "method_not_allowed");
        clerk("PUT", "/v1/stock/receipts", &[JSON], "{".into()).problem(405, "method_not_allowed");
        let receipts = "/v1/stock/receipts";
        clerk("POST", receipts, &[TEXT], huge()).problem(415, "unsupported_media_type");
        clerk("POST", receipts, &[TEXT], "{".into()).problem(415, "unsupported_media_type");
        clerk("POST", receipts, &[JSON], huge()).problem(413, "payload_too_large");
        clerk("POST", receipts, &[JSON], "{".into()).problem(400, "once_key_missing");
        clerk("POST", receipts, &[JSON], "{}".into()).problem(400, "once_key_missing");
        clerk(
            "POST",
            receipts,
            &[JSON, ("idempotency-key", "a b")],
            "{}".into(),
        )
        .problem(400, "once_key_missing");
        clerk(
            "POST",
            receipts,
            &[JSON, ("idempotency-key", "k")],
            "{".into(),
        )
        .problem(400, "bad_json");
        let id = stored_plug(shop, &plug(&unique("TYPE")));
        let own = format!("/v1/plugs/{id}");
        clerk("PATCH", &own, &[TEXT], "x".into()).problem(415, "unsupported_media_type");
        clerk("PATCH", &own, &[JSON], huge()).problem(413, "payload_too_large");
    }
}

#[test]
fn body_then_version_then_state() {
    for shop in shared() {
        let (id, other) = (stored_plug(shop, &plug(&unique("ORDER"))), unique("ORDER"));
        stored_plug(shop, &plug(&other));
        let own = format!("/v1/plugs/{id}");
        let stale = ("if-match", "\"99\"");
        let patch = |headers: &[(&str, &str)], body: serde_json::Value| {
            shop.send_json("PATCH", &own, Who::Clerk, headers, &body)
        };
        patch(&[], json!({ "reach_mm": 999 })).refused_for(&["#/reach_mm out_of_range"]);
        patch(&[stale], json!({ "reach_mm": 999 })).refused_for(&["#/reach_mm out_of_range"]);
        // A rule between members needs the record; it is a fault of the body all the same.
        patch(&[], json!({ "gap_min_mm": 1.2 })).problem(400, "invalid");
        patch(&[stale], json!({ "gap_min_mm": 1.2 })).problem(400, "invalid");
        patch(&[], json!({ "part_number": other })).problem(428, "precondition_required");
        patch(&[stale], json!({ "part_number": other })).problem(412, "stale");
        patch(&[("if-match", "\"1\"")], json!({ "part_number": other }))
            .problem(409, "duplicate_part");

        receive(shop, &id, &bin(shop, &unique("bin")), 4);
        let delete = |headers: &[(&str, &str)]| shop.send("DELETE", &own, Who::Clerk, headers, "");
        delete(&[]).problem(428, "precondition_required");
        delete(&[stale]).problem(412, "stale");
        delete(&[("if-match", "*")]).problem(409, "has_history");
    }
}

#[test]
fn a_key_that_was_used_otherwise_comes_after_the_body_and_before_the_state() {
    for shop in shared() {
        let (part, place) = (
            stored_plug(shop, &plug(&unique("KEY"))),
            bin(shop, &unique("bin")),
        );
        let used = key();
        shop.once_with(
            Who::Clerk,
            "/v1/stock/receipts",
            &used,
            &receipt(&part, &place, 4),
        )
        .expect(201);
        let again = |shop: &Shop, path: &str, body: serde_json::Value| {
            shop.once_with(Who::Clerk, path, &used, &body)
        };
        again(shop, "/v1/stock/receipts", json!({})).problem(400, "invalid");
        again(shop, "/v1/stock/receipts", receipt(&part, &place, 5))
            .problem(422, "once_key_reused");
        let too_many = json!({ "plug_id": part, "quantity": 1000, "job": "Bay 1" });
        again(shop, "/v1/stock/issues", too_many.clone()).problem(422, "once_key_reused");
        shop.once(Who::Clerk, "/v1/stock/issues", &too_many)
            .problem(409, "not_enough_stock");
    }
}
