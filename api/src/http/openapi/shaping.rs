//! Makes of the schemas that the types give those that clients are generated from and bodies are
//! checked with: no inheritance, no named numbers, patches, closed request bodies.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value, json};

use super::{named, reached, reference, request_schemas};
use crate::http::body::{PATCH_OF, patch_name};

/// Writes objects that are composed of several as one object each: only such can be closed.
pub(super) fn flatten(components: &mut Value) {
    let Some(all) = components["schemas"].as_object().cloned() else {
        return;
    };
    for (name, schema) in &all {
        if schema["allOf"].is_array() {
            components["schemas"][name] = Value::Object(merged(schema, &all));
        }
    }
}

fn merged(schema: &Value, all: &Map<String, Value>) -> Map<String, Value> {
    if let Some(target) = schema["$ref"]
        .as_str()
        .and_then(named)
        .and_then(|name| all.get(name))
    {
        return merged(target, all);
    }
    let Some(parts) = schema["allOf"].as_array() else {
        return schema.as_object().cloned().unwrap_or_default();
    };
    let (mut properties, mut required) = (Map::new(), Vec::new());
    for part in parts {
        let part = merged(part, all);
        properties.extend(
            part.get("properties")
                .and_then(Value::as_object)
                .cloned()
                .unwrap_or_default(),
        );
        required.extend(
            part.get("required")
                .and_then(Value::as_array)
                .cloned()
                .unwrap_or_default(),
        );
    }
    let mut whole = Map::from_iter([("type".to_owned(), "object".into())]);
    // What the first part is, with more members, says what the whole is.
    let said = [schema].into_iter().chain(parts).find_map(|of| {
        let target = of["$ref"].as_str().and_then(named);
        let of = target.and_then(|name| all.get(name)).unwrap_or(of);
        of.get("description").cloned()
    });
    whole.extend(said.map(|said| ("description".to_owned(), said)));
    whole.insert("properties".into(), properties.into());
    whole.insert("required".into(), required.into());
    whole
}

/// Puts bare numbers and texts where they are referred to, and writes optional ones in one line.
pub(super) fn inline_scalars(document: &mut Value) {
    let mut scalars = BTreeMap::new();
    if let Some(schemas) = document["components"]["schemas"].as_object_mut() {
        let is_scalar = |s: &Value| {
            s["type"]
                .as_str()
                .is_some_and(|t| t != "object" && t != "array")
                && s.get("enum").is_none()
        };
        let names: Vec<String> = schemas
            .iter()
            .filter(|(_, s)| is_scalar(s))
            .map(|(n, _)| n.clone())
            .collect();
        for name in names {
            scalars.extend(schemas.shift_remove(&name).map(|schema| (name, schema)));
        }
    }
    put_inline(document, &scalars);
}

fn put_inline(value: &mut Value, scalars: &BTreeMap<String, Value>) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(|item| put_inline(item, scalars)),
        Value::Object(map) => {
            map.values_mut()
                .for_each(|member| put_inline(member, scalars));
            let scalar = map
                .get("$ref")
                .and_then(Value::as_str)
                .and_then(named)
                .and_then(|name| scalars.get(name));
            if let Some(scalar) = scalar.and_then(Value::as_object) {
                let own = std::mem::take(map);
                map.extend(scalar.clone());
                map.extend(own.into_iter().filter(|(name, _)| name != "$ref"));
            }
            hoist_description(map);
            if let Some(optional) = optional_scalar(map) {
                map.shift_remove("oneOf");
                // What the member says of itself stands above what its type says.
                for (name, member) in optional {
                    map.entry(name).or_insert(member);
                }
            }
        }
        _ => {}
    }
}

/// What is said of the one real choice of an optional member is said of the member.
fn hoist_description(map: &mut Map<String, Value>) {
    let choices = map.get_mut("oneOf").and_then(Value::as_array_mut);
    let Some([one, other]) = choices.map(Vec::as_mut_slice) else {
        return;
    };
    let real = if one["type"] == "null" { other } else { one };
    let said = real
        .as_object_mut()
        .and_then(|c| c.shift_remove("description"));
    if let Some(said) = said {
        map.entry("description").or_insert(said);
    }
}

