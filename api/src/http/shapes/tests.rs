//! Bodies put to real schemas: what is told, where and how.

use plugwell_domain::build::{Build, Engine, Head};
use plugwell_domain::identification::Readings;
use plugwell_domain::ledger::commands::Receipt;
use plugwell_domain::plug::PlugData;
use serde_json::json;
use utoipa::{PartialSchema, ToSchema};

use super::*;
use crate::http::openapi::tests::of_types;

fn shape<T: ToSchema>() -> Shape {
    let mut types = vec![(T::name().into_owned(), T::schema())];
    T::schemas(&mut types);
    compiled(&of_types(types), &T::name())
}

/// Pointer and code of every fault, in the order they are told.
fn told<T: ToSchema>(body: &Value) -> Vec<(String, FaultCode)> {
    faults_against(&shape::<T>(), body)
        .into_iter()
        .map(|f| (f.pointer, f.code))
        .collect()
}

fn sorted<T: ToSchema>(body: &Value) -> Vec<(String, FaultCode)> {
    let mut told = told::<T>(body);
    told.sort();
    told
}

fn sentence<T: ToSchema>(body: &Value, pointer: &str) -> String {
    let faults = faults_against(&shape::<T>(), body);
    faults
        .into_iter()
        .find(|f| f.pointer == pointer)
        .map(|f| f.detail)
        .unwrap_or_default()
}

fn plug() -> Value {
    json!({
        "maker": "Ferrowick", "part_number": "FW-3207", "gtin": "2000000000015", "thread": "M14x1.25",
        "reach_mm": 19.0, "seat": "gasket", "hex_mm": 16, "heat_index": 60.5, "resistor": true,
        "resistance_ohm": 5000, "gap_preset_mm": 0.8, "pack_size": 4, "superseded_by": null,
        "provenance": { "reach_mm": "measured" },
    })
}

fn build() -> Value {
    json!({
        "head": { "thread": "M14x1.25", "reach_mm": 19.05, "seat": "gasket", "heat_index": 50, "terminal": null },
        "cylinders": 8, "induction": "supercharged", "use": "street", "power_kw": 500, "stroke_mm": 92.25,
        "electronics": ["radio"], "electrode": null,
    })
}

#[test]
fn right_bodies_have_no_fault() {
    assert_eq!(told::<PlugData>(&plug()), []);
    assert_eq!(told::<Build>(&build()), []);
}

#[test]
fn a_plug_tells_all_its_faults_at_once() {
    let mut body = plug();
    let changes = json!({
        "maker": null, "part_number": "", "gtin": "2000000000016", "thread": "M15x1", "reach_mm": 300, "seat": 7,
        "hex_mm": 16.00001, "heat_index": "60", "pack_size": 4.5, "heat_scale_id": "7", "reach": 19,
        "provenance": { "reach_mm": "guessed", "colour": "measured" },
    });
    for (name, value) in changes.as_object().unwrap() {
        body[name] = value.clone();
    }
    use FaultCode::*;
    let mut expected = vec![
        ("#/maker", Missing),
        ("#/part_number", OutOfRange),
        ("#/gtin", WrongCheckDigit),
        ("#/thread", NotInList),
        ("#/reach_mm", OutOfRange),
        ("#/seat", WrongType),
        ("#/hex_mm", TooFine),
        ("#/heat_index", WrongType),
        ("#/pack_size", WrongType),
        ("#/heat_scale_id", WrongForm),
        ("#/reach", UnknownMember),
        ("#/provenance/reach_mm", NotInList),
        ("#/provenance/colour", UnknownMember),
    ];
    expected.sort();
    let expected: Vec<_> = expected
        .into_iter()
        .map(|(p, c)| (p.to_owned(), c))
        .collect();
    assert_eq!(sorted::<PlugData>(&body), expected);
}

#[test]
fn inner_objects_tell_their_own_faults_with_their_own_pointers() {
    let mut body = build();
    body["head"] =
        json!({ "thread": "M14x1.25", "reach_mm": 19.00001, "bore_mm": 100, "hex_max_mm": 5 });
    body["electronics"] = json!(["radio", "toaster"]);
    body["cylinders"] = json!(17);
    body["use"] = Value::Null;
    use FaultCode::*;
    let mut expected = vec![
        ("#/head/seat", Missing),
        ("#/head/bore_mm", UnknownMember),
        ("#/head/reach_mm", TooFine),
        ("#/head/hex_max_mm", OutOfRange),
        ("#/electronics/1", NotInList),
        ("#/cylinders", OutOfRange),
        ("#/use", Missing),
    ];
    expected.sort();
    let expected: Vec<_> = expected
        .into_iter()
        .map(|(p, c)| (p.to_owned(), c))
        .collect();
    assert_eq!(sorted::<Build>(&body), expected);
}

