//! Scrap: a dropped plug is scrap, and scrap is final.

use plugwell_tests::bodies::{bin, issue, place, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::{Shelf, is_movement, named, only};

#[test]
fn scrapping_takes_from_bin_job_and_quarantine() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 12);
        let drum = only(shop, "scrap");
        let body = json!({
            "lot_id": shelf.lot_id, "place_id": shelf.bin_id, "quantity": 2, "reason": "cracked_insulator", "note": "seen on the bench"
        });
        let answer = shelf.command_by(Who::Clerk, "scrappings", body).expect(201);
        let movements = answer.json["movements"].as_array().expect("movements");
        assert_eq!(movements.len(), 1);
        is_movement(
            &movements[0],
            json!({
                "kind": "scrapping", "lot_id": shelf.lot_id, "from_place_id": shelf.bin_id, "to_place_id": drum, "quantity": 2,
                "reason": "cracked_insulator", "note": "seen on the bench", "job": null, "reverses": null, "actor": "test clerk"
            }),
        );
        let job = unique("Scrapping");
        shelf.issue(4, &job);
        let body = json!({ "plug_id": shelf.plug_id, "job": job.to_uppercase(), "quantity": 1, "reason": "bent_strap" });
        let from_job = shelf
            .command_by(Who::Tuner, "scrappings", body)
            .expect(201)
            .json["movements"][0]
            .clone();
        assert_eq!(
            (&from_job["job"], &from_job["from_place_id"]),
            (&json!(job), &json!(named(shop, "job", &job)))
        );
        let hold = place(shop, "quarantine", &unique("Hold"));
        let body = json!({ "lot_id": shelf.lot_id, "from_place_id": shelf.bin_id, "to_place_id": hold, "quantity": 3 });
        shelf.command("transfers", body).expect(201);
        let body = json!({ "lot_id": shelf.lot_id, "place_id": hold, "quantity": 3, "reason": "damaged_thread" });
        shelf.command("scrappings", body).expect(201);
        assert_eq!(
            (
                shelf.held("bin"),
                shelf.held("job"),
                shelf.held("quarantine"),
                shelf.held("scrap")
            ),
            (3, 3, 0, 6)
        );
    }
}

#[test]
fn a_part_is_scrapped_from_its_lots_oldest_first() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 3);
        let second = shelf.receive(4);
        let body = json!({ "plug_id": shelf.plug_id, "place_id": shelf.bin_id, "quantity": 5, "reason": "dropped" });
        let movements = shelf.command("scrappings", body).expect(201).json["movements"].clone();
        let taken: Vec<(&Value, &Value)> = movements
            .as_array()
            .expect("movements")
            .iter()
            .map(|m| (&m["lot_id"], &m["quantity"]))
            .collect();
        assert_eq!(
            taken,
            [
                (&json!(shelf.lot_id), &json!(3)),
                (&second["lot_id"], &json!(2))
            ]
        );
        let more = json!({ "plug_id": shelf.plug_id, "place_id": shelf.bin_id, "quantity": 3, "reason": "dropped" });
        let refused = shelf
            .command("scrappings", more)
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(2), &json!(2))
        );
    }
}

#[test]
fn a_tuner_scraps_from_a_job_only() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 4);
        let body = json!({ "plug_id": shelf.plug_id, "place_id": shelf.bin_id, "quantity": 1, "reason": "dropped" });
        shelf
            .command_by(Who::Tuner, "scrappings", body.clone())
            .problem(403, "forbidden");
        shelf
            .command_by(Who::Reader, "scrappings", body.clone())
            .problem(403, "forbidden");
        shelf.command_by(Who::Clerk, "scrappings", body).expect(201);
        // The job by its place, too.
        shelf.issue(1, "Tuned");
        let body = json!({ "plug_id": shelf.plug_id, "place_id": named(shop, "job", "Tuned"), "quantity": 1, "reason": "fitted" });
        shelf.command_by(Who::Tuner, "scrappings", body).expect(201);
    }
}

#[test]
fn scrap_is_final_whichever_way_is_tried() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let drum = only(shop, "scrap");
        let scrapped = shelf.scrap(4);
        let quarantine = place(shop, "quarantine", &unique("Hold"));
        for who in [Who::Clerk, Who::Manager] {
            for to in [&shelf.bin_id, &quarantine] {
                let body = json!({ "lot_id": shelf.lot_id, "from_place_id": drum, "to_place_id": to, "quantity": 1 });
                shelf
                    .command_by(who, "transfers", body)
                    .problem(409, "scrap_is_final");
            }
            let body = with(
                issue(&shelf.plug_id, "Final", 1),
                json!({ "place_id": drum }),
            );
            shelf
                .command_by(who, "issues", body)
                .problem(409, "scrap_is_final");
            let by_lot = with(
                issue(&shelf.plug_id, "Final", 7),
                json!({ "lot_id": shelf.lot_id }),
            );
            shelf
                .command_by(who, "issues", by_lot)
                .problem(409, "not_enough_stock");
            let body = json!({ "lot_id": shelf.lot_id, "place_id": drum, "quantity": 1, "reason": "dropped" });
            shelf
                .command_by(who, "scrappings", body)
                .problem(409, "scrap_is_final");
            // A scrapping is no issue that something could come back from.
            let body = json!({ "movement_id": scrapped["id"], "quantity": 1, "place_id": shelf.bin_id, "condition": "sealed" });
            shelf
                .command_by(who, "returns", body)
                .problem(409, "not_an_issue");
        }
        let into =
            json!({ "plug_id": shelf.plug_id, "supplier": "S", "place_id": drum, "quantity": 1 });
        shelf
            .command("receipts", into)
            .refused_for(&["#/place_id contradiction"]);
        // A clerk cannot take it back, and nothing of all this moved anything.
        let back = json!({ "movement_id": scrapped["id"], "reason": "slip of the scanner" });
        shelf
            .command_by(Who::Clerk, "reversals", back)
            .problem(403, "forbidden");
        assert_eq!((shelf.held("bin"), shelf.held("scrap")), (6, 4));
    }
}

