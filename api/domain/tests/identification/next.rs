//! The measurement to take next.

use plugwell_domain::identification::{Measurement, Sought, next_measurement};
use plugwell_domain::plug::PlugData;
use plugwell_domain::policy::Policy;
use serde_json::{Value, json};

use crate::{leading, readings, record};

fn sought(value: Value) -> Sought {
    Sought::of(&readings(value), &Policy::default())
}

fn alike(records: &[Value]) -> Vec<(PlugData, f64)> {
    let share = 1.0 / records.len() as f64;
    records.iter().map(|r| (record(r.clone()), share)).collect()
}

#[test]
fn what_halves_the_candidates_is_asked_for_first() {
    let candidates = alike(&[
        json!({ "hex_mm": 16, "resistor": true, "overall_mm": 60 }),
        json!({ "hex_mm": 16, "resistor": true, "overall_mm": 60.4 }),
        json!({ "hex_mm": 16, "resistor": false, "overall_mm": 61 }),
        json!({ "hex_mm": 16.1, "resistor": false, "overall_mm": 70 }),
    ]);
    let next =
        next_measurement(&sought(json!({ "seat": "gasket" })), &leading(&candidates)).expect("one");
    assert_eq!(next.attribute, Measurement::Resistance);
    // Half and half: one bit, by definition of the entropy. Three and one would be 0.811.
    assert_eq!(next.bits, 1.0);
    assert!(
        next.why.contains("groups of 2 and 2") && next.why.contains("ohmmeter"),
        "{}",
        next.why
    );
    let measured = sought(json!({ "seat": "gasket", "resistance_ohm": 5000 }));
    let next = next_measurement(&measured, &leading(&candidates)).expect("another");
    assert_eq!((next.attribute, next.bits), (Measurement::Overall, 0.811));
}

#[test]
fn a_better_caliper_tells_more() {
    let candidates = alike(&[json!({ "overall_mm": 60 }), json!({ "overall_mm": 61.05 })]);
    assert_eq!(
        next_measurement(&sought(json!({ "seat": "gasket" })), &leading(&candidates)),
        None
    );
    let better = sought(json!({ "seat": "gasket", "uncertainty": { "overall_mm": 0.01 } }));
    let next = next_measurement(&better, &leading(&candidates))
        .expect("half widths of 0.51 mm do not meet");
    assert_eq!(next.attribute, Measurement::Overall);
}

#[test]
fn a_pitch_alone_is_followed_by_the_diameter() {
    let candidates = alike(&[
        json!({ "thread": "M12x1.25" }),
        json!({ "thread": "M14x1.25" }),
    ]);
    let next =
        next_measurement(&sought(json!({ "pitch_mm": 1.25 })), &leading(&candidates)).expect("one");
    assert_eq!(next.attribute, Measurement::MajorDiameter);
}

#[test]
fn what_is_unknown_or_the_same_in_all_is_not_asked_for() {
    let taken = || sought(json!({ "seat": "gasket" }));
    // Heat cannot be measured.
    let by_heat = alike(&[
        json!({ "hex_mm": 16, "heat_index": 50 }),
        json!({ "hex_mm": 16, "heat_index": 90 }),
    ]);
    assert_eq!(next_measurement(&taken(), &leading(&by_heat)), None);
    assert_eq!(
        next_measurement(&taken(), &leading(&alike(&[json!({ "hex_mm": 16 })]))),
        None
    );
    assert_eq!(next_measurement::<PlugData>(&taken(), &[]), None);
    assert_eq!(
        next_measurement(
            &taken(),
            &leading(&alike(&[json!({ "hex_mm": 16 }), json!({})]))
        ),
        None
    );
    // Known of half of them, it tells half as much.
    let half = alike(&[
        json!({ "hex_mm": 16 }),
        json!({ "hex_mm": 20.8 }),
        json!({}),
        json!({}),
    ]);
    let next = next_measurement(&taken(), &leading(&half)).expect("one");
    assert_eq!((next.attribute, next.bits), (Measurement::Hex, 0.5));
    assert!(
        next.why.contains("of 2 it is not on record"),
        "{}",
        next.why
    );
}
