//! What a tuner tells of a car: bounds, what has to be there, and every fault with its pointer.

use plugwell_domain::build::{Build, Head, bound_fault, bounds};
use plugwell_domain::fault::{Check, FaultCode};
use serde_json::{Value, json};

const ID: &str = "01890000-0000-7000-8000-000000000001";

fn head() -> Value {
    json!({"name": "iron eight", "thread": "M14x1.25", "reach_mm": 19.0, "reach_tolerance_mm": 0.3, "seat": "gasket",
        "hex_max_mm": 16.0, "projection_min_mm": 2.0, "projection_max_mm": 4.0, "heat_index": 50.0,
        "terminal": null, "material": "aluminium", "tight_gap": false})
}

/// A build with every member given.
fn whole() -> Value {
    json!({"name": "blue coupe", "head": head(), "head_id": null, "odometer_km": 81_000, "leads_renewed_on": "2026-03-01", "base_plug_id": null, "cylinders": 8,
        "plugs_per_cylinder": 1, "induction": "supercharged", "use": "street", "base_power_kw": 320.0,
        "power_kw": 500.0, "base_boost_kpa": 0.0, "boost_kpa": 62.0, "displacement_cc": 5400.0,
        "compression_ratio": 9.5, "stroke_mm": 92.0, "rod_mm": 150.0, "intake_close_deg_abdc": 50.0,
        "spark_advance_deg": 20.0, "charge_temp_c": 55.0, "altitude_m": 0.0, "fuel": "pump_petrol",
        "electronics": ["fuel_injection", "radio", "data_logger"], "coil_kv": 34.0, "heat_steps": 2,
        "gap_mm": 0.81, "electrode": ["iridium"], "spares": 1})
}

fn with(changes: &[(&str, Value)]) -> Value {
    let mut body = whole();
    for (pointer, value) in changes {
        match pointer.strip_prefix("head/") {
            Some(name) => body["head"][name] = value.clone(),
            None => body[*pointer] = value.clone(),
        }
    }
    body
}

fn faults(body: &Value) -> Vec<(String, &'static str)> {
    let build: Build =
        serde_json::from_value(body.clone()).unwrap_or_else(|e| panic!("{e}: {body}"));
    let mut found: Vec<_> = build
        .faults()
        .into_iter()
        .map(|f| (f.pointer, f.code.word()))
        .collect();
    found.sort_unstable();
    found
}

#[track_caller]
fn assert_faults(changes: &[(&str, Value)], want: &[(&str, &str)]) {
    let found = faults(&with(changes));
    let found: Vec<_> = found.iter().map(|(p, c)| (p.as_str(), *c)).collect();
    assert_eq!(found, want, "{changes:?}");
}

#[test]
fn a_whole_build_survives_the_way_through_json() {
    let build: Build = serde_json::from_value(whole()).expect("a right build");
    assert_eq!(build.faults(), []);
    assert_eq!(serde_json::to_value(&build).expect("JSON"), whole());
}

#[test]
fn absent_members_are_unknown() {
    let least = json!({"head": {"thread": "M14x1.25", "reach_mm": 19, "seat": "gasket", "heat_index": 50},
        "cylinders": 4, "induction": "turbocharged", "use": "track"});
    let build: Build = serde_json::from_value(least).expect("the least that has to be told");
    assert_eq!(build.faults(), []);
    let written = serde_json::to_value(&build).expect("JSON");
    let given = ["head", "cylinders", "induction", "use"];
    for (name, value) in written.as_object().expect("a build") {
        assert_eq!(
            value.is_null(),
            !given.contains(&name.as_str()),
            "{name}: {value}"
        );
    }
}

