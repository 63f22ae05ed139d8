//! Whole builds, worked by an independent model from the same rules (`fixtures/checks/requirement_cases.json`).

use plugwell_domain::attribute::Attr;
use plugwell_domain::build::Build;
use plugwell_domain::fault::Check;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Strength, derive};
use serde_json::{Value, json};

const CASES: &str = include_str!("../../../fixtures/checks/requirement_cases.json");

/// Puts an expected member to an answered one: null to null, numbers within the fixture's tolerance of
/// their kind, all else as it is.
fn compare(place: &str, name: &str, expected: &Value, answered: &Value) {
    match (expected.as_f64(), answered.as_f64()) {
        (Some(wanted), Some(got)) => {
            let tolerance = match name {
                "pressure_kpa" | "temperature_k" | "available_kv" | "needed_kv" => {
                    wanted.abs() * 0.002
                }
                // Printed to four places.
                "steps_asked" => 5.1e-5,
                name if name.ends_with("_mm") => 1e-9,
                _ => 1e-6,
            };
            assert!(
                (got - wanted).abs() <= tolerance,
                "{place}: {name} is {got}, not {wanted}"
            );
        }
        _ => assert_eq!(answered, expected, "{place}: {name}"),
    }
}

#[test]
fn every_case_of_the_independent_model_is_met() {
    let fixture: Value = serde_json::from_str(CASES).unwrap();
    let cases = fixture["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 16);
    for (number, case) in cases.iter().enumerate() {
        let build: Build = serde_json::from_value(case["build"].clone()).unwrap();
        assert_eq!(build.faults(), [], "case {number}");
        let need = derive(
            &build.engine,
            build.head.as_ref().unwrap(),
            None,
            &Policy::default(),
        )
        .unwrap();
        let answer = serde_json::to_value(&need).unwrap();
        let mut compared = 0;
        for part in ["heat", "gap"] {
            for (name, wanted) in case["expected"][part].as_object().unwrap() {
                let place = format!("case {number}, {part}");
                match name.as_str() {
                    "window" => {
                        let test = &need.demand(Attr::Heat, Strength::Must).unwrap().test;
                        let wanted =
                            json!({ "min": wanted[0].as_f64(), "max": wanted[1].as_f64() });
                        assert_eq!(test.to_json(Attr::Heat), wanted, "{place}");
                    }
                    "spark" => {
                        for (name, wanted) in wanted.as_object().unwrap() {
                            compare(&place, name, wanted, &answer["gap"]["spark"][name]);
                        }
                    }
                    name => compare(&place, name, wanted, &answer[part][name]),
                }
                compared += 1;
            }
        }
        assert!(compared >= 9, "case {number} compared {compared} members");
        for code in case["expected"]["cautions_among"].as_array().unwrap() {
            let codes: Vec<_> = need.cautions.iter().map(|c| c.code.word()).collect();
            assert!(
                codes.contains(&code.as_str().unwrap()),
                "case {number}: {code} among {codes:?}"
            );
        }
    }
}
