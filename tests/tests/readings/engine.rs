//! A reading against its engine and its day: what cannot be, what was read before, how hot is too hot.

use plugwell_tests::bodies::unique;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::floor::{DAYS, Floor, READINGS, codes};

#[test]
fn a_plug_of_a_lot_that_was_never_issued_is_no_evidence() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        let lot = floor.receive(&part, 4, 400);
        for cylinder in [1, 2, 3, 4, 1, 2] {
            let told = floor.read(json!({ "lot_id": lot, "cylinder": cylinder }));
            let told = told.expect(201);
            assert_eq!(told.json["evidence"], false);
            assert_eq!(codes(&told.json["refused_because"]), ["issue_unknown"]);
            assert_eq!(
                told.json["plug"]["id"], *part,
                "it is known which part it is"
            );
        }
        let path = format!("{READINGS}?build_id={}&evidence=true", floor.build_id);
        assert!(shop.get(Who::Reader, &path).expect(200).items().is_empty());
    }
}

#[test]
fn a_plug_that_cannot_be_in_the_engine_is_no_evidence() {
    for shop in shared() {
        let (floor, other) = (Floor::new(shop), Floor::new(shop));
        let part = other.part(json!({ "thread": "M12x1.25" }));
        floor.receive(&part, 4, 400);
        let out = floor.issue(&part, 1, json!({ "job": unique("Hill") }));
        let told = floor.read(json!({ "movement_id": out })).expect(201);
        let flaws = &told.json["refused_because"];
        assert_eq!(codes(flaws), ["not_of_engine"], "{told:?}");
        let text = flaws[0]["text"].as_str().expect("a text");
        assert!(text.contains("thread, reach"), "{text}");
        assert_eq!(told.json["suggestions"], json!([]));
    }
}

#[test]
fn a_plug_at_the_target_is_not_made_hotter() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let read = |heat: Value| {
            let part = floor.part(json!({ "heat_index": heat }));
            floor.receive(&part, 1, 100);
            let out = floor.issue(&part, 1, json!({ "job": unique("Hill") }));
            let seen = json!({ "movement_id": out, "heat_line": "at_tip" });
            floor.read(seen).expect(201).json
        };
        // The build's target is 70, its window begins at 67.
        let at_target = read(json!(70));
        assert_eq!(at_target["evidence"], true);
        assert_eq!(at_target["suggestions"], json!([]));
        let left = &at_target["contradictions"][0];
        assert_eq!(
            (&left["left_out"], &left["stands"]),
            (&json!("hotter_by_one"), &json!([]))
        );
        let text = left["text"].as_str().expect("a text");
        assert!(
            text.contains("the plug stands at 70, the build asks for 67 or colder: not hotter"),
            "{text}"
        );
        let unknown = read(Value::Null);
        assert_eq!(unknown["suggestions"], json!([]));
        assert_eq!(unknown["contradictions"][0]["left_out"], "hotter_by_one");
        let cold = read(json!(80));
        assert_eq!(codes(&cold["suggestions"]), ["hotter_by_one"]);
    }
}

#[test]
fn a_plug_is_read_once_after_a_run() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 20, 2_000);
        let out = floor.issue(&part, 4, json!({ "job": unique("Hill") }));
        floor.read(json!({ "movement_id": out })).expect(201);
        let again =
            floor.read(json!({ "movement_id": out, "plug_of_cylinder": 1, "note": "again" }));
        again.problem(409, "duplicate_record");
        floor
            .read(json!({ "movement_id": out, "run": 2 }))
            .expect(201);
        // Faults of what it points to come first.
        floor
            .read(json!({ "movement_id": out, "cylinder": 5 }))
            .refused_for(&["#/cylinder contradiction"]);
    }
}

#[test]
fn a_reading_agrees_with_its_day() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let (part, other) = (floor.part(json!({})), floor.part(json!({})));
        floor.receive(&part, 20, 2_000);
        floor.receive(&other, 2, 20_000);
        let day = floor.plan(json!({})).expect(201).text("id");
        let right = floor.issue(&part, 4, json!({ "job": unique("Hill") }));
        let wrong = floor.issue(&other, 1, json!({ "job": unique("Hill") }));
        floor
            .read(json!({ "tuning_day_id": day, "movement_id": wrong, "run": 4 }))
            .refused_for(&["#/run contradiction", "#/movement_id contradiction"]);
        let on_day = json!({ "tuning_day_id": day, "movement_id": right, "run": 3 });
        floor.read(on_day.clone()).expect(201);
        floor.read(on_day).problem(409, "duplicate_record");
        let off = format!("{DAYS}/{day}/withdrawal");
        shop.once(Who::Tuner, &off, &Value::Null).expect(200);
        floor
            .read(json!({ "tuning_day_id": day, "movement_id": right, "run": 2 }))
            .refused_for(&["#/tuning_day_id contradiction"]);
    }
}
