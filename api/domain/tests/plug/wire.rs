//! A record's way through JSON and back.

use plugwell_domain::attribute::{Attr, Kind};
use plugwell_domain::plug::{IDENTITY, PlugData, STANDING};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{named, read, whole};

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
