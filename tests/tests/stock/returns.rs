//! Returns: what comes back from a job goes where its condition says.

use plugwell_tests::bodies::{issue, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::{Shelf, is_movement, only, word};

fn lot(shop: &Shop, id: &Value) -> Value {
    shop.get(
        Who::Reader,
        &format!("/v1/stock/lots/{}", id.as_str().expect("an id")),
    )
    .expect(200)
    .json
}

fn back(issue: &Value, condition: &str, quantity: i64) -> Value {
    json!({ "movement_id": issue["id"], "quantity": quantity, "condition": condition })
}

#[test]
fn sealed_ones_go_back_into_their_own_lot() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let issue = shelf.issue(6, "Sealed");
        let body = with(
            back(&issue, "sealed", 4),
            json!({ "place_id": shelf.bin_id }),
        );
        let answer = shelf.command_by(Who::Clerk, "returns", body).expect(201);
        let movements = answer.json["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 1, "one movement");
        is_movement(
            &movements[0],
            json!({
                "kind": "return", "lot_id": shelf.lot_id, "from_place_id": issue["to_place_id"], "to_place_id": shelf.bin_id,
                "quantity": 4, "job": "Sealed", "answers": issue["id"], "reverses": null, "reason": null, "actor": "test clerk"
            }),
        );
        assert_eq!(
            answer.header("location"),
            Some(&*format!(
                "/v1/stock/movements/{}",
                word(&movements[0], "id")
            ))
        );
        assert_eq!((shelf.held("bin"), shelf.held("job")), (8, 2));
    }
}

#[test]
fn sealed_ones_of_an_issue_that_was_gapped_are_taken_with_a_caution() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let out = |over: Value| {
            let body = with(issue(&shelf.plug_id, "Spare", 3), over);
            shelf.command("issues", body).expect(201).json["movements"][0].clone()
        };
        let codes = |issued: &Value| -> Vec<String> {
            let body = with(
                back(issued, "sealed", 1),
                json!({ "place_id": shelf.bin_id }),
            );
            let answer = shelf.command("returns", body).expect(201).json;
            let cautions = answer["cautions"].as_array().expect("a list").clone();
            cautions.iter().map(|c| word(c, "code")).collect()
        };
        assert_eq!(codes(&out(json!({ "gap_mm": 0.8 }))), ["sealed_after_gap"]);
        assert_eq!(codes(&out(json!({}))), [""; 0]);
        assert_eq!(shelf.held("bin"), 6);
    }
}

#[test]
fn gapped_ones_become_a_lot_of_their_own_over_the_difference_account() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let issue = shelf.issue(6, "Gapped");
        let body = with(
            back(&issue, "gapped", 3),
            json!({ "place_id": shelf.bin_id, "gap_mm": 0.7 }),
        );
        let answer = shelf.command("returns", body).expect(201);
        let movements = answer.json["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 2, "two movements in one answer");
        let over = only(shop, "difference");
        is_movement(
            &movements[0],
            json!({
                "kind": "return", "lot_id": shelf.lot_id, "from_place_id": issue["to_place_id"], "to_place_id": over, "quantity": 3
            }),
        );
        is_movement(
            &movements[1],
            json!({
                "kind": "return", "from_place_id": over, "to_place_id": shelf.bin_id, "quantity": 3, "job": "Gapped"
            }),
        );
        let (old, new) = (
            lot(shop, &json!(shelf.lot_id)),
            lot(shop, &movements[1]["lot_id"]),
        );
        assert_ne!(old["id"], new["id"]);
        assert_eq!(
            (&new["condition"], &new["gap_mm"], &new["from_lot_id"]),
            (&json!("gapped"), &json!(0.7), &old["id"])
        );
        assert_eq!(
            (&new["quantity_received"], &new["total_cost"]),
            (&json!(3), &Value::Null)
        );
        assert_eq!(
            new["received_at"], old["received_at"],
            "a descended lot keeps its ancestor's day"
        );
        assert_eq!(
            (
                shelf.held("bin"),
                shelf.held("job"),
                shelf.held("difference")
            ),
            (7, 3, 0)
        );
    }
}

