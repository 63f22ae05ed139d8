//! Attributes that must not contradict each other.

use serde_json::{Value, json};

use crate::assert_faults;

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
