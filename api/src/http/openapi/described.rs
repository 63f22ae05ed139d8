//! Unit, bounds, meaning and way of measuring of every member, by its name, so that they are
//! declared once: in the table of attributes and in that of a build's quantities.

use plugwell_domain::attribute::{Attr, Attribute, Kind};
use plugwell_domain::build::QUANTITIES;
use serde_json::{Map, Value};

/// Units by the ending of a member's name, for the numbers that no table declares.
const UNITS: &[(&str, &str)] = &[
    ("_mm", "mm"),
    ("_in", "inches"),
    ("_km", "km"),
    ("_kpa", "kPa"),
    ("_kw", "kW"),
    ("_kv", "kV"),
    ("_k", "K"),
    ("_c", "°C"),
    ("_ohm", "Ω"),
    ("_nm", "N m"),
    ("_cc", "cm³"),
    ("_days", "days"),
];
/// Members that are bounded alike wherever they stand.
const BOUNDS: &[(&[&str], i64, Option<i64>)] = &[
    (&["version", "policy_version", "sequence"], 1, None),
    (
        &[
            "available",
            "on_hand",
            "unknown_quantity",
            "lines",
            "line_count",
            "counted_lines",
            "recount_lines",
            "exact_lines",
            "reversed_lines",
            "counts",
            "received",
            "received_before",
            "missing",
            "too_many",
            "ordered",
            "quantity_received",
            "open_quantity",
            "order_quantity",
            "reserved",
            "on_order",
            "index_lag",
            "idle_days",
            "set_aside",
            "rows",
            "created",
            "updated",
            "unchanged",
        ],
        0,
        None,
    ),
    (&["likelihood", "closeness", "exact_share"], 0, Some(1)),
];

/// Describes the members of all objects.
pub(super) fn describe(schema: &mut Value) {
    match schema {
        Value::Array(items) => items.iter_mut().for_each(describe),
        Value::Object(map) => {
            if let Some(properties) = map.get_mut("properties").and_then(Value::as_object_mut) {
                for (name, member) in properties.iter_mut() {
                    if let Some(member) = member.as_object_mut() {
                        member_of(name, member);
                    }
                }
            }
            map.values_mut().for_each(describe);
        }
        _ => {}
    }
}

fn member_of(name: &str, member: &mut Map<String, Value>) {
    if let Ok(attr) = name.parse::<Attr>() {
        let declared = attr.declared();
        match declared.kind {
            Kind::Number { unit, min, max, .. } if is_number(member) => {
                add(member, &meaning(declared));
                bound(member, unit, min, max);
            }
            Kind::Flag if member.get("type").is_some() => add(member, &meaning(declared)),
            // Only where the member is the attribute's value, not an object of that name.
            Kind::Choice(_) if member.contains_key("$ref") || member.contains_key("oneOf") => {
                add(member, &meaning(declared))
            }
            _ => {}
        }
    } else if let Some(quantity) = QUANTITIES.iter().find(|q| q.field == name)
        && is_number(member)
    {
        bound(member, quantity.unit, quantity.min, quantity.max);
    } else if is_number(member) {
        by_name(name, member);
    }
}

/// What a name alone tells of a number.
fn by_name(name: &str, member: &mut Map<String, Value>) {
    if let Some((_, unit)) = UNITS.iter().find(|(ending, _)| name.ends_with(ending)) {
        in_unit(member, unit);
    }
    let bounds = BOUNDS.iter().find(|(names, ..)| names.contains(&name));
    if let Some((_, least, most)) = bounds {
        member.entry("minimum").or_insert((*least).into());
        if let Some(most) = most {
            member.entry("maximum").or_insert((*most).into());
        }
    }
}

fn is_number(member: &Map<String, Value>) -> bool {
    let numeric = |t: &Value| t == "number" || t == "integer";
    match member.get("type") {
        Some(Value::Array(types)) => types.iter().any(numeric),
        Some(type_) => numeric(type_),
        None => false,
    }
}

fn meaning(attribute: &Attribute) -> String {
    format!(
        "{}: {}. Found out by: {}.",
        attribute.label, attribute.meaning, attribute.measure
    )
}

/// Describes a member that does not describe itself.
fn add(member: &mut Map<String, Value>, description: &str) {
    let own = member
        .get("description")
        .and_then(Value::as_str)
        .is_some_and(|d| !d.is_empty());
    if !own {
        member.insert("description".into(), description.into());
    }
}

/// A member that says both its ends itself keeps them: what an instrument may be wrong by has the
/// name of what it reads.
fn bound(member: &mut Map<String, Value>, unit: &str, min: f64, max: f64) {
    if !(member.contains_key("minimum") && member.contains_key("maximum")) {
        member.insert("minimum".into(), plain(min));
        member.insert("maximum".into(), plain(max));
    }
    if !unit.is_empty() {
        in_unit(member, unit);
    }
}

fn in_unit(member: &mut Map<String, Value>, unit: &str) {
    member.insert("x-unit".into(), unit.into());
    let own = member
        .get("description")
        .and_then(Value::as_str)
        .unwrap_or_default();
    member.insert(
        "description".into(),
        format!("{own} In {unit}.").trim_start().into(),
    );
}

/// Whole numbers without a point.
fn plain(number: f64) -> Value {
    if number.fract() == 0.0 {
        Value::from(number as i64)
    } else {
        Value::from(number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn bounds_units_and_meanings_come_from_the_tables() {
        let mut schema = json!({ "properties": {
            "reach_mm": { "type": ["number", "null"] },
            "cylinders": { "type": "integer", "description": "Cylinders.", "minimum": 0 },
            "hex_mm": { "type": "number", "minimum": 0, "maximum": 0.5 },
            "set_in": { "type": "number", "description": "The gap." },
            "closeness": { "type": "number" },
            "coil_kv": { "type": "object", "properties": { "value": { "type": "number" } } },
            "seat": { "oneOf": [{ "type": "null" }, { "$ref": "#/components/schemas/Seat" }] },
            "torque_nm": { "oneOf": [{ "type": "null" }, { "$ref": "#/components/schemas/TorqueNeed" }] },
        }});
        describe(&mut schema);
        let properties = &schema["properties"];
        assert_eq!(properties["reach_mm"]["minimum"], 5);
        assert_eq!(properties["reach_mm"]["maximum"], 60);
        assert_eq!(properties["reach_mm"]["x-unit"], "mm");
        assert!(
            properties["reach_mm"]["description"]
                .as_str()
                .unwrap()
                .starts_with("Reach: from the seat")
        );
        assert_eq!(properties["cylinders"]["minimum"], 1);
        assert_eq!(properties["hex_mm"]["maximum"], 0.5);
        assert_eq!(properties["hex_mm"]["x-unit"], "mm");
        assert_eq!(properties["cylinders"]["description"], "Cylinders.");
        assert_eq!(properties["set_in"]["description"], "The gap. In inches.");
        assert_eq!(properties["closeness"]["maximum"], 1);
        assert!(
            properties["coil_kv"]["minimum"].is_null(),
            "a policy entry is no quantity"
        );
        assert!(properties["seat"]["description"].is_string());
        assert!(
            properties["torque_nm"]["minimum"].is_null(),
            "a range of torques is no torque"
        );
    }
}
