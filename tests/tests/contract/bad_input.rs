//! Bodies with faults: every fault is told at once with a pointer, and nothing is stored.

use plugwell_tests::bodies::{build, gtin, head, heat_scale, plug, unique, with, without};
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
        let answer = shop.post(Who::Clerk, "/v1/plugs", &plug_full_of_faults(&maker)).refused_for(FAULTS_OF_THAT_PLUG);
        for fault in answer.json["errors"].as_array().unwrap() {
            assert!(fault["detail"].as_str().is_some_and(|text| text.len() > 10), "{fault}");
        }
        assert_eq!(of_maker(shop, &maker), 0);
        // A change is told the same, and changes nothing.
        let made = shop.post(Who::Clerk, "/v1/plugs", &with(plug("F-1"), json!({ "maker": maker }))).expect(201);
        let own = format!("/v1/plugs/{}", made.text("id"));
        shop.patch(Who::Clerk, &own, &plug_full_of_faults(&maker)).refused_for(FAULTS_OF_THAT_PLUG);
        assert_eq!(shop.get(Who::Reader, &own).expect(200).json, made.json);
    }
}

fn of_maker(shop: &Shop, maker: &str) -> usize {
    shop.get(Who::Reader, &format!("/v1/plugs?maker={maker}&retired=true")).expect(200).items().len()
}

#[test]
fn a_plug_needs_its_name() {
    for shop in shared() {
        let missing = ["#/maker missing", "#/part_number missing"];
        shop.post(Who::Clerk, "/v1/plugs", &json!({})).refused_for(&missing);
        shop.post(Who::Clerk, "/v1/plugs", &json!({ "maker": null, "part_number": null })).refused_for(&missing);
        for blank in ["", "  ", "\t"] {
            let body = json!({ "maker": blank, "part_number": "x".repeat(81) });
            let answer = shop.post(Who::Clerk, "/v1/plugs", &body).problem(400, "invalid");
            assert!(answer.faults().iter().any(|f| f.starts_with("#/maker ")), "{answer:?}");
        }
        let control = json!({ "maker": "a\u{7}b", "part_number": "F\n1" });
        shop.post(Who::Clerk, "/v1/plugs", &control).refused_for(&["#/maker wrong_form", "#/part_number wrong_form"]);
    }
}

#[test]
fn a_barcode_has_digits_a_length_and_a_check_digit() {
    for shop in shared() {
        let maker = unique("Barcode");
        let body = |code: Value| json!({ "maker": maker, "part_number": unique("B"), "gtin": code });
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
            shop.post(Who::Clerk, "/v1/plugs", &body(wrong)).refused_for(&[fault]);
        }
        assert_eq!(of_maker(shop, &maker), 0);
        let made = shop.post(Who::Clerk, "/v1/plugs", &body("2000000000015".into())).expect(201);
        assert_eq!(made.json["gtin"], "2000000000015");
        // The same barcode on another part is no fault: some makers put one on several packs.
        shop.post(Who::Clerk, "/v1/plugs", &body("2000000000015".into())).expect(201);
    }
}

#[test]
fn a_thread_of_no_listed_size_is_not_guessed() {
    for shop in shared() {
        for wrong in ["M14", "M14x1", "M14x1.5", "M15x1.25", "M18x1.25", "14", "7/8", "", "M14x1.25x19"] {
            let body = with(plug(&unique("THREAD")), json!({ "thread": wrong }));
            shop.post(Who::Clerk, "/v1/plugs", &body).refused_for(&["#/thread not_in_list"]);
        }
    }
}

