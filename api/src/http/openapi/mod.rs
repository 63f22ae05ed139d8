//! The OpenAPI 3.1 document, put together from the handlers, the types and the tables that they
//! rest on. The same document checks the bodies that come in.

mod described;
mod events;
mod operations;
mod shaping;

use std::collections::BTreeSet;
use std::sync::LazyLock;

use actix_web::App;
use actix_web::web::Bytes;
use plugwell_domain::fault::{Fault, FaultCode};
use serde_json::{Value, json};
use utoipa::{PartialSchema, ToSchema};
use utoipa_actix_web::AppExt;

use crate::http::problem::{CODES, Code};
use crate::http::routes;
use crate::service::refusal::RowFault;

static DOCUMENT: LazyLock<Value> = LazyLock::new(assembled);
static TEXT: LazyLock<Bytes> = LazyLock::new(|| {
    let mut text = serde_json::to_vec_pretty(&*DOCUMENT).unwrap_or_default();
    text.push(b'\n');
    text.into()
});

/// The document.
pub fn document() -> &'static Value {
    &DOCUMENT
}

/// The document as it is printed, served and committed.
pub fn text() -> Bytes {
    TEXT.clone()
}

/// Every operation of a document: method, path and what is said of it.
pub fn operations(document: &Value) -> impl Iterator<Item = (&str, &str, &Value)> {
    let paths = document["paths"].as_object().into_iter().flatten();
    paths.flat_map(|(path, item)| {
        item.as_object()
            .into_iter()
            .flatten()
            .map(move |(method, operation)| (method.as_str(), path.as_str(), operation))
    })
}

/// The names of the schemas that JSON bodies are put to.
pub fn request_schemas(document: &Value) -> BTreeSet<String> {
    let contents = operations(document)
        .filter_map(|(_, _, operation)| operation["requestBody"]["content"].as_object());
    let schemas = contents
        .flat_map(|content| content.values())
        .filter_map(|media| media["schema"]["$ref"].as_str());
    schemas.filter_map(named).map(str::to_owned).collect()
}

/// The component that a reference points to.
fn named(reference: &str) -> Option<&str> {
    reference.strip_prefix("#/components/schemas/")
}

fn reference(name: &str) -> Value {
    json!({ "$ref": format!("#/components/schemas/{name}") })
}

fn assembled() -> Value {
    let (_, handlers) = App::new()
        .into_utoipa_app()
        .configure(routes::register)
        .split_for_parts();
    let mut document = serde_json::to_value(handlers).unwrap_or_default();
    document["openapi"] = "3.1.0".into();
    document["info"] = information();
    document["tags"] = tags();
    let components = &mut document["components"];
    if !components["schemas"].is_object() {
        components["schemas"] = json!({});
    }
    add_errors(components);
    shaping::flatten(components);
    shaping::inline_scalars(&mut document);
    bodies_that_may_be_left_out(&mut document);
    described::describe(&mut document["components"]["schemas"]);
    shaping::make_patches(&mut document["components"]["schemas"]);
    shaping::close_requests(&mut document);
    operations::complete(&mut document);
    shaping::prune(&mut document);
    events::add_shared(&mut document["components"]);
    document["webhooks"] = events::webhooks();
    document["x-problems"] = CODES.iter().map(|code| told(code)).collect();
    document
}

/// A body that may be left out is not `null`: it has the schema of what it says when it is there.
fn bodies_that_may_be_left_out(document: &mut Value) {
    let paths = document["paths"].as_object_mut().into_iter().flatten();
    let operations = paths.filter_map(|(_, item)| item.as_object_mut());
    for operation in operations.flat_map(|item| item.values_mut()) {
        let contents = operation.pointer_mut("/requestBody/content");
        for media in contents
            .and_then(Value::as_object_mut)
            .into_iter()
            .flat_map(|c| c.values_mut())
        {
            let choices = media["schema"]["oneOf"].as_array();
            let real = choices.and_then(|choices| choices.iter().find(|c| c["$ref"].is_string()));
            if let Some(real) = real.cloned() {
                media["schema"] = real;
            }
        }
    }
}

fn told(code: &Code) -> Value {
    json!({ "type": code.urn(), "status": code.status, "title": code.title, "cause": code.cause, "cure": code.cure })
}

fn information() -> Value {
    json!({
        "title": "plugwell",
        "summary": "Parts cross-reference and inventory for spark plugs",
        "description": INTRODUCTION,
        "version": env!("CARGO_PKG_VERSION"),
        "license": { "name": env!("CARGO_PKG_LICENSE"), "identifier": env!("CARGO_PKG_LICENSE") },
    })
}

const INTRODUCTION: &str = "\
A tuner describes a build; the service says what the plug must be and why, and which parts on the \
shelf meet it right now. The clerk receives, issues and scraps, and the next match tells the truth.

Quantities are SI numbers with the unit in the member's name; lengths are exact to 0.0001 mm, money \
is whole minor units. `null` is unknown: nobody has established it, and it is never a default. In \
POST and PUT an absent member is null; PATCH is a JSON merge patch. Unknown members are refused.

Every error is `application/problem+json` (RFC 9457); its `type` is one of `x-problems`, all faults \
of a request stand in `errors` at once, each with a pointer. Refusals come in this order: 401, 403, \
404, 405, 415, 413, a missing once-only key, faults, 422, 428, 412, 409.

What moves or reserves stock takes `Idempotency-Key`: the same key with the same request gets the \
first answer again, byte for byte, with `Once-Only-Replayed: true`. Single records carry an `ETag`; \
PUT, PATCH and DELETE need it as `If-Match`. Lists come in pages, `?limit=` and `&cursor=`.

