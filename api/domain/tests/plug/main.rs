//! A catalogue record: its way through JSON, and every fault of one that is posted.

mod agreement;
mod attributes;
mod identity;
mod wire;

use plugwell_domain::plug::PlugData;
use serde_json::{Map, Value, json};

/// In-shop numbers only (GTIN-13 beginning with 2); the check digit by the GS1 rule, by hand:
/// 2·1 + 1·3 = 5, so 5 fills up to ten.
const GTIN: &str = "2000000000015";
const ID: &str = "01890000-0000-7000-8000-000000000001";

fn whole() -> Value {
    json!({
        "maker": "Ferrowick", "part_number": "FW-3207", "gtin": GTIN, "description": "fine wire, long reach",
        "thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket", "hex_mm": 16.0, "hex_kind": "hex",
        "heat_index": 60.0, "projection_mm": 3.0, "strap_extent_mm": 5.5, "resistor": true, "resistance_ohm": 5000.0,
        "electrode": "iridium", "ground": "single_strap", "gap_preset_mm": 0.8, "gap_min_mm": 0.6, "gap_max_mm": 1.1,
        "terminal": "solid_nut", "overall_mm": null, "insulator_mm": null, "service_life_km": 100_000,
        "torque_nm": null, "pack_size": 4, "heat_scale_id": ID, "heat_code": "20", "status": "active",
        "superseded_by": null, "provenance": {"reach_mm": "measured", "hex_mm": "assumed"},
    })
}

fn read(body: &Value) -> Result<PlugData, Vec<(String, &'static str)>> {
    PlugData::from_map(body.as_object().expect("an object")).map_err(|faults| {
        let mut found: Vec<_> = faults
            .into_iter()
            .map(|f| (f.pointer, f.code.word()))
            .collect();
        found.sort_unstable();
        found
    })
}

fn with(changes: &Value) -> Value {
    let mut body = whole();
    for (name, value) in changes.as_object().expect("members") {
        body[name] = value.clone();
    }
    body
}

#[track_caller]
fn assert_faults(changes: Value, want: &[(&str, &str)]) {
    let found = read(&with(&changes)).err().unwrap_or_default();
    let found: Vec<_> = found.iter().map(|(p, c)| (p.as_str(), *c)).collect();
    assert_eq!(found, want, "{changes}");
}

fn named() -> Map<String, Value> {
    let body = json!({"maker": "Ferrowick", "part_number": "FW-3207"});
    body.as_object().expect("an object").clone()
}

#[test]
fn all_faults_are_told_at_once() {
    assert_faults(
        json!({
            "maker": "", "part_number": null, "gtin": "2000000000016", "thread": "M13x1.25", "reach_mm": 4.9,
            "seat": 1, "heat_index": 60.05, "resistor": false, "gap_max_mm": 0.7, "status": "gone",
            "provenance": {"reach_mm": "guessed"}, "reach/in": 0.75,
        }),
        &[
            ("#/gap_preset_mm", "contradiction"),
            ("#/gtin", "wrong_check_digit"),
            ("#/heat_index", "too_fine"),
            ("#/maker", "out_of_range"),
            ("#/part_number", "missing"),
            ("#/provenance/reach_mm", "not_in_list"),
            ("#/reach_mm", "out_of_range"),
            ("#/reach~1in", "unknown_member"),
            ("#/resistance_ohm", "contradiction"),
            ("#/seat", "wrong_type"),
            ("#/status", "not_in_list"),
            ("#/thread", "not_in_list"),
        ],
    );
    // What could not be read is unknown: it makes no second fault elsewhere.
    assert_faults(
        json!({"ground": "multi_strap", "gap_min_mm": 0.8, "gap_max_mm": 9}),
        &[("#/gap_max_mm", "out_of_range")],
    );
    let told = serde_json::from_value::<PlugData>(with(&json!({"maker": null, "reach_mm": 4})))
        .expect_err("two faults");
    let told = told.to_string();
    assert!(
        told.contains("#/maker") && told.contains("#/reach_mm"),
        "{told}"
    );
}
