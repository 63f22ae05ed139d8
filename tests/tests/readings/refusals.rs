//! Bad input and small roles: all faults at once, in the contract's order.

use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::floor::{DAYS, Floor, READINGS, in_days};

#[test]
fn every_fault_of_a_day_at_once() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let all = json!({
            "name": "", "build_id": "none", "day": "2030-02-30", "pulls": 101, "cylinders_read": 0, "spares": 101,
            "plug_id": 7, "electrode": ["tin"], "reserve": "yes", "colour": "red"
        });
        floor.plan(all).refused_for(&[
            "#/name out_of_range",
            "#/build_id wrong_form",
            "#/day wrong_form",
            "#/pulls out_of_range",
            "#/cylinders_read out_of_range",
            "#/spares out_of_range",
            "#/plug_id wrong_type",
            "#/electrode/0 not_in_list",
            "#/reserve wrong_type",
            "#/colour unknown_member",
        ]);
        shop.once(Who::Tuner, DAYS, &json!({})).refused_for(&[
            "#/name missing",
            "#/day missing",
            "#/pulls missing",
        ]);
        floor
            .plan(json!({ "electrode": [] }))
            .refused_for(&["#/electrode out_of_range"]);
        floor
            .plan(json!({ "build_id": null }))
            .refused_for(&["#/build_id missing"]);
        let yesterday = in_days(0).pred_opt();
        floor
            .plan(json!({ "day": yesterday, "cylinders_read": 5 }))
            .refused_for(&["#/day out_of_range", "#/cylinders_read contradiction"]);
        floor
            .plan(json!({ "day": in_days(732) }))
            .refused_for(&["#/day out_of_range"]);
        floor
            .plan(json!({ "build_id": Uuid::now_v7() }))
            .refused_for(&["#/build_id not_found"]);
        // Nothing of that was kept.
        let list = format!("{DAYS}?build_id={}", floor.build_id);
        assert!(shop.get(Who::Reader, &list).expect(200).items().is_empty());
        floor.plan(json!({ "day": in_days(0) })).expect(201);
    }
}

#[test]
fn every_fault_of_a_reading_at_once() {
    for shop in shared() {
        let floor = Floor::new(shop);
        floor
            .read(json!({
                "build_id": 1, "movement_id": "x", "lot_id": null, "run": 0, "cylinder": 1.5, "plug_of_cylinder": 4,
                "full_load": "yes", "clean_shut_off": 1, "heat_line": "somewhere", "base_ring": 3, "porcelain": "green",
                "speckles": [], "gap_before_mm": 0.1, "gap_after_mm": 0.80001, "note": "", "advance_deg": 3
            }))
            .refused_for(&[
                "#/build_id wrong_type",
                "#/movement_id wrong_form",
                "#/run out_of_range",
                "#/cylinder wrong_type",
                "#/plug_of_cylinder out_of_range",
                "#/full_load wrong_type",
                "#/clean_shut_off wrong_type",
                "#/heat_line not_in_list",
                "#/base_ring wrong_type",
                "#/porcelain not_in_list",
                "#/speckles wrong_type",
                "#/gap_before_mm out_of_range",
                "#/gap_after_mm too_fine",
                "#/note out_of_range",
                "#/advance_deg unknown_member",
            ]);
        floor
            .read(json!({ "heat_line": null, "base_ring": null }))
            .refused_for(&["# missing"]);
        floor
            .read(json!({ "movement_id": Uuid::now_v7(), "lot_id": Uuid::now_v7() }))
            .refused_for(&["#/lot_id not_together"]);
        let bad = format!("{READINGS}?build_id=x&evidence=perhaps&run=1");
        shop.get(Who::Reader, &bad).refused_for(&[
            "?build_id wrong_form",
            "?evidence wrong_form",
            "?run unknown_member",
        ]);
    }
}

#[test]
fn tuners_write_and_readers_read() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let day = floor
            .plan(json!({ "reserve": false }))
            .expect(201)
            .text("id");
        let read = floor.read(json!({})).expect(201).text("id");
        shop.once(Who::Reader, DAYS, &floor.asked(json!({})))
            .problem(403, "forbidden");
        shop.post(Who::Reader, READINGS, &floor.reading(json!({})))
            .problem(403, "forbidden");
        let withdrawal = format!("{DAYS}/{day}/withdrawal");
        shop.once(Who::Reader, &withdrawal, &Value::Null)
            .problem(403, "forbidden");
        for path in [
            DAYS.to_owned(),
            READINGS.to_owned(),
            format!("{DAYS}/{day}"),
            format!("{READINGS}/{read}"),
        ] {
            shop.get(Who::Reader, &path).expect(200);
            shop.get(Who::Nobody, &path).problem(401, "unauthorized");
        }
        // Keys are asked for before the body is looked at, and after the record was found.
        shop.post(Who::Tuner, DAYS, &json!({}))
            .problem(400, "once_key_missing");
        shop.send("POST", &withdrawal, Who::Tuner, &[], "")
            .problem(400, "once_key_missing");
        shop.once(Who::Tuner, &withdrawal, &json!({ "why": "rain" }))
            .refused_for(&["# unknown_member"]);
        let nowhere = Uuid::now_v7();
        shop.send(
            "POST",
            &format!("{DAYS}/{nowhere}/withdrawal"),
            Who::Tuner,
            &[],
            "",
        )
        .problem(404, "not_found");
        for path in [DAYS, READINGS] {
            shop.get(Who::Reader, &format!("{path}/{nowhere}"))
                .problem(404, "not_found");
        }
    }
}
