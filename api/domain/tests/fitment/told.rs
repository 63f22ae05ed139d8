//! A plug as it is told, and the bounds of how it has been treated.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fault::{Check, Fault, FaultCode};
use plugwell_domain::fitment::{ToldPlug, Treatment};
use plugwell_domain::identification::{Readings, Shell};
use plugwell_domain::plug::Shows;
use plugwell_domain::policy::Policy;
use serde_json::{Value, json};

fn told(members: Value) -> Result<ToldPlug, Vec<Fault>> {
    ToldPlug::from_map(members.as_object().unwrap())
}

fn resistor(members: Value) -> Option<i64> {
    told(members)
        .unwrap()
        .into_data(&Policy::default())
        .shown(Attr::Resistor)
}

#[test]
fn nothing_has_to_be_told_of_a_plug() {
    let data = told(json!({ "maker": null }))
        .unwrap()
        .into_data(&Policy::default());
    assert_eq!(data.facts.known().count(), 0);
    let named = told(json!({ "maker": "Ferrowick", "part_number": "FW-3207" })).unwrap();
    assert_eq!(named.into_data(&Policy::default()).part_number, "FW-3207");
}

#[test]
fn what_is_told_has_the_faults_of_a_record() {
    let faults = told(
        json!({ "maker": 7, "colour": "red", "reach_mm": 61, "gap_min_mm": 0.9, "gap_max_mm": 0.8 }),
    );
    let mut faults: Vec<_> = faults
        .unwrap_err()
        .into_iter()
        .map(|f| (f.pointer, f.code))
        .collect();
    faults.sort();
    let expected = [
        ("#/colour", FaultCode::UnknownMember),
        ("#/gap_min_mm", FaultCode::Contradiction),
        ("#/maker", FaultCode::WrongType),
        ("#/reach_mm", FaultCode::OutOfRange),
    ];
    assert_eq!(
        faults,
        expected.map(|(pointer, code)| (pointer.to_owned(), code))
    );
}

/// None up to 10 Ω, fitted from 1 to 10 kΩ, by a meter that may be wrong by 5 % (the policy's; common
/// practice, no source). One reading is one thing, whichever way it is asked.
#[test]
fn a_measured_resistance_says_whether_a_resistor_is_fitted() {
    for (ohm, fitted) in [
        (0.0, Some(0)),
        (10.5, Some(0)),
        (10.6, None),
        (100.0, None),
        (600.0, None),
        (952.3, None),
        (952.4, Some(1)),
        (5000.0, Some(1)),
        (10_526.0, Some(1)),
        (10_526.4, None),
        (30_000.0, None),
    ] {
        assert_eq!(resistor(json!({ "resistance_ohm": ohm })), fitted, "{ohm}");
        let readings: Readings = serde_json::from_value(json!({ "resistance_ohm": ohm })).unwrap();
        let named = Shell::of(&readings, &Policy::default()).resistor;
        assert_eq!(named.map(i64::from), fitted, "{ohm}");
    }
    assert_eq!(
        resistor(json!({ "resistor": true, "resistance_ohm": 600 })),
        Some(1)
    );
    assert_eq!(resistor(json!({})), None);
    let guessed = json!({ "resistance_ohm": 5000, "provenance": { "resistance_ohm": "assumed" } });
    assert_eq!(resistor(guessed), None);
}

#[test]
fn treatment_is_bounded() {
    let faults = |members: Value| {
        let treatment: Treatment = serde_json::from_value(members).unwrap();
        treatment
            .faults()
            .into_iter()
            .map(|f| f.pointer)
            .collect::<Vec<_>>()
    };
    let ends =
        json!({ "gap_mm": 0.2, "distance_km": 1_000_000, "dropped": 48, "lead_changes": 1000 });
    assert_eq!(faults(ends), [""; 0]);
    let beyond =
        json!({ "gap_mm": 2.5001, "distance_km": -1, "dropped": 49, "lead_changes": 1001 });
    assert_eq!(
        faults(beyond),
        ["#/gap_mm", "#/distance_km", "#/dropped", "#/lead_changes"]
    );
    assert_eq!(faults(json!({})), [""; 0]);
}
