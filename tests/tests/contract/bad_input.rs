//! Plugs with faults: every fault is told at once with a pointer, and nothing is stored.

use plugwell_tests::bodies::{gtin, plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

/// A plug with a fault in nearly every member.
fn plug_full_of_faults(maker: &str) -> Value {
    let right = gtin(77);
    let last = right.chars().last().unwrap().to_digit(10).unwrap();
    let wrong_digit = format!("{}{}", &right[..12], (last + 1) % 10);
    json!({
        "maker": maker, "part_number": "", "gtin": wrong_digit, "description": "x".repeat(501),
        "thread": "M15x1", "reach_mm": 300, "seat": "flat", "hex_mm": "16", "hex_kind": 6,
        "heat_index": 60.55, "projection_mm": -6, "strap_extent_mm": true, "resistor": "yes",
        "resistance_ohm": 50_001, "electrode": "copper", "ground": null, "gap_preset_mm": 0.80001,
        "gap_min_mm": 0.1, "gap_max_mm": 2.6, "terminal": [], "overall_mm": {}, "insulator_mm": 4.9,
        "service_life_km": 0, "torque_nm": 1e300, "pack_size": 4.5, "heat_scale_id": "7",
        "heat_code": "x".repeat(81), "status": "gone", "superseded_by": 12,
        "provenance": { "reach_mm": "guessed", "colour": "measured" },
        "reach": 19, "id": "018f4f5e-0000-7000-8000-000000000000"
    })
}

const FAULTS_OF_THAT_PLUG: &[&str] = &[
    "#/part_number out_of_range",
    "#/gtin wrong_check_digit",
    "#/description out_of_range",
    "#/thread not_in_list",
    "#/reach_mm out_of_range",
    "#/seat not_in_list",
    "#/hex_mm wrong_type",
    "#/hex_kind wrong_type",
    "#/heat_index too_fine",
    "#/projection_mm out_of_range",
    "#/strap_extent_mm wrong_type",
    "#/resistor wrong_type",
    "#/resistance_ohm out_of_range",
    "#/electrode not_in_list",
    "#/gap_preset_mm too_fine",
    "#/gap_min_mm out_of_range",
    "#/gap_max_mm out_of_range",
    "#/terminal wrong_type",
    "#/overall_mm wrong_type",
    "#/insulator_mm out_of_range",
    "#/service_life_km out_of_range",
    "#/torque_nm out_of_range",
    "#/pack_size wrong_type",
    "#/heat_scale_id wrong_form",
    "#/heat_code out_of_range",
    "#/status not_in_list",
    "#/superseded_by wrong_type",
    "#/provenance/reach_mm not_in_list",
    "#/provenance/colour unknown_member",
    "#/reach unknown_member",
    "#/id unknown_member",
];

#[test]
fn a_plug_is_told_all_its_faults_at_once_and_not_stored() {
    for shop in shared() {
        let maker = unique("Faulty");
        let answer = shop
            .post(Who::Clerk, "/v1/plugs", &plug_full_of_faults(&maker))
            .refused_for(FAULTS_OF_THAT_PLUG);
        for fault in answer.json["errors"].as_array().unwrap() {
            assert!(
                fault["detail"].as_str().is_some_and(|text| text.len() > 10),
                "{fault}"
            );
        }
        assert_eq!(of_maker(shop, &maker), 0);
        // A change is told the same, and changes nothing.
        let made = shop
            .post(
                Who::Clerk,
                "/v1/plugs",
                &with(plug("F-1"), json!({ "maker": maker })),
            )
            .expect(201);
        let own = format!("/v1/plugs/{}", made.text("id"));
        shop.patch(Who::Clerk, &own, &plug_full_of_faults(&maker))
            .refused_for(FAULTS_OF_THAT_PLUG);
        assert_eq!(shop.get(Who::Reader, &own).expect(200).json, made.json);
    }
}

fn of_maker(shop: &Shop, maker: &str) -> usize {
    shop.get(
        Who::Reader,
        &format!("/v1/plugs?maker={maker}&retired=true"),
    )
    .expect(200)
    .items()
    .len()
}

#[test]
fn a_plug_needs_its_name() {
    for shop in shared() {
        let missing = ["#/maker missing", "#/part_number missing"];
        shop.post(Who::Clerk, "/v1/plugs", &json!({}))
            .refused_for(&missing);
        shop.post(
            Who::Clerk,
            "/v1/plugs",
            &json!({ "maker": null, "part_number": null }),
        )
        .refused_for(&missing);
        for blank in ["", "  ", "\t"] {
            shop.post(
                Who::Clerk,
                "/v1/plugs",
                &json!({ "maker": blank, "part_number": "B-1" }),
            )
            .refused_for(&["#/maker out_of_range"]);
            shop.post(
                Who::Clerk,
                "/v1/plugs",
                &json!({ "maker": "B", "part_number": blank }),
            )
            .refused_for(&["#/part_number out_of_range"]);
        }
        let long = json!({ "maker": "x".repeat(81), "part_number": "x".repeat(81) });
        shop.post(Who::Clerk, "/v1/plugs", &long)
            .refused_for(&["#/maker out_of_range", "#/part_number out_of_range"]);
        // Characters, not bytes.
        shop.post(
            Who::Clerk,
            "/v1/plugs",
            &json!({ "maker": "é".repeat(80), "part_number": unique("LONG") }),
        )
        .expect(201);
        let control = json!({ "maker": "a\u{7}b", "part_number": "F\n1" });
        shop.post(Who::Clerk, "/v1/plugs", &control)
            .refused_for(&["#/maker wrong_form", "#/part_number wrong_form"]);
    }
}

#[test]
fn a_barcode_has_digits_a_length_and_a_check_digit() {
    for shop in shared() {
        let maker = unique("Barcode");
        let body =
            |code: Value| json!({ "maker": maker, "part_number": unique("B"), "gtin": code });
        for (wrong, fault) in [
            (json!("200000000001"), "#/gtin wrong_check_digit"),
            (json!("2000000000016"), "#/gtin wrong_check_digit"),
            (json!("20000000000152"), "#/gtin wrong_check_digit"),
            (json!("2000000000"), "#/gtin wrong_form"),
            (json!("200000000001X"), "#/gtin wrong_form"),
            (json!("2000 00000001"), "#/gtin wrong_form"),
            (json!(""), "#/gtin wrong_form"),
            (json!(2_000_000_000_015_i64), "#/gtin wrong_type"),
        ] {
            shop.post(Who::Clerk, "/v1/plugs", &body(wrong))
                .refused_for(&[fault]);
        }
        assert_eq!(of_maker(shop, &maker), 0);
        let made = shop
            .post(Who::Clerk, "/v1/plugs", &body("2000000000015".into()))
            .expect(201);
        assert_eq!(made.json["gtin"], "2000000000015");
        // The same barcode on another part is no fault: some makers put one on several packs.
        shop.post(Who::Clerk, "/v1/plugs", &body("2000000000015".into()))
            .expect(201);
    }
}

#[test]
fn a_thread_of_no_listed_size_is_not_guessed() {
    for shop in shared() {
        for wrong in [
            "M14",
            "M14x1",
            "M14x1.5",
            "M15x1.25",
            "M18x1.25",
            "14",
            "7/8",
            "",
            "M14x1.25x19",
        ] {
            let body = with(plug(&unique("THREAD")), json!({ "thread": wrong }));
            shop.post(Who::Clerk, "/v1/plugs", &body)
                .refused_for(&["#/thread not_in_list"]);
        }
    }
}
