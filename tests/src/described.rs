//! Every answer of the API is held against its description: the status, the media type and, where it
//! is JSON, the shape. A test that looks at one member of an answer so finds what is wrong with the others.

use std::collections::{BTreeSet, HashMap};
use std::sync::{Arc, LazyLock, Mutex};

use jsonschema::{Draft, Validator};
use serde_json::{Map, Value, json};

use crate::call::Answer;

/// What an outside program reads before it calls; a test of the service holds it against the code.
static DESCRIPTION: LazyLock<Value> = LazyLock::new(|| {
    serde_json::from_str(include_str!("../../openapi/openapi.json")).expect("the description")
});
/// Shapes that were compiled before, by the schema.
static SHAPES: LazyLock<Mutex<HashMap<String, Arc<Validator>>>> = LazyLock::new(Mutex::default);

/// Holds an answer against the description of its operation. Paths that it does not have, such as
/// pages, are left alone.
///
/// # Panics
/// Where the answer is not one that the description announces.
#[track_caller]
pub(crate) fn hold(method: &str, path: &str, answer: &Answer) {
    let Some(operation) = operation(method, path) else {
        return;
    };
    let responses = &operation["responses"];
    let response = [answer.status.to_string().as_str(), "default"]
        .iter()
        .find_map(|status| responses.get(status))
        .unwrap_or_else(|| panic!("a status that the description does not announce: {answer:?}"));
    if answer.body.is_empty() {
        return;
    }
    let content = &followed(response)["content"];
    let media = answer.header("content-type").unwrap_or_default();
    let media = media.split(';').next().unwrap_or_default().trim();
    let Some(described) = content.get(media) else {
        panic!("a media type that the description does not announce: {answer:?}");
    };
    let is_plain = answer.header("content-encoding").is_none();
    if media.ends_with("json") && is_plain {
        let broken: Vec<String> = shape(&described["schema"])
            .iter_errors(&answer.json)
            .map(|e| format!("{}: {e}", e.instance_path()))
            .collect();
        assert!(
            broken.is_empty(),
            "the answer breaks its schema: {}\n{answer:?}",
            broken.join("\n")
        );
    }
}

/// The operation of a method and a path; one whose segments are written out comes before one that
/// takes them.
fn operation(method: &str, path: &str) -> Option<&'static Value> {
    let path = path.split('?').next().unwrap_or_default();
    let asked: Vec<&str> = path.split('/').collect();
    let all = DESCRIPTION["paths"].as_object()?;
    let fitting = all.iter().filter_map(|(template, item)| {
        let segments: Vec<&str> = template.split('/').collect();
        let taken = |segment: &&str| segment.starts_with('{');
        let fits = segments.len() == asked.len()
            && segments
                .iter()
                .zip(&asked)
                .all(|(own, asked)| taken(own) || own == asked);
        let operation = item.get(method.to_ascii_lowercase())?;
        fits.then(|| (segments.iter().filter(|s| taken(s)).count(), operation))
    });
    let best = fitting.min_by_key(|(taken, _)| *taken);
    best.map(|(_, operation)| operation)
}

/// What a reference leads to, or the thing itself.
fn followed(described: &'static Value) -> &'static Value {
    match described["$ref"].as_str() {
        Some(place) => DESCRIPTION
            .pointer(place.trim_start_matches('#'))
            .unwrap_or_else(|| panic!("{place} leads nowhere")),
        None => described,
    }
}

fn shape(schema: &Value) -> Arc<Validator> {
    let mut shapes = SHAPES.lock().unwrap_or_else(|e| e.into_inner());
    let known = shapes.entry(schema.to_string());
    Arc::clone(known.or_insert_with(|| Arc::new(compiled(schema))))
}

fn compiled(schema: &Value) -> Validator {
    let all = &DESCRIPTION["components"]["schemas"];
    let mut own = BTreeSet::new();
    reached(all, schema, &mut own);
    let own: Map<String, Value> = own
        .into_iter()
        .map(|name| (name.to_owned(), all[name].clone()))
        .collect();
    let whole = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "allOf": [schema],
        "components": { "schemas": own },
    });
    jsonschema::options()
        .with_draft(Draft::Draft202012)
        .should_validate_formats(true)
        .build(&whole)
        .unwrap_or_else(|e| panic!("{schema}: {e}"))
}

/// The component schemas that a schema leads to.
fn reached<'v>(all: &'v Value, schema: &'v Value, names: &mut BTreeSet<&'v str>) {
    match schema {
        Value::Array(items) => items.iter().for_each(|item| reached(all, item, names)),
        Value::Object(members) => {
            let name = members.get("$ref").and_then(Value::as_str);
            let name = name.and_then(|place| place.strip_prefix("#/components/schemas/"));
            if let Some(name) = name
                && names.insert(name)
            {
                reached(all, &all[name], names);
            }
            members.values().for_each(|item| reached(all, item, names));
        }
        _ => {}
    }
}
