//! Transfers: bin to bin or quarantine, and back out of it by a manager.

use plugwell_tests::bodies::{bin, issue, place, unique};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::{Shelf, is_movement, named, only};

fn transfer(shelf: &Shelf<'_>, from: &str, to: &str, quantity: i64) -> Value {
    json!({ "lot_id": shelf.lot_id, "from_place_id": from, "to_place_id": to, "quantity": quantity })
}

#[test]
fn from_bin_to_bin() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let second = bin(shop, &unique("Second"));
        let body = transfer(&shelf, &shelf.bin_id, &second, 4);
        let answer = shelf.command_by(Who::Clerk, "transfers", body).expect(201);
        let movements = answer.json["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 1);
        is_movement(
            &movements[0],
            json!({
                "kind": "transfer", "lot_id": shelf.lot_id, "from_place_id": shelf.bin_id, "to_place_id": second, "quantity": 4,
                "reason": null, "job": null, "reverses": null, "answers": null
            }),
        );
        let refused = shelf
            .command("transfers", transfer(&shelf, &second, &shelf.bin_id, 5))
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(4), &json!(10))
        );
    }
}

#[test]
fn what_is_in_quarantine_cannot_be_issued_and_a_manager_lets_it_out() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let hold = place(shop, "quarantine", &unique("Hold"));
        shelf
            .command_by(
                Who::Clerk,
                "transfers",
                transfer(&shelf, &shelf.bin_id, &hold, 8),
            )
            .expect(201);
        let refused = shelf
            .command("issues", issue(&shelf.plug_id, "Job", 3))
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(2), &json!(2))
        );
        let out = transfer(&shelf, &hold, &shelf.bin_id, 8);
        shelf
            .command_by(Who::Clerk, "transfers", out.clone())
            .problem(403, "forbidden");
        shelf.command_by(Who::Manager, "transfers", out).expect(201);
        shelf
            .command("issues", issue(&shelf.plug_id, "Job", 10))
            .expect(201);
    }
}

#[test]
fn it_is_bounded_by_the_shelf_and_makes_reservations_short() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let hold = place(shop, "quarantine", &unique("Hold"));
        let (first, second) = (shelf.reserve(6, "First"), shelf.reserve(4, "Second"));
        shelf
            .command("transfers", transfer(&shelf, &shelf.bin_id, &hold, 3))
            .expect(201);
        assert_eq!(shelf.reservation(&first["id"]), ("open".to_owned(), 6));
        assert_eq!(
            shelf.reservation(&second["id"]),
            ("short".to_owned(), 4),
            "newest first"
        );
        shelf
            .command("transfers", transfer(&shelf, &hold, &shelf.bin_id, 3))
            .expect(201);
        assert_eq!(
            shelf.reservation(&second["id"]),
            ("open".to_owned(), 4),
            "it can be met again"
        );
    }
}

#[test]
fn faults_of_a_transfer() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let second = bin(shop, &unique("Second"));
        let bad = |body: Value| shelf.command("transfers", body);
        bad(transfer(&shelf, &second, &second, 1)).refused_for(&["#/to_place_id contradiction"]);
        bad(transfer(&shelf, &shelf.bin_id, &second, 0)).refused_for(&["#/quantity out_of_range"]);
        let nowhere = Uuid::now_v7().to_string();
        bad(transfer(&shelf, &nowhere, &second, 1)).refused_for(&["#/from_place_id not_found"]);
        bad(transfer(&shelf, &shelf.bin_id, &nowhere, 1)).refused_for(&["#/to_place_id not_found"]);
        let supplier = named(shop, "supplier", "Quayside Parts");
        bad(transfer(&shelf, &supplier, &second, 1))
            .refused_for(&["#/from_place_id contradiction"]);
        for kind in ["scrap", "difference"] {
            bad(transfer(&shelf, &shelf.bin_id, &only(shop, kind), 1))
                .refused_for(&["#/to_place_id contradiction"]);
        }
        let mut body = transfer(&shelf, &shelf.bin_id, &second, 1);
        body["lot_id"] = json!(nowhere);
        bad(body).refused_for(&["#/lot_id not_found"]);
        assert_eq!(shelf.held("bin"), 10);
    }
}