/// Least and greatest value of every bounded number of a build, the step beyond them, and whether
/// it counts whole things. The bounds are part of the service's HTTP contract; those of a gap and
/// of a plug's own lengths are the attributes'.
const BOUNDS: &[(&str, f64, f64, f64, bool)] = &[
    ("head/reach_mm", 5.0, 60.0, 0.0001, false),
    ("head/reach_tolerance_mm", 0.0, 0.5, 0.0001, false),
    ("head/hex_max_mm", 8.0, 30.0, 0.0001, false),
    ("head/projection_min_mm", -5.0, 15.0, 0.0001, false),
    ("head/projection_max_mm", -5.0, 15.0, 0.0001, false),
    ("head/heat_index", 0.0, 200.0, 0.1, false),
    ("cylinders", 1.0, 16.0, 1.0, true),
    ("plugs_per_cylinder", 1.0, 3.0, 1.0, true),
    ("base_power_kw", 1.0, 3000.0, 0.001, false),
    ("power_kw", 1.0, 3000.0, 0.001, false),
    ("base_boost_kpa", -50.0, 600.0, 0.001, false),
    ("boost_kpa", -50.0, 600.0, 0.001, false),
    ("displacement_cc", 50.0, 20_000.0, 0.001, false),
    ("compression_ratio", 4.0, 25.0, 0.001, false),
    ("stroke_mm", 20.0, 250.0, 0.001, false),
    ("rod_mm", 40.0, 500.0, 0.001, false),
    ("intake_close_deg_abdc", 0.0, 110.0, 0.001, false),
    ("spark_advance_deg", -10.0, 70.0, 0.001, false),
    ("charge_temp_c", -40.0, 250.0, 0.001, false),
    ("altitude_m", -500.0, 6000.0, 0.001, false),
    ("coil_kv", 5.0, 120.0, 0.001, false),
    ("heat_steps", 0.0, 6.0, 1.0, true),
    ("gap_mm", 0.2, 2.5, 0.0001, false),
    ("spares", 0.0, 100.0, 1.0, true),
];

#[test]
fn every_number_has_its_bounds_and_the_ends_belong_to_them() {
    for (path, min, max, step, whole) in BOUNDS {
        let name = path.trim_start_matches("head/");
        let (low, high, _) = bounds(name).unwrap_or_else(|| panic!("{name} has no bounds"));
        assert_eq!((low, high), (*min, *max), "{name}");
        // The members that another one is compared with stand aside.
        let aside = [
            ("stroke_mm", Value::Null),
            ("rod_mm", Value::Null),
            ("head/projection_min_mm", Value::Null),
            ("head/projection_max_mm", Value::Null),
        ];
        let put = |value: f64| {
            let value = if *whole {
                json!(value as u64)
            } else {
                json!((value * 10_000.0).round() / 10_000.0)
            };
            let mut changes = aside.to_vec();
            changes.push((*path, value));
            faults(&with(&changes))
        };
        let out = vec![(format!("#/{path}"), "out_of_range")];
        assert_eq!((put(*min), put(*max)), (vec![], vec![]), "{name}");
        assert_eq!(put(max + step), out, "{name} above {max}");
        if !whole || *min >= 1.0 {
            assert_eq!(put(min - step), out, "{name} below {min}");
        }
    }
}

#[test]
fn numbers_that_are_none_and_lengths_that_are_too_fine_are_faults() {
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        let fault = bound_fault("power_kw", value).expect("no number");
        assert_eq!(fault.code, FaultCode::OutOfRange, "{value}");
    }
    assert_eq!(
        bound_fault("gap_mm", 0.81005).map(|f| f.code),
        Some(FaultCode::TooFine)
    );
    assert_eq!(
        bound_fault("hex_max_mm", 16.00001).map(|f| f.code),
        Some(FaultCode::TooFine)
    );
    assert_eq!(
        bound_fault("heat_index", 60.05).map(|f| f.code),
        Some(FaultCode::TooFine)
    );
    // A power may be as fine as it likes.
    assert_eq!(bound_fault("power_kw", 447.419_922), None);
    // What is no bounded number has no bounds.
    assert_eq!((bounds("seat"), bounds("name")), (None, None));
}

#[test]
fn what_has_to_be_there() {
    assert_faults(&[("head", Value::Null)], &[("#/head", "missing")]);
    assert_faults(&[("head_id", json!(ID))], &[("#/head_id", "not_together")]);
    assert_faults(&[("head", Value::Null), ("head_id", json!(ID))], &[]);
    assert_faults(
        &[("head/heat_index", Value::Null)],
        &[("#/head/heat_index", "missing")],
    );
    // The plug that was in lends its heat.
    assert_faults(
        &[
            ("head/heat_index", Value::Null),
            ("base_plug_id", json!(ID)),
        ],
        &[],
    );
    for name in [
        "cylinders",
        "induction",
        "use",
        "head/thread",
        "head/reach_mm",
        "head/seat",
    ] {
        let read: Result<Build, _> = serde_json::from_value(with(&[(name, Value::Null)]));
        assert!(read.is_err(), "{name} has to be given");
    }
}

