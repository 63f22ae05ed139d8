//! The policy: its default, its two forms, and what it refuses.

// One JSON document names every figure.
#![recursion_limit = "512"]

use plugwell_domain::decimal::Decimal;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::policy::{BELOW, Bounds, ENTRIES, Form, Label, NOT_ABOVE, Policy};
use plugwell_domain::words::{Electrode, ProjectionClass};
use serde_json::{Value, json};

fn default() -> Value {
    serde_json::to_value(Policy::default()).unwrap()
}

/// The faults of the default with one change.
fn faults(change: impl FnOnce(&mut Value)) -> Vec<Fault> {
    let mut policy = default();
    change(&mut policy);
    Policy::from_json(&policy).unwrap_err()
}

/// The default with one value replaced: its only fault.
fn fault_of(key: &str, value: Value) -> (String, FaultCode) {
    let found = faults(|policy| policy["values"][key]["value"] = value.clone());
    assert_eq!(found.len(), 1, "{key} {value}: {found:?}");
    (found[0].pointer.clone(), found[0].code)
}

#[test]
fn the_default_has_every_value_once_and_the_shape_of_the_contract() {
    let policy = default();
    assert_eq!(policy["version"], 1);
    assert_eq!(policy["values"].as_object().unwrap().len(), ENTRIES.len());
    let slack = &policy["values"]["heat_slack_steps"];
    assert_eq!(
        (&slack["value"], &slack["label"]),
        (&json!(1), &json!("common_practice"))
    );
    for entry in ENTRIES {
        let text = policy["values"][entry.key]["text"].as_str().unwrap();
        assert!(
            text.ends_with('.') && text.len() > 20,
            "{}: {text}",
            entry.key
        );
    }
}

/// Every figure with what it rests on, as the trade's description has it.
#[test]
fn the_figures_carry_their_labels() {
    let policy = default();
    let expected = json!({
        // Common practice, no source.
        "common_practice": {
            "reach_tolerance_mm": 0.3, "heat_slack_steps": 1, "heat_cap_street": 2, "heat_cap_street_high_power": 3,
            "heat_cap_track": 3, "heat_cap_strip": 4, "heat_cap_high_power_from_kw": 596.559_896,
            "tip_step_min_k": 70.0, "tip_step_max_k": 100.0,
            "gap_mid_from_kw": 447.419_922, "gap_mid_min_mm": 0.71, "gap_mid_max_mm": 0.81,
            "gap_tight_from_kw": 745.699_87, "gap_tight_min_mm": 0.46, "gap_tight_max_mm": 0.56,
            "gap_na_min_mm": 0.9, "gap_na_max_mm": 1.1, "gap_tolerance_mm": 0.025, "gap_least_mm": 0.4, "coil_reserve": 0.3,
            "equivalent_reach_tolerance_mm": 0.3, "street_metals": ["platinum", "double_platinum", "iridium"],
            "life_nickel_boosted_km": 16_000, "life_nickel_km": 32_000, "life_precious_km": 160_000, "spares_per_set": 1,
            "life_boosted_share": 0.5, "heat_far_too_cold": 20.0, "gap_small_by_mm": 0.15,
            "caliper_uncertainty_mm": 0.05, "ohmmeter_uncertainty": 0.05, "resistor_spread": 0.4,
            "incoming_gap_tolerance_mm": 0.1, "forecast_alpha": 0.1, "forecast_beta": 0.05, "holding_rate": 0.25,
            "no_resistor_to_ohm": 10.0, "resistor_from_ohm": 1000.0, "resistor_to_ohm": 10_000.0
        },
        // From memory, to be checked against a printed source.
        "from_memory": {
            "heat_kw_per_step": 75.0, "heat_kpa_per_step": 41.37, "heat_steps_when_unknown": 1,
            "gap_low_min_mm": 0.71, "gap_low_max_mm": 0.89,
            "tip_clean_min_c": 450.0, "tip_clean_max_c": 500.0, "tip_glow_min_c": 800.0, "tip_glow_max_c": 950.0
        },
        // Recomputed against a frozen stoichiometric charge.
        "physics": { "polytropic_n": 1.32 },
        // Papers of the methods of forecasting.
        "standard": {
            "method_smooth": "croston", "method_erratic": "sba", "method_intermittent": "sba", "method_lumpy": "sba",
            "method_silent": "tsb"
        },
        "own": {
            "demand_period": "week", "demand_history_periods": 104, "demand_least_periods": 8, "demand_least_sizes": 8,
            "demand_silent_intervals": 3.0, "service_level": 0.95, "order_cost_minor": 600,
            "assumed_unit_cost_minor": 600, "lead_time_spread_share": 0.3, "booked_sets_per_year": 1,
            "hex_tolerance_mm": 0.2, "heat_tolerance": 3.0, "heat_least_slack": 5.0,
            "equivalent_projection_tolerance_mm": 0.5, "equivalent_slack_steps": 1,
            "projection_flush_from_mm": 0.0, "projection_projected_from_mm": 1.0, "projection_extended_from_mm": 3.5,
            "gap_transition_from_kw": 596.559_896,
            "breakdown_factor": 0.85, "breakdown_band_min": 0.6, "breakdown_band_max": 1.1,
            "assumed_coil_kv": 30.0, "assumed_intake_close_deg_abdc": 50.0, "assumed_spark_advance_deg": 20.0,
            "assumed_charge_temp_c": 55.0, "assumed_charge_temp_na_c": 40.0, "assumed_rod_over_crank": 3.3,
            "assumed_altitude_m": 0.0, "slip_boost_kpa": 20.0, "slip_power_kw_per_l": 200.0,
            "lead_changes_due": 3, "life_near_share": 0.9, "reservation_kept_days": 0,
            "count_recount_plugs": 4, "count_recount_share": 0.1, "count_recount_cost_minor": 10000,
            "order_lead_days": 7, "tuning_day_kept_days": 2, "reading_gap_growth_mm": 0.05,
            "picture_boost_share": 0.25, "calibration_tolerance": 5.0,
            "thread_wear_mm": 0.15, "gauge_uncertainty_mm": 0.02, "unmarked_projection_tolerance_mm": 0.5, "unmarked_height_tolerance_mm": 0.5,
            "misread_share": 0.0001, "scrap_reversal_hours": 24, "dead_stock_days": 180, "currency": "USD", "time_zone": "UTC", "decimal_mark": "point"
        }
    });
    let mut seen = 0;
    for (label, figures) in expected.as_object().unwrap() {
        for (key, value) in figures.as_object().unwrap() {
            assert_eq!(&policy["values"][key]["value"], value, "{key}");
            assert_eq!(&policy["values"][key]["label"], label, "{key}");
            seen += 1;
        }
    }
    assert_eq!(seen, ENTRIES.len());
}

