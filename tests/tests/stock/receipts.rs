//! Receipts: what comes in makes a lot.

use plugwell_tests::bodies::{receipt, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::{Shelf, is_instant, is_movement, is_uuid_v7, named, only, word};

#[test]
fn a_receipt_is_one_movement_from_the_supplier_into_the_bin() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let answer = shelf
            .command_by(
                Who::Clerk,
                "receipts",
                receipt(&shelf.plug_id, &shelf.bin_id, 24),
            )
            .expect(201);
        // Beside the contract's `movements`: what was made or changed with them.
        let members: Vec<&str> = answer
            .json
            .as_object()
            .expect("an object")
            .keys()
            .map(String::as_str)
            .collect();
        assert_eq!(
            members,
            [
                "movements",
                "lots",
                "reservations",
                "delivery",
                "fails",
                "cautions"
            ]
        );
        let movements = answer.json["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 1);
        is_movement(
            &movements[0],
            json!({
                "kind": "receipt", "plug_id": shelf.plug_id, "to_place_id": shelf.bin_id, "quantity": 24, "reason": null,
                "from_place_id": named(shop, "supplier", "Quayside Parts"), "note": "note 17", "job": null, "reverses": null,
                "actor": "test clerk", "answers": null, "build_id": null, "odometer_km": null, "gap_mm": null
            }),
        );
        let id = word(&movements[0], "id");
        assert_eq!(
            answer.header("location"),
            Some(&*format!("/v1/stock/movements/{id}")),
            "its first movement"
        );
        let again = shop
            .get(Who::Reader, &format!("/v1/stock/movements/{id}"))
            .expect(200);
        assert_eq!(again.json, movements[0]);
        let lot = shop
            .get(
                Who::Reader,
                &format!("/v1/stock/lots/{}", word(&movements[0], "lot_id")),
            )
            .expect(200);
        assert_eq!(answer.json["lots"], json!([lot.json]));
        assert_eq!(answer.json["reservations"], json!([]));
        assert_eq!(answer.json["delivery"], Value::Null, "nobody ordered it");
    }
}

#[test]
fn a_lot_keeps_what_the_receipt_said() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let lot_id = word(&shelf.receive(24), "lot_id");
        let lot = shop
            .get(Who::Reader, &format!("/v1/stock/lots/{lot_id}"))
            .expect(200)
            .json;
        let mut members: Vec<&str> = lot
            .as_object()
            .expect("an object")
            .keys()
            .map(String::as_str)
            .collect();
        members.sort_unstable();
        let wanted = [
            "code",
            "condition",
            "from_lot_id",
            "gap_mm",
            "id",
            "order_line_id",
            "pack_size",
            "plug_id",
            "quantity_received",
            "received_at",
            "supplier",
            "total_cost",
        ];
        assert_eq!(members, wanted);
        assert!(is_uuid_v7(&lot["id"]));
        is_instant(&lot["received_at"]);
        assert_eq!(lot["plug_id"], *shelf.plug_id);
        assert_eq!(lot["supplier"], "Quayside Parts");
        assert_eq!(lot["quantity_received"], 24);
        assert_eq!(
            lot["total_cost"],
            json!({ "minor": 21_600, "currency": "USD" })
        );
        assert_eq!(lot["pack_size"], 4);
        assert_eq!(
            (&lot["condition"], &lot["gap_mm"], &lot["from_lot_id"]),
            (&json!("sealed"), &Value::Null, &Value::Null)
        );
        let code = word(&lot, "code");
        assert!(
            code.starts_with('L') && code[1..].parse::<u64>().is_ok() && code.len() <= 10,
            "{code}"
        );
        let by_code = shop
            .get(Who::Reader, &format!("/v1/stock/lots?code={code}"))
            .expect(200);
        assert_eq!(by_code.items(), [lot]);
    }
}

#[test]
fn what_nobody_said_is_null_and_sealed() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let bare = json!({ "plug_id": shelf.plug_id, "supplier": "Bare", "place_id": shelf.bin_id, "quantity": 1 });
        let movement = shelf.command("receipts", bare).expect(201).json["movements"][0].clone();
        assert_eq!(movement["note"], Value::Null);
        let lot = shop
            .get(
                Who::Reader,
                &format!("/v1/stock/lots/{}", word(&movement, "lot_id")),
            )
            .expect(200)
            .json;
        assert_eq!(
            (&lot["total_cost"], &lot["pack_size"], &lot["condition"]),
            (&Value::Null, &Value::Null, &json!("sealed"))
        );
    }
}

#[test]
fn every_fault_of_a_receipt_is_told_and_nothing_is_stored() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let bad = |over: Value| {
            shelf.command(
                "receipts",
                with(receipt(&shelf.plug_id, &shelf.bin_id, 4), over),
            )
        };
        bad(json!({ "quantity": 0, "pack_size": 10_001, "supplier": "", "colour": "red" }))
            .refused_for(&[
                "#/colour unknown_member",
                "#/pack_size out_of_range",
                "#/quantity out_of_range",
                "#/supplier out_of_range",
            ]);
        // The schema of the body is checked first, then the rules that it cannot say.
        bad(json!({ "supplier": " ", "condition": "gapped" }))
            .refused_for(&["#/gap_mm missing", "#/supplier out_of_range"]);
        bad(json!({ "quantity": 1_000_001 })).refused_for(&["#/quantity out_of_range"]);
        bad(json!({ "quantity": -4 })).refused_for(&["#/quantity out_of_range"]);
        bad(json!({ "quantity": 1.5 })).refused_for(&["#/quantity wrong_type"]);
        bad(json!({ "condition": "gapped" })).refused_for(&["#/gap_mm missing"]);
        bad(json!({ "gap_mm": 0.8 })).refused_for(&["#/gap_mm not_together"]);
        bad(json!({ "condition": "gapped", "gap_mm": 0.80001 }))
            .refused_for(&["#/gap_mm too_fine"]);
        bad(json!({ "plug_id": Uuid::now_v7() })).refused_for(&["#/plug_id not_found"]);
        bad(json!({ "place_id": Uuid::now_v7() })).refused_for(&["#/place_id not_found"]);
        bad(json!({ "place_id": only(shop, "scrap") })).refused_for(&["#/place_id contradiction"]);
        bad(json!({ "total_cost": { "minor": -1, "currency": "USD" } }))
            .refused_for(&["#/total_cost/minor out_of_range"]);
        assert_eq!(shelf.held("bin"), 0);
        let path = format!("/v1/stock/movements?plug_id={}", shelf.plug_id);
        assert!(shop.get(Who::Reader, &path).expect(200).items().is_empty());
    }
}

#[test]
fn another_currency_than_the_shops_is_refused() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let foreign = json!({ "total_cost": { "minor": 100, "currency": "EUR" } });
        let refused = shelf.command(
            "receipts",
            with(receipt(&shelf.plug_id, &shelf.bin_id, 4), foreign),
        );
        let refused = refused.problem(400, "wrong_currency");
        assert_eq!(refused.faults(), ["#/total_cost/currency wrong_currency"]);
        assert_eq!(shelf.held("bin"), 0);
    }
}
