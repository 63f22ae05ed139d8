//! Naming an unmarked plug: threads, reaches, hexagons and resistors against outside tables, records
//! against readings, and what to measure next.

mod next;
mod property;
mod records;
mod shells;
mod threads;

#[path = "../table/mod.rs"]
mod table;

use plugwell_domain::attribute::Attr;
use plugwell_domain::fault::Check;
use plugwell_domain::identification::{Readings, Shell};
use plugwell_domain::plug::PlugData;
use plugwell_domain::policy::Policy;
use serde_json::Value;

/// Readings as they stand in a request, found without fault.
fn readings(value: Value) -> Readings {
    let readings: Readings = serde_json::from_value(value).expect("readings");
    assert_eq!(readings.faults(), []);
    readings
}

/// What readings alone say, by the policy that a shop begins with.
fn shell(value: Value) -> Shell {
    Shell::of(&readings(value), &Policy::default())
}

/// A record with these attributes and no others.
fn record(value: Value) -> PlugData {
    let mut data = PlugData::named("Ferrowick", "FW-1");
    for (name, value) in value.as_object().expect("an object") {
        let attr: Attr = name.parse().expect("an attribute");
        data.facts
            .set(attr, Some(attr.from_json(value).expect("a value")));
    }
    data
}

/// Candidates as a shop's records are.
fn leading(candidates: &[(PlugData, f64)]) -> Vec<(&PlugData, f64)> {
    candidates
        .iter()
        .map(|(plug, share)| (plug, *share))
        .collect()
}
