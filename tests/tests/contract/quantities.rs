//! Bounds and places of every number, at both ends: just inside is taken, just outside refused.

use plugwell_tests::bodies::{build, head, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

/// A member, its bounds (issue: "bounds", and the contract's list for builds), and the smallest step
/// that is kept; 0 where a number may be as fine as it likes.
type Bounds = (&'static str, f64, f64, f64);

/// Bounds named by the issue; those of strap, heights, life, torque and pack are the project's own.
const OF_A_PLUG: &[Bounds] = &[
    ("reach_mm", 5.0, 60.0, 0.0001),
    ("hex_mm", 8.0, 30.0, 0.0001),
    ("heat_index", 0.0, 200.0, 0.1),
    ("projection_mm", -5.0, 15.0, 0.0001),
    ("strap_extent_mm", -5.0, 20.0, 0.0001),
    ("resistance_ohm", 0.0, 50_000.0, 0.1),
    ("gap_preset_mm", 0.2, 2.5, 0.0001),
    ("gap_min_mm", 0.2, 2.5, 0.0001),
    ("gap_max_mm", 0.2, 2.5, 0.0001),
    ("overall_mm", 20.0, 200.0, 0.0001),
    ("insulator_mm", 5.0, 150.0, 0.0001),
    ("service_life_km", 1.0, 1_000_000.0, 1.0),
    ("torque_nm", 1.0, 100.0, 0.01),
    ("pack_size", 1.0, 10_000.0, 1.0),
];

const OF_A_HEAD: &[Bounds] = &[
    ("reach_mm", 5.0, 60.0, 0.0001),
    ("reach_tolerance_mm", 0.0, 0.5, 0.0001),
    ("hex_max_mm", 8.0, 30.0, 0.0001),
    ("projection_min_mm", -5.0, 15.0, 0.0001),
    ("projection_max_mm", -5.0, 15.0, 0.0001),
    ("heat_index", 0.0, 200.0, 0.1),
];

const OF_A_BUILD: &[Bounds] = &[
    ("cylinders", 1.0, 16.0, 1.0),
    ("plugs_per_cylinder", 1.0, 3.0, 1.0),
    ("base_power_kw", 1.0, 3000.0, 0.0),
    ("power_kw", 1.0, 3000.0, 0.0),
    ("base_boost_kpa", -50.0, 600.0, 0.0),
    ("boost_kpa", -50.0, 600.0, 0.0),
    ("displacement_cc", 50.0, 20_000.0, 0.0),
    ("compression_ratio", 4.0, 25.0, 0.0),
    ("stroke_mm", 20.0, 250.0, 0.0),
    ("rod_mm", 40.0, 500.0, 0.0),
    ("intake_close_deg_abdc", 0.0, 110.0, 0.0),
    ("spark_advance_deg", -10.0, 70.0, 0.0),
    ("charge_temp_c", -40.0, 250.0, 0.0),
    ("altitude_m", -500.0, 6000.0, 0.0),
    ("coil_kv", 5.0, 120.0, 0.0),
    ("heat_steps", 0.0, 6.0, 1.0),
    ("gap_mm", 0.2, 2.5, 0.0001),
    ("spares", 0.0, 100.0, 1.0),
];

/// A number as JSON writes it, without the noise of binary fractions.
fn number(value: f64) -> Value {
    format!("{value:.6}")
        .parse::<f64>()
        .map(|v| {
            if v.fract() == 0.0 {
                json!(v as i64)
            } else {
                json!(v)
            }
        })
        .unwrap()
}

/// Puts both ends, and what lies just outside them and between two steps, to an endpoint.
fn try_bounds(path: &str, bounds: &[Bounds], body: impl Fn(&str, Value) -> Value) {
    for shop in shared() {
        let post =
            |member: &str, value: f64| shop.post(Who::Manager, path, &body(member, number(value)));
        for &(member, least, most, step) in bounds {
            let beyond = if step == 0.0 { 0.001 } else { step };
            for inside in [least, most] {
                let answer = post(member, inside);
                assert!(
                    matches!(answer.status, 200 | 201),
                    "{member} {inside}: {answer:?}"
                );
                let kept = &answer.json[member];
                if !kept.is_null() {
                    assert_eq!(
                        kept.as_f64(),
                        Some(inside),
                        "{member} comes back as it was given"
                    );
                }
            }
            let out = format!("#/{member} out_of_range");
            for outside in [least - beyond, most + beyond] {
                post(member, outside).refused_for(&[&out]);
            }
            if step > 0.0 {
                let told = post(member, least + step / 2.0)
                    .problem(400, "invalid")
                    .faults();
                let allowed = [
                    format!("#/{member} too_fine"),
                    format!("#/{member} wrong_type"),
                ];
                assert!(
                    told.len() == 1 && allowed.contains(&told[0]),
                    "{member} between two steps: {told:?}"
                );
            }
        }
    }
}

#[test]
fn of_a_plug() {
    try_bounds(
        "/v1/plugs",
        OF_A_PLUG,
        |member, value| json!({ "maker": "Boundary", "part_number": unique("Q"), member: value }),
    );
}

#[test]
fn of_a_head() {
    try_bounds("/v1/heads", OF_A_HEAD, |member, value| {
        // Without the two ends that are compared with each other.
        let plain = with(
            head(),
            json!({ "projection_min_mm": null, "projection_max_mm": null }),
        );
        with(plain, json!({ member: value }))
    });
}

#[test]
fn of_a_build() {
    try_bounds("/v1/requirements", OF_A_BUILD, |member, value| {
        // Without the two lengths that are compared with each other.
        let plain = with(build(), json!({ "stroke_mm": null, "rod_mm": null }));
        with(plain, json!({ member: value }))
    });
}

#[test]
fn of_a_movement() {
    for shop in shared() {
        let part =
            plugwell_tests::bodies::stored_plug(shop, &plugwell_tests::bodies::plug(&unique("Q")));
        let place = plugwell_tests::bodies::bin(shop, &unique("bin"));
        let receive = |over: Value| {
            let body = with(plugwell_tests::bodies::receipt(&part, &place, 4), over);
            shop.once(Who::Clerk, "/v1/stock/receipts", &body)
        };
        for (quantity, fault) in [
            (json!(0), "out_of_range"),
            (json!(-1), "out_of_range"),
            (json!(1_000_001), "out_of_range"),
            (json!(1e18), "out_of_range"),
            (json!(1e300), "out_of_range"),
            (json!(1.5), "wrong_type"),
            (json!("4"), "wrong_type"),
        ] {
            let answer = receive(json!({ "quantity": quantity })).problem(400, "invalid");
            assert_eq!(answer.faults().len(), 1, "{answer:?}");
            assert!(answer.faults()[0].starts_with("#/quantity "), "{answer:?}");
            // A number beyond every integer may be called too large or no whole number.
            let other = quantity.as_f64().is_some_and(|q| q > 1e15)
                && answer.faults() == ["#/quantity wrong_type"];
            assert!(
                other || answer.faults() == [format!("#/quantity {fault}")],
                "{quantity}: {answer:?}"
            );
        }
        for minor in [-1, 1_000_000_000_001_i64] {
            receive(json!({ "total_cost": { "minor": minor, "currency": "USD" } }))
                .refused_for(&["#/total_cost/minor out_of_range"]);
        }
        for right in [
            json!({ "quantity": 1 }),
            json!({ "quantity": 1_000_000 }),
            json!({ "quantity": 4.0 }),
            json!({ "total_cost": null }),
        ] {
            receive(right).expect(201);
        }
    }
}