#[test]
fn members_that_contradict_each_other() {
    // Rod over crank radius 2.2 to 8: 92 mm of stroke are a radius of 46 mm.
    for (rod, fits) in [
        (101.2, true),
        (101.19, false),
        (368.0, true),
        (368.01, false),
    ] {
        let want: &[_] = if fits {
            &[]
        } else {
            &[("#/rod_mm", "contradiction")]
        };
        assert_faults(&[("rod_mm", json!(rod))], want);
    }
    assert_faults(&[("head/projection_min_mm", json!(4.0))], &[]);
    assert_faults(
        &[("head/projection_min_mm", json!(4.0001))],
        &[("#/head/projection_min_mm", "contradiction")],
    );
    assert_faults(
        &[("electrode", json!([]))],
        &[("#/electrode", "out_of_range")],
    );
    assert_faults(&[("electrode", Value::Null)], &[]);
    // Nothing electronic is an answer.
    assert_faults(&[("electronics", json!([]))], &[]);
}

#[test]
fn names_are_readable() {
    for (name, code) in [
        ("", "out_of_range"),
        ("  ", "out_of_range"),
        ("a\tb", "wrong_form"),
    ] {
        assert_faults(&[("name", json!(name))], &[("#/name", code)]);
        assert_faults(&[("head/name", json!(name))], &[("#/head/name", code)]);
    }
    assert_faults(&[("name", json!("ß".repeat(80)))], &[]);
    assert_faults(
        &[("name", json!("ß".repeat(81)))],
        &[("#/name", "out_of_range")],
    );
    assert_faults(&[("name", Value::Null), ("head/name", Value::Null)], &[]);
}

#[test]
fn all_faults_are_told_at_once() {
    assert_faults(
        &[
            ("name", json!("")),
            ("head/reach_mm", json!(4.0)),
            ("head/reach_tolerance_mm", json!(0.6)),
            ("head/projection_min_mm", json!(5.0)),
            ("head/heat_index", Value::Null),
            ("head_id", json!(ID)),
            ("cylinders", json!(0)),
            ("power_kw", json!(0.5)),
            ("rod_mm", json!(501.0)),
            ("gap_mm", json!(0.1)),
            ("electrode", json!([])),
        ],
        &[
            ("#/cylinders", "out_of_range"),
            ("#/electrode", "out_of_range"),
            ("#/gap_mm", "out_of_range"),
            ("#/head/heat_index", "missing"),
            ("#/head/projection_min_mm", "contradiction"),
            ("#/head/reach_mm", "out_of_range"),
            ("#/head/reach_tolerance_mm", "out_of_range"),
            ("#/head_id", "not_together"),
            ("#/name", "out_of_range"),
            ("#/power_kw", "out_of_range"),
            ("#/rod_mm", "contradiction"),
            ("#/rod_mm", "out_of_range"),
        ],
    );
    assert_faults(
        &[
            ("head/reach_mm", json!(4.0)),
            ("head/reach_tolerance_mm", json!(0.6)),
            ("head/projection_min_mm", json!(16.0)),
            ("head/heat_index", json!(200.1)),
            ("spares", json!(101)),
        ],
        &[
            ("#/head/heat_index", "out_of_range"),
            ("#/head/projection_min_mm", "contradiction"),
            ("#/head/projection_min_mm", "out_of_range"),
            ("#/head/reach_mm", "out_of_range"),
            ("#/head/reach_tolerance_mm", "out_of_range"),
            ("#/spares", "out_of_range"),
        ],
    );
}

#[test]
fn a_head_alone_is_checked_alike() {
    let mut body = head();
    body["hex_max_mm"] = json!(7.0);
    body["heat_index"] = Value::Null;
    let read: Head = serde_json::from_value(body.clone()).expect("a head");
    let found: Vec<_> = read
        .faults()
        .into_iter()
        .map(|f| (f.pointer, f.code))
        .collect();
    assert_eq!(found, [("#/hex_max_mm".to_owned(), FaultCode::OutOfRange)]);
    body["hex_max_mm"] = json!(16.00001);
    assert!(
        serde_json::from_value::<Head>(body.clone()).is_err(),
        "too fine"
    );
    body["hex_max_mm"] = json!(16.0);
    body["colour"] = json!("red");
    assert!(
        serde_json::from_value::<Head>(body).is_err(),
        "an unknown member is refused"
    );
}