#[test]
fn gapped_ones_of_the_same_gap_go_back_into_their_lot() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let body = json!({
            "plug_id": shelf.plug_id, "supplier": "Gapped", "place_id": shelf.bin_id, "quantity": 8,
            "condition": "gapped", "gap_mm": 0.8
        });
        let received = shelf.command("receipts", body).expect(201).json["movements"][0].clone();
        let taken = with(
            issue(&shelf.plug_id, "Same gap", 4),
            json!({ "gap_mm": 0.8 }),
        );
        let issued = shelf.command("issues", taken).expect(201).json["movements"][0].clone();
        let body = with(
            back(&issued, "gapped", 1),
            json!({ "place_id": shelf.bin_id, "gap_mm": 0.8 }),
        );
        let same = shelf.command("returns", body).expect(201).json["movements"].clone();
        assert_eq!(same.as_array().map(Vec::len), Some(1));
        assert_eq!(same[0]["lot_id"], received["lot_id"]);
        let body = with(
            back(&issued, "gapped", 1),
            json!({ "place_id": shelf.bin_id, "gap_mm": 0.9 }),
        );
        let other = shelf.command("returns", body).expect(201).json["movements"].clone();
        assert_eq!(
            other.as_array().map(Vec::len),
            Some(2),
            "another gap, another lot"
        );
        let body = with(
            back(&issued, "sealed", 1),
            json!({ "place_id": shelf.bin_id }),
        );
        shelf.command("returns", body).problem(409, "not_sealed");
    }
}

#[test]
fn fitted_handled_and_dropped_ones_are_scrap() {
    for shop in shared() {
        for (condition, reason) in [
            ("fitted", "fitted"),
            ("dropped", "dropped"),
            ("handled", "other"),
        ] {
            let shelf = Shelf::with(shop, 10);
            let issue = shelf.issue(6, "Scrap");
            // The bin is ignored for what goes to scrap.
            let body = with(
                back(&issue, condition, 5),
                json!({ "place_id": shelf.bin_id }),
            );
            let answer = shelf.command("returns", body).expect(201);
            let movements = answer.json["movements"].as_array().expect("movements");
            assert_eq!(movements.len(), 1);
            is_movement(
                &movements[0],
                json!({
                    "kind": "scrapping", "lot_id": shelf.lot_id, "from_place_id": issue["to_place_id"],
                    "to_place_id": only(shop, "scrap"), "quantity": 5, "reason": reason, "job": "Scrap", "answers": issue["id"]
                }),
            );
            assert_eq!(
                (shelf.held("bin"), shelf.held("job"), shelf.held("scrap")),
                (4, 1, 5)
            );
            let without = back(&issue, condition, 1);
            shelf.command("returns", without).expect(201);
        }
    }
}

#[test]
fn no_more_comes_back_than_went_out() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 20);
        let first = shelf.issue(4, "Twice");
        shelf.issue(4, "Twice");
        let sealed = |quantity: i64| {
            with(
                back(&first, "sealed", quantity),
                json!({ "place_id": shelf.bin_id }),
            )
        };
        shelf
            .command("returns", sealed(5))
            .problem(409, "more_than_issued");
        shelf.command("returns", sealed(3)).expect(201);
        shelf
            .command("returns", sealed(2))
            .problem(409, "more_than_issued");
        let gapped = with(
            back(&first, "gapped", 1),
            json!({ "place_id": shelf.bin_id, "gap_mm": 0.7 }),
        );
        let pair = shelf.command("returns", gapped).expect(201).json["movements"].clone();
        shelf
            .command("returns", back(&first, "fitted", 1))
            .problem(409, "more_than_issued");
        // A return that is put right frees what it answered.
        shelf
            .command(
                "reversals",
                json!({ "movement_id": pair[0]["id"], "reason": "miscounted" }),
            )
            .expect(201);
        shelf
            .command("returns", back(&first, "fitted", 1))
            .expect(201);
        shelf
            .command("returns", back(&first, "fitted", 1))
            .problem(409, "more_than_issued");
    }
}

#[test]
fn faults_of_a_return() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let issue = shelf.issue(4, "Faults");
        let bad = |body: Value| shelf.command("returns", body);
        bad(back(&issue, "sealed", 1)).refused_for(&["#/place_id missing"]);
        bad(with(
            back(&issue, "gapped", 1),
            json!({ "place_id": shelf.bin_id }),
        ))
        .refused_for(&["#/gap_mm missing"]);
        let gap_and_place = json!({ "place_id": shelf.bin_id, "gap_mm": 0.8 });
        bad(with(back(&issue, "sealed", 1), gap_and_place)).refused_for(&["#/gap_mm not_together"]);
        bad(back(&issue, "as_new", 1)).refused_for(&["#/condition not_in_list"]);
        bad(with(
            back(&issue, "fitted", 1),
            json!({ "movement_id": Uuid::now_v7() }),
        ))
        .refused_for(&["#/movement_id not_found"]);
        let scrap = json!({ "place_id": only(shop, "scrap") });
        bad(with(back(&issue, "sealed", 1), scrap)).refused_for(&["#/place_id contradiction"]);
        assert_eq!(shelf.held("job"), 4);
    }
}
