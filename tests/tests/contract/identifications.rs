//! Unmarked plugs over HTTP: what is named without a catalogue, candidates, what to measure next,
//! and faults.

use plugwell_tests::bodies::{build, plug, unique, with};
use plugwell_tests::{Answer, Shop, Who, engines, shared};
use serde_json::{Value, json};

const PATH: &str = "/v1/identifications";

fn identify(shop: &Shop, body: &Value) -> Answer {
    shop.post(Who::Reader, PATH, body).expect(200)
}

fn store(shop: &Shop, over: Value) -> String {
    let body = with(plug(&unique("UN")), over);
    shop.post(Who::Clerk, "/v1/plugs", &body)
        .expect(201)
        .text("id")
}

/// Ids of the candidates, in their order.
fn candidates(answer: &Answer) -> Vec<String> {
    let candidates = answer.json["candidates"].as_array().expect("candidates");
    let id = |c: &Value| c["plug"]["id"].as_str().expect("an id").to_owned();
    candidates.iter().map(id).collect()
}

/// A shop of its own: what can be named depends on the whole catalogue.
fn shops() -> Vec<Shop> {
    engines().into_iter().map(Shop::start).collect()
}

#[test]
fn without_a_catalogue_thread_reach_hexagon_and_resistor_are_named() {
    for shop in shops() {
        let readings = json!({
            "major_diameter_mm": 13.88, "pitch_mm": 1.25, "reach_mm": 19.05, "hex_mm": 15.9, "seat": "gasket",
            "resistance_ohm": 4700
        });
        let answer = identify(&shop, &readings);
        let json = &answer.json;
        assert_eq!(json["thread"]["designation"], "M14x1.25", "{answer:?}");
        assert_eq!(json["thread"]["verdict"], "clear");
        // ISO 965-1, class 6e, least; 6g, greatest (fixtures/checks/thread_limits.csv).
        assert_eq!(json["thread"]["limit"]["min_mm"], 13.725);
        assert_eq!(json["thread"]["limit"]["max_mm"], 13.972);
        assert_eq!(json["reach_family_mm"], 19.0);
        assert_eq!(
            (&json["hex"]["spanner_mm"], &json["hex"]["inch"]),
            (&json!(16.0), &json!("5/8"))
        );
        assert_eq!(json["resistor"], true);
        assert_eq!(
            (&json["candidates"], &json["next_measurement"]),
            (&json!([]), &Value::Null)
        );
        assert_eq!(json["totals"]["candidates_in_catalogue"], 0);
        assert!(answer.text("text").contains("No record"), "{answer:?}");
        let codes: Vec<&Value> = json["cautions"]
            .as_array()
            .expect("cautions")
            .iter()
            .map(|c| &c["code"])
            .collect();
        assert_eq!(
            codes,
            [
                "named_by_measurement",
                "confirm_with_head_maker",
                "makers_stand_above"
            ]
        );

        let one = identify(&shop, &json!({ "seat": "conical" }));
        for member in [
            "thread",
            "reach_family_mm",
            "hex",
            "resistor",
            "resistor_text",
        ] {
            assert_eq!(
                one.json.get(member),
                Some(&Value::Null),
                "{member}: {one:?}"
            );
        }
        let worn = identify(
            &shop,
            &json!({ "major_diameter_mm": 13.6, "uncertainty": { "major_diameter_mm": 0.02 } }),
        );
        assert_eq!(worn.json["thread"]["verdict"], "worn", "{worn:?}");
        assert_eq!(worn.json["cautions"][1]["code"], "worn_thread");
    }
}

