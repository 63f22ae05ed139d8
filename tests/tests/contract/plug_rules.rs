//! Rules between the members of a plug, and what the service derives from them.

use plugwell_tests::bodies::{heat_scale, plug, stored_plug, unique, with};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

/// Stores a plug of which only this is known.
fn only(shop: &Shop, known: Value) -> Answer {
    let body = with(
        json!({ "maker": "Rulesworth", "part_number": unique("R") }),
        known,
    );
    shop.post(Who::Clerk, "/v1/plugs", &body)
}

#[test]
fn a_resistor_and_its_resistance_agree() {
    for shop in shared() {
        // From 500 ohms on a resistor counts as fitted: the contract's line.
        for (resistor, ohm, agree) in [
            (true, 500, true),
            (true, 499, false),
            (false, 499, true),
            (false, 500, false),
        ] {
            let answer = only(shop, json!({ "resistor": resistor, "resistance_ohm": ohm }));
            if agree {
                answer.expect(201);
            } else {
                let faults = answer.problem(400, "invalid").faults();
                let told = ["#/resistor contradiction", "#/resistance_ohm contradiction"];
                assert!(
                    faults.len() == 1 && told.contains(&faults[0].as_str()),
                    "{faults:?}"
                );
            }
        }
        only(shop, json!({ "resistance_ohm": 5000 })).expect(201);
        only(shop, json!({ "resistor": false })).expect(201);
    }
}

#[test]
fn a_gap_range_holds_its_preset() {
    for shop in shared() {
        let gaps = |min: Value, preset: Value, max: Value| json!({ "gap_min_mm": min, "gap_preset_mm": preset, "gap_max_mm": max });
        let right = [
            gaps(json!(0.6), json!(0.6), json!(1.1)),
            gaps(json!(0.6), json!(1.1), json!(1.1)),
            gaps(json!(0.8), json!(0.8), json!(0.8)),
            gaps(json!(null), json!(0.8), json!(1.1)),
            gaps(json!(0.6), json!(null), json!(1.1)),
            gaps(json!(0.6), json!(null), json!(null)),
        ];
        for known in right {
            only(shop, known).expect(201);
        }
        let wrong = [
            gaps(json!(0.6), json!(0.5999), json!(1.1)),
            gaps(json!(0.6), json!(1.1001), json!(1.1)),
            gaps(json!(1.2), json!(null), json!(1.1)),
            gaps(json!(0.9), json!(0.8), json!(null)),
            gaps(json!(null), json!(0.8), json!(0.7)),
        ];
        for known in wrong {
            let answer = only(shop, known).problem(400, "invalid");
            assert!(
                answer
                    .faults()
                    .iter()
                    .all(|f| f.starts_with("#/gap_") && f.ends_with(" contradiction")),
                "{answer:?}"
            );
        }
    }
}

#[test]
fn what_cannot_be_bent_has_the_gap_it_came_with() {
    for shop in shared() {
        for ground in ["surface_gap", "multi_strap"] {
            let range = |min: f64, max: f64| json!({ "ground": ground, "gap_min_mm": min, "gap_preset_mm": 0.8, "gap_max_mm": max });
            only(shop, range(0.8, 0.8)).expect(201);
            only(shop, range(0.7, 0.8)).problem(400, "invalid");
            only(shop, range(0.8, 0.9)).problem(400, "invalid");
            only(shop, json!({ "ground": ground, "gap_preset_mm": 0.8 })).expect(201);
        }
    }
}

#[test]
fn lengths_are_exact_to_the_tenth_of_a_micrometre() {
    for shop in shared() {
        // 0.001 in = 0.0254 mm exactly, NIST SP 811, appendix B.8; trade sizes in inches.
        let sizes = [
            ("0.708", 17.9832),
            ("3/4", 19.05),
            ("0.500", 12.7),
            ("5/8 hex", 15.875),
            ("0.0254 and a step", 19.0755),
        ];
        for (inch, mm) in sizes {
            let made = only(shop, json!({ "reach_mm": mm })).expect(201);
            assert_eq!(made.json["reach_mm"].as_f64(), Some(mm), "{inch}");
            let again = shop
                .get(Who::Reader, &format!("/v1/plugs/{}", made.text("id")))
                .expect(200);
            assert_eq!(again.json["reach_mm"].as_f64(), Some(mm), "{inch}");
            assert!(
                String::from_utf8_lossy(&again.body).contains(&format!("\"reach_mm\":{mm}")),
                "{again:?}"
            );
        }
        only(shop, json!({ "reach_mm": 19.000_01 })).refused_for(&["#/reach_mm too_fine"]);
        only(shop, json!({ "hex_mm": 15.875_000_1 })).refused_for(&["#/hex_mm too_fine"]);
    }
}

#[test]
fn a_thread_is_read_as_people_write_it_and_printed_in_one_form() {
    let spellings: [(&str, &[&str]); 7] = [
        ("M8x1", &["M8x1", "m8 x 1", "8x1", "M8x1.0"]),
        ("M10x1", &["M10x1.0", "10 x 1,0", "M10×1"]),
        ("M12x1.25", &["M12 x 1.25", "12x1,25"]),
        (
            "M14x1.25",
            &[
                "M14x1.25",
                "M14 x 1,25",
                "14x1.25",
                "m14×1.25",
                " 14 X 1.250 ",
            ],
        ),
        ("M18x1.5", &["M18x1.50", "18 x 1,5"]),
        ("7/8-18 UNS", &["7/8-18 UNS", "7/8\"-18UNS", "7/8 - 18 uns"]),
        ("1/2-14 NPT", &["1/2-14 NPT", "1/2\" - 14 npt"]),
    ];
    for shop in shared() {
        for (word, written) in spellings {
            for text in written {
                let made = only(shop, json!({ "thread": text })).expect(201);
                assert_eq!(made.json["thread"], word, "{text}");
            }
            let found = shop.get(
                Who::Reader,
                &format!(
                    "/v1/plugs?maker=Rulesworth&limit=200&thread={}",
                    encoded(written[1])
                ),
            );
            assert!(found.expect(200).items().len() >= written.len(), "{word}");
        }
    }
}

