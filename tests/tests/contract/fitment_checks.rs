//! A second opinion over HTTP: the whole answer, the shelf behind its remedies, and what it says
//! where it cannot say.

use plugwell_tests::bodies::{
    bin, build, head, heat_scale, plug, receive, stored_plug, unique, with, without,
};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

fn check(shop: &Shop, body: &Value) -> Answer {
    shop.post(Who::Reader, "/v1/fitment-checks", body)
        .expect(200)
}

fn finding<'a>(answer: &'a Answer, code: &str) -> &'a Value {
    let findings = answer.json["findings"].as_array().expect("findings");
    let found = findings.iter().find(|f| f["code"] == code);
    found.unwrap_or_else(|| panic!("{code} in {answer:?}"))
}

fn words<'a>(answer: &'a Answer, list: &str, member: &str) -> Vec<&'a str> {
    let items = answer.json[list].as_array().expect("a list");
    items
        .iter()
        .map(|item| item[member].as_str().expect("a word"))
        .collect()
}

/// A fresh, well gapped set, with the plug told in full and some of its members replaced.
fn fitted(changes: Value) -> Value {
    let told = with(without(plug("told"), &["maker", "part_number"]), changes);
    json!({ "plug": told, "gap_mm": 0.81, "distance_km": 100, "dropped": 0, "lead_changes": 1 })
}

/// A thread and reach of its own, so that no other test's parts meet it.
fn rare_build(reach: f64) -> Value {
    with(
        build(),
        json!({ "head": with(head(), json!({ "thread": "M18x1.5", "reach_mm": reach, "reach_tolerance_mm": 0 })) }),
    )
}

fn rare_plug(shop: &Shop, reach: f64) -> String {
    let members = json!({ "thread": "M18x1.5", "reach_mm": reach });
    stored_plug(shop, &with(plug(&unique("RARE")), members))
}

#[test]
fn the_answer_has_the_contracts_members() {
    for shop in shared() {
        let asked = json!({ "build": build(), "symptoms": ["radio_noise", "hard_start"],
            "fitted": with(fitted(json!({ "resistor": false, "resistance_ohm": null })), json!({ "gap_mm": 1.0 })) });
        let answer = check(shop, &asked);
        let mut members: Vec<_> = answer.json.as_object().unwrap().keys().collect();
        members.sort_unstable();
        let expected = [
            "cautions",
            "findings",
            "look_next",
            "not_judged",
            "requirement",
            "unexplained",
            "verdicts",
        ];
        assert_eq!(members, expected);
        let found = finding(&answer, "no_resistor");
        let expected = json!(["misfire_under_load", "radio_noise", "logger_dropout"]);
        assert_eq!(found["explains"], expected);
        assert_eq!(found["reported"], json!(["radio_noise"]));
        assert_eq!(found["needed"], json!({ "one_of": [true] }));
        assert_eq!(
            (&found["has"], &found["severity"]),
            (&json!(false), &json!("fix"))
        );
        assert_eq!(
            found["basis"],
            json!({ "kind": "common_practice", "source": null })
        );
        let gap = finding(&answer, "gap_too_large");
        assert_eq!(
            (&gap["attribute"], &gap["has"]),
            (&json!("gap_mm"), &json!(1.0))
        );
        assert_eq!(gap["remedy"]["plugs"], json!([]), "no new plug cures a gap");
        assert_eq!(answer.json["unexplained"], json!(["hard_start"]));
        assert_eq!(words(&answer, "look_next", "symptom"), ["hard_start"]);
        assert!(words(&answer, "cautions", "code").contains(&"only_as_told"));
    }
}

#[test]
fn demands_and_verdicts_are_those_of_a_match() {
    for shop in shared() {
        let id = stored_plug(shop, &plug(&unique("JUDGED")));
        let asked = json!({ "build": build(), "fitted": { "plug_id": id } });
        let answer = check(shop, &asked);
        let need = shop
            .post(Who::Reader, "/v1/requirements", &build())
            .expect(200);
        assert_eq!(answer.json["requirement"], need.json);
        let matching = json!({ "build": build(), "stock": "ignore", "limit": 200 });
        let matched = shop.post(Who::Reader, "/v1/matches", &matching).expect(200);
        let fits = matched.json["fits"].as_array().unwrap();
        let own = fits.iter().find(|fit| fit["plug"]["id"] == id.as_str());
        assert_eq!(answer.json["verdicts"], own.expect("it fits")["verdicts"]);
        assert_eq!(answer.json["findings"], json!([]));
        let open = ["gap_mm", "distance_km", "dropped", "lead_changes"];
        assert_eq!(words(&answer, "not_judged", "attribute"), open);
    }
}