#[test]
fn records_are_ranked_contradictions_shown_and_the_next_measurement_told() {
    for shop in shops() {
        let same = |over: Value| with(json!({ "overall_mm": 70.0, "insulator_mm": 45.0 }), over);
        let first = store(&shop, same(json!({ "hex_mm": 15.875 })));
        let taller = store(&shop, same(json!({ "overall_mm": 75.0 })));
        let unknown = store(&shop, same(json!({ "hex_mm": null })));
        let wide = store(&shop, same(json!({ "hex_mm": 20.8 })));
        let assumed =
            json!({ "hex_mm": 20.8, "provenance": { "hex_mm": "assumed" }, "overall_mm": 80.0 });
        let assumed = store(&shop, same(assumed));
        let elsewhere = store(&shop, same(json!({ "seat": "conical" })));

        let readings = json!({ "major_diameter_mm": 13.9, "seat": "gasket", "reach_mm": 19.0, "hex_mm": 15.85 });
        let answer = identify(&shop, &readings);
        let found = candidates(&answer);
        assert_eq!(found[..2], [first.clone(), taller.clone()], "{answer:?}");
        assert_eq!(found.len(), 5);
        assert_eq!(found[4], wide, "what is contradicted stands last");
        assert!(found[2..4].contains(&unknown) && found[2..4].contains(&assumed));
        assert!(!found.contains(&elsewhere));

        let candidates = answer.json["candidates"].as_array().expect("candidates");
        let likelihoods: Vec<f64> = candidates
            .iter()
            .map(|c| c["likelihood"].as_f64().expect("a share"))
            .collect();
        assert!(likelihoods.is_sorted_by(|a, b| a >= b), "{likelihoods:?}");
        assert!(
            (likelihoods.iter().sum::<f64>() - 1.0).abs() < 1e-5,
            "{likelihoods:?}"
        );
        let of = |place: usize, attribute: &str| {
            let readings = candidates[place]["readings"].as_array().expect("readings");
            assert_eq!(readings.len(), 4);
            readings
                .iter()
                .find(|r| r["attribute"] == attribute)
                .expect("the reading")
                .clone()
        };
        let hex = |nominal: Value, verdict: &str| json!({ "attribute": "hex_mm", "read": 15.85, "nominal": nominal, "verdict": verdict });
        assert_eq!(of(0, "hex_mm"), hex(json!(15.875), "agrees"));
        assert_eq!(of(2, "hex_mm"), hex(Value::Null, "doubtful"));
        assert_eq!(of(4, "hex_mm"), hex(json!(20.8), "contradicts"));
        let diameter = json!({ "attribute": "major_diameter_mm", "read": 13.9, "nominal": 14.0, "verdict": "agrees" });
        assert_eq!(of(0, "major_diameter_mm"), diameter);

        // All that is left to tell them apart by is their height.
        assert_eq!(answer.json["next_measurement"]["attribute"], "overall_mm");
        let next = identify(
            &shop,
            &with(readings.clone(), json!({ "overall_mm": 75.1, "limit": 1 })),
        );
        assert_eq!(self::candidates(&next), [taller]);
        assert_eq!(next.json["totals"]["candidates_in_catalogue"], 4);
        let next = identify(
            &shop,
            &with(
                readings,
                json!({ "overall_mm": 70.0, "projection_mm": 3.0 }),
            ),
        );
        assert_eq!(self::candidates(&next)[0], first);
    }
}

/// Codes of an answer's cautions.
fn cautions(answer: &Answer) -> Vec<&str> {
    let cautions = answer.json["cautions"].as_array().expect("cautions");
    cautions.iter().filter_map(|c| c["code"].as_str()).collect()
}

