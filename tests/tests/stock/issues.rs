//! Issues: bin to job, as far as what is available allows.

use plugwell_tests::bodies::{bin, build, issue, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::{Shelf, is_movement, named, word};

#[test]
fn an_issue_goes_from_the_bin_to_the_job() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 24);
        let build_id = shop
            .post(Who::Tuner, "/v1/builds", &build())
            .expect(201)
            .text("id");
        let job = unique("Issue");
        let more = json!({ "build_id": build_id, "odometer_km": 120_000, "gap_mm": 0.81 });
        let answer = shelf
            .command_by(
                Who::Tuner,
                "issues",
                with(issue(&shelf.plug_id, &job, 9), more),
            )
            .expect(201);
        let movements = answer.json["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 1);
        is_movement(
            &movements[0],
            json!({
                "kind": "issue", "lot_id": shelf.lot_id, "plug_id": shelf.plug_id, "from_place_id": shelf.bin_id,
                "to_place_id": named(shop, "job", &job), "quantity": 9, "reason": null, "note": null, "job": job,
                "actor": "test tuner", "reverses": null, "answers": null, "build_id": build_id, "odometer_km": 120_000, "gap_mm": 0.81
            }),
        );
        let id = word(&movements[0], "id");
        assert_eq!(
            answer.header("location"),
            Some(&*format!("/v1/stock/movements/{id}"))
        );
        assert_eq!((shelf.held("bin"), shelf.held("job")), (15, 9));
    }
}

#[test]
fn one_lot_if_one_is_big_enough_else_the_oldest_first() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let lots: Vec<String> = [3, 4, 9]
            .iter()
            .map(|n| word(&shelf.receive(*n), "lot_id"))
            .collect();
        let taken = |quantity: i64| -> Vec<(String, i64)> {
            let body = issue(&shelf.plug_id, "Lots", quantity);
            let answer = shelf.command("issues", body).expect(201);
            let movements = answer.json["movements"].as_array().expect("movements");
            movements
                .iter()
                .map(|m| {
                    (
                        word(m, "lot_id"),
                        m["quantity"].as_i64().expect("a quantity"),
                    )
                })
                .collect()
        };
        assert_eq!(
            taken(8),
            [(lots[2].clone(), 8)],
            "3, 4, 9: the youngest alone has eight"
        );
        assert_eq!(taken(2), [(lots[0].clone(), 2)], "1, 4, 1 are left");
        assert_eq!(taken(5), [(lots[0].clone(), 1), (lots[1].clone(), 4)]);
        assert_eq!(taken(1), [(lots[2].clone(), 1)]);
        assert_eq!(shelf.held("bin"), 0);
    }
}

#[test]
fn a_lot_in_several_bins_is_taken_in_the_order_of_their_codes() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let second = bin(shop, &unique("Second"));
        let body = json!({ "lot_id": shelf.lot_id, "from_place_id": shelf.bin_id, "to_place_id": second, "quantity": 6 });
        shelf.command("transfers", body).expect(201);
        let answer = shelf
            .command("issues", issue(&shelf.plug_id, "Bins", 7))
            .expect(201);
        let taken: Vec<(&Value, &Value)> = answer.json["movements"]
            .as_array()
            .expect("movements")
            .iter()
            .map(|m| (&m["from_place_id"], &m["quantity"]))
            .collect();
        assert_eq!(
            taken,
            [
                (&json!(shelf.bin_id), &json!(4)),
                (&json!(second), &json!(3))
            ]
        );
    }
}

#[test]
fn lot_and_bin_can_be_named() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let second = word(&shelf.receive(5), "lot_id");
        let by_lot = with(
            issue(&shelf.plug_id, "Named", 2),
            json!({ "lot_id": second }),
        );
        assert_eq!(
            shelf.command("issues", by_lot).expect(201).json["movements"][0]["lot_id"],
            *second
        );
        let elsewhere = bin(shop, &unique("Elsewhere"));
        let by_bin = with(
            issue(&shelf.plug_id, "Named", 2),
            json!({ "place_id": elsewhere }),
        );
        shelf
            .command("issues", by_bin)
            .problem(409, "not_enough_stock");
        let both = json!({ "place_id": shelf.bin_id, "lot_id": second });
        shelf
            .command(
                "issues",
                with(issue(&shelf.plug_id, "Named", 3), both.clone()),
            )
            .expect(201);
        shelf
            .command("issues", with(issue(&shelf.plug_id, "Named", 1), both))
            .problem(409, "not_enough_stock");
    }
}

#[test]
fn not_enough_says_what_there_is() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        shelf.reserve(4, "Kept");
        let refused = shelf
            .command("issues", issue(&shelf.plug_id, "Too many", 7))
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(6), &json!(10))
        );
        shelf
            .command("issues", issue(&shelf.plug_id, "Just right", 6))
            .expect(201);
        let refused = shelf
            .command("issues", issue(&shelf.plug_id, "Too many", 1))
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(0), &json!(4))
        );
        assert_eq!(shelf.held("bin"), 4);
    }
}

#[test]
fn faults_of_an_issue_point_at_what_is_wrong() {
    for shop in shared() {
        let (shelf, other) = (Shelf::with(shop, 10), Shelf::with(shop, 10));
        let bad =
            |over: Value| shelf.command("issues", with(issue(&shelf.plug_id, "Faulty", 1), over));
        bad(json!({ "job": null })).refused_for(&["#/job missing"]);
        bad(json!({ "quantity": 0, "odometer_km": -1, "gap_mm": 3.0 })).refused_for(&[
            "#/gap_mm out_of_range",
            "#/odometer_km out_of_range",
            "#/quantity out_of_range",
        ]);
        bad(json!({ "plug_id": Uuid::now_v7() })).refused_for(&["#/plug_id not_found"]);
        bad(json!({ "lot_id": Uuid::now_v7() })).refused_for(&["#/lot_id not_found"]);
        bad(json!({ "lot_id": other.lot_id })).refused_for(&["#/lot_id contradiction"]);
        bad(json!({ "place_id": Uuid::now_v7() })).refused_for(&["#/place_id not_found"]);
        bad(json!({ "place_id": named(shop, "supplier", "Quayside Parts") }))
            .refused_for(&["#/place_id contradiction"]);
        bad(json!({ "build_id": Uuid::now_v7() })).refused_for(&["#/build_id not_found"]);
        bad(json!({ "reservation_id": Uuid::now_v7() }))
            .refused_for(&["#/reservation_id not_found"]);
        let of_other = other.reserve(2, "Faulty");
        bad(json!({ "reservation_id": of_other["id"] }))
            .refused_for(&["#/reservation_id contradiction"]);
        let own = shelf.reserve(2, "Somebody else");
        bad(json!({ "reservation_id": own["id"] })).refused_for(&["#/job contradiction"]);
        assert_eq!(shelf.held("bin"), 10);
    }
}