#[test]
fn a_head_needs_thread_reach_and_seat() {
    for shop in shared() {
        let missing = ["#/thread missing", "#/reach_mm missing", "#/seat missing"];
        shop.post(Who::Tuner, "/v1/heads", &json!({ "heat_index": 50 })).refused_for(&missing);
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
        shop.post(Who::Tuner, "/v1/heads", &faults).refused_for(&told);
        let over_it = with(build(), json!({ "head": faults }));
        let told_under = |outer: &str| told.map(|fault| fault.replacen('#', outer, 1));
        let cases = [
            ("/v1/builds", over_it.clone(), told_under("#/head")),
            ("/v1/requirements", over_it.clone(), told_under("#/head")),
            ("/v1/matches", json!({ "build": over_it }), told_under("#/build/head")),
        ];
        for (path, body, faults) in cases {
            shop.post(Who::Tuner, path, &body).refused_for(&faults.each_ref().map(String::as_str));
        }
        let window = with(head(), json!({ "projection_min_mm": 4.1 }));
        shop.post(Who::Tuner, "/v1/heads", &window).refused_for(&["#/projection_min_mm contradiction"]);
    }
}

#[test]
fn a_build_is_told_all_its_faults_at_once() {
    for shop in shared() {
        shop.post(Who::Tuner, "/v1/builds", &json!({})).problem(400, "invalid");
        let needed = ["#/cylinders missing", "#/induction missing", "#/use missing"];
        shop.post(Who::Tuner, "/v1/builds", &json!({ "head": head() })).refused_for(&needed);
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
        shop.post(Who::Tuner, "/v1/builds", &faults).refused_for(&told);
        // Rod over crank radius 2.2 to 8: 92 mm stroke takes rods from 101.2 to 368 mm.
        for (rod, fine) in [(101.1, false), (101.2, true), (368.0, true), (368.1, false)] {
            let answer = shop.post(Who::Reader, "/v1/requirements", &with(build(), json!({ "rod_mm": rod })));
            if fine { answer.expect(200) } else { answer.refused_for(&["#/rod_mm contradiction"]) };
        }
    }
}

#[test]
fn a_scale_is_told_all_its_faults_at_once_and_not_stored() {
    for shop in shared() {
        let maker = unique("Scaleless");
        shop.post(Who::Clerk, "/v1/heat-scales", &json!({})).refused_for(&[
            "#/maker missing",
            "#/name missing",
            "#/codes missing",
        ]);
        let faults = json!({ "maker": maker, "name": 7, "codes": [
            { "code": "", "heat_index": 10 }, { "code": "B" }, { "code": "C", "heat_index": 200.1 },
            { "code": "D", "heat_index": 10.05, "colour": "red" }, 5,
        ] });
        shop.post(Who::Clerk, "/v1/heat-scales", &faults).refused_for(&[
            "#/name wrong_type",
            "#/codes/0/code out_of_range",
            "#/codes/1/heat_index missing",
            "#/codes/2/heat_index out_of_range",
            "#/codes/3/heat_index too_fine",
            "#/codes/3/colour unknown_member",
            "#/codes/4 wrong_type",
        ]);
        shop.post(Who::Clerk, "/v1/heat-scales", &with(heat_scale(&maker, "A"), json!({ "codes": [] })))
            .refused_for(&["#/codes out_of_range"]);
        let all = shop.get(Who::Reader, "/v1/heat-scales?limit=200").expect(200);
        assert!(all.items().iter().all(|scale| scale["maker"] != maker.as_str()), "{all:?}");
    }
}