#[test]
fn a_return_to_scrap_is_final_too() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let issued = shelf.issue(4, "Back");
        let body = json!({ "movement_id": issued["id"], "quantity": 2, "condition": "dropped" });
        let scrapped = shelf.command("returns", body).expect(201).json["movements"][0].clone();
        let back = json!({ "movement_id": scrapped["id"], "reason": "slip" });
        shelf
            .command_by(Who::Clerk, "reversals", back)
            .problem(403, "forbidden");
        // What lies in the drum cannot be made undone by reversing the issue before it.
        let whole = json!({ "movement_id": issued["id"], "reason": "never went out" });
        shelf
            .command("reversals", whole)
            .problem(409, "more_than_issued");
        assert_eq!((shelf.held("job"), shelf.held("scrap")), (2, 2));
    }
}

#[test]
fn faults_of_a_scrapping() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let bad = |body: Value| shelf.command("scrappings", body);
        bad(json!({ "quantity": 0, "reason": "lost" }))
            .refused_for(&["#/quantity out_of_range", "#/reason not_in_list"]);
        bad(json!({ "quantity": 1, "reason": "other" }))
            .refused_for(&["#/lot_id missing", "#/place_id missing"]);
        bad(json!({
            "plug_id": shelf.plug_id, "lot_id": shelf.lot_id, "place_id": shelf.bin_id, "job": "J", "quantity": 1, "reason": "other"
        }))
        .refused_for(&["#/lot_id not_together", "#/place_id not_together"]);
        let from = |over: Value| {
            bad(with(
                json!({ "lot_id": shelf.lot_id, "place_id": shelf.bin_id, "quantity": 1, "reason": "other" }),
                over,
            ))
        };
        from(json!({ "lot_id": Uuid::now_v7() })).refused_for(&["#/lot_id not_found"]);
        from(json!({ "place_id": Uuid::now_v7() })).refused_for(&["#/place_id not_found"]);
        from(json!({ "place_id": null, "job": unique("Nobody's") }))
            .refused_for(&["#/job not_found"]);
        from(json!({ "place_id": named(shop, "supplier", "Quayside Parts") }))
            .refused_for(&["#/place_id contradiction"]);
        from(json!({ "place_id": only(shop, "difference") }))
            .refused_for(&["#/place_id contradiction"]);
        from(json!({ "place_id": bin(shop, &unique("Empty")) })).problem(409, "not_enough_stock");
        from(json!({ "note": "x".repeat(501) })).refused_for(&["#/note out_of_range"]);
    }
}

#[test]
fn who_dropped_them_is_asked_and_never_demanded() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let scrap = |reason: &str, by: Value| {
            let body = json!({
                "plug_id": shelf.plug_id, "place_id": shelf.bin_id, "quantity": 1, "reason": reason, "dropped_by": by
            });
            shelf.command_by(Who::Clerk, "scrappings", body)
        };
        let told = |answer: plugwell_tests::Answer| {
            answer.expect(201).json["movements"][0]["dropped_by"].clone()
        };
        assert_eq!(told(scrap("dropped", json!(" Tamsin "))), "Tamsin");
        assert_eq!(told(scrap("dropped", Value::Null)), Value::Null);
        scrap("bent_strap", json!("Tamsin")).refused_for(&["#/dropped_by not_together"]);
        scrap("dropped", json!(" ")).refused_for(&["#/dropped_by out_of_range"]);
        let issued = shelf.issue(4, "Dropping");
        let back = |over: Value| {
            let body =
                json!({ "movement_id": issued["id"], "quantity": 1, "place_id": shelf.bin_id });
            shelf.command("returns", with(body, over))
        };
        assert_eq!(
            told(back(
                json!({ "condition": "dropped", "dropped_by": "Bram" })
            )),
            "Bram"
        );
        back(json!({ "condition": "sealed", "dropped_by": "Bram" }))
            .refused_for(&["#/dropped_by not_together"]);
        assert_eq!(told(back(json!({ "condition": "handled" }))), Value::Null);
        // It stands in the table, too: its last column.
        let table = format!("/v1/stock/movements?plug_id={}", shelf.plug_id);
        let csv = [("accept", "text/csv")];
        let table = shop.send("GET", &table, Who::Reader, &csv, "").expect(200);
        let table = String::from_utf8(table.body).expect("text");
        let last = |row: &str| row.rsplit(',').next().map(str::to_owned);
        let named: Vec<String> = table.lines().filter_map(last).collect();
        assert_eq!(named[0], "dropped_by");
        assert_eq!(named.iter().filter(|cell| *cell == "Tamsin").count(), 1);
        assert_eq!(named.iter().filter(|cell| *cell == "Bram").count(), 1);
        // It stays with the movement.
        let listed = format!(
            "/v1/stock/movements?plug_id={}&kind=scrapping",
            shelf.plug_id
        );
        let named = shop.all(Who::Reader, &listed);
        let named: Vec<&Value> = named
            .iter()
            .map(|movement| &movement["dropped_by"])
            .collect();
        assert_eq!(
            named,
            [&json!("Tamsin"), &Value::Null, &json!("Bram"), &Value::Null]
        );
    }
}
