//! Reversals: a movement is put right by the opposite one, once; scrap by a manager, in time.

use plugwell_tests::{Shop, Who, engines, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::{Shelf, is_movement, word};

fn slip(movement: &Value) -> Value {
    json!({ "movement_id": movement["id"], "reason": "slip of the scanner" })
}

#[test]
fn a_reversal_names_what_it_puts_right() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let issued = shelf.issue(4, "Undone");
        let answer = shelf
            .command_by(Who::Clerk, "reversals", slip(&issued))
            .expect(201);
        let movements = answer.json["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 1);
        is_movement(
            &movements[0],
            json!({
                "kind": "reversal", "lot_id": shelf.lot_id, "from_place_id": issued["to_place_id"], "to_place_id": shelf.bin_id,
                "quantity": 4, "reason": "slip of the scanner", "job": "Undone", "reverses": issued["id"], "actor": "test clerk"
            }),
        );
        assert_eq!(
            answer.header("location"),
            Some(&*format!(
                "/v1/stock/movements/{}",
                word(&movements[0], "id")
            ))
        );
        assert_eq!((shelf.held("bin"), shelf.held("job")), (10, 0));
        shelf
            .command("reversals", slip(&issued))
            .problem(409, "already_reversed");
        shelf
            .command("reversals", slip(&movements[0]))
            .problem(409, "reversal_is_final");
        // What did not go out cannot come back.
        let body = json!({ "movement_id": issued["id"], "quantity": 1, "condition": "fitted" });
        shelf
            .command("returns", body)
            .problem(409, "already_reversed");
    }
}

#[test]
fn two_movements_of_one_act_are_put_right_together() {
    for shop in shared() {
        for half in [0, 1] {
            let shelf = Shelf::with(shop, 10);
            let issued = shelf.issue(6, "Pair");
            let body = json!({
                "movement_id": issued["id"], "quantity": 3, "place_id": shelf.bin_id, "condition": "gapped", "gap_mm": 0.7
            });
            let pair = shelf.command("returns", body).expect(201).json["movements"].clone();
            let back = shelf
                .command("reversals", slip(&pair[half]))
                .expect(201)
                .json["movements"]
                .clone();
            let reversed: Vec<&Value> = back
                .as_array()
                .expect("movements")
                .iter()
                .map(|m| &m["reverses"])
                .collect();
            assert_eq!(reversed, [&pair[1]["id"], &pair[0]["id"]], "the last first");
            assert_eq!(
                (
                    shelf.held("bin"),
                    shelf.held("job"),
                    shelf.held("difference")
                ),
                (4, 6, 0)
            );
            for movement in pair.as_array().expect("a pair") {
                shelf
                    .command("reversals", slip(movement))
                    .problem(409, "already_reversed");
            }
        }
    }
}

#[test]
fn a_receipt_is_reversed_while_it_is_there() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let received = shelf.receive(8);
        let issued = shelf.issue(1, "Away");
        let refused = shelf
            .command("reversals", slip(&received))
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(7), &json!(7))
        );
        shelf.command("reversals", slip(&issued)).expect(201);
        shelf.command("reversals", slip(&received)).expect(201);
        assert_eq!((shelf.held("bin"), shelf.held("supplier")), (0, 0));
    }
}

#[test]
fn a_manager_takes_a_slip_into_the_drum_back_in_time() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let kept = shelf.reserve(10, "Kept");
        let scrapped = shelf.scrap(4);
        assert_eq!(shelf.reservation(&kept["id"]), ("short".to_owned(), 10));
        for who in [Who::Reader, Who::Tuner, Who::Clerk] {
            shelf
                .command_by(who, "reversals", slip(&scrapped))
                .problem(403, "forbidden");
        }
        let without = json!({ "movement_id": scrapped["id"], "reason": " " });
        shelf
            .command("reversals", without)
            .refused_for(&["#/reason out_of_range"]);
        let answer = shelf
            .command_by(Who::Manager, "reversals", slip(&scrapped))
            .expect(201);
        is_movement(
            &answer.json["movements"][0],
            json!({
                "kind": "reversal", "from_place_id": scrapped["to_place_id"], "to_place_id": shelf.bin_id, "quantity": 4,
                "reverses": scrapped["id"], "reason": "slip of the scanner", "actor": answer.json["movements"][0]["actor"]
            }),
        );
        assert_eq!((shelf.held("bin"), shelf.held("scrap")), (10, 0));
        assert_eq!(shelf.reservation(&kept["id"]), ("open".to_owned(), 10));
        shelf
            .command("reversals", slip(&scrapped))
            .problem(409, "already_reversed");
    }
}

/// The policy's time is in hours: one of no hours has always passed.
#[test]
fn after_the_policys_time_scrap_is_final_for_a_manager_too() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let shelf = Shelf::with(&shop, 10);
        let scrapped = shelf.scrap(4);
        let mut policy = shop.get(Who::Manager, "/v1/policy").expect(200).json;
        assert_eq!(policy["values"]["scrap_reversal_hours"]["value"], 24);
        policy["values"]["scrap_reversal_hours"]["value"] = json!(0);
        shop.put(Who::Manager, "/v1/policy", &policy).expect(200);
        shelf
            .command("reversals", slip(&scrapped))
            .problem(409, "scrap_is_final");
        assert_eq!(shelf.held("scrap"), 4, "{engine}");
    }
}

#[test]
fn faults_of_a_reversal() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 1);
        let bad = |body: Value| shelf.command("reversals", body);
        bad(json!({})).refused_for(&["#/movement_id missing", "#/reason missing"]);
        bad(json!({ "movement_id": Uuid::now_v7(), "reason": "r" }))
            .refused_for(&["#/movement_id not_found"]);
        bad(json!({ "movement_id": "seven", "reason": "r" }))
            .refused_for(&["#/movement_id wrong_form"]);
    }
}
