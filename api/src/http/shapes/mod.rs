//! Puts a raw body to its schema in the OpenAPI document: every fault at once, in our own words.

mod sentences;

use std::collections::HashMap;
use std::sync::LazyLock;

use jsonschema::error::{TypeKind, ValidationErrorKind};
use jsonschema::{Draft, JsonType, ValidationError, Validator};
use plugwell_domain::build::bounds;
use plugwell_domain::decimal::exact;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::gtin::Gtin;
use serde_json::{Map, Value, json};

use crate::http::openapi;

/// A schema: compiled, and as it is written, for what its faults say of it.
pub(super) struct Shape {
    validator: Validator,
    schema: Value,
}

/// The compiled schema of every request body, by the schema's name.
static SHAPES: LazyLock<HashMap<String, Shape>> = LazyLock::new(|| {
    let document = openapi::document();
    let names = openapi::request_schemas(document);
    names
        .into_iter()
        .map(|name| (name.clone(), compiled(document, &name)))
        .collect()
});

/// Compiles all schemas now rather than with the first request.
pub fn prepare() {
    LazyLock::force(&SHAPES);
}

/// The faults of a body against the schema of a name.
///
/// # Panics
/// Where no operation of the document takes such a body: then its handler does not say so.
pub fn faults(schema: &str, body: &Value) -> Vec<Fault> {
    let shape = SHAPES
        .get(schema)
        .unwrap_or_else(|| panic!("no operation declares a body {schema}"));
    faults_against(shape, body)
}

/// Compiles a component schema of a document.
///
/// # Panics
/// Where the schema is none: the document is made of our own code.
pub(super) fn compiled(document: &Value, name: &str) -> Shape {
    let schema = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$ref": format!("#/components/schemas/{name}"),
        "components": { "schemas": reached(document, name) },
    });
    let validator = jsonschema::options()
        .with_draft(Draft::Draft202012)
        .should_validate_formats(true)
        .with_format("gtin", |text: &str| text.parse::<Gtin>().is_ok())
        .build(&schema)
        .unwrap_or_else(|e| panic!("the schema of {name}: {e}"));
    Shape { validator, schema }
}

/// The component schemas that one of them leads to: all that it is compiled with.
fn reached(document: &Value, name: &str) -> Map<String, Value> {
    let all = &document["components"]["schemas"];
    let names = openapi::reached(all, vec![name.to_owned()]);
    let own = names.into_iter().map(|name| {
        let schema = all[&name].clone();
        (name, schema)
    });
    own.collect()
}

/// Every fault of a body, at most one for each place: the one that comes first in [`FaultCode`].
pub(super) fn faults_against(shape: &Shape, body: &Value) -> Vec<Fault> {
    let mut found = Vec::new();
    for error in shape.validator.iter_errors(body) {
        collect(&error, &shape.schema, &mut found);
    }
    too_fine(body, &mut String::new(), &mut found);
    let mut faults: Vec<Fault> = Vec::with_capacity(found.len());
    for fault in found {
        match faults
            .iter_mut()
            .find(|known| known.pointer == fault.pointer)
        {
            None => faults.push(fault),
            Some(known) if fault.code < known.code => *known = fault,
            Some(_) => {}
        }
    }
    faults
}

fn collect(error: &ValidationError<'_>, schema: &Value, faults: &mut Vec<Fault>) {
    let here = error.instance_path().as_str();
    let value = error.instance().as_ref();
    let at = |path: &str, code, detail: String| Fault {
        pointer: format!("#{path}"),
        code,
        detail,
    };
    let name = sentences::name(here);
    match error.kind() {
        ValidationErrorKind::Required { property } => {
            let member = property.as_str().unwrap_or_default();
            let path = format!("{here}/{}", escaped(member));
            faults.push(at(
                &path,
                FaultCode::Missing,
                format!("{member} has to be given"),
            ));
        }
        ValidationErrorKind::AdditionalProperties { unexpected }
        | ValidationErrorKind::UnevaluatedProperties { unexpected } => {
            for member in unexpected {
                let path = format!("{here}/{}", escaped(member));
                faults.push(at(
                    &path,
                    FaultCode::UnknownMember,
                    format!("there is no member {member:?} here"),
                ));
            }
        }
        ValidationErrorKind::AnyOf { context } | ValidationErrorKind::OneOfNotValid { context } => {
            match meant(context, value) {
                Some(branch) => branch
                    .iter()
                    .for_each(|inner| collect(inner, schema, faults)),
                None => faults.push(at(
                    here,
                    FaultCode::WrongForm,
                    format!("{name} has none of its forms"),
                )),
            }
        }
        // Null is unknown, and so the same as absent.
        _ if value.is_null() => {
            faults.push(at(
                here,
                FaultCode::Missing,
                format!("{name} has to be given"),
            ));
        }
        kind => {
            let (code, detail) = sentences::of(kind, &name, value, declared(error, schema));
            faults.push(at(here, code, detail));
        }
    }
}

/// What the schema declares of the value that a fault is of.
fn declared<'a>(error: &ValidationError<'_>, schema: &'a Value) -> &'a Value {
    let keyword = error.schema_path().as_str();
    let of_value = keyword.rsplit_once('/').map(|(of_value, _)| of_value);
    of_value
        .and_then(|path| schema.pointer(path))
        .unwrap_or(&Value::Null)
}

/// The branch of a choice that a value was meant for: never the null of an optional member, and of
/// several the one that it comes nearest to.
fn meant<'a>(
    branches: &'a [Vec<ValidationError<'static>>],
    value: &Value,
) -> Option<&'a Vec<ValidationError<'static>>> {
    let for_null = |branch: &[ValidationError<'_>]| {
        matches!(branch, [only] if matches!(
            only.kind(), ValidationErrorKind::Type { kind: TypeKind::Single(JsonType::Null) }
        ))
    };
    let real: Vec<_> = branches.iter().filter(|branch| !for_null(branch)).collect();
    match real.as_slice() {
        [only] => Some(only),
        _ if value.is_object() || value.is_array() => {
            let least = real.iter().map(|b| b.len()).min()?;
            let mut nearest = real.into_iter().filter(|b| b.len() == least);
            nearest.next().filter(|_| nearest.next().is_none())
        }
        _ => None,
    }
}

/// Numbers with more places than their member keeps, wherever they stand.
fn too_fine(value: &Value, path: &mut String, faults: &mut Vec<Fault>) {
    let step = |name: &str, member: &Value, path: &mut String, faults: &mut Vec<Fault>| {
        let length = path.len();
        path.push('/');
        path.push_str(&escaped(name));
        too_fine(member, path, faults);
        path.truncate(length);
    };
    match value {
        Value::Array(items) => {
            for (place, item) in items.iter().enumerate() {
                step(&place.to_string(), item, path, faults);
            }
        }
        Value::Object(map) => {
            for (name, member) in map {
                step(name, member, path, faults);
                if let (Some(number), Some((_, _, Some(places)))) = (member.as_f64(), bounds(name))
                    && let Err(e) = exact(number, places)
                {
                    let pointer = format!("#{path}/{}", escaped(name));
                    faults.push(Fault {
                        pointer,
                        code: FaultCode::TooFine,
                        detail: e.to_string(),
                    });
                }
            }
        }
        _ => {}
    }
}

/// A member's name as a segment of a JSON pointer.
fn escaped(name: &str) -> String {
    name.replace('~', "~0").replace('/', "~1")
}

#[cfg(test)]
mod tests;