/// `oneOf` null and a scalar, as one schema with two types.
fn optional_scalar(map: &Map<String, Value>) -> Option<Map<String, Value>> {
    let [one, other] = map.get("oneOf")?.as_array()?.as_slice() else {
        return None;
    };
    let is_null = |schema: &Value| schema["type"] == "null";
    let scalar = match (is_null(one), is_null(other)) {
        (true, false) => other,
        (false, true) => one,
        _ => return None,
    };
    let type_ = scalar["type"]
        .as_str()
        .filter(|t| *t != "object" && *t != "array")?;
    if scalar.get("enum").is_some() {
        return None;
    }
    let mut optional = scalar.as_object()?.clone();
    optional.insert("type".into(), json!([type_, "null"]));
    Some(optional)
}

/// Makes the schema of every merge patch from that of what it patches.
pub(super) fn make_patches(schemas: &mut Value) {
    let Some(all) = schemas.as_object_mut() else {
        return;
    };
    let asked: Vec<(String, String)> = all
        .iter()
        .filter_map(|(name, schema)| {
            Some((name.clone(), schema.get(PATCH_OF)?.as_str()?.to_owned()))
        })
        .collect();
    let mut made = Map::new();
    for (name, of) in asked {
        let flags = all[&name]
            .get("properties")
            .and_then(Value::as_object)
            .cloned()
            .unwrap_or_default();
        let mut patch = patch_of(&of, all, &mut made);
        if let Some(properties) = patch.get_mut("properties").and_then(Value::as_object_mut) {
            properties.extend(flags);
        }
        made.insert(name, patch.into());
    }
    all.extend(made);
}

fn patch_of(
    of: &str,
    all: &Map<String, Value>,
    made: &mut Map<String, Value>,
) -> Map<String, Value> {
    let mut patch = all
        .get(of)
        .and_then(Value::as_object)
        .cloned()
        .unwrap_or_default();
    loosen(&mut patch, all, made);
    patch.insert(
        "description".into(),
        format!("A JSON merge patch (RFC 7396) of {of}: absent leaves as it is, null clears.")
            .into(),
    );
    patch
}

/// Requires nothing, and lets null clear whatever was not required.
fn loosen(
    object: &mut Map<String, Value>,
    all: &Map<String, Value>,
    made: &mut Map<String, Value>,
) {
    let required = object.shift_remove("required").unwrap_or_default();
    let is_required = |name: &str| {
        required
            .as_array()
            .is_some_and(|list| list.iter().any(|r| r == name))
    };
    let Some(properties) = object.get_mut("properties").and_then(Value::as_object_mut) else {
        return;
    };
    for (name, member) in properties.iter_mut() {
        loosen_inner(member, all, made);
        if !is_required(name) && !takes_null(member) {
            *member = json!({ "oneOf": [{ "type": "null" }, member.take()] });
        }
    }
}

/// Objects within a patch are patches themselves.
fn loosen_inner(member: &mut Value, all: &Map<String, Value>, made: &mut Map<String, Value>) {
    if let Some(choices) = member.get_mut("oneOf").and_then(Value::as_array_mut) {
        choices
            .iter_mut()
            .for_each(|choice| loosen_inner(choice, all, made));
        return;
    }
    if let Some(name) = member["$ref"].as_str().and_then(named).map(str::to_owned) {
        if all
            .get(&name)
            .is_some_and(|target| target["properties"].is_object())
        {
            let patch = patch_name(&name);
            if !made.contains_key(&patch) {
                let inner = patch_of(&name, all, made);
                made.insert(patch.clone(), inner.into());
            }
            member["$ref"] = reference(&patch)["$ref"].clone();
        }
        return;
    }
    if member["properties"].is_object()
        && let Some(object) = member.as_object_mut()
    {
        loosen(object, all, made);
    }
}

fn takes_null(schema: &Value) -> bool {
    match (&schema["type"], schema["oneOf"].as_array()) {
        (Value::String(one), _) => one == "null",
        (Value::Array(types), _) => types.iter().any(|t| t == "null"),
        (_, Some(choices)) => choices.iter().any(takes_null),
        // Without any type everything is taken.
        _ => schema
            .as_object()
            .is_some_and(|s| !s.contains_key("$ref") && !s.contains_key("enum")),
    }
}

