//! What is wrong with a value, said to people.

use jsonschema::JsonType;
use jsonschema::error::{TypeKind, ValidationErrorKind};
use plugwell_domain::fault::FaultCode;
use plugwell_domain::gtin::Gtin;
use serde_json::Value;

/// What a member is called in a sentence: its name, `item 3 of codes`, `the body`.
pub(super) fn name(path: &str) -> String {
    let mut segments = path.rsplit('/');
    let last = segments
        .next()
        .unwrap_or_default()
        .replace("~1", "/")
        .replace("~0", "~");
    if last.is_empty() {
        return "the body".into();
    }
    match last.parse::<usize>() {
        Ok(place) => format!(
            "item {} of {}",
            place + 1,
            segments.next().unwrap_or("the list")
        ),
        Err(_) => last,
    }
}

/// Code and sentence of a fault of one value, by what its schema declares.
pub(super) fn of(
    kind: &ValidationErrorKind,
    name: &str,
    value: &Value,
    declared: &Value,
) -> (FaultCode, String) {
    use FaultCode::{
        Duplicate, NotInList, OutOfRange, TooFine, UnknownMember, WrongForm, WrongType,
    };
    use ValidationErrorKind as E;
    match kind {
        E::Type { kind } => (
            WrongType,
            format!("{name} is {}, not {}", wanted(kind), shown(value)),
        ),
        E::Enum { options } => (NotInList, not_in_list(name, value, options)),
        E::Constant { expected_value } => (
            NotInList,
            format!("{name} is {expected_value}, not {}", shown(value)),
        ),
        E::Minimum { limit } => (
            OutOfRange,
            out_of_range(declared, value, "the least is", limit),
        ),
        E::Maximum { limit } => (
            OutOfRange,
            out_of_range(declared, value, "the most is", limit),
        ),
        E::ExclusiveMinimum { limit } => (
            OutOfRange,
            out_of_range(declared, value, "it has to be above", limit),
        ),
        E::ExclusiveMaximum { limit } => (
            OutOfRange,
            out_of_range(declared, value, "it has to be below", limit),
        ),
        E::MultipleOf { .. } => (
            TooFine,
            format!("{} is finer than {name} is kept", shown(value)),
        ),
        E::MinLength { limit: 1 } => (OutOfRange, format!("{name} is empty")),
        E::MinLength { limit } => (
            OutOfRange,
            format!("{name} has fewer than {limit} characters"),
        ),
        E::MaxLength { limit } => (
            OutOfRange,
            format!("{name} has more than {limit} characters"),
        ),
        E::MinItems { limit: 1 } => (OutOfRange, format!("{name} is an empty list")),
        E::MinItems { limit } => (OutOfRange, format!("{name} has fewer than {limit} items")),
        E::MaxItems { limit } => (OutOfRange, format!("{name} has more than {limit} items")),
        E::MinProperties { limit } => {
            (OutOfRange, format!("{name} has fewer than {limit} members"))
        }
        E::MaxProperties { limit } => (OutOfRange, format!("{name} has more than {limit} members")),
        E::UniqueItems => (Duplicate, format!("{name} has an item twice")),
        E::Format { format } => form(name, value, format),
        E::Pattern { pattern } => (
            WrongForm,
            format!("{} is not in the form {pattern}", shown(value)),
        ),
        E::FalseSchema => (UnknownMember, format!("there is no member {name} here")),
        _ => (
            WrongForm,
            format!("{name} is not in the form that is asked for"),
        ),
    }
}

fn wanted(kind: &TypeKind) -> String {
    let word = |type_: JsonType| match type_ {
        JsonType::Null => "null",
        JsonType::Boolean => "true or false",
        JsonType::Integer => "a whole number",
        JsonType::Number => "a number",
        JsonType::String => "text",
        JsonType::Array => "a list",
        JsonType::Object => "an object",
    };
    match kind {
        TypeKind::Single(type_) => word(*type_).to_owned(),
        TypeKind::Multiple(types) => {
            let real: Vec<_> = types
                .iter()
                .filter(|t| *t != JsonType::Null)
                .map(word)
                .collect();
            real.join(" or ")
        }
    }
}

/// The value as it was given, short.
fn shown(value: &Value) -> String {
    const LONGEST: usize = 40;
    match value {
        Value::Array(_) => "a list".into(),
        Value::Object(_) => "an object".into(),
        Value::String(text) if text.chars().count() > LONGEST => {
            format!(
                "{:?}",
                text.chars().take(LONGEST).chain(['…']).collect::<String>()
            )
        }
        other => other.to_string(),
    }
}

/// What one of a list is called: `item 3 of symptoms` is to be a symptom.
pub(super) fn one_of(name: &str) -> &str {
    match name
        .strip_prefix("item ")
        .and_then(|item| item.split_once(" of "))
    {
        // There is no one electronics.
        Some((_, list)) if list.ends_with("ics") => list,
        Some((_, list)) => list.strip_suffix('s').unwrap_or(list),
        // A list of ways to choose is called by what one does.
        None if name == "choose" => "way to choose",
        None => name,
    }
}

fn not_in_list(name: &str, value: &Value, options: &Value) -> String {
    let words: Vec<_> = options
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .collect();
    format!(
        "{} is no {}; take one of: {}",
        shown(value),
        one_of(name),
        words.join(", ")
    )
}

/// Says both bounds where the schema has both, with its unit: those of this body, since another may
/// take the same member within others.
fn out_of_range(declared: &Value, value: &Value, side: &str, limit: &Value) -> String {
    let bound = |side: &str| declared[side].as_f64();
    let unit = declared["x-unit"].as_str().filter(|unit| !unit.is_empty());
    let unit = unit.map_or(String::new(), |unit| format!(" {unit}"));
    match (bound("minimum"), bound("maximum")) {
        (Some(min), Some(max)) => {
            format!("{}{unit} is outside {min} to {max}{unit}", shown(value))
        }
        _ => format!("{} is out of range: {side} {limit}", shown(value)),
    }
}

fn form(name: &str, value: &Value, format: &str) -> (FaultCode, String) {
    let given = shown(value);
    match format {
        "gtin" => match value.as_str().unwrap_or_default().parse::<Gtin>() {
            Err(e) => (e.fault_code(), e.to_string()),
            Ok(_) => (FaultCode::WrongForm, format!("{given} is no GTIN")),
        },
        "uuid" => (FaultCode::WrongForm, format!("{given} is no UUID")),
        "date-time" => (
            FaultCode::WrongForm,
            format!("{given} is no instant in the form of RFC 3339, such as 2026-05-01T09:30:00Z"),
        ),
        "date" => (
            FaultCode::WrongForm,
            format!("{given} is no date in the form 2026-05-01"),
        ),
        other => (
            FaultCode::WrongForm,
            format!("{name} is not in the form of a {other}"),
        ),
    }
}
