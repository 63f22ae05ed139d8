//! A second opinion on what is fitted: every rule at its edge, what is not told, and what holds
//! whatever is fitted.

#[path = "../engine/mod.rs"]
mod engine;

mod gaps;
mod open;
mod properties;
mod rules;
mod told;

use plugwell_domain::decimal::Decimal;
use plugwell_domain::fitment::{Case, Finding, FindingCode, Opinion, Symptom, Treatment, look};
use plugwell_domain::plug::PlugData;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Requirement;
use serde_json::{Value, json};

/// A plug that the standard build takes, with some members replaced.
fn plug(changes: &Value) -> PlugData {
    let mut body = json!({
        "thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket", "hex_mm": 16.0, "heat_index": 70,
        "projection_mm": 3.0, "resistor": true, "electrode": "iridium", "ground": "single_strap",
        "gap_preset_mm": 0.8, "gap_min_mm": 0.6, "gap_max_mm": 1.1, "terminal": "solid_nut",
        "service_life_km": 100_000
    });
    for (name, value) in changes.as_object().into_iter().flatten() {
        body[name] = value.clone();
    }
    engine::plug(body).data
}

/// A set that is fresh and well gapped for the standard build, with some members replaced.
fn treatment(changes: &Value) -> Treatment {
    let mut body = json!({
        "gap_mm": 0.81, "distance_km": 0, "dropped": 0, "lead_changes": 0, "leads_renewed": false
    });
    for (name, value) in changes.as_object().into_iter().flatten() {
        body[name] = value.clone();
    }
    serde_json::from_value(body).unwrap()
}

/// The opinion on a plug and its treatment, each given as changes, and what an ohmmeter reads, in a boosted engine.
fn opinion(need: &Requirement, told: &Value, complaints: &[Symptom]) -> Opinion {
    opinion_on(need, true, told, complaints)
}

fn opinion_on(need: &Requirement, boosted: bool, told: &Value, complaints: &[Symptom]) -> Opinion {
    let case = Case {
        requirement: need,
        policy: &Policy::default(),
        boosted,
        plug: &plug(&told["plug"]),
        resistance: told["ohm"]
            .as_f64()
            .map(|ohm| Decimal((ohm * 10.0).round() as i64)),
        treatment: &treatment(&told["treatment"]),
    };
    look(case, complaints)
}

fn finding(opinion: &Opinion, code: FindingCode) -> Option<&Finding> {
    opinion.findings.iter().find(|f| f.code == code)
}

fn codes(opinion: &Opinion) -> Vec<FindingCode> {
    opinion.findings.iter().map(|f| f.code).collect()
}
