//! Scales calibrated from statements: looked at first, applied by a manager afterwards.

use plugwell_tests::bodies::{heat_scale, plug, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

const PATH: &str = "/v1/heat-scales/calibrations";

/// Two scales of a new maker: an anchor of six codes at 40 to 90, and one whose typed-in indices
/// are to be put right. Their ids.
struct Pair {
    maker: String,
    anchor: String,
    other: String,
}

impl Pair {
    fn of(shop: &Shop) -> Self {
        let maker = unique("Calibrated");
        let stored = |name: &str| {
            let body = heat_scale(&maker, name);
            shop.post(Who::Clerk, "/v1/heat-scales", &body)
                .expect(201)
                .text("id")
        };
        let (anchor, other) = (stored("anchor"), stored("other"));
        Self {
            maker,
            anchor,
            other,
        }
    }

    /// "This code of the anchor is as cold as that one of the other."
    fn alike(&self, anchor: &str, other: &str) -> Value {
        json!({ "a": self.code(&self.anchor, anchor), "b": self.code(&self.other, other) })
    }

    fn code(&self, scale: &str, code: &str) -> Value {
        json!({ "scale_id": scale, "code": code })
    }

    /// A request with these pairs of codes: the anchor's, the other's.
    fn asked(&self, pairs: &[(&str, &str)]) -> Value {
        let statements: Vec<Value> = pairs.iter().map(|(a, b)| self.alike(a, b)).collect();
        json!({ "anchor_scale_id": self.anchor, "statements": statements })
    }

    /// Codes of the other scale in an answer: index, statements that bear on it, interpolated,
    /// what would be stored.
    fn found(&self, answer: &Value) -> Vec<(Value, i64, bool, f64)> {
        let mut scales = answer["scales"].as_array().expect("scales").iter();
        let own = scales.find(|s| s["scale_id"] == self.other.as_str());
        let codes = own.expect("the scale")["codes"].as_array().expect("codes");
        let code = |code: &Value| {
            (
                code["heat_index"].clone(),
                code["determined_by"].as_i64().expect("a count"),
                code["interpolated"].as_bool().expect("yes or no"),
                code["would_be"].as_f64().expect("an index"),
            )
        };
        codes.iter().map(code).collect()
    }

    /// What the places of the other scale's codes rest on.
    fn footings(&self, answer: &Value) -> Vec<String> {
        let mut scales = answer["scales"].as_array().expect("scales").iter();
        let own = scales.find(|s| s["scale_id"] == self.other.as_str());
        let codes = own.expect("the scale")["codes"].as_array().expect("codes");
        let footing = |code: &Value| code["footing"].as_str().expect("a word").to_owned();
        codes.iter().map(footing).collect()
    }

    fn stored(&self, shop: &Shop) -> Value {
        shop.get(Who::Reader, &format!("/v1/heat-scales/{}", self.other))
            .expect(200)
            .json
    }
}

fn indices(scale: &Value) -> Vec<f64> {
    let codes = scale["codes"].as_array().expect("codes");
    let index = |code: &Value| code["heat_index"].as_f64().expect("an index");
    codes.iter().map(index).collect()
}

#[test]
fn a_calibration_is_looked_at_and_stores_nothing() {
    for shop in shared() {
        let pair = Pair::of(shop);
        let before = pair.stored(shop);
        // The other's 8 is as cold as the anchor's 7, its 6 as cold as the anchor's 5 and, by
        // another word, as its 4: 45 is between.
        let asked = pair.asked(&[("7", "8"), ("5", "6"), ("4", "6")]);
        let answer = shop.post(Who::Reader, PATH, &asked).expect(200).json;
        let expected = [
            (Value::Null, 0, false, 90.0),
            (json!(70.0), 1, false, 70.0),
            (json!(57.5), 0, true, 57.5),
            (json!(45.0), 2, false, 45.0),
            (Value::Null, 0, false, 45.0),
            (Value::Null, 0, false, 40.0),
        ];
        assert_eq!(pair.found(&answer), expected);
        let footings = ["kept", "fitted", "interpolated", "fitted", "pushed", "kept"];
        assert_eq!(pair.footings(&answer), footings);
        let residuals = json!([
            { "index": 0, "residual": 0.0 },
            { "index": 1, "residual": 5.0 },
            { "index": 2, "residual": -5.0 }
        ]);
        assert_eq!(answer["statements"], residuals);
        assert_eq!(answer["contradictory"], json!([]));
        assert_eq!(answer["applied"], Value::Null);
        assert_eq!(pair.stored(shop), before);
    }
}

#[test]
fn a_statement_that_breaks_the_rest_is_named_with_its_chain() {
    for shop in shared() {
        let pair = Pair::of(shop);
        let asked = pair.asked(&[("8", "8"), ("6", "6"), ("4", "7")]);
        let answer = shop.post(Who::Reader, PATH, &asked).expect(200).json;
        assert_eq!(answer["contradictory"], json!([2]));
        let broken = &answer["contradictions"][0];
        assert_eq!(broken["index"], 2);
        let text = broken["text"].as_str().expect("a sentence");
        assert!(text.contains("statement 1"), "{text}");
        let chain = broken["chain"].as_array().expect("a chain");
        assert_eq!(chain[0]["from"], pair.code(&pair.other, "7"));
        let end = chain.last().expect("an end");
        assert_eq!(end["to"], pair.code(&pair.anchor, "4"));
    }
}

#[test]
fn a_manager_applies_what_was_looked_at_and_parts_follow() {
    for shop in shared() {
        let pair = Pair::of(shop);
        let carries = json!({ "maker": pair.maker, "heat_scale_id": pair.other, "heat_code": "8", "heat_index": null });
        let part = stored_plug(shop, &with(plug(&unique("F")), carries));
        let asked = pair.asked(&[("7", "8"), ("7", "7"), ("4", "4")]);
        let looked_at = shop.post(Who::Reader, PATH, &asked).expect(200).json;
        let apply = with(
            asked,
            json!({ "apply": true, "fingerprint": looked_at["fingerprint"] }),
        );
        shop.post(Who::Clerk, PATH, &apply)
            .problem(403, "forbidden");
        let applied = shop.post(Who::Manager, PATH, &apply).expect(201);
        assert_eq!(applied.header("location"), Some("/v1/heat-scales"));
        assert_eq!(applied.json["scales"], looked_at["scales"]);
        let plugs = &applied.json["applied"]["plugs"];
        assert_eq!(plugs[0]["plug_id"], part.as_str());
        assert_eq!(
            (&plugs[0]["was"], &plugs[0]["heat_index"]),
            (&json!(80.0), &json!(70.0))
        );
        assert_eq!(plugs.as_array().map(Vec::len), Some(1));
        // What ties stays a tie; what lies between is interpolated; what lies beyond stays.
        let scale = pair.stored(shop);
        assert_eq!(indices(&scale), [90.0, 70.0, 70.0, 60.0, 50.0, 40.0]);
        assert!(scale["calibrated_at"].is_string(), "{scale}");
        let read = shop
            .get(Who::Reader, &format!("/v1/plugs/{part}"))
            .expect(200);
        assert_eq!(read.json["heat_index"], 70.0);
        let listed = format!("/v1/plugs?maker={}&heat_index=70", pair.maker);
        assert_eq!(
            shop.get(Who::Reader, &listed).expect(200).column("id"),
            [json!(part)]
        );
        // What was looked at is no longer what would be stored.
        shop.post(Who::Manager, PATH, &apply)
            .problem(409, "calibration_changed");
    }
}

#[test]
fn a_calibrated_scale_may_tie_until_its_codes_are_typed_in_again() {
    for shop in shared() {
        let pair = Pair::of(shop);
        let apply = with(
            pair.asked(&[("7", "8"), ("7", "7")]),
            json!({ "apply": true }),
        );
        shop.post(Who::Manager, PATH, &apply).expect(201);
        let own = format!("/v1/heat-scales/{}", pair.other);
        let renamed = shop.patch(Who::Clerk, &own, &json!({ "name": "renamed" }));
        let renamed = renamed.expect(200).json;
        assert!(renamed["calibrated_at"].is_string(), "{renamed}");
        assert_eq!(renamed["changed"]["plugs"], json!([]));
        // A new code joins those that tie.
        let mut longer = renamed["codes"].as_array().expect("codes").clone();
        longer.push(json!({ "code": "3", "heat_index": 30 }));
        let longer = json!({ "codes": longer });
        let longer = shop.patch(Who::Clerk, &own, &longer).expect(200).json;
        assert_eq!(longer["calibrated_at"], renamed["calibrated_at"]);
        // Other ties are not typed in.
        let mut tied = longer["codes"].as_array().expect("codes").clone();
        tied[5]["heat_index"] = json!(50);
        shop.patch(Who::Clerk, &own, &json!({ "codes": tied }))
            .refused_for(&["#/codes/5/heat_index contradiction"]);
        let strict = heat_scale(&pair.maker, "renamed");
        let typed = shop
            .patch(Who::Clerk, &own, &json!({ "codes": strict["codes"] }))
            .expect(200);
        assert_eq!(typed.json["calibrated_at"], Value::Null);
    }
}

#[test]
fn statements_against_the_makers_order_flatten_nothing() {
    for shop in shared() {
        let pair = Pair::of(shop);
        let asked = pair.asked(&[("4", "9"), ("9", "4")]);
        let found = shop.post(Who::Reader, PATH, &asked).expect(200).json;
        assert_eq!(pair.found(&found)[0].0, json!(65.0));
        let before = pair.stored(shop);
        let apply = with(asked, json!({ "apply": true }));
        shop.post(Who::Manager, PATH, &apply)
            .problem(409, "scale_flattened");
        assert_eq!(pair.stored(shop), before);
    }
}

#[test]
fn every_fault_of_a_calibration_is_named() {
    for shop in shared() {
        let pair = Pair::of(shop);
        let post = |body: &Value| shop.post(Who::Reader, PATH, body);
        let mut asked = pair.asked(&[("9", "9"), ("8", "8"), ("8", "8"), ("7", "no such")]);
        asked["statements"][0]["weight"] = json!(-1);
        asked["statements"][1]["weight"] = json!("2");
        asked["statements"][3]["c"] = json!(1);
        let faults = post(&asked).problem(400, "invalid").faults();
        for pointer in [
            "#/statements/0/weight",
            "#/statements/1/weight",
            "#/statements/3/c",
        ] {
            assert!(
                faults.iter().any(|f| f.starts_with(pointer)),
                "{pointer}: {faults:?}"
            );
        }
        let twice = pair.asked(&[("8", "8"), ("8", "8")]);
        post(&twice).refused_for(&["#/statements/1 duplicate"]);
        let mut itself = pair.asked(&[("8", "8")]);
        itself["statements"][0]["b"] = itself["statements"][0]["a"].clone();
        post(&itself).refused_for(&["#/statements/0/b contradiction"]);
        let unknown = "01900000-0000-7000-8000-000000000000";
        let mut strange = pair.asked(&[("8", "no such"), ("8", "8")]);
        strange["statements"][1]["b"]["scale_id"] = json!(unknown);
        strange["anchor_scale_id"] = json!(unknown);
        let faults = post(&strange).problem(400, "invalid").faults();
        assert_eq!(
            faults,
            [
                "#/anchor_scale_id not_found",
                "#/statements/0/b/code not_in_list",
                "#/statements/1/b/scale_id not_found"
            ]
        );
        post(&pair.asked(&[])).problem(400, "invalid");
        let print = with(
            pair.asked(&[("8", "8")]),
            json!({ "fingerprint": "0".repeat(64) }),
        );
        post(&print).refused_for(&["#/fingerprint not_together"]);
    }
}
