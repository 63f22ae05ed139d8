//! The OpenAPI 3.1 document, put together from the handlers, the types and the tables that they
//! rest on. The same document checks the bodies that come in.

mod described;
mod events;
mod examples;
mod failures;
mod links;
#[cfg(test)]
mod loosened;
mod operations;
mod shaping;
mod wording;

use std::collections::BTreeSet;
use std::sync::LazyLock;

use actix_web::App;
use actix_web::web::Bytes;
use serde_json::{Value, json};
use utoipa_actix_web::AppExt;

use crate::http::problem::CODES;
use crate::http::routes::{self, Route};

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

/// Whether an operation reads anything from its query.
pub fn takes_query(route: &Route) -> bool {
    let operation = &document()["paths"][route.path][route.method.to_lowercase()];
    let mut parameters = operation["parameters"].as_array().into_iter().flatten();
    parameters.any(|parameter| parameter["in"] == "query")
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

/// The components that some lead to, themselves among them.
pub(super) fn reached(schemas: &Value, mut open: Vec<String>) -> BTreeSet<String> {
    let mut seen = BTreeSet::new();
    while let Some(name) = open.pop() {
        if !seen.contains(&name) {
            shaping::referred(&schemas[&name], &mut open);
            seen.insert(name);
        }
    }
    seen
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
    document["servers"] =
        json!([{ "url": "/", "description": "The service that this document comes from." }]);
    document["tags"] = tags();
    let components = &mut document["components"];
    if !components["schemas"].is_object() {
        components["schemas"] = json!({});
    }
    failures::add(components);
    shaping::flatten(components);
    shaping::inline_scalars(&mut document);
    bodies_that_may_be_left_out(&mut document);
    described::describe(&mut document["components"]["schemas"]);
    shaping::make_patches(&mut document["components"]["schemas"]);
    shaping::close_requests(&mut document);
    operations::complete(&mut document);
    links::complete(&mut document);
    shaping::prune(&mut document);
    events::add_shared(&mut document["components"]);
    document["webhooks"] = events::webhooks();
    failures::keep_used(&mut document);
    examples::complete(&mut document);
    document["x-problems"] = CODES.iter().map(|code| failures::told(code)).collect();
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

fn information() -> Value {
    json!({
        "title": "plugwell",
        "summary": "Parts cross-reference and inventory for spark plugs",
        "description": INTRODUCTION,
        "version": env!("CARGO_PKG_VERSION"),
        "contact": { "name": "Whoever runs the service in this shop" },
        // No licence is granted with the program.
        "license": { "name": "All rights reserved", "identifier": "LicenseRef-All-Rights-Reserved" },
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

What moves or reserves stock takes `Idempotency-Key` (draft-ietf-httpapi-idempotency-key-header-07): \
the same key with the same request gets the first answer again, byte for byte, with \
`Once-Only-Replayed: true`. Single records carry an `ETag`; \
PUT, PATCH and DELETE need it as `If-Match`. Lists come in pages, `?limit=` and `&cursor=`.

Callers from other machines are limited, by token and by address. Answers then carry `RateLimit` and \
`RateLimit-Policy` as the IETF's draft-ietf-httpapi-ratelimit-headers-10 writes them; what is too much \
is answered 429 with `Retry-After`, and nothing was done. A request counts for `x-cost` usual ones. A \
`traceparent` (W3C Trace Context) is taken over into the log.
What happens is told as CloudEvents 1.0, at least once each: by `/v1/changes`, and to webhooks by \
requests that are signed by the Standard Webhooks scheme. `webhooks` below lists every type of event \
with its data; the number at the end of a type is the version of that data.
Every GET is answered to HEAD as well, and OPTIONS tells the methods of a path in `Allow`. Answers are \
compressed by gzip or zstd where `Accept-Encoding` asks for it. An operation that will go says so \
beforehand with `Deprecation` (RFC 9745) and `Sunset` (RFC 8594), and is marked `deprecated` here. \
Examples are of an invented shop; their lists are cut short.

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
            "readings",
            "Tuning days and what was read from their plugs."
        ),
        tag(
            "fitted sets",
            "What is in which engine since when, and what is due."
        ),
        tag(
            "orders",
            "Purchase orders and what each part is reordered by."
        ),
        tag(
            "stock",
            "Places, lots, levels, movements and reservations: double entry, append only."
        ),
        tag(
            "reports",
            "What the stock is worth, and what the books tell over time: as JSON or as tables."
        ),
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

    /// What a schema says of itself, or of what it refers to.
    fn is_described(schema: &Value) -> bool {
        let said = |s: &Value| s["description"].as_str().is_some_and(|d| d.len() > 2);
        let target = schema["$ref"].as_str().and_then(named);
        said(schema)
            || target.is_some_and(|name| said(&document()["components"]["schemas"][name]))
            || ["oneOf", "anyOf"].iter().any(|choices| {
                let choices = schema[*choices].as_array();
                choices.is_some_and(|all| all.iter().any(is_described))
            })
    }

    #[test]
    fn every_type_every_member_and_every_parameter_is_described() {
        let mut bare = Vec::new();
        for (name, schema) in document()["components"]["schemas"].as_object().unwrap() {
            if !is_described(schema) {
                bare.push(name.clone());
            }
            let members = schema["properties"].as_object().into_iter().flatten();
            let bare_ones = members.filter(|(_, member)| !is_described(member));
            bare.extend(bare_ones.map(|(member, _)| format!("{name}.{member}")));
        }
        for (method, path, operation) in operations(document()) {
            let parameters = operation["parameters"].as_array().into_iter().flatten();
            let bare_ones = parameters.filter(|p| !is_described(p));
            bare.extend(bare_ones.map(|p| format!("{method} {path} {}", p["name"])));
        }
        assert!(bare.is_empty(), "{bare:#?}");
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
            let description = operation["description"].as_str().unwrap_or_default();
            let told = ["Takes the role `", "without a token", "own machine"];
            assert!(
                told.iter().any(|part| description.contains(part)),
                "{method} {path}"
            );
        }
    }
}