/// Leaves components out that nothing refers to any more.
pub(super) fn prune(document: &mut Value) {
    let mut open = Vec::new();
    referred(&document["paths"], &mut open);
    referred(&document["components"]["responses"], &mut open);
    let seen = reached(&document["components"]["schemas"], open);
    if let Some(schemas) = document["components"]["schemas"].as_object_mut() {
        schemas.retain(|name, _| seen.contains(name));
        schemas.sort_keys();
    }
}

/// The components that a value refers to.
pub(super) fn referred(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| referred(item, found)),
        Value::Object(map) => {
            found.extend(
                map.get("$ref")
                    .and_then(Value::as_str)
                    .and_then(named)
                    .map(str::to_owned),
            );
            map.values().for_each(|member| referred(member, found));
        }
        _ => {}
    }
}

/// Closes every object that a request body is made of, unless it says itself what else it takes.
pub(super) fn close_requests(document: &mut Value) {
    let mut open: Vec<String> = request_schemas(document).into_iter().collect();
    let mut seen = BTreeSet::new();
    while let Some(name) = open.pop() {
        if !seen.insert(name.clone()) {
            continue;
        }
        if let Some(schema) = document["components"]["schemas"].get_mut(&name) {
            close(schema, &mut open);
        }
    }
}

fn close(schema: &mut Value, referred: &mut Vec<String>) {
    match schema {
        Value::Array(items) => items.iter_mut().for_each(|item| close(item, referred)),
        Value::Object(map) => {
            referred.extend(
                map.get("$ref")
                    .and_then(Value::as_str)
                    .and_then(named)
                    .map(str::to_owned),
            );
            map.values_mut().for_each(|member| close(member, referred));
            if map.get("properties").is_some_and(Value::is_object)
                && map.get("type").is_some_and(is_object)
            {
                map.entry("additionalProperties").or_insert(false.into());
            }
        }
        _ => {}
    }
}

fn is_object(type_: &Value) -> bool {
    type_ == "object"
        || type_
            .as_array()
            .is_some_and(|types| types.iter().any(|t| t == "object"))
}

#[cfg(test)]
mod tests {
    use plugwell_domain::build::{Build, Engine, Head};
    use plugwell_domain::plug::PlugData;
    use utoipa::{PartialSchema, ToSchema};

    use super::super::tests::of_types;
    use super::*;
    use crate::http::body::Patch;

    fn schemas() -> Value {
        let mut types = vec![
            (PlugData::name().into_owned(), PlugData::schema()),
            (Build::name().into_owned(), Build::schema()),
            (Head::name().into_owned(), Head::schema()),
            (Engine::name().into_owned(), Engine::schema()),
            ("PlugPatch".to_owned(), Patch::<PlugData>::schema()),
        ];
        PlugData::schemas(&mut types);
        Build::schemas(&mut types);
        of_types(types)["components"]["schemas"].clone()
    }

    #[test]
    fn a_build_is_one_closed_object() {
        let build = &schemas()["Build"];
        assert!(build["allOf"].is_null());
        assert_eq!(build["additionalProperties"], false);
        for member in ["name", "head", "head_id", "cylinders", "use", "stroke_mm"] {
            assert!(build["properties"][member].is_object(), "{member}");
        }
        assert_eq!(build["required"], json!(["cylinders", "induction", "use"]));
    }

    #[test]
    fn lengths_are_written_where_they_stand() {
        let schemas = schemas();
        assert!(schemas["Decimal"].is_null());
        assert_eq!(
            schemas["Head"]["properties"]["hex_max_mm"]["type"],
            json!(["number", "null"])
        );
        assert_eq!(schemas["Head"]["properties"]["reach_mm"]["type"], "number");
    }

    #[test]
    fn a_patch_requires_nothing_and_cannot_clear_what_is_required() {
        let schemas = schemas();
        let patch = &schemas["PlugPatch"];
        assert!(patch["required"].is_null() && patch[PATCH_OF].is_null());
        assert_eq!(patch["additionalProperties"], false);
        assert_eq!(patch["properties"]["retired"]["type"], "boolean");
        assert!(!takes_null(&patch["properties"]["maker"]));
        assert!(takes_null(&patch["properties"]["reach_mm"]));
        let sources = &patch["properties"]["provenance"]["oneOf"][1]["properties"];
        assert!(
            takes_null(&sources["reach_mm"]),
            "an entry can be cleared: {sources}"
        );
    }
}