What happens is told as CloudEvents 1.0, at least once each: by `/v1/changes`, and to webhooks by \
requests that are signed by the Standard Webhooks scheme. `webhooks` below lists every type of event \
with its data; the number at the end of a type is the version of that data.

Figures that are judgements stand in the policy with what they rest on. Reach, projection and \
clearance are confirmed with the head's maker; the plug maker's sheet and the kit's instructions \
stand above this service's estimate.";

fn tags() -> Value {
    let tag = |name: &str, description: &str| json!({ "name": name, "description": description });
    json!([
        tag("catalogue", "Plug records and makers' heat scales."),
        tag("builds", "Cylinder heads and engines as built."),
        tag(
            "matching",
            "From a build to what it needs, and to the plugs that meet it."
        ),
        tag(
            "pictures",
            "What is drawn, and what is printed for whoever fits a set."
        ),
        tag(
            "reports",
            "What the stock is worth, and what became of it: as JSON or as tables."
        ),
        tag(
            "stock",
            "Places, lots, levels, movements and reservations: double entry, append only."
        ),
        tag("reports", "What the books tell over time."),
        tag("exchange", "CSV in and out."),
        tag(
            "changes",
            "What happened: as a feed, and as signed requests to whoever wants to be told."
        ),
        tag("shop", "Policy and tokens."),
        tag(
            "health",
            "For supervisors, scrapers and generators of clients."
        ),
    ])
}

/// The one form of errors, and who may.
fn add_errors(components: &mut Value) {
    let problem = json!({
        "type": "object",
        "description": "An error (RFC 9457). Some kinds have further members, such as `available`.",
        "properties": {
            "type": { "type": "string", "description": "Which kind; a closed list.", "enum": CODES.iter().map(|code| code.urn()).collect::<Vec<_>>() },
            "title": { "type": "string", "description": "The same for every occurrence of the kind." },
            "status": { "type": "integer", "description": "The status of the answer." },
            "detail": { "type": "string", "description": "A sentence on this occurrence." },
            "instance": { "type": "string", "format": "uri", "description": "The request, as it is found in the log." },
            "errors": {
                "type": "array",
                "items": { "oneOf": [reference("Fault"), reference("RowFault")] },
                "description": "Every fault of the request; of a table the first thousand.",
            },
            "error_count": { "type": "integer", "description": "All faults of a table, counted." },
        },
        "required": ["type", "title", "status", "detail"],
    });
    let as_value = |schema| serde_json::to_value(schema).unwrap_or_default();
    components["schemas"][Fault::name().as_ref()] = as_value(Fault::schema());
    components["schemas"][FaultCode::name().as_ref()] = as_value(FaultCode::schema());
    components["schemas"][RowFault::name().as_ref()] = as_value(RowFault::schema());
    components["schemas"]["Problem"] = problem;
    components["responses"]["Problem"] = json!({
        "description": "An error.",
        "content": { "application/problem+json": { "schema": reference("Problem") } },
    });
    components["securitySchemes"]["bearer"] = json!({
        "type": "http", "scheme": "bearer", "description": "A token of this shop; its role says what it may do.",
    });
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A document of nothing but the schemas of some types, taken the whole way.
    pub(crate) fn of_types(
        mut schemas: Vec<(String, utoipa::openapi::RefOr<utoipa::openapi::Schema>)>,
    ) -> Value {
        schemas.sort_by(|a, b| a.0.cmp(&b.0));
        let mut document = json!({ "components": { "schemas": {} }, "paths": {} });
        for (place, (name, schema)) in schemas.into_iter().enumerate() {
            let content = json!({ "application/json": { "schema": reference(&name) } });
            document["paths"][format!("/{place}")]["post"]["requestBody"]["content"] = content;
            document["components"]["schemas"][name] = serde_json::to_value(schema).unwrap();
        }
        shaping::flatten(&mut document["components"]);
        shaping::inline_scalars(&mut document);
        described::describe(&mut document["components"]["schemas"]);
        shaping::make_patches(&mut document["components"]["schemas"]);
        shaping::close_requests(&mut document);
        document
    }

    fn references<'a>(value: &'a Value, found: &mut Vec<&'a str>) {
        match value {
            Value::Array(items) => items.iter().for_each(|item| references(item, found)),
            Value::Object(map) => {
                found.extend(map.get("$ref").and_then(Value::as_str));
                map.values().for_each(|member| references(member, found));
            }
            _ => {}
        }
    }

    #[test]
    fn every_reference_leads_somewhere() {
        let mut found = Vec::new();
        references(document(), &mut found);
        assert!(!found.is_empty());
        for target in found {
            let pointer = target.strip_prefix('#').unwrap();
            assert!(document().pointer(pointer).is_some(), "{target}");
        }
    }

    #[test]
    fn the_document_is_the_same_each_time() {
        assert_eq!(
            serde_json::to_string(&assembled()).unwrap(),
            serde_json::to_string(&assembled()).unwrap()
        );
    }

    #[test]
    fn every_operation_says_who_may_and_how_it_fails() {
        for (method, path, operation) in operations(document()) {
            assert!(operation["x-least-role"].is_string(), "{method} {path}");
            assert!(
                operation["responses"]["default"].is_object(),
                "{method} {path}"
            );
            assert!(operation["tags"][0].is_string(), "{method} {path}");
            assert!(operation["summary"].is_string(), "{method} {path}");
        }
    }
}
