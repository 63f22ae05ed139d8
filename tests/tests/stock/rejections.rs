//! The closed list of rejections, in its order: a command that several rules forbid is told the
//! first.

use plugwell::http::problem::CODES;
use plugwell_tests::bodies::{bin, issue, place, receipt, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, only, word};

/// The list. Nothing retires a place over HTTP yet: `place_retired` is put to the test in `domain`.
const ORDER: [&str; 11] = [
    "plug_retired",
    "place_retired",
    "scrap_is_final",
    "not_an_issue",
    "reversal_is_final",
    "already_reversed",
    "reservation_closed",
    "not_sealed",
    "wrong_gap",
    "more_than_issued",
    "not_enough_stock",
];

fn retire(shelf: &Shelf<'_>, retired: bool) {
    let path = format!("/v1/plugs/{}", shelf.plug_id);
    shelf
        .shop
        .patch(Who::Clerk, &path, &json!({ "retired": retired }))
        .expect(200);
}

#[test]
fn a_retired_part_is_not_received_but_leaves_the_shelf() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        retire(&shelf, true);
        let body = receipt(&shelf.plug_id, &shelf.bin_id, 4);
        shelf
            .command("receipts", body.clone())
            .problem(409, "plug_retired");
        shelf.issue(1, "Old stock");
        retire(&shelf, false);
        shelf.command("receipts", body).expect(201);
    }
}

#[test]
fn faults_of_the_body_stand_before_rejections() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        retire(&shelf, true);
        let foreign = json!({ "total_cost": { "minor": 1, "currency": "EUR" } });
        shelf
            .command(
                "receipts",
                with(receipt(&shelf.plug_id, &shelf.bin_id, 4), foreign),
            )
            .problem(400, "wrong_currency");
        let scrap = receipt(&shelf.plug_id, &only(shop, "scrap"), 4);
        shelf
            .command("receipts", scrap)
            .refused_for(&["#/place_id contradiction"]);
    }
}

#[test]
fn scrap_is_final_stands_before_everything_that_follows_it() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        shelf.scrap(1);
        let drum = only(shop, "scrap");
        // More than lies there.
        let body = json!({ "lot_id": shelf.lot_id, "from_place_id": drum, "to_place_id": shelf.bin_id, "quantity": 99 });
        shelf
            .command("transfers", body)
            .problem(409, "scrap_is_final");
        let body =
            json!({ "lot_id": shelf.lot_id, "place_id": drum, "quantity": 99, "reason": "other" });
        shelf
            .command("scrappings", body)
            .problem(409, "scrap_is_final");
        // A closed reservation.
        let kept = shelf.reserve(1, "Closed");
        let path = format!(
            "/v1/stock/reservations/{}/release",
            kept["id"].as_str().expect("an id")
        );
        shop.once(Who::Tuner, &path, &Value::Null).expect(200);
        let body = with(
            issue(&shelf.plug_id, "Closed", 99),
            json!({ "place_id": drum, "reservation_id": kept["id"] }),
        );
        shelf.command("issues", body).problem(409, "scrap_is_final");
    }
}

#[test]
fn a_return_is_refused_in_the_order_of_the_list() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let gapped = json!({ "condition": "gapped", "gap_mm": 0.8 });
        let received = shelf
            .command(
                "receipts",
                with(receipt(&shelf.plug_id, &shelf.bin_id, 8), gapped),
            )
            .expect(201)
            .json["movements"][0]
            .clone();
        let sealed = |movement: &Value, quantity: i64| json!({ "movement_id": movement["id"], "quantity": quantity, "place_id": shelf.bin_id, "condition": "sealed" });
        // Of a receipt: whatever else is wrong with it, it is no issue.
        shelf
            .command("returns", sealed(&received, 99))
            .problem(409, "not_an_issue");
        let taken = with(issue(&shelf.plug_id, "Order", 4), json!({ "gap_mm": 0.8 }));
        let issued = shelf.command("issues", taken).expect(201).json["movements"][0].clone();
        // Sealed out of a gapped lot, and more than went out.
        shelf
            .command("returns", sealed(&issued, 99))
            .problem(409, "not_sealed");
        let fitted = |quantity: i64| json!({ "movement_id": issued["id"], "quantity": quantity, "condition": "fitted" });
        // More than went out, and more than the job has.
        shelf
            .command("returns", fitted(5))
            .problem(409, "more_than_issued");
        let scrap =
            json!({ "plug_id": shelf.plug_id, "job": "Order", "quantity": 2, "reason": "dropped" });
        shelf.command("scrappings", scrap).expect(201);
        let refused = shelf
            .command("returns", fitted(3))
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(2), &json!(4))
        );
    }
}

