//! A standard build to vary: a blown street V8, fully described.

#![allow(dead_code, reason = "every test file uses a part of it")]

use plugwell_domain::build::{Build, Engine, Head};
use plugwell_domain::caution::CautionCode;
use plugwell_domain::fault::Check;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Demand, Requirement, Strength, Test, derive};
use plugwell_domain::{attribute::Attr, decimal::Decimal};
use serde_json::{Value, json};

/// Kilowatts of the hp whose multiples are the edges of the practice figures (NIST SP 811, eight places).
pub const KW_PER_HP: f64 = 0.745_699_87;

/// The standard build with some members replaced; `head` is replaced member by member.
pub fn build(changes: &Value) -> (Engine, Head) {
    let mut body = json!({
        "head": {
            "thread": "M14x1.25", "reach_mm": 19.0, "reach_tolerance_mm": 0.3, "seat": "gasket", "hex_max_mm": 16.0,
            "projection_min_mm": 2.0, "projection_max_mm": 4.0, "heat_index": 50, "terminal": null,
            "material": "aluminium", "tight_gap": false
        },
        "cylinders": 8, "plugs_per_cylinder": 1, "induction": "supercharged", "use": "street",
        "base_power_kw": 320, "power_kw": 500, "base_boost_kpa": 0, "boost_kpa": 62, "displacement_cc": 5400,
        "compression_ratio": 9.5, "stroke_mm": 92, "rod_mm": 150, "intake_close_deg_abdc": 50,
        "spark_advance_deg": 20, "charge_temp_c": 55, "altitude_m": 0, "fuel": "pump_petrol",
        "electronics": ["fuel_injection", "radio", "data_logger"], "coil_kv": 34
    });
    for (name, value) in changes.as_object().unwrap() {
        if name == "head" {
            for (name, value) in value.as_object().unwrap() {
                body["head"][name] = value.clone();
            }
        } else {
            body[name] = value.clone();
        }
    }
    let build: Build = serde_json::from_value(body).unwrap();
    assert_eq!(build.faults(), [], "{changes}");
    (build.engine, build.head.unwrap())
}

/// What the standard build needs with some members replaced.
pub fn need(changes: Value) -> Requirement {
    need_over(changes, None)
}

/// The same, with the plug that was in.
pub fn need_over(changes: Value, base: Option<&Plug>) -> Requirement {
    let (engine, head) = build(&changes);
    derive(&engine, &head, base, &Policy::default()).unwrap()
}

/// A catalogue record with these members.
pub fn plug(members: Value) -> Plug {
    let mut body = json!({ "maker": "Ferrowick", "part_number": "FW-3207" });
    body.as_object_mut()
        .unwrap()
        .extend(members.as_object().unwrap().clone());
    let data = PlugData::from_map(body.as_object().unwrap()).unwrap();
    let at = chrono::DateTime::UNIX_EPOCH;
    Plug {
        id: uuid::Uuid::nil(),
        data,
        retired: false,
        version: 1,
        created_at: at,
        updated_at: at,
    }
}

/// The codes of a requirement's cautions.
pub fn codes(need: &Requirement) -> Vec<CautionCode> {
    need.cautions.iter().map(|c| c.code).collect()
}

/// What is asked, by attribute.
pub fn asked(need: &Requirement) -> Vec<&str> {
    need.unanswered
        .iter()
        .map(|u| u.attribute.as_str())
        .collect()
}

/// The must on an attribute.
pub fn must(need: &Requirement, attr: Attr) -> Option<&Demand> {
    need.demand(attr, Strength::Must)
}

/// The ends of the must on an attribute, in its unit.
pub fn range(need: &Requirement, attr: Attr) -> Option<(Option<f64>, Option<f64>)> {
    match &must(need, attr)?.test {
        Test::Range { min, max } => {
            let unit = |raw: i64| plugwell_domain::decimal::as_f64(raw, attr.decimals());
            Some((min.map(unit), max.map(unit)))
        }
        Test::OneOf(_) => None,
    }
}

/// The words or values of a `one_of`, as JSON.
pub fn one_of(demand: &Demand) -> Value {
    demand.test.to_json(demand.attribute)["one_of"].clone()
}

/// Millimetres of a length.
pub fn mm<const D: u32>(length: Option<Decimal<D>>) -> Option<f64> {
    length.map(Decimal::get)
}