#[test]
fn the_edges_of_power_are_multiples_of_the_horsepower() {
    // 1 hp = 0.745 699 87 kW: NIST SP 811 to eight places.
    let values = Policy::default().values;
    for (edge, hp) in [
        (values.gap_mid_from_kw.value, 600.0),
        (values.gap_transition_from_kw.value, 800.0),
        (values.heat_cap_high_power_from_kw.value, 800.0),
        (values.gap_tight_from_kw.value, 1000.0),
    ] {
        assert!((edge - hp * 0.745_699_87_f64).abs() < 1e-9, "{edge}");
    }
}

#[test]
fn json_and_toml_are_two_forms_of_one_document() {
    let mut policy = Policy {
        version: 7,
        ..Policy::default()
    };
    policy.values.heat_kw_per_step.value = 68.25;
    policy.values.heat_kw_per_step.label = Label::Own;
    policy.values.heat_kw_per_step.text = "Says \"our\" dyno, 3 µm \\ 2.".to_owned();
    policy.values.street_metals.value = vec![Electrode::Ruthenium];
    let json = serde_json::to_value(&policy).unwrap();
    assert_eq!(Policy::from_json(&json).unwrap(), policy);
    assert_eq!(Policy::from_toml(&policy.to_toml()).unwrap(), policy);
}

#[test]
fn a_policy_is_refused_as_a_whole_with_every_fault_at_its_place() {
    let found = faults(|policy| {
        policy["odd"] = json!(1);
        policy["version"] = json!(0);
        let values = policy["values"].as_object_mut().unwrap();
        values.remove("currency");
        values["coil_reserve"] = json!(0.3);
        values["polytropic_n"] = json!({ "value": 1.3, "label": "head", "note": "x" });
        values.insert("gap/odd".into(), json!({}));
    });
    let found: Vec<_> = found.iter().map(|f| (f.pointer.as_str(), f.code)).collect();
    let expected = [
        ("#/odd", FaultCode::UnknownMember),
        ("#/version", FaultCode::WrongType),
        ("#/values/gap~1odd", FaultCode::UnknownMember),
        ("#/values/coil_reserve", FaultCode::WrongType),
        ("#/values/polytropic_n/note", FaultCode::UnknownMember),
        ("#/values/polytropic_n/label", FaultCode::NotInList),
        ("#/values/polytropic_n/text", FaultCode::Missing),
        ("#/values/currency", FaultCode::Missing),
    ];
    assert_eq!(found, expected);
    assert_eq!(
        Policy::from_json(&json!([])).unwrap_err()[0].code,
        FaultCode::WrongType
    );
    assert_eq!(
        Policy::from_json(&json!({})).unwrap_err()[0].pointer,
        "#/values"
    );
    assert_eq!(
        Policy::from_toml("version = ").unwrap_err()[0].code,
        FaultCode::WrongForm
    );
}