#[test]
fn a_return_of_a_reversed_issue_is_already_reversed_before_it_is_not_sealed() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let gapped = json!({ "condition": "gapped", "gap_mm": 0.8 });
        shelf
            .command(
                "receipts",
                with(receipt(&shelf.plug_id, &shelf.bin_id, 8), gapped),
            )
            .expect(201);
        let taken = with(
            issue(&shelf.plug_id, "Reversed", 4),
            json!({ "gap_mm": 0.8 }),
        );
        let issued = shelf.command("issues", taken).expect(201).json["movements"][0].clone();
        shelf
            .command(
                "reversals",
                json!({ "movement_id": issued["id"], "reason": "slip" }),
            )
            .expect(201);
        let body = json!({ "movement_id": issued["id"], "quantity": 99, "place_id": shelf.bin_id, "condition": "sealed" });
        shelf
            .command("returns", body)
            .problem(409, "already_reversed");
    }
}

#[test]
fn a_reversal_is_refused_in_the_order_of_the_list() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 8);
        let slip = |movement: &Value| json!({ "movement_id": movement["id"], "reason": "slip" });
        let issued = shelf.issue(4, "Slip");
        let undone =
            shelf.command("reversals", slip(&issued)).expect(201).json["movements"][0].clone();
        shelf.issue(8, "Away");
        // A reversal whose plugs are gone; a movement that is reversed and whose plugs are gone.
        shelf
            .command("reversals", slip(&undone))
            .problem(409, "reversal_is_final");
        shelf
            .command("reversals", slip(&issued))
            .problem(409, "already_reversed");
    }
}

#[test]
fn an_issue_is_refused_in_the_order_of_the_list() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 8);
        let gapped = json!({ "condition": "gapped", "gap_mm": 0.8 });
        let lot = shelf
            .command(
                "receipts",
                with(receipt(&shelf.plug_id, &shelf.bin_id, 8), gapped),
            )
            .expect(201)
            .json["movements"][0]["lot_id"]
            .clone();
        let kept = shelf.reserve(2, "Order");
        let path = format!(
            "/v1/stock/reservations/{}/release",
            kept["id"].as_str().expect("an id")
        );
        shop.once(Who::Tuner, &path, &Value::Null).expect(200);
        let wrong =
            |over: Value| shelf.command("issues", with(issue(&shelf.plug_id, "Order", 99), over));
        wrong(json!({ "reservation_id": kept["id"], "lot_id": lot, "gap_mm": 1.0 }))
            .problem(409, "reservation_closed");
        wrong(json!({ "lot_id": lot, "gap_mm": 1.0 })).problem(409, "wrong_gap");
        wrong(json!({ "lot_id": lot, "gap_mm": 0.8 })).problem(409, "not_enough_stock");
    }
}