#[test]
fn a_plug_can_be_a_retired_record_and_no_match_offers_that() {
    for shop in shops() {
        let listed = store(&shop, json!({ "hex_mm": 16.0, "part_number": "UN-2" }));
        let retired = store(&shop, json!({ "hex_mm": 15.875, "part_number": "UN-1" }));
        let path = format!("/v1/plugs/{retired}");
        let retire = |flag: bool| {
            shop.patch(Who::Clerk, &path, &json!({ "retired": flag }))
                .expect(200)
        };
        retire(true);
        let readings = json!({ "major_diameter_mm": 13.9, "seat": "gasket", "reach_mm": 19.0, "hex_mm": 15.85 });
        let answer = identify(&shop, &readings);
        assert_eq!(
            candidates(&answer),
            [retired.clone(), listed.clone()],
            "{answer:?}"
        );
        let flags = ["0", "1"].map(|place| {
            answer
                .json
                .pointer(&format!("/candidates/{place}/plug/retired"))
                .cloned()
        });
        assert_eq!(flags, [Some(json!(true)), Some(json!(false))]);
        assert_eq!(answer.json["totals"]["candidates_in_catalogue"], 2);
        assert!(cautions(&answer).contains(&"retired_record"), "{answer:?}");
        let text = answer.text("text");
        assert!(
            text.contains("UN-1 (retired): about ") && text.contains(" %."),
            "{text}"
        );

        // The retired one is not shown, so there is nothing to beware of.
        let other = identify(
            &shop,
            &with(readings.clone(), json!({ "hex_mm": 16.1, "limit": 1 })),
        );
        assert_eq!(candidates(&other), std::slice::from_ref(&listed));
        assert!(!cautions(&other).contains(&"retired_record"), "{other:?}");

        let question = json!({ "build": build(), "stock": "ignore" });
        let matched = shop.post(Who::Reader, "/v1/matches", &question).expect(200);
        let fits = matched.json["fits"].as_array().expect("fits");
        let fits: Vec<_> = fits.iter().map(|f| f["plug"]["id"].as_str()).collect();
        assert_eq!(fits, [Some(listed.as_str())]);

        retire(false);
        let again = identify(&shop, &readings);
        assert_eq!(candidates(&again), [retired, listed]);
        assert!(!cautions(&again).contains(&"retired_record"), "{again:?}");
    }
}

#[test]
fn every_fault_of_a_body_is_told_at_once() {
    for shop in shared() {
        let faults = json!({
            "major_diameter_mm": 2.9, "pitch_mm": 1.23456, "seat": "flat", "reach_mm": "19", "hex_mm": 31, "hex_kind": "square",
            "resistance_ohm": -1, "ground": 3, "terminal": "bayonet", "projection_mm": 16, "overall_mm": 19, "insulator_mm": 151,
            "uncertainty": { "major_diameter_mm": 0.51, "reach_mm": -0.1, "resistance_ohm": 100_001, "hex_mm": 0.05, "gap_mm": 0.1 },
            "limit": 201, "gap_mm": 0.8
        });
        shop.post(Who::Reader, PATH, &faults).refused_for(&[
            "#/major_diameter_mm out_of_range",
            "#/pitch_mm too_fine",
            "#/seat not_in_list",
            "#/reach_mm wrong_type",
            "#/hex_mm out_of_range",
            "#/hex_kind not_in_list",
            "#/resistance_ohm out_of_range",
            "#/ground wrong_type",
            "#/terminal not_in_list",
            "#/projection_mm out_of_range",
            "#/overall_mm out_of_range",
            "#/insulator_mm out_of_range",
            "#/uncertainty/major_diameter_mm out_of_range",
            "#/uncertainty/reach_mm out_of_range",
            "#/uncertainty/resistance_ohm out_of_range",
            "#/uncertainty/gap_mm unknown_member",
            "#/limit out_of_range",
            "#/gap_mm unknown_member",
        ]);
        let said = shop.post(
            Who::Reader,
            PATH,
            &json!({ "uncertainty": { "hex_mm": 0.6 }, "hex_mm": 16 }),
        );
        let said = said.refused_for(&["#/uncertainty/hex_mm out_of_range"]);
        let detail = said.json["errors"][0]["detail"]
            .as_str()
            .expect("a sentence");
        assert!(
            detail.contains("0.5") && !detail.contains("30"),
            "the uncertainty's own bounds: {detail}"
        );
        let said = shop.post(Who::Reader, PATH, &json!({ "resistance_ohm": -1 }));
        let said = said.refused_for(&["#/resistance_ohm out_of_range"]);
        assert_eq!(
            said.json["errors"][0]["detail"], "-1 Ω is outside 0 to 100000000 Ω",
            "what is accepted: an open resistor reads so much"
        );
        identify(shop, &json!({ "resistance_ohm": 100_000_000 }));
        for nothing in [
            json!({}),
            json!({ "seat": null, "limit": 5 }),
            json!({ "uncertainty": { "hex_mm": 0.1 } }),
        ] {
            shop.post(Who::Reader, PATH, &nothing)
                .refused_for(&["# missing"]);
        }
        shop.post(Who::Nobody, PATH, &json!({ "seat": "gasket" }))
            .problem(401, "unauthorized");
        shop.send("GET", PATH, Who::Reader, &[], "")
            .problem(405, "method_not_allowed");
    }
}
