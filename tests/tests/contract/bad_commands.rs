//! Commands with faults, and bodies that point to what is not there: nothing moves.

use plugwell_tests::bodies::{
    bin, build, plug, receipt, receive, stored_plug, unique, with, without,
};
use plugwell_tests::call::key;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

/// A path, a body and its faults.
type Case = (&'static str, Value, &'static [&'static str]);

const STRAY: &str = "018f4f5e-0000-7000-8000-000000000000";

/// What comes, goes and is kept.
fn movements() -> Vec<Case> {
    vec![
        (
            "/v1/stock/receipts",
            json!({ "plug_id": "x", "supplier": "", "quantity": -4, "condition": "used", "pack_size": 0,
                "total_cost": { "minor": 12.5, "currency": "usd", "vat": 19 }, "reference": "x".repeat(501) }),
            &[
                "#/plug_id wrong_form",
                "#/supplier out_of_range",
                "#/place_id missing",
                "#/quantity out_of_range",
                "#/condition not_in_list",
                "#/pack_size out_of_range",
                "#/total_cost/minor wrong_type",
                "#/total_cost/currency wrong_form",
                "#/total_cost/vat unknown_member",
                "#/reference out_of_range",
            ][..],
        ),
        (
            "/v1/stock/issues",
            json!({ "quantity": 0, "job": "x".repeat(81), "lot_id": 5, "odometer_km": -1, "gap_mm": 3 }),
            &[
                "#/plug_id missing",
                "#/quantity out_of_range",
                "#/job out_of_range",
                "#/lot_id wrong_type",
                "#/odometer_km out_of_range",
                "#/gap_mm out_of_range",
            ],
        ),
        (
            "/v1/stock/returns",
            json!({ "quantity": 1_000_001, "condition": "new" }),
            &[
                "#/movement_id missing",
                "#/quantity out_of_range",
                "#/condition not_in_list",
            ],
        ),
        (
            "/v1/stock/transfers",
            json!({ "lot_id": STRAY, "from_place_id": null, "quantity": "4" }),
            &[
                "#/from_place_id missing",
                "#/to_place_id missing",
                "#/quantity wrong_type",
            ],
        ),
        (
            "/v1/stock/scrappings",
            json!({ "lot_id": STRAY, "job": "", "quantity": 1.5, "reason": "bored", "note": 7 }),
            &[
                "#/job out_of_range",
                "#/quantity wrong_type",
                "#/reason not_in_list",
                "#/note wrong_type",
            ],
        ),
    ]
}

/// What is put right, kept and made.
fn others() -> Vec<Case> {
    vec![
        (
            "/v1/stock/reversals",
            json!({ "reason": "" }),
            &["#/movement_id missing", "#/reason out_of_range"][..],
        ),
        (
            "/v1/stock/reservations",
            json!({ "plug_id": STRAY, "quantity": 0, "job": null, "expires_at": "tomorrow" }),
            &[
                "#/quantity out_of_range",
                "#/job missing",
                "#/expires_at wrong_form",
            ],
        ),
        (
            "/v1/stock/places",
            json!({ "kind": "shelf", "name": "" }),
            &["#/kind not_in_list", "#/name out_of_range"],
        ),
        (
            "/v1/tokens",
            json!({ "role": "owner" }),
            &["#/name missing", "#/role not_in_list"],
        ),
    ]
}

#[test]
fn commands_are_told_all_their_faults_at_once() {
    for shop in shared() {
        for (path, body, faults) in movements().iter().chain(&others()) {
            shop.once(Who::Manager, path, body).refused_for(faults);
        }
    }
}

#[test]
fn a_command_with_a_fault_moves_nothing_and_leaves_its_key_free() {
    for shop in shared() {
        let (part, place) = (
            stored_plug(shop, &plug(&unique("STILL"))),
            bin(shop, &unique("bin")),
        );
        let received = receive(shop, &part, &place, 8);
        let (lot, used) = (&received["lot_id"], key());
        let issue = json!({ "plug_id": part, "job": "Bay 1", "quantity": 2 });
        let others = [
            ("/v1/stock/receipts", receipt(&part, &place, 4)),
            ("/v1/stock/issues", issue.clone()),
            (
                "/v1/stock/scrappings",
                json!({ "lot_id": lot, "place_id": place, "quantity": 2, "reason": "dropped" }),
            ),
            (
                "/v1/stock/reservations",
                json!({ "plug_id": part, "job": "Bay 1", "quantity": 2 }),
            ),
        ];
        for (path, body) in others {
            let marred = with(body, json!({ "quantity": 0, "colour": "red" }));
            shop.once_with(Who::Manager, path, &used, &marred)
                .refused_for(&["#/quantity out_of_range", "#/colour unknown_member"]);
        }
        let list = |what: &str| {
            shop.get(Who::Reader, &format!("/v1/stock/{what}?plug_id={part}"))
                .expect(200)
        };
        assert_eq!(list("movements").column("id"), [received["id"].clone()]);
        assert_eq!(list("reservations").items().len(), 0);
        shop.once_with(Who::Manager, "/v1/stock/issues", &used, &issue)
            .expect(201);
    }
}

#[test]
fn what_a_body_points_to_has_to_be_there() {
    for shop in shared() {
        let body = with(
            plug(&unique("STRAY")),
            json!({ "heat_scale_id": STRAY, "superseded_by": STRAY }),
        );
        shop.post(Who::Clerk, "/v1/plugs", &body)
            .refused_for(&["#/heat_scale_id not_found", "#/superseded_by not_found"]);
        let lost = with(
            without(build(), &["head"]),
            json!({ "head_id": STRAY, "base_plug_id": STRAY }),
        );
        shop.post(Who::Tuner, "/v1/builds", &lost)
            .refused_for(&["#/head_id not_found", "#/base_plug_id not_found"]);
        let part = stored_plug(shop, &plug(&unique("STRAY")));
        let receipt = receipt(&part, STRAY, 4);
        shop.once(Who::Clerk, "/v1/stock/receipts", &receipt)
            .refused_for(&["#/place_id not_found"]);
        let issue = json!({ "plug_id": STRAY, "job": "Bay 1", "quantity": 1 });
        shop.once(Who::Tuner, "/v1/stock/issues", &issue)
            .refused_for(&["#/plug_id not_found"]);
    }
}

#[test]
fn money_is_of_the_shops_currency() {
    for shop in shared() {
        let part = stored_plug(shop, &plug(&unique("MONEY")));
        let place = bin(shop, &unique("bin"));
        let receipt = receipt(&part, &place, 4);
        let other = with(
            receipt.clone(),
            json!({ "total_cost": { "minor": 100, "currency": "EUR" } }),
        );
        let answer = shop
            .once(Who::Clerk, "/v1/stock/receipts", &other)
            .problem(400, "wrong_currency");
        assert_eq!(answer.faults(), ["#/total_cost/currency wrong_currency"]);
        let levels = shop
            .get(Who::Reader, &format!("/v1/stock/levels?plug_id={part}"))
            .expect(200);
        assert_eq!(levels.items().len(), 0, "{levels:?}");
        shop.once(Who::Clerk, "/v1/stock/receipts", &receipt)
            .expect(201);
    }
}
