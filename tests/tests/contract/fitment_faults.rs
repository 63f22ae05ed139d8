//! A second opinion asked for wrongly: every fault at once, with its pointer.

use plugwell_tests::bodies::{build, head, with, without};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

const NOWHERE: &str = "018f4f5e-0000-7000-8000-000000000000";
const PATH: &str = "/v1/fitment-checks";

fn asked(fitted: Value) -> Value {
    json!({ "build": build(), "fitted": fitted })
}

#[test]
fn one_engine_and_one_plug_are_asked_for() {
    let plug = || json!({ "plug": {} });
    for shop in shared() {
        let cases = [
            (json!({}), vec!["#/fitted missing"]),
            (json!({ "fitted": plug() }), vec!["# missing"]),
            (
                json!({ "build": build(), "build_id": NOWHERE, "fitted": plug() }),
                vec!["#/build_id not_together"],
            ),
            (asked(json!({})), vec!["#/fitted missing"]),
            (
                asked(json!({ "plug": {}, "plug_id": NOWHERE })),
                vec!["#/fitted/plug not_together"],
            ),
            (
                json!({ "fitted": {} }),
                vec!["# missing", "#/fitted missing"],
            ),
        ];
        for (body, faults) in cases {
            shop.post(Who::Reader, PATH, &body).refused_for(&faults);
        }
        shop.post(Who::Reader, PATH, &asked(plug())).expect(200);
        let silent = with(asked(plug()), json!({ "symptoms": null }));
        shop.post(Who::Reader, PATH, &silent).expect(200);
    }
}

#[test]
fn every_fault_of_shape_is_told_at_once() {
    for shop in shared() {
        let body = json!({
            "build": with(build(), json!({ "cylinders": 17, "head": without(head(), &["seat"]) })),
            "fitted": {
                "plug": { "reach_mm": 61, "thread": "M15x1", "colour": "red", "maker": "", "resistor": 1 },
                "gap_mm": 0.19, "distance_km": -1, "dropped": 1.5, "lead_changes": 1001, "leads_renewed": "no", "age": 3
            },
            "symptoms": ["misfire_under_load", "rattle", 7], "since": "May"
        });
        shop.post(Who::Reader, PATH, &body).refused_for(&[
            "#/build/cylinders out_of_range",
            "#/build/head/seat missing",
            "#/fitted/plug/reach_mm out_of_range",
            "#/fitted/plug/thread not_in_list",
            "#/fitted/plug/colour unknown_member",
            "#/fitted/plug/maker out_of_range",
            "#/fitted/plug/resistor wrong_type",
            "#/fitted/gap_mm out_of_range",
            "#/fitted/distance_km out_of_range",
            "#/fitted/dropped wrong_type",
            "#/fitted/lead_changes out_of_range",
            "#/fitted/leads_renewed wrong_type",
            "#/fitted/age unknown_member",
            "#/symptoms/1 not_in_list",
            "#/symptoms/2 wrong_type",
            "#/since unknown_member",
        ]);
    }
}

#[test]
fn a_complaint_that_there_is_not_is_called_no_symptom() {
    for shop in shared() {
        let body = with(
            asked(json!({ "plug": {} })),
            json!({ "symptoms": ["nope"] }),
        );
        let refused = shop.post(Who::Reader, PATH, &body).expect(400);
        let said = refused.json["errors"][0]["detail"].as_str().unwrap();
        assert!(
            said.starts_with("\"nope\" is no symptom; take one of: misfire_under_load, "),
            "{said}"
        );
    }
}

#[test]
fn every_broken_rule_is_told_at_once() {
    for shop in shared() {
        let body = json!({
            "build": with(build(), json!({ "rod_mm": 60 })),
            "fitted": { "plug": { "resistor": true, "resistance_ohm": 3, "gap_min_mm": 1.0, "gap_max_mm": 0.9 } },
            "symptoms": ["fouling", "low_power", "fouling"]
        });
        shop.post(Who::Reader, PATH, &body).refused_for(&[
            "#/symptoms/2 duplicate",
            "#/build/rod_mm contradiction",
            "#/fitted/plug/resistance_ohm contradiction",
            "#/fitted/plug/gap_min_mm contradiction",
        ]);
        let fine = json!({ "build": build(), "fitted": { "plug": {}, "gap_mm": 0.81285 } });
        shop.post(Who::Reader, PATH, &fine)
            .refused_for(&["#/fitted/gap_mm too_fine"]);
    }
}

#[test]
fn what_is_pointed_to_has_to_be_there() {
    for shop in shared() {
        let body = json!({ "build_id": NOWHERE, "fitted": { "plug_id": NOWHERE } });
        shop.post(Who::Reader, PATH, &body)
            .refused_for(&["#/build_id not_found", "#/fitted/plug_id not_found"]);
        let inner = json!({
            "build": with(without(build(), &["head"]), json!({ "head_id": NOWHERE, "base_plug_id": NOWHERE })),
            "fitted": { "plug": { "heat_scale_id": NOWHERE, "superseded_by": NOWHERE } }
        });
        shop.post(Who::Reader, PATH, &inner).refused_for(&[
            "#/build/head_id not_found",
            "#/build/base_plug_id not_found",
            "#/fitted/plug/heat_scale_id not_found",
            "#/fitted/plug/superseded_by not_found",
        ]);
    }
}

#[test]
fn no_more_can_have_fallen_than_the_engine_has() {
    for shop in shared() {
        let told = |dropped: u32| asked(json!({ "plug": {}, "dropped": dropped }));
        shop.post(Who::Reader, PATH, &told(8)).expect(200);
        shop.post(Who::Reader, PATH, &told(9))
            .refused_for(&["#/fitted/dropped out_of_range"]);
    }
}