#[test]
fn a_stored_build_and_part_are_answered_like_those_told() {
    for shop in shared() {
        let told = with(
            plug(&unique("STORED")),
            json!({ "heat_index": 40, "gap_max_mm": 0.8 }),
        );
        let id = stored_plug(shop, &told);
        let stored = shop
            .post(Who::Tuner, "/v1/builds", &build())
            .expect(201)
            .text("id");
        let symptoms = json!(["detonation", "fouling"]);
        let whole = json!({ "build": build(), "fitted": { "plug": told, "dropped": 8 }, "symptoms": symptoms });
        let by_id = json!({ "build_id": stored, "fitted": { "plug_id": id, "dropped": 8 }, "symptoms": symptoms });
        let (whole, by_id) = (check(shop, &whole), check(shop, &by_id));
        let codes = words(&by_id, "findings", "code");
        assert_eq!(codes, ["too_hot", "dropped", "gap_not_settable"]);
        assert_eq!(codes, words(&whole, "findings", "code"));
        assert_eq!(by_id.json["findings"][0]["severity"], "stop");
        assert_eq!(by_id.json["unexplained"], json!(["fouling"]));
    }
}

#[test]
fn a_told_heat_code_is_read_by_its_scale() {
    for shop in shared() {
        let scale = heat_scale(&unique("Toldscale"), "A");
        let scale = shop
            .post(Who::Clerk, "/v1/heat-scales", &scale)
            .expect(201)
            .text("id");
        let coded = |code: &str| {
            let members = json!({ "heat_index": null, "heat_scale_id": scale, "heat_code": code });
            json!({ "build": build(), "fitted": fitted(members) })
        };
        // The scale puts 7 at 70 and 4 at 40.
        assert_eq!(check(shop, &coded("7")).json["findings"], json!([]));
        assert_eq!(
            words(&check(shop, &coded("4")), "findings", "code"),
            ["too_hot"]
        );
        shop.post(Who::Reader, "/v1/fitment-checks", &coded("Q"))
            .refused_for(&["#/fitted/plug/heat_code not_in_list"]);
    }
}

#[test]
fn a_remedy_names_what_is_on_the_shelf_now() {
    for shop in shared() {
        let reach = 41.3;
        let asked = json!({ "build": rare_build(reach),
            "fitted": fitted(json!({ "thread": "M18x1.5", "reach_mm": reach, "heat_index": 40 })) });
        let remedy = || finding(&check(shop, &asked), "too_hot")["remedy"].clone();
        let none = remedy();
        assert_eq!(none["plugs"], json!([]));
        assert!(
            none["text"].as_str().unwrap().contains("has to be ordered"),
            "{none}"
        );
        let (id, bin) = (rare_plug(shop, reach), bin(shop, &unique("opinion")));
        receive(shop, &id, &bin, 3);
        let few = remedy();
        assert_eq!(
            (&few["plugs"][0]["plug_id"], &few["plugs"][0]["available"]),
            (&json!(id), &json!(3))
        );
        assert!(
            few["text"].as_str().unwrap().contains("no whole set of 8"),
            "{few}"
        );
        receive(shop, &id, &bin, 5);
        let enough = remedy();
        assert_eq!(enough["plugs"][0]["available"], 8);
        assert_eq!(enough["plugs"][0]["set_gap_mm"], 0.81);
        assert!(
            enough["text"]
                .as_str()
                .unwrap()
                .contains("On the shelf: Ferrowick"),
            "{enough}"
        );
        // In the order of a match: the closer one first, and only such as make a set.
        let members = json!({ "thread": "M18x1.5", "reach_mm": reach, "heat_index": 69 });
        let second = stored_plug(shop, &with(plug(&unique("RARE")), members));
        receive(shop, &second, &bin, 40);
        let both: Vec<_> = remedy()["plugs"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| p["plug_id"].clone())
            .collect();
        assert_eq!(both, [json!(id), json!(second)]);
    }
}

