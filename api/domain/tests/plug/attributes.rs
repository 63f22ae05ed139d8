//! What each attribute may be, how it is typed, and where a value is from.

use plugwell_domain::attribute::{ATTRIBUTES, Attr, Kind};
use plugwell_domain::plug::{PlugData, Shows};
use plugwell_domain::words::Provenance;
use serde_json::{Value, json};

use crate::{assert_faults, named, read, with};

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
fn threads_are_read_as_people_type_them_and_printed_in_one_way() {
    for typed in ["M14x1.25", "M14 x 1,25", "14x1.25", "m14×1.250"] {
        let data = read(&with(&json!({"thread": typed}))).expect(typed);
        assert_eq!(data.to_map()["thread"], "M14x1.25");
    }
    assert_faults(json!({"thread": "M14"}), &[("#/thread", "not_in_list")]);
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
