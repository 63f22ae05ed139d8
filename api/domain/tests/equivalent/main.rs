//! What an equivalent is called, and why a part is none.

#[path = "../engine/mod.rs"]
mod engine;
mod grades;
mod objections;
mod random_parts;

use engine::plug;
use plugwell_domain::equivalent::{Graded, Opinion};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::of_part;
use serde_json::{Value, json};

/// A part of which everything is known that is compared, with some members replaced.
fn whole(changes: Value) -> Plug {
    let mut members = json!({
        "thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket", "hex_mm": 16.0, "hex_kind": "hex", "heat_index": 70,
        "projection_mm": 3.0, "strap_extent_mm": 5.5, "resistor": true, "electrode": "iridium", "ground": "single_strap",
        "gap_preset_mm": 0.8, "gap_min_mm": 0.6, "gap_max_mm": 1.1, "terminal": "solid_nut"
    });
    let own = members.as_object_mut().unwrap();
    own.extend(changes.as_object().unwrap().clone());
    plug(members)
}

fn opinion(part: Value, other: Value) -> Opinion {
    let (part, other, policy) = (whole(part), whole(other), Policy::default());
    let need = of_part(&part, &policy).unwrap();
    Opinion::of(&part, &other, &need, &policy.values)
}

#[track_caller]
fn graded(part: Value, other: Value) -> Graded {
    match opinion(part.clone(), other.clone()) {
        Opinion::Equivalent(graded) => graded,
        none => panic!("{other} is no equivalent of {part}: {none:?}"),
    }
}
