//! Values as people read them: units beside numbers, inches beside millimetres, words for codes.

use plugwell_domain::conversion::{mm_to_inch, nm_to_lbf_ft};
use serde_json::Value;

/// The entries of a list; none where it is no list.
pub fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// A text; empty where it is none.
pub fn word(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// A value with its unit, and inches beside millimetres.
pub fn measured(attribute: &str, value: &Value) -> String {
    match (value, attribute.ends_with("_mm")) {
        (Value::Null, _) => "unknown".into(),
        (Value::Bool(flag), _) => if *flag { "yes" } else { "no" }.into(),
        (Value::String(text), _) => text.replace('_', " "),
        (other, true) => {
            let mm = other.as_f64().unwrap_or_default();
            format!("{mm} mm ({:.3} in)", mm_to_inch(mm))
        }
        (other, false) => other
            .as_f64()
            .map_or_else(|| other.to_string(), |n| n.to_string()),
    }
}

/// A test of an attribute in words.
pub fn test(attribute: &str, test: &Value) -> String {
    if let Some(values) = test["one_of"].as_array() {
        return values
            .iter()
            .map(|v| measured(attribute, v))
            .collect::<Vec<_>>()
            .join(" or ");
    }
    match (&test["min"], &test["max"]) {
        (Value::Null, max) => format!("at most {}", measured(attribute, max)),
        (min, Value::Null) => format!("at least {}", measured(attribute, min)),
        (min, max) => format!(
            "{} to {}",
            measured(attribute, min),
            measured(attribute, max)
        ),
    }
}

/// What people call an attribute, or the member of a build.
pub fn label(attribute: &str) -> String {
    attribute
        .parse::<plugwell_domain::attribute::Attr>()
        .map_or_else(
            |_| attribute.to_owned(),
            |attr| attr.declared().label.to_owned(),
        )
}

/// A torque in both units with its source; `None` where there is no figure.
pub fn torque(torque: &Value) -> Option<String> {
    let (min, max) = (torque["min"].as_f64()?, torque["max"].as_f64()?);
    Some(format!(
        "{min} to {max} N·m ({:.0} to {:.0} lbf·ft), dry threads, {}",
        nm_to_lbf_ft(min),
        nm_to_lbf_ft(max),
        word(&torque["source"])
    ))
}