#[test]
fn a_command_tells_quantity_money_and_instants() {
    let body = json!({
        "plug_id": "not-one", "supplier": "x".repeat(81), "quantity": -4, "condition": "used",
        "total_cost": { "minor": 12.5, "currency": "usd", "vat": 19 },
    });
    use FaultCode::*;
    let mut expected = vec![
        ("#/plug_id", WrongForm),
        ("#/supplier", OutOfRange),
        ("#/place_id", Missing),
        ("#/quantity", OutOfRange),
        ("#/condition", NotInList),
        ("#/total_cost/minor", WrongType),
        ("#/total_cost/currency", WrongForm),
        ("#/total_cost/vat", UnknownMember),
    ];
    expected.sort();
    let expected: Vec<_> = expected
        .into_iter()
        .map(|(p, c)| (p.to_owned(), c))
        .collect();
    assert_eq!(sorted::<Receipt>(&body), expected);
    let beyond = json!({ "plug_id": "018f4f5e-0000-7000-8000-000000000000", "supplier": "Hill",
        "place_id": "018f4f5e-0000-7000-8000-000000000000", "quantity": 1_000_001 });
    assert_eq!(
        told::<Receipt>(&beyond),
        [("#/quantity".to_owned(), OutOfRange)]
    );
}

#[test]
fn a_body_that_is_no_object_is_one_fault() {
    for body in [json!([]), json!("x"), json!(7), Value::Null] {
        let faults = told::<PlugData>(&body);
        assert_eq!(faults.len(), 1, "{body}: {faults:?}");
        assert_eq!(faults[0].0, "#");
    }
}

#[test]
fn sentences_name_the_member_what_was_given_and_what_is_right() {
    let mut body = plug();
    body["reach_mm"] = json!(300);
    body["seat"] = json!("flat");
    body["heat_index"] = json!("60");
    body["pack_size"] = json!(4.5);
    body["superseded_by"] = json!("7");
    assert_eq!(
        sentence::<PlugData>(&body, "#/reach_mm"),
        "300 mm is outside 5 to 60 mm"
    );
    assert_eq!(
        sentence::<PlugData>(&body, "#/seat"),
        "\"flat\" is no seat; take one of: gasket, conical"
    );
    assert_eq!(
        sentence::<PlugData>(&body, "#/heat_index"),
        "heat_index is a number, not \"60\""
    );
    assert_eq!(
        sentence::<PlugData>(&body, "#/pack_size"),
        "pack_size is a whole number, not 4.5"
    );
    assert_eq!(
        sentence::<PlugData>(&body, "#/superseded_by"),
        "\"7\" is no UUID"
    );
}

#[test]
fn one_of_a_list_is_named_in_the_singular() {
    use super::sentences::{name, one_of};
    assert_eq!(one_of(&name("/symptoms/0")), "symptom");
    assert_eq!(one_of(&name("/build/electronics/2")), "electronics");
    assert_eq!(one_of(&name("/electrode/1")), "electrode");
    assert_eq!(one_of(&name("/seat")), "seat");
    assert_eq!(one_of(&name("/choose")), "way to choose");
}

#[test]
fn a_sentence_tells_the_bounds_of_its_own_body() {
    // A record's resistance ends at 50 kΩ, an ohmmeter's range does not.
    let mut body = plug();
    for (body, wanted) in [
        (
            json!({ "resistance_ohm": -1 }),
            "-1 Ω is outside 0 to 100000000 Ω",
        ),
        (
            json!({ "resistance_ohm": 2e8 }),
            "200000000.0 Ω is outside 0 to 100000000 Ω",
        ),
    ] {
        assert_eq!(sentence::<Readings>(&body, "#/resistance_ohm"), wanted);
    }
    let uncertainty = json!({ "uncertainty": { "hex_mm": -0.1, "resistance_ohm": -1 } });
    assert_eq!(
        sentence::<Readings>(&uncertainty, "#/uncertainty/hex_mm"),
        "-0.1 mm is outside 0 to 0.5 mm"
    );
    assert_eq!(
        sentence::<Readings>(&uncertainty, "#/uncertainty/resistance_ohm"),
        "-1 Ω is outside 0 to 100000 Ω"
    );
    body["resistance_ohm"] = json!(-1);
    assert_eq!(
        sentence::<PlugData>(&body, "#/resistance_ohm"),
        "-1 Ω is outside 0 to 50000 Ω"
    );
}

#[test]
fn a_name_that_needs_it_is_escaped_in_its_pointer() {
    let mut body = plug();
    body["a/b~c"] = json!(1);
    assert_eq!(
        told::<PlugData>(&body),
        [("#/a~1b~0c".to_owned(), FaultCode::UnknownMember)]
    );
}

#[test]
fn types_of_the_vocabulary_have_schemas() {
    // Each compiles on its own: nothing it refers to is missing.
    shape::<Head>();
    shape::<Engine>();
    shape::<plugwell_domain::requirement::Requirement>();
    shape::<plugwell_domain::plug::Plug>();
    assert!(PlugData::schema() != Head::schema());
}
