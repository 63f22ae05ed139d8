//! The description of it all: the same served, printed and committed, and true.

use std::collections::BTreeSet;

use plugwell_tests::shop::command;
use plugwell_tests::{Who, shared};
use serde_json::Value;

const COMMITTED: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/openapi.json");

#[test]
fn served_printed_and_committed_are_the_same() {
    let committed =
        std::fs::read(COMMITTED).expect("openapi/openapi.json: make it with `plugwell openapi`");
    let printed = command(&["openapi"]).output().expect("the program runs");
    assert!(printed.status.success(), "{printed:?}");
    assert!(
        printed.stdout == committed,
        "openapi/openapi.json is old: write what `plugwell openapi` prints into it"
    );
    for shop in shared() {
        let served = shop.get(Who::Nobody, "/openapi.json").expect(200);
        assert_eq!(served.header("content-type"), Some("application/json"));
        assert!(served.body == committed, "served and committed differ");
    }
}

#[test]
fn the_table_of_problems_is_that_of_the_code() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../openapi/problems.md");
    let committed = std::fs::read_to_string(path)
        .expect("openapi/problems.md: make it with `plugwell openapi --problems`");
    let printed = command(&["openapi", "--problems"])
        .output()
        .expect("the program runs");
    assert!(
        printed.stdout == committed.as_bytes(),
        "openapi/problems.md is old: write what `plugwell openapi --problems` prints into it"
    );
    let lines: Vec<&str> = committed
        .lines()
        .filter(|l| l.starts_with("| 4") || l.starts_with("| 5"))
        .collect();
    let document = document();
    let listed = document["x-problems"].as_array().expect("the problems");
    assert_eq!(lines.len(), listed.len());
    for (line, problem) in lines.iter().zip(listed) {
        for member in ["title", "cause", "cure"] {
            let said = problem[member].as_str().expect("a sentence");
            assert!(line.contains(&format!("| {said} |")), "{line}");
        }
    }
}

fn document() -> Value {
    let shop = shared().next().expect("a shop");
    shop.get(Who::Nobody, "/openapi.json").expect(200).json
}

/// Every reference in a value.
fn references(value: &Value, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => {
            found.extend(map.get("$ref").and_then(Value::as_str).map(str::to_owned));
            map.values().for_each(|inner| references(inner, found));
        }
        Value::Array(items) => items.iter().for_each(|inner| references(inner, found)),
        _ => {}
    }
}

#[test]
fn the_document_is_whole() {
    let document = document();
    assert_eq!(document["openapi"], "3.1.0");
    let mut used = BTreeSet::new();
    references(&document, &mut used);
    assert!(used.len() > 20, "{used:?}");
    for reference in &used {
        let pointer = reference
            .strip_prefix('#')
            .unwrap_or_else(|| panic!("{reference} leads elsewhere"));
        assert!(
            document.pointer(pointer).is_some(),
            "{reference} leads nowhere"
        );
    }
    let mut operations = BTreeSet::new();
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let id = operation["operationId"]
                .as_str()
                .unwrap_or_else(|| panic!("{method} {path} has no name"));
            assert!(operations.insert(id.to_owned()), "{id} stands twice");
            let said = operation["summary"]
                .as_str()
                .or(operation["description"].as_str());
            assert!(
                said.is_some_and(|text| text.len() > 5),
                "{method} {path} says nothing"
            );
            let responses = operation["responses"].as_object().unwrap();
            assert!(
                responses.keys().any(|status| status.starts_with('2')),
                "{method} {path}: {responses:?}"
            );
            for name in path.split('/').filter(|segment| segment.starts_with('{')) {
                let name = name.trim_start_matches('{').split('}').next();
                let parameters = operation["parameters"].as_array().into_iter().flatten();
                assert!(
                    parameters
                        .clone()
                        .any(|p| p["in"] == "path" && p["name"].as_str() == name),
                    "{method} {path}: {name:?}"
                );
            }
        }
    }
    assert!(operations.len() >= 45, "{operations:?}");
}

#[test]
fn the_problems_are_a_closed_documented_list() {
    let document = document();
    let listed = document["x-problems"].as_array().expect("the problems");
    for problem in listed {
        for member in ["title", "cause", "cure"] {
            assert!(
                problem[member].as_str().is_some_and(|text| text.len() > 5),
                "{member}: {problem}"
            );
        }
    }
    for code in [
        "invalid",
        "bad_json",
        "unauthorized",
        "forbidden",
        "not_found",
        "method_not_allowed",
        "unsupported_media_type",
        "payload_too_large",
        "once_key_missing",
        "once_key_reused",
        "precondition_required",
        "stale",
        "duplicate_part",
        "has_history",
        "in_use",
        "own_token",
        "not_enough_stock",
        "scrap_is_final",
        "wrong_currency",
        "internal",
    ] {
        let urn = format!("urn:plugwell:problem:{code}");
        assert!(
            listed.iter().any(|problem| problem["type"] == urn.as_str()),
            "{code} is in the document"
        );
    }
}

#[test]
fn answers_have_the_members_that_the_document_says() {
    let document = document();
    let described = |name: &str| -> BTreeSet<String> {
        let schema = &document["components"]["schemas"][name];
        assert!(schema["properties"].is_object(), "{name}: {schema}");
        schema["properties"]
            .as_object()
            .unwrap()
            .keys()
            .cloned()
            .collect()
    };
    let members = |value: &Value| -> BTreeSet<String> {
        value.as_object().unwrap().keys().cloned().collect()
    };
    for shop in shared() {
        let body = plugwell_tests::bodies::plug(&plugwell_tests::bodies::unique("DOC"));
        let plug = shop.post(Who::Clerk, "/v1/plugs", &body).expect(201);
        assert_eq!(members(&plug.json), described("Plug"));
        let need = shop
            .post(
                Who::Reader,
                "/v1/requirements",
                &plugwell_tests::bodies::build(),
            )
            .expect(200);
        assert_eq!(members(&need.json), described("Requirement"));
        let scale =
            plugwell_tests::bodies::heat_scale(&plugwell_tests::bodies::unique("Doc"), "one");
        let scale = shop.post(Who::Clerk, "/v1/heat-scales", &scale).expect(201);
        assert_eq!(members(&scale.json), described("HeatScale"));
        let place = plugwell_tests::bodies::bin(shop, &plugwell_tests::bodies::unique("bin"));
        let place = shop
            .get(Who::Reader, &format!("/v1/stock/places/{place}"))
            .expect(200);
        assert_eq!(members(&place.json), described("Place"));
        let moved = plugwell_tests::bodies::receive(shop, &plug.text("id"), &place.text("id"), 4);
        assert_eq!(members(&moved), described("Movement"));
    }
}