#[test]
fn values_are_typed_and_bounded() {
    let at = |key: &str| format!("#/values/{key}/value");
    let cases = [
        ("heat_slack_steps", json!(1.5), FaultCode::TooFine),
        ("heat_slack_steps", json!(-1), FaultCode::OutOfRange),
        ("heat_slack_steps", json!("1"), FaultCode::WrongType),
        ("heat_slack_steps", json!(null), FaultCode::Missing),
        ("reach_tolerance_mm", json!(0.300_01), FaultCode::TooFine),
        ("heat_tolerance", json!(3.05), FaultCode::TooFine),
        ("demand_period", json!("day"), FaultCode::NotInList),
        ("demand_period", json!(7), FaultCode::WrongType),
        ("method_lumpy", json!("given"), FaultCode::NotInList),
        ("currency", json!("usd"), FaultCode::WrongForm),
        ("currency", json!(5), FaultCode::WrongType),
        ("street_metals", json!(["tin"]), FaultCode::NotInList),
        (
            "street_metals",
            json!(["iridium", "iridium"]),
            FaultCode::Duplicate,
        ),
        ("street_metals", json!("iridium"), FaultCode::WrongType),
    ];
    for (key, value, code) in cases {
        assert_eq!(
            fault_of(key, value.clone()),
            (at(key), code),
            "{key} {value}"
        );
    }
    for entry in ENTRIES {
        let Form::Number(_) = entry.form else {
            continue;
        };
        let Bounds { min, max, .. } = entry.bounds;
        for outside in [min - 1.0, max + 1.0] {
            assert_eq!(
                fault_of(entry.key, json!(outside)),
                (at(entry.key), FaultCode::OutOfRange)
            );
        }
    }
}

#[test]
fn values_stand_in_their_order() {
    let of = |key: &str| default()["values"][key]["value"].as_f64().unwrap();
    for (low, high) in NOT_ABOVE.iter().chain(BELOW) {
        // Above its partner, yet within its own bounds wherever they allow it.
        let entry = ENTRIES.iter().find(|e| e.key == *low).unwrap();
        let step = if entry.form == Form::Number(Some(0)) {
            1.0
        } else {
            0.05
        };
        let above = of(high) + step;
        assert!(above <= entry.bounds.max, "{low}");
        let found =
            faults(|policy| policy["values"][*low]["value"] = json!((above * 1e4).round() / 1e4));
        let pointer = format!("#/values/{low}/value");
        assert!(
            found
                .iter()
                .any(|f| f.pointer == pointer && f.code == FaultCode::Contradiction),
            "{low}: {found:?}"
        );
    }
    // An edge of power may not even equal the next; the ends of a band may.
    let found = faults(|policy| policy["values"]["gap_mid_from_kw"]["value"] = json!(596.559_896));
    assert_eq!(found[0].code, FaultCode::Contradiction);
    let mut narrow = default();
    narrow["values"]["gap_na_min_mm"]["value"] = json!(1.1);
    assert!(Policy::from_json(&narrow).is_ok());
}

#[test]
fn a_projection_has_its_class_from_the_limits_on() {
    let policy = Policy::default();
    for (raw, class) in [
        (-1, ProjectionClass::Recessed),
        (0, ProjectionClass::Flush),
        (9_999, ProjectionClass::Flush),
        (10_000, ProjectionClass::Projected),
        (34_999, ProjectionClass::Projected),
        (35_000, ProjectionClass::Extended),
    ] {
        assert_eq!(policy.projection_class(Decimal(raw)), class, "{raw}");
    }
}

#[test]
fn life_goes_by_metal_and_boost() {
    // Common practice, no source: 10 000, 20 000 and 100 000 miles.
    let policy = Policy::default();
    assert_eq!(policy.life_km(Electrode::Nickel, true), Some(16_000));
    assert_eq!(policy.life_km(Electrode::Nickel, false), Some(32_000));
    assert_eq!(
        policy.life_km(Electrode::DoublePlatinum, true),
        Some(160_000)
    );
    assert_eq!(policy.life_km(Electrode::Silver, true), None);
}
