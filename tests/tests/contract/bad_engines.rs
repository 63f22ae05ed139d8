//! Heads, builds and scales with faults: every fault is told at once with a pointer, also of what
//! lies within, and nothing is stored.

use plugwell_tests::bodies::{build, head, heat_scale, unique, with, without};
use plugwell_tests::{Who, shared};
use serde_json::json;

#[test]
fn a_head_needs_thread_reach_and_seat() {
    for shop in shared() {
        let missing = ["#/thread missing", "#/reach_mm missing", "#/seat missing"];
        shop.post(Who::Tuner, "/v1/heads", &json!({ "heat_index": 50 }))
            .refused_for(&missing);
        let faults = json!({
            "name": "", "thread": "M15x1", "reach_mm": 4.9, "reach_tolerance_mm": 0.51, "seat": "flat",
            "hex_max_mm": 30.1, "projection_min_mm": "2", "projection_max_mm": 16, "heat_index": -1,
            "terminal": "bayonet", "material": "magnesium", "tight_gap": 1, "bore_mm": 100
        });
        let told = [
            "#/name out_of_range",
            "#/thread not_in_list",
            "#/reach_mm out_of_range",
            "#/reach_tolerance_mm out_of_range",
            "#/seat not_in_list",
            "#/hex_max_mm out_of_range",
            "#/projection_min_mm wrong_type",
            "#/projection_max_mm out_of_range",
            "#/heat_index out_of_range",
            "#/terminal not_in_list",
            "#/material not_in_list",
            "#/tight_gap wrong_type",
            "#/bore_mm unknown_member",
        ];
        shop.post(Who::Tuner, "/v1/heads", &faults)
            .refused_for(&told);
        let over_it = with(build(), json!({ "head": faults }));
        let told_under = |outer: &str| told.map(|fault| fault.replacen('#', outer, 1));
        let cases = [
            ("/v1/builds", over_it.clone(), told_under("#/head")),
            ("/v1/requirements", over_it.clone(), told_under("#/head")),
            (
                "/v1/matches",
                json!({ "build": over_it }),
                told_under("#/build/head"),
            ),
        ];
        for (path, body, faults) in cases {
            shop.post(Who::Tuner, path, &body)
                .refused_for(&faults.each_ref().map(String::as_str));
        }
        let window = with(head(), json!({ "projection_min_mm": 4.1 }));
        shop.post(Who::Tuner, "/v1/heads", &window)
            .refused_for(&["#/projection_min_mm contradiction"]);
    }
}

#[test]
fn a_build_is_told_all_its_faults_at_once() {
    for shop in shared() {
        shop.post(Who::Tuner, "/v1/builds", &json!({}))
            .problem(400, "invalid");
        let needed = [
            "#/cylinders missing",
            "#/induction missing",
            "#/use missing",
        ];
        shop.post(Who::Tuner, "/v1/builds", &json!({ "head": head() }))
            .refused_for(&needed);
        let faults = json!({
            "name": "x".repeat(81), "head": without(head(), &["seat"]), "base_plug_id": "x", "cylinders": 17,
            "plugs_per_cylinder": 0, "induction": "ram_air", "use": "sea", "base_power_kw": 0.5, "power_kw": 3001,
            "base_boost_kpa": -51, "boost_kpa": 601, "displacement_cc": 49, "compression_ratio": 3.9,
            "stroke_mm": 19, "rod_mm": 501, "intake_close_deg_abdc": 111, "spark_advance_deg": -11,
            "charge_temp_c": 251, "altitude_m": 6001, "fuel": "diesel", "electronics": ["radio", "toaster"],
            "coil_kv": 4, "heat_steps": 7, "gap_mm": 0.19, "electrode": ["gold"], "spares": 101, "turbo": true
        });
        let told = [
            "#/name out_of_range",
            "#/head/seat missing",
            "#/base_plug_id wrong_form",
            "#/cylinders out_of_range",
            "#/plugs_per_cylinder out_of_range",
            "#/induction not_in_list",
            "#/use not_in_list",
            "#/base_power_kw out_of_range",
            "#/power_kw out_of_range",
            "#/base_boost_kpa out_of_range",
            "#/boost_kpa out_of_range",
            "#/displacement_cc out_of_range",
            "#/compression_ratio out_of_range",
            "#/stroke_mm out_of_range",
            "#/rod_mm out_of_range",
            "#/intake_close_deg_abdc out_of_range",
            "#/spark_advance_deg out_of_range",
            "#/charge_temp_c out_of_range",
            "#/altitude_m out_of_range",
            "#/fuel not_in_list",
            "#/electronics/1 not_in_list",
            "#/coil_kv out_of_range",
            "#/heat_steps out_of_range",
            "#/gap_mm out_of_range",
            "#/electrode/0 not_in_list",
            "#/spares out_of_range",
            "#/turbo unknown_member",
        ];
        shop.post(Who::Tuner, "/v1/builds", &faults)
            .refused_for(&told);
        // Rod over crank radius 2.2 to 8: 92 mm stroke takes rods from 101.2 to 368 mm.
        for (rod, fine) in [(101.1, false), (101.2, true), (368.0, true), (368.1, false)] {
            let answer = shop.post(
                Who::Reader,
                "/v1/requirements",
                &with(build(), json!({ "rod_mm": rod })),
            );
            if fine {
                answer.expect(200)
            } else {
                answer.refused_for(&["#/rod_mm contradiction"])
            };
        }
    }
}

#[test]
fn a_scale_is_told_all_its_faults_at_once_and_not_stored() {
    for shop in shared() {
        let maker = unique("Scaleless");
        shop.post(Who::Clerk, "/v1/heat-scales", &json!({}))
            .refused_for(&["#/maker missing", "#/name missing", "#/codes missing"]);
        let faults = json!({ "maker": maker, "name": 7, "codes": [
            { "code": "", "heat_index": 10 }, { "code": "B" }, { "code": "C", "heat_index": 200.1 },
            { "code": "D", "heat_index": 10.05, "colour": "red" }, 5,
        ] });
        shop.post(Who::Clerk, "/v1/heat-scales", &faults)
            .refused_for(&[
                "#/name wrong_type",
                "#/codes/0/code out_of_range",
                "#/codes/1/heat_index missing",
                "#/codes/2/heat_index out_of_range",
                "#/codes/3/heat_index too_fine",
                "#/codes/3/colour unknown_member",
                "#/codes/4 wrong_type",
            ]);
        shop.post(
            Who::Clerk,
            "/v1/heat-scales",
            &with(heat_scale(&maker, "A"), json!({ "codes": [] })),
        )
        .refused_for(&["#/codes out_of_range"]);
        let all = shop
            .get(Who::Reader, "/v1/heat-scales?limit=200")
            .expect(200);
        assert!(
            all.items()
                .iter()
                .all(|scale| scale["maker"] != maker.as_str()),
            "{all:?}"
        );
    }
}
