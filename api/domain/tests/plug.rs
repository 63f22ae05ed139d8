//! A catalogue record: its way through JSON, and every fault of one that is posted.

use plugwell_domain::attribute::{ATTRIBUTES, Attr, Kind};
use plugwell_domain::plug::{IDENTITY, PlugData, STANDING, Shows};
use plugwell_domain::words::Provenance;
use proptest::prelude::*;
use serde_json::{Map, Value, json};

/// In-shop numbers only (GTIN-13 beginning with 2); the check digit by the GS1 rule, by hand:
/// 2·1 + 1·3 = 5, so 5 fills up to ten.
const GTIN: &str = "2000000000015";
const ID: &str = "01890000-0000-7000-8000-000000000001";

fn whole() -> Value {
    json!({
        "maker": "Ferrowick", "part_number": "FW-3207", "gtin": GTIN, "description": "fine wire, long reach",
        "thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket", "hex_mm": 16.0, "hex_kind": "hex",
        "heat_index": 60.0, "projection_mm": 3.0, "strap_extent_mm": 5.5, "resistor": true, "resistance_ohm": 5000.0,
        "electrode": "iridium", "ground": "single_strap", "gap_preset_mm": 0.8, "gap_min_mm": 0.6, "gap_max_mm": 1.1,
        "terminal": "solid_nut", "overall_mm": null, "insulator_mm": null, "service_life_km": 100_000,
        "torque_nm": null, "pack_size": 4, "heat_scale_id": ID, "heat_code": "20", "status": "active",
        "superseded_by": null, "provenance": {"reach_mm": "measured", "hex_mm": "assumed"},
    })
}

fn read(body: &Value) -> Result<PlugData, Vec<(String, &'static str)>> {
    PlugData::from_map(body.as_object().expect("an object")).map_err(|faults| {
        let mut found: Vec<_> = faults
            .into_iter()
            .map(|f| (f.pointer, f.code.word()))
            .collect();
        found.sort_unstable();
        found
    })
}

fn with(changes: &Value) -> Value {
    let mut body = whole();
    for (name, value) in changes.as_object().expect("members") {
        body[name] = value.clone();
    }
    body
}

#[track_caller]
fn assert_faults(changes: Value, want: &[(&str, &str)]) {
    let found = read(&with(&changes)).err().unwrap_or_default();
    let found: Vec<_> = found.iter().map(|(p, c)| (p.as_str(), *c)).collect();
    assert_eq!(found, want, "{changes}");
}

fn named() -> Map<String, Value> {
    let body = json!({"maker": "Ferrowick", "part_number": "FW-3207"});
    body.as_object().expect("an object").clone()
}

#[test]
fn a_whole_record_survives_the_way_through_json() {
    let data = read(&whole()).expect("a right record");
    assert_eq!(Value::Object(data.to_map()), whole());
    let text = serde_json::to_string(&data).expect("JSON");
    assert_eq!(
        serde_json::from_str::<PlugData>(&text).expect("the same"),
        data
    );
}

#[test]
fn of_a_name_alone_every_other_member_is_there_and_unknown() {
    let data = PlugData::from_map(&named()).expect("maker and part number will do");
    assert_eq!(data, PlugData::named("Ferrowick", "FW-3207"));
    let map = data.to_map();
    let members: Vec<&str> = map.keys().map(String::as_str).collect();
    let attributes = Attr::WORDS.iter();
    let want: Vec<&str> = IDENTITY
        .iter()
        .chain(attributes)
        .chain(STANDING)
        .copied()
        .collect();
    assert_eq!(members, want);
    for (name, value) in &map {
        match name.as_str() {
            "maker" | "part_number" => assert!(value.is_string()),
            "status" => assert_eq!(value, "active"),
            "provenance" => assert_eq!(value, &json!({})),
            _ => assert!(value.is_null(), "{name}: {value}"),
        }
    }
    assert_eq!(PlugData::from_map(&map).expect("null is absent"), data);
}

/// The smallest and greatest whole number that stands for a value of an attribute.
fn ends(attr: Attr) -> (i64, i64) {
    match attr.declared().kind {
        Kind::Number {
            decimals, min, max, ..
        } => {
            let scale = 10f64.powi(decimals as i32);
            ((min * scale).round() as i64, (max * scale).round() as i64)
        }
        Kind::Flag => (0, 1),
        Kind::Choice(words) => (0, words.len() as i64 - 1),
    }
}

fn alone(attr: Attr, raw: i64) {
    let mut data = PlugData::named("Ferrowick", "FW-3207");
    data.facts.set(attr, Some(raw));
    let text = serde_json::to_string(&data).expect("JSON");
    let back: PlugData =
        serde_json::from_str(&text).unwrap_or_else(|e| panic!("{attr} {raw}: {e}"));
    assert_eq!(back, data, "{text}");
    assert_eq!(back.facts.known().collect::<Vec<_>>(), [(attr, raw)]);
}