#[test]
fn a_refusal_says_what_there_is_and_what_stands_in_the_way() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 30);
        let detail = |kind: &str, body: Value, code: &str| -> String {
            let refused = shelf.command(kind, body).problem(409, code);
            // Parts that would do as well may be named behind it.
            let told = word(&refused.json, "detail");
            told.split("; equal to it")
                .next()
                .map_or_else(String::new, str::to_owned)
        };
        let job = unique("Refused");
        let first = shelf.issue(18, &job);
        let body =
            json!({ "plug_id": shelf.plug_id, "job": job, "quantity": 20, "reason": "fitted" });
        let told = detail("scrappings", body, "not_enough_stock");
        assert_eq!(told, format!("job {job} has 18 of the part"));
        // Of an issue of which some has come back.
        let back = |quantity: i64| {
            json!({ "movement_id": first["id"], "quantity": quantity, "condition": "gapped",
                                           "gap_mm": 0.7, "place_id": shelf.bin_id })
        };
        let gapped = shelf.command("returns", back(5)).expect(201).json["lots"][0].clone();
        assert_eq!(
            detail("returns", back(14), "more_than_issued"),
            "13 of the 18 plugs that went out with that issue can still come back"
        );
        let reverse = |movement: &Value| json!({ "movement_id": movement["id"], "reason": "slip" });
        let told = detail("reversals", reverse(&first), "more_than_issued");
        assert!(
            told.starts_with("5 of the 18 plugs have come back already"),
            "{told}"
        );
        // Gapped otherwise, and in quarantine.
        let wanted = |over: Value| with(issue(&shelf.plug_id, &job, 17), over);
        assert_eq!(
            detail("issues", wanted(json!({})), "not_enough_stock"),
            "there are 12 to be had, 17 of the part in bins; 5 of them are set to a gap"
        );
        let told = detail(
            "issues",
            wanted(json!({ "gap_mm": 0.9 })),
            "not_enough_stock",
        );
        assert!(
            told.ends_with("5 of them are set to another gap than 0.9 mm"),
            "{told}"
        );
        let kept = json!({ "plug_id": shelf.plug_id, "quantity": 13, "job": job });
        let told = detail("reservations", kept, "not_enough_stock");
        assert!(told.ends_with("5 of them are set to a gap"), "{told}");
        let cage = place(shop, "quarantine", &unique("Cage"));
        let aside = json!({ "lot_id": gapped["id"], "from_place_id": shelf.bin_id, "to_place_id": cage, "quantity": 5 });
        shelf.command("transfers", aside).expect(201);
        let code = word(&gapped, "code");
        assert_eq!(
            detail(
                "issues",
                wanted(json!({ "lot_id": gapped["id"] })),
                "not_enough_stock"
            ),
            format!(
                "there are 0 of lot {code} to be had, 12 of the part in bins; 5 more lie in quarantine"
            )
        );
    }
}

#[test]
fn a_receipt_that_was_partly_issued_says_why_it_stands() {
    for shop in shared() {
        let shelf = Shelf::empty(shop);
        let receipt = shelf.receive(8);
        shelf.issue(3, &unique("Gone"));
        let body = json!({ "movement_id": receipt["id"], "reason": "slip" });
        let refused = shelf
            .command("reversals", body)
            .problem(409, "not_enough_stock");
        let told = word(&refused.json, "detail");
        assert!(
            told.starts_with("3 of the 8 plugs are no longer in Bin"),
            "{told}"
        );
        // What lies in a place, of a lot.
        let bin = bin(shop, &unique("Empty"));
        let body = json!({ "lot_id": receipt["lot_id"], "from_place_id": shelf.bin_id, "to_place_id": bin, "quantity": 6 });
        let refused = shelf
            .command("transfers", body)
            .problem(409, "not_enough_stock");
        let told = word(&refused.json, "detail");
        assert!(
            told.starts_with("5 of lot L") && told.contains(" lie in Bin"),
            "{told}"
        );
    }
}

#[test]
fn the_list_is_closed_and_documented_in_its_order() {
    let conflicts: Vec<&str> = CODES
        .iter()
        .filter(|code| code.status == 409)
        .map(|code| code.word)
        .collect();
    assert!(conflicts.ends_with(&ORDER), "{conflicts:?}");
    for shop in shared() {
        let document = shop
            .get(Who::Nobody, "/openapi.json")
            .expect(200)
            .json
            .to_string();
        for word in ORDER {
            assert!(
                document.contains(word),
                "{word} is not in the OpenAPI document"
            );
        }
    }
}
