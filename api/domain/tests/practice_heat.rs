//! Heat: the rule is from memory, the caps and the slack are common practice without a source, the tolerance own.

mod engine;

use engine::{KW_PER_HP, asked, codes, must, need, range};
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::requirement::{BasisKind, Requirement};
use serde_json::{Value, json};

/// A build for the strip, whose cap leaves the rule alone for longest.
fn strip(changes: Value) -> Requirement {
    let mut all = json!({ "use": "strip", "base_power_kw": null, "power_kw": null, "base_boost_kpa": null, "boost_kpa": null });
    all.as_object_mut()
        .unwrap()
        .extend(changes.as_object().unwrap().clone());
    need(all)
}

fn steps(need: &Requirement) -> Option<u32> {
    need.heat.steps
}

#[test]
fn power_gained_asks_for_a_step_in_75_kw() {
    let gained = |kw: f64| strip(json!({ "base_power_kw": 300, "power_kw": 300.0 + kw }));
    // max(1, floor(x + 0.5)) for x above nought.
    for (kw, n) in [
        (0.1, 1),
        (37.4, 1),
        (75.0, 1),
        (112.4, 1),
        (112.5, 2),
        (187.4, 2),
        (187.5, 3),
        (262.5, 4),
    ] {
        let need = gained(kw);
        assert_eq!(steps(&need), Some(n), "{kw} kW");
        assert!((need.heat.steps_asked.unwrap() - kw / 75.0).abs() < 1e-9);
        assert_eq!(
            need.heat.target_index.unwrap().get(),
            50.0 + 10.0 * f64::from(n)
        );
        assert_eq!(
            must(&need, Attr::Heat).unwrap().basis.kind,
            BasisKind::FromMemory
        );
    }
    for kw in [0.0, -40.0] {
        assert_eq!(steps(&gained(kw)), Some(0));
    }
}

#[test]
fn boost_gained_asks_where_power_is_unknown() {
    let gained =
        |kpa: f64| strip(json!({ "base_boost_kpa": 0, "boost_kpa": kpa, "power_kw": 400 }));
    for (kpa, n) in [(10.0, 1), (41.37, 1), (62.055, 2), (103.425, 3)] {
        assert_eq!(steps(&gained(kpa)), Some(n), "{kpa} kPa");
    }
    assert_eq!(
        steps(&strip(json!({ "base_boost_kpa": 60, "boost_kpa": 50 }))),
        Some(0)
    );
}

#[test]
fn boost_that_has_grown_asks_for_one_even_where_power_has_not() {
    let grown =
        json!({ "base_power_kw": 400, "power_kw": 400, "base_boost_kpa": 40, "boost_kpa": 60 });
    assert_eq!(steps(&strip(grown)), Some(1));
    let unknown = json!({ "base_power_kw": 400, "power_kw": 390, "boost_kpa": 60 });
    assert_eq!(steps(&strip(unknown)), Some(0));
}

#[test]
fn an_engine_without_boost_keeps_its_heat() {
    let free = need(
        json!({ "induction": "naturally_aspirated", "base_boost_kpa": null, "boost_kpa": null }),
    );
    assert_eq!((free.heat.steps_asked, steps(&free)), (Some(0.0), Some(0)));
    assert_eq!(range(&free, Attr::Heat), Some((Some(47.0), Some(60.0))));
    assert!(asked(&free).is_empty());
}

#[test]
fn one_step_and_a_question_where_nobody_can_tell() {
    let unknown = strip(json!({ "power_kw": 400, "boost_kpa": 60 }));
    assert_eq!((unknown.heat.steps_asked, steps(&unknown)), (None, Some(1)));
    assert!(asked(&unknown).contains(&"heat_index"));
    // Nitrous without a boost figure: what is not given is not known here.
    let nitrous = strip(json!({ "induction": "nitrous", "base_boost_kpa": 0 }));
    assert_eq!((nitrous.heat.steps_asked, steps(&nitrous)), (None, Some(1)));
}

#[test]
fn each_use_has_its_cap() {
    let under = 800.0 * KW_PER_HP - 1e-6;
    let cases = [
        ("street", json!(under), 2),
        ("street", json!(800.0 * KW_PER_HP), 3),
        ("street", json!(3000), 3),
        ("track", json!(3000), 3),
        ("strip", json!(3000), 4),
    ];
    for (purpose, kw, cap) in cases {
        let need = need(json!({ "use": purpose, "power_kw": kw, "base_power_kw": 200 }));
        assert_eq!(
            (steps(&need), need.heat.capped),
            (Some(cap), true),
            "{purpose} {kw}"
        );
        let caution = need
            .cautions
            .iter()
            .find(|c| c.code == CautionCode::HeatCapApplied)
            .unwrap();
        let by_rule = (need.heat.steps_asked.unwrap() + 0.5).floor();
        assert!(
            caution.text.contains(&format!("{by_rule} steps")),
            "{}",
            caution.text
        );
        assert_eq!(
            must(&need, Attr::Heat).unwrap().basis.kind,
            BasisKind::CommonPractice
        );
        // No whole step colder is left, half a one is.
        let target = need.heat.target_index.unwrap().get();
        assert_eq!(
            range(&need, Attr::Heat),
            Some((Some(target - 3.0), Some(target + 5.0)))
        );
    }
    // Unknown power has the lower cap.
    let unknown = need(json!({ "power_kw": null, "boost_kpa": 200 }));
    assert_eq!((steps(&unknown), unknown.heat.capped), (Some(2), true));
}

#[test]
fn the_window_is_never_hotter_and_one_step_colder_short_of_the_cap() {
    let one = need(json!({ "base_power_kw": 320, "power_kw": 400 }));
    assert_eq!(range(&one, Attr::Heat), Some((Some(57.0), Some(70.0))));
    let two = need(json!({ "base_power_kw": 320, "power_kw": 470 }));
    assert!(!two.heat.capped);
    assert_eq!(range(&two, Attr::Heat), Some((Some(67.0), Some(75.0))));
    let broken =
        need(json!({ "base_power_kw": 320, "power_kw": 400, "head": { "heat_index": 49.7 } }));
    assert_eq!(range(&broken, Attr::Heat), Some((Some(56.7), Some(69.7))));
}

#[test]
fn the_callers_steps_stand_above_rule_and_cap() {
    let asked_for = need(json!({ "heat_steps": 5 }));
    assert_eq!((steps(&asked_for), asked_for.heat.capped), (Some(5), false));
    assert!(!codes(&asked_for).contains(&CautionCode::HeatCapApplied));
    assert!((asked_for.heat.steps_asked.unwrap() - 2.4).abs() < 1e-12);
    assert_eq!(
        must(&asked_for, Attr::Heat).unwrap().basis.kind,
        BasisKind::Caller
    );
    // Past the cap of the street half a step is left.
    assert_eq!(
        range(&asked_for, Attr::Heat),
        Some((Some(97.0), Some(105.0)))
    );
    let nought = need(json!({ "heat_steps": 0 }));
    assert_eq!(range(&nought, Attr::Heat), Some((Some(47.0), Some(60.0))));
    let unknown = need(json!({ "heat_steps": 2, "base_power_kw": null, "base_boost_kpa": null }));
    assert_eq!((unknown.heat.steps_asked, steps(&unknown)), (None, Some(2)));
    assert!(!asked(&unknown).contains(&"heat_index"));
}