#[test]
fn dropped_ones_are_replaced_by_the_same_part_where_it_is_right() {
    for shop in shared() {
        let reach = 43.7;
        let (id, bin) = (rare_plug(shop, reach), bin(shop, &unique("fallen")));
        let dropped = |plug_id: &str, number: u32| {
            let fitted = json!({ "plug_id": plug_id, "dropped": number });
            let answer = check(
                shop,
                &json!({ "build": rare_build(reach), "fitted": fitted }),
            );
            finding(&answer, "dropped")["remedy"].clone()
        };
        let none = dropped(&id, 2);
        assert_eq!(none["plugs"], json!([]));
        receive(shop, &id, &bin, 2);
        let same = dropped(&id, 2);
        assert_eq!(
            (
                &same["plugs"][0]["plug_id"],
                same["plugs"].as_array().unwrap().len()
            ),
            (&json!(id), 1)
        );
        assert!(
            same["text"]
                .as_str()
                .unwrap()
                .contains("same part is on the shelf"),
            "{same}"
        );
        let more = dropped(&id, 3);
        assert!(
            more["text"].as_str().unwrap().contains("no whole set"),
            "{more}"
        );
        // A part that is wrong for the engine is not replaced by its like.
        let members = json!({ "thread": "M18x1.5", "reach_mm": reach, "heat_index": 40 });
        let wrong = stored_plug(shop, &with(plug(&unique("HOT")), members));
        receive(shop, &wrong, &bin, 9);
        let other = dropped(&wrong, 1);
        assert_eq!(other["plugs"][0]["plug_id"], json!(id));
    }
}

/// One reading, asked of both endpoints.
#[test]
fn an_ohmmeter_tells_the_same_as_of_a_loose_plug() {
    for shop in shared() {
        for (ohm, fitted) in [
            (5, json!(false)),
            (100, json!(null)),
            (600, json!(null)),
            (5000, json!(true)),
            (30_000, json!(null)),
        ] {
            let named = shop
                .post(
                    Who::Reader,
                    "/v1/identifications",
                    &json!({ "resistance_ohm": ohm }),
                )
                .expect(200);
            assert_eq!(named.json["resistor"], fitted, "{named:?}");
            let told = fitted_by(ohm);
            let answer = check(
                shop,
                &json!({ "build": build(), "fitted": told, "symptoms": ["hard_start"] }),
            );
            let verdicts = answer.json["verdicts"].as_array().unwrap();
            let verdict = verdicts.iter().find(|v| v["attribute"] == "resistor");
            let expected = match fitted.as_bool() {
                Some(true) => "meets",
                Some(false) => "fails",
                None => "unknown",
            };
            assert_eq!(verdict.unwrap()["verdict"], expected, "{ohm} Ω: {answer:?}");
            let broken = words(&answer, "findings", "code").contains(&"resistor_broken");
            assert_eq!(broken, ohm == 30_000, "{answer:?}");
            let again = words(&answer, "not_judged", "attribute").contains(&"resistance_ohm");
            assert_eq!(again, ohm == 100 || ohm == 600, "{answer:?}");
            assert_eq!(answer.json["unexplained"] == json!([]), broken);
        }
    }
}

/// A set whose resistor is told by ohmmeter only.
fn fitted_by(ohm: u32) -> Value {
    fitted(json!({ "resistor": null, "resistance_ohm": ohm }))
}

#[test]
fn what_nobody_knows_is_found_out_first() {
    for shop in shared() {
        let asked = json!({ "build": build(), "symptoms": ["detonation"],
            "fitted": { "plug": { "thread": "M14x1.25", "resistor": true } } });
        let answer = check(shop, &asked);
        let codes = words(&answer, "findings", "code");
        assert!(
            codes == ["not_established"],
            "one for all of them: {codes:?}"
        );
        let text = answer.json["findings"][0]["text"].as_str().unwrap();
        assert!(text.contains("a gasket seat; a reach of 18.7 mm"), "{text}");
        assert_eq!(answer.json["unexplained"], json!(["detonation"]));
        let text = answer.json["look_next"][0]["text"].as_str().unwrap();
        assert!(
            text.contains("First find out what could: the heat index."),
            "{text}"
        );
        let open = answer.json["not_judged"].as_array().unwrap();
        let heat = open
            .iter()
            .find(|o| o["attribute"] == "heat_index")
            .unwrap();
        assert!(
            heat["bears_on"]
                .as_array()
                .unwrap()
                .contains(&json!("detonation")),
            "{heat}"
        );
    }
}