#[test]
fn the_ends_of_every_attribute_survive_the_way_through_json() {
    for attr in Attr::ALL {
        let (low, high) = ends(*attr);
        alone(*attr, low);
        alone(*attr, high);
        if let Kind::Choice(words) = attr.declared().kind {
            (0..words.len() as i64).for_each(|place| alone(*attr, place));
        }
    }
}

fn any_fact() -> impl Strategy<Value = (Attr, i64)> {
    proptest::sample::select(Attr::ALL).prop_flat_map(|attr| {
        let (low, high) = ends(attr);
        (Just(attr), low..=high)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_value_of_every_attribute_survives_the_way_through_json((attr, raw) in any_fact()) {
        alone(attr, raw);
    }

    /// Nothing that is posted makes a record that contradicts itself.
    #[test]
    fn a_record_that_exists_is_valid(facts in proptest::collection::vec(any_fact(), 0..12)) {
        let mut body = named();
        for (attr, raw) in facts {
            body.insert(attr.word().to_owned(), attr.to_json(raw));
        }
        let Ok(data) = PlugData::from_map(&body) else { return Ok(()) };
        let value = |name: &str| data.to_map()[name].as_f64();
        if let (Some(fitted), Some(ohm)) = (data.to_map()["resistor"].as_bool(), value("resistance_ohm")) {
            prop_assert_eq!(fitted, ohm >= 500.0);
        }
        let (min, preset, max) = (value("gap_min_mm"), value("gap_preset_mm"), value("gap_max_mm"));
        let ordered = [(min, preset), (preset, max), (min, max)];
        prop_assert!(ordered.iter().all(|(a, b)| a.zip(*b).is_none_or(|(a, b)| a <= b)));
    }
}

#[test]
fn every_attribute_refuses_what_it_cannot_be() {
    for attribute in ATTRIBUTES {
        let name = attribute.attr.word();
        let fault = |value: Value| {
            let mut body = named();
            body.insert(name.to_owned(), value);
            let faults = PlugData::from_map(&body).expect_err(name);
            assert_eq!(faults.len(), 1, "{faults:?}");
            assert_eq!(faults[0].pointer, format!("#/{name}"));
            faults[0].code.word()
        };
        match attribute.kind {
            Kind::Number {
                decimals, min, max, ..
            } => {
                let step = 10f64.powi(-(decimals as i32));
                let on_grid = |value: f64| (value / step).round() / 10f64.powi(decimals as i32);
                assert_eq!(fault(json!(on_grid(min - step))), "out_of_range", "{name}");
                assert_eq!(fault(json!(on_grid(max + step))), "out_of_range", "{name}");
                assert_eq!(
                    fault(json!(on_grid(min) + step / 10.0)),
                    "too_fine",
                    "{name}"
                );
                for value in [json!("19"), json!(true), json!([19]), json!({})] {
                    assert_eq!(fault(value), "wrong_type", "{name}");
                }
                assert_eq!(fault(json!(1e300)), "too_fine", "{name}");
            }
            Kind::Flag => {
                for value in [json!(1), json!("true"), json!([true])] {
                    assert_eq!(fault(value), "wrong_type", "{name}");
                }
            }
            Kind::Choice(_) => {
                assert_eq!(fault(json!("")), "not_in_list", "{name}");
                assert_eq!(fault(json!("Gasket!")), "not_in_list", "{name}");
                for value in [json!(1), json!(true), json!(["gasket"])] {
                    assert_eq!(fault(value), "wrong_type", "{name}");
                }
            }
        }
    }
}

#[test]
fn bounds_are_those_of_the_trade() {
    // The service's own definition: nothing that is sold lies outside (common practice, no source).
    let named = [
        ("reach_mm", 5.0, 60.0),
        ("hex_mm", 8.0, 30.0),
        ("projection_mm", -5.0, 15.0),
        ("resistance_ohm", 0.0, 50_000.0),
        ("gap_preset_mm", 0.2, 2.5),
        ("gap_min_mm", 0.2, 2.5),
        ("gap_max_mm", 0.2, 2.5),
        ("heat_index", 0.0, 200.0),
    ];
    for (name, least, greatest) in named {
        let attr: Attr = name.parse().expect("an attribute");
        let Kind::Number { min, max, .. } = attr.declared().kind else {
            panic!("{name} is a number")
        };
        assert_eq!((min, max), (least, greatest), "{name}");
    }
}

#[test]
fn names_and_texts() {
    let data = read(&with(
        &json!({"maker": " Ferrowick ", "part_number": "FW 3207\u{a0}"}),
    ))
    .expect("trimmed");
    assert_eq!(
        (data.maker.as_str(), data.part_number.as_str()),
        ("Ferrowick", "FW 3207")
    );
    assert_faults(json!({"maker": null}), &[("#/maker", "missing")]);
    assert_faults(
        json!({"part_number": null}),
        &[("#/part_number", "missing")],
    );
    assert_faults(json!({"maker": ""}), &[("#/maker", "out_of_range")]);
    assert_faults(
        json!({"part_number": " \t"}),
        &[("#/part_number", "out_of_range")],
    );
    assert_faults(json!({"maker": 7}), &[("#/maker", "wrong_type")]);
    assert_faults(json!({"maker": "ü".repeat(80)}), &[]);
    assert_faults(
        json!({"maker": "ü".repeat(81)}),
        &[("#/maker", "out_of_range")],
    );
    assert_faults(
        json!({"part_number": "FW\n3207"}),
        &[("#/part_number", "wrong_form")],
    );
    assert_faults(json!({"description": "x".repeat(500)}), &[]);
    assert_faults(
        json!({"description": "x".repeat(501)}),
        &[("#/description", "out_of_range")],
    );
    assert_faults(
        json!({"heat_code": "\u{0}"}),
        &[("#/heat_code", "wrong_form")],
    );
    assert_faults(json!({"status": "discontinued"}), &[]);
    assert_faults(json!({"status": null}), &[]);
    assert_faults(json!({"status": "retired"}), &[("#/status", "not_in_list")]);
    assert_faults(json!({"superseded_by": ID}), &[]);
    assert_faults(
        json!({"superseded_by": "FW-3208"}),
        &[("#/superseded_by", "wrong_form")],
    );
    assert_faults(
        json!({"heat_scale_id": 7}),
        &[("#/heat_scale_id", "wrong_type")],
    );
}

#[test]
fn a_gtin_has_digits_a_length_and_a_check_digit() {
    assert_faults(json!({"gtin": null}), &[]);
    assert_faults(
        json!({"gtin": "2000000000016"}),
        &[("#/gtin", "wrong_check_digit")],
    );
    // Two neighbours swapped.
    assert_faults(
        json!({"gtin": "2000000000105"}),
        &[("#/gtin", "wrong_check_digit")],
    );
    assert_faults(
        json!({"gtin": "200000000001"}),
        &[("#/gtin", "wrong_check_digit")],
    );
    assert_faults(json!({"gtin": "20000000001"}), &[("#/gtin", "wrong_form")]);
    assert_faults(
        json!({"gtin": "2000000-00015"}),
        &[("#/gtin", "wrong_form")],
    );
    assert_faults(json!({"gtin": ""}), &[("#/gtin", "wrong_form")]);
    assert_faults(
        json!({"gtin": 2_000_000_000_015_i64}),
        &[("#/gtin", "wrong_type")],
    );
}

#[test]
fn provenance_names_attributes_and_sources() {
    for (source, word) in
        Provenance::ALL
            .iter()
            .zip(["maker_sheet", "measured", "supplier_feed", "assumed"])
    {
        let data = read(&with(&json!({"provenance": {"reach_mm": word}}))).expect(word);
        assert_eq!(data.provenance.get(&Attr::Reach), Some(source));
        let shown = (*source != Provenance::Assumed).then_some(190_000);
        assert_eq!(data.shown(Attr::Reach), shown, "{word}");
        // The value itself stays, whatever it rests on.
        assert_eq!(data.to_map()["reach_mm"], 19.0);
    }
    assert_faults(
        json!({"provenance": {"maker": "measured"}}),
        &[("#/provenance/maker", "unknown_member")],
    );
    assert_faults(
        json!({"provenance": {"a/b~c": "measured"}}),
        &[("#/provenance/a~1b~0c", "unknown_member")],
    );
    assert_faults(
        json!({"provenance": {"reach_mm": "guessed"}}),
        &[("#/provenance/reach_mm", "not_in_list")],
    );
    assert_faults(
        json!({"provenance": {"reach_mm": 1}}),
        &[("#/provenance/reach_mm", "wrong_type")],
    );
    assert_faults(
        json!({"provenance": ["reach_mm"]}),
        &[("#/provenance", "wrong_type")],
    );
    assert_faults(json!({"provenance": null}), &[]);
    assert_faults(
        json!({"provenance": {"reach_mm": "guessed", "hex_mm": 1, "colour": "measured", "seat": "measured"}}),
        &[
            ("#/provenance/colour", "unknown_member"),
            ("#/provenance/hex_mm", "wrong_type"),
            ("#/provenance/reach_mm", "not_in_list"),
        ],
    );
}

#[test]
fn resistor_and_resistance_agree() {
    // From 500 Ω on a resistor is fitted (common practice, no source).
    let cases = [
        (json!(true), json!(500), true),
        (json!(true), json!(499.9), false),
        (json!(true), json!(0), false),
        (json!(false), json!(499.9), true),
        (json!(false), json!(500), false),
        (json!(false), json!(50_000), false),
        (json!(null), json!(3), true),
        (json!(true), json!(null), true),
        (json!(false), json!(null), true),
    ];
    for (resistor, ohm, agree) in cases {
        let want: &[_] = if agree {
            &[]
        } else {
            &[("#/resistance_ohm", "contradiction")]
        };
        assert_faults(json!({"resistor": resistor, "resistance_ohm": ohm}), want);
    }
}

#[test]
fn the_gap_as_delivered_lies_in_the_range() {
    let range = |min: Value, preset: Value, max: Value| json!({"gap_min_mm": min, "gap_preset_mm": preset, "gap_max_mm": max});
    let outside: &[_] = &[("#/gap_preset_mm", "contradiction")];
    assert_faults(range(json!(0.8), json!(0.8), json!(0.8)), &[]);
    assert_faults(range(json!(0.6), json!(0.5999), json!(1.1)), outside);
    assert_faults(range(json!(0.6), json!(1.1001), json!(1.1)), outside);
    assert_faults(range(json!(0.9), json!(0.8), Value::Null), outside);
    assert_faults(range(Value::Null, json!(0.8), json!(0.7)), outside);
    assert_faults(
        range(json!(0.9), Value::Null, json!(0.8)),
        &[("#/gap_min_mm", "contradiction")],
    );
    assert_faults(range(Value::Null, json!(0.8), Value::Null), &[]);
}

#[test]
fn what_cannot_be_gapped_has_one_gap() {
    for ground in ["surface_gap", "multi_strap"] {
        let of = |min: Value, preset: Value, max: Value| json!({"ground": ground, "gap_min_mm": min, "gap_preset_mm": preset, "gap_max_mm": max});
        assert_faults(of(json!(1.0), json!(1.0), json!(1.0)), &[]);
        // The unknown contradicts nothing.
        assert_faults(of(Value::Null, json!(1.0), Value::Null), &[]);
        assert_faults(of(Value::Null, Value::Null, Value::Null), &[]);
        let fixed: &[_] = &[("#/gap_preset_mm", "contradiction")];
        assert_faults(of(json!(0.9), json!(1.0), json!(1.0)), fixed);
        assert_faults(of(json!(1.0), json!(1.0), json!(1.1)), fixed);
        assert_faults(of(json!(0.9), Value::Null, json!(1.1)), fixed);
        assert_faults(of(json!(0.9), json!(1.0), Value::Null), fixed);
    }
    for ground in ["single_strap", "fine_wire", "other"] {
        assert_faults(json!({"ground": ground}), &[]);
    }
}

#[test]
fn all_faults_are_told_at_once() {
    assert_faults(
        json!({
            "maker": "", "part_number": null, "gtin": "2000000000016", "thread": "M13x1.25", "reach_mm": 4.9,
            "seat": 1, "heat_index": 60.05, "resistor": false, "gap_max_mm": 0.7, "status": "gone",
            "provenance": {"reach_mm": "guessed"}, "reach/in": 0.75,
        }),
        &[
            ("#/gap_preset_mm", "contradiction"),
            ("#/gtin", "wrong_check_digit"),
            ("#/heat_index", "too_fine"),
            ("#/maker", "out_of_range"),
            ("#/part_number", "missing"),
            ("#/provenance/reach_mm", "not_in_list"),
            ("#/reach_mm", "out_of_range"),
            ("#/reach~1in", "unknown_member"),
            ("#/resistance_ohm", "contradiction"),
            ("#/seat", "wrong_type"),
            ("#/status", "not_in_list"),
            ("#/thread", "not_in_list"),
        ],
    );
    // What could not be read is unknown: it makes no second fault elsewhere.
    assert_faults(
        json!({"ground": "multi_strap", "gap_min_mm": 0.8, "gap_max_mm": 9}),
        &[("#/gap_max_mm", "out_of_range")],
    );
    let told = serde_json::from_value::<PlugData>(with(&json!({"maker": null, "reach_mm": 4})))
        .expect_err("two faults");
    let told = told.to_string();
    assert!(
        told.contains("#/maker") && told.contains("#/reach_mm"),
        "{told}"
    );
}

#[test]
fn threads_are_read_as_people_type_them_and_printed_in_one_way() {
    for typed in ["M14x1.25", "M14 x 1,25", "14x1.25", "m14×1.250"] {
        let data = read(&with(&json!({"thread": typed}))).expect(typed);
        assert_eq!(data.to_map()["thread"], "M14x1.25");
    }
    assert_faults(json!({"thread": "M14"}), &[("#/thread", "not_in_list")]);
}