fn encoded(text: &str) -> String {
    text.bytes()
        .map(|b| {
            if b.is_ascii_alphanumeric() {
                char::from(b).to_string()
            } else {
                format!("%{b:02X}")
            }
        })
        .collect()
}

#[test]
fn the_class_of_a_projection_is_derived() {
    // The contract's classes: recessed below 0, flush to below 1, projected to below 3.5, extended above.
    let cases = [
        (json!(-0.0001), json!("recessed")),
        (json!(0), json!("flush")),
        (json!(0.9999), json!("flush")),
        (json!(1), json!("projected")),
        (json!(3.4999), json!("projected")),
        (json!(3.5), json!("extended")),
        (json!(15), json!("extended")),
        (json!(null), json!(null)),
    ];
    for shop in shared() {
        for (projection, class) in &cases {
            let made = only(shop, json!({ "projection_mm": projection })).expect(201);
            assert_eq!(&made.json["projection_class"], class, "{projection}");
        }
        only(shop, json!({ "projection_class": "flush" }))
            .refused_for(&["#/projection_class unknown_member"]);
    }
}

#[test]
fn a_heat_code_gives_the_index() {
    for shop in shared() {
        let maker = unique("Heatwell");
        let scale = shop
            .post(
                Who::Clerk,
                "/v1/heat-scales",
                &heat_scale(&maker, "numbers"),
            )
            .expect(201)
            .text("id");
        let coded = |code: &str, index: Value| json!({ "heat_scale_id": scale, "heat_code": code, "heat_index": index });
        // `heat_scale`: code 9 is index 90, one step of ten to the number.
        assert_eq!(
            only(shop, coded("7", json!(null))).expect(201).json["heat_index"].as_f64(),
            Some(70.0)
        );
        assert_eq!(
            only(shop, coded("7", json!(70))).expect(201).json["heat_index"].as_f64(),
            Some(70.0)
        );
        only(shop, coded("7", json!(71))).refused_for(&["#/heat_index contradiction"]);
        only(shop, coded("70", json!(null))).refused_for(&["#/heat_code not_in_list"]);
        only(shop, coded("70", json!(70))).refused_for(&["#/heat_code not_in_list"]);
        let bare = only(shop, json!({ "heat_code": "7" })).expect(201);
        assert_eq!(
            (&bare.json["heat_index"], &bare.json["heat_code"]),
            (&json!(null), &json!("7"))
        );

        let made = only(shop, coded("7", json!(null))).expect(201);
        let own = format!("/v1/plugs/{}", made.text("id"));
        let recoded = shop
            .patch(Who::Clerk, &own, &json!({ "heat_code": "5" }))
            .expect(200);
        assert_eq!(
            recoded.json["heat_index"].as_f64(),
            Some(50.0),
            "a new code, a new index"
        );
        shop.patch(Who::Clerk, &own, &json!({ "heat_index": 51 }))
            .refused_for(&["#/heat_index contradiction"]);
        shop.patch(Who::Clerk, &own, &json!({ "heat_code": "x" }))
            .refused_for(&["#/heat_code not_in_list"]);
    }
}

#[test]
fn provenance_is_always_in_the_answer() {
    for shop in shared() {
        assert_eq!(
            only(shop, json!({})).expect(201).json["provenance"],
            json!({})
        );
        assert_eq!(
            only(shop, json!({ "provenance": null })).expect(201).json["provenance"],
            json!({})
        );
        let given =
            json!({ "reach_mm": "measured", "heat_index": "assumed", "seat": "maker_sheet" });
        let made = only(
            shop,
            json!({ "reach_mm": 19, "heat_index": 60, "provenance": given }),
        )
        .expect(201);
        assert_eq!(made.json["provenance"], given);
        let listed = shop
            .get(Who::Reader, &format!("/v1/plugs?id={}", made.text("id")))
            .expect(200);
        assert_eq!(listed.items()[0]["provenance"], given);
    }
}

#[test]
fn a_supersession_leads_on_and_never_back() {
    for shop in shared() {
        let (a, b) = (
            stored_plug(shop, &plug(&unique("SUP"))),
            stored_plug(shop, &plug(&unique("SUP"))),
        );
        let path = |id: &str| format!("/v1/plugs/{id}");
        let to = |id: &str| json!({ "superseded_by": id, "status": "discontinued" });
        shop.patch(Who::Clerk, &path(&a), &to(&a))
            .refused_for(&["#/superseded_by contradiction"]);
        let led = shop.patch(Who::Clerk, &path(&a), &to(&b)).expect(200);
        assert_eq!(
            (&led.json["superseded_by"], &led.json["status"]),
            (&json!(b), &json!("discontinued"))
        );
        shop.patch(Who::Clerk, &path(&b), &to(&a))
            .refused_for(&["#/superseded_by contradiction"]);
        shop.delete(Who::Clerk, &path(&b))
            .problem(409, "has_history");
    }
}