#[test]
fn commands_are_told_all_their_faults_at_once() {
    let stray = "018f4f5e-0000-7000-8000-000000000000";
    let cases = [
        (
            "/v1/stock/receipts",
            json!({ "plug_id": "x", "supplier": "", "quantity": -4, "condition": "used", "pack_size": 0,
                "total_cost": { "minor": 12.5, "currency": "usd", "vat": 19 }, "reference": "x".repeat(501) }),
            &["#/plug_id wrong_form", "#/supplier out_of_range", "#/place_id missing", "#/quantity out_of_range",
                "#/condition not_in_list", "#/pack_size out_of_range", "#/total_cost/minor wrong_type",
                "#/total_cost/currency wrong_form", "#/total_cost/vat unknown_member", "#/reference out_of_range"][..],
        ),
        (
            "/v1/stock/issues",
            json!({ "quantity": 0, "job": "x".repeat(81), "lot_id": 5, "odometer_km": -1, "gap_mm": 3 }),
            &["#/plug_id missing", "#/quantity out_of_range", "#/job out_of_range", "#/lot_id wrong_type",
                "#/odometer_km out_of_range", "#/gap_mm out_of_range"],
        ),
        (
            "/v1/stock/returns",
            json!({ "quantity": 1_000_001, "condition": "new" }),
            &["#/movement_id missing", "#/quantity out_of_range", "#/condition not_in_list"],
        ),
        (
            "/v1/stock/transfers",
            json!({ "lot_id": stray, "from_place_id": null, "quantity": "4" }),
            &["#/from_place_id missing", "#/to_place_id missing", "#/quantity wrong_type"],
        ),
        (
            "/v1/stock/scrappings",
            json!({ "lot_id": stray, "job": "", "quantity": 1.5, "reason": "bored", "note": 7 }),
            &["#/job out_of_range", "#/quantity wrong_type", "#/reason not_in_list", "#/note wrong_type"],
        ),
        ("/v1/stock/reversals", json!({ "reason": "" }), &["#/movement_id missing", "#/reason out_of_range"]),
        (
            "/v1/stock/reservations",
            json!({ "plug_id": stray, "quantity": 0, "job": null, "expires_at": "tomorrow" }),
            &["#/quantity out_of_range", "#/job missing", "#/expires_at wrong_form"],
        ),
        ("/v1/stock/places", json!({ "kind": "shelf", "name": "" }), &["#/kind not_in_list", "#/name out_of_range"]),
        ("/v1/tokens", json!({ "role": "owner" }), &["#/name missing", "#/role not_in_list"]),
    ];
    for shop in shared() {
        let movements = |shop: &Shop| shop.get(Who::Reader, &format!("/v1/stock/movements?plug_id={stray}")).expect(200);
        for (path, body, faults) in &cases {
            shop.once(Who::Manager, path, body).refused_for(faults);
        }
        assert_eq!(movements(shop).items().len(), 0);
    }
}

#[test]
fn what_a_body_points_to_has_to_be_there() {
    let stray = "018f4f5e-0000-7000-8000-000000000000";
    for shop in shared() {
        let body = with(plug(&unique("STRAY")), json!({ "heat_scale_id": stray, "superseded_by": stray }));
        shop.post(Who::Clerk, "/v1/plugs", &body)
            .refused_for(&["#/heat_scale_id not_found", "#/superseded_by not_found"]);
        let lost = with(without(build(), &["head"]), json!({ "head_id": stray, "base_plug_id": stray }));
        shop.post(Who::Tuner, "/v1/builds", &lost).refused_for(&["#/head_id not_found", "#/base_plug_id not_found"]);
        let part = plugwell_tests::bodies::stored_plug(shop, &plug(&unique("STRAY")));
        let receipt = plugwell_tests::bodies::receipt(&part, stray, 4);
        shop.once(Who::Clerk, "/v1/stock/receipts", &receipt).refused_for(&["#/place_id not_found"]);
        let issue = json!({ "plug_id": stray, "job": "Bay 1", "quantity": 1 });
        shop.once(Who::Tuner, "/v1/stock/issues", &issue).refused_for(&["#/plug_id not_found"]);
    }
}

#[test]
fn money_is_of_the_shops_currency() {
    for shop in shared() {
        let part = plugwell_tests::bodies::stored_plug(shop, &plug(&unique("MONEY")));
        let place = plugwell_tests::bodies::bin(shop, &unique("bin"));
        let receipt = plugwell_tests::bodies::receipt(&part, &place, 4);
        let other = with(receipt.clone(), json!({ "total_cost": { "minor": 100, "currency": "EUR" } }));
        let answer = shop.once(Who::Clerk, "/v1/stock/receipts", &other).problem(400, "wrong_currency");
        assert_eq!(answer.faults(), ["#/total_cost/currency wrong_currency"]);
        let levels = shop.get(Who::Reader, &format!("/v1/stock/levels?plug_id={part}")).expect(200);
        assert_eq!(levels.items().len(), 0, "{levels:?}");
        shop.once(Who::Clerk, "/v1/stock/receipts", &receipt).expect(201);
    }
}
