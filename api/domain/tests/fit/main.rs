//! Whether a plug fits, when one that does not is worth showing, and the order of those that do.

mod judging;
mod near_misses;
mod order;
mod random_plugs;

use plugwell_domain::plug::PlugData;
use plugwell_domain::requirement::Requirement;
use serde_json::{Map, Value, json};

/// A requirement with a must of every kind; target 70, window 2 to 4 mm.
fn demanded() -> Value {
    let must = |attribute: &str, test: Value, unknown: &str| json!({"attribute": attribute, "strength": "must", "test": test, "unknown": unknown});
    let prefer = |attribute: &str, test: Value| json!({"attribute": attribute, "strength": "prefer", "test": test});
    json!({
        "demands": [
            must("thread", json!({"one_of": ["M14x1.25"]}), "fails"),
            must("seat", json!({"one_of": ["gasket"]}), "fails"),
            must("reach_mm", json!({"min": 18.7, "max": 19.3}), "fails"),
            must("hex_mm", json!({"min": null, "max": 16.2}), "fails"),
            must("heat_index", json!({"min": 67, "max": 75}), "fails"),
            must("projection_mm", json!({"min": 2.0, "max": 4.0}), "fails"),
            must("resistor", json!({"one_of": [true]}), "fails"),
            must("terminal", json!({"one_of": ["solid_nut"]}), "allowed"),
            must("gap_min_mm", json!({"min": null, "max": 0.81}), "allowed"),
            must("gap_max_mm", json!({"min": 0.81, "max": null}), "allowed"),
            prefer("electrode", json!({"one_of": ["iridium", "platinum"]})),
            prefer("ground", json!({"one_of": ["fine_wire"]})),
        ],
        "heat": {"target_index": 70},
        "gap": {"set_mm": 0.81},
        "quantity": {"total": 9},
    })
}

fn requirement() -> Requirement {
    Requirement::from_json(&demanded()).expect("a right requirement")
}

/// A plug that meets every demand, with some members changed.
fn plug(changed: Value) -> PlugData {
    let mut whole = json!({
        "maker": "Ferrowick", "part_number": "FW-3207",
        "thread": "M14x1.25", "seat": "gasket", "reach_mm": 19.0, "hex_mm": 16.0, "heat_index": 70,
        "projection_mm": 3.0, "resistor": true, "terminal": "solid_nut", "gap_min_mm": 0.6,
        "gap_max_mm": 1.1, "electrode": "iridium", "ground": "fine_wire",
    });
    for (name, value) in changed.as_object().expect("members") {
        whole[name] = value.clone();
    }
    let map: &Map<String, Value> = whole.as_object().expect("a record");
    PlugData::from_map(map).unwrap_or_else(|faults| panic!("{faults:?}"))
}
