//! Examples of bodies and answers, one for each type: taken from the invented shop of the demo, lists
//! cut short. They stand in `openapi/examples.json` by the name of the schema, those of tables by the
//! operation; answers of several operations that are of one schema by operation and status.

use std::sync::LazyLock;

use serde_json::{Map, Value};

use super::named;

static EXAMPLES: LazyLock<Map<String, Value>> = LazyLock::new(|| {
    let text = include_str!("../../../../openapi/examples.json");
    serde_json::from_str(text).unwrap_or_default()
});

/// Puts them beside the schemas of all bodies and answers.
pub(super) fn complete(document: &mut Value) {
    for item in document["paths"].as_object_mut().into_iter().flatten() {
        for operation in item.1.as_object_mut().into_iter().flatten().map(|(_, o)| o) {
            let id = operation["operationId"].clone();
            let id = id.as_str().unwrap_or_default();
            if let Some(content) = operation.pointer_mut("/requestBody/content") {
                beside(content, id);
            }
            let responses = operation["responses"].as_object_mut();
            for (status, answer) in responses.into_iter().flatten() {
                if let Some(content) = answer.get_mut("content") {
                    beside(content, &answered(id, status));
                }
            }
        }
    }
}

/// Under what the example of one operation's answer stands: `issue.201`.
fn answered(operation: &str, status: &str) -> String {
    format!("{operation}.{status}")
}

/// What stands under a name of its own comes before what all of the schema share.
fn beside(content: &mut Value, own: &str) {
    for (_, media) in content.as_object_mut().into_iter().flatten() {
        let schema = media["schema"]["$ref"].as_str().and_then(named);
        let of_schema = || schema.and_then(|name| EXAMPLES.get(name));
        if let Some(example) = EXAMPLES.get(own).or_else(of_schema) {
            media["example"] = example.clone();
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use jsonschema::Draft;
    use plugwell_domain::gtin::Gtin;
    use serde_json::json;

    use super::super::{document, operations};
    use super::*;

    /// Every media type of every body and answer of the document, with where it stands.
    fn contents() -> Vec<(String, &'static Value)> {
        let mut found = Vec::new();
        for (method, path, operation) in operations(document()) {
            let answers = operation["responses"].as_object().into_iter().flatten();
            let parts = answers
                .map(|(status, answer)| (status.as_str(), answer))
                .chain([("body", &operation["requestBody"])]);
            for (part, value) in parts {
                let content = value["content"].as_object().into_iter().flatten();
                found.extend(
                    content.map(|(kind, media)| (format!("{method} {path} {part} {kind}"), media)),
                );
            }
        }
        for (name, answer) in document()["components"]["responses"].as_object().unwrap() {
            let content = answer["content"].as_object().into_iter().flatten();
            found.extend(content.map(|(kind, media)| (format!("{name} {kind}"), media)));
        }
        found
    }

    #[test]
    fn every_body_and_every_answer_of_json_has_an_example() {
        let without: Vec<String> = contents()
            .into_iter()
            .filter(|(_, media)| media["schema"]["$ref"].is_string() && media["example"].is_null())
            .map(|(place, _)| place)
            .collect();
        assert!(
            without.is_empty(),
            "put an example under the schema's name into openapi/examples.json: {without:#?}"
        );
    }

    #[test]
    fn every_example_keeps_to_its_schema() {
        let mut seen = 0;
        for (place, media) in contents() {
            if media["example"].is_null() {
                continue;
            }
            let mut schema = media["schema"].clone();
            schema["components"] = json!({ "schemas": document()["components"]["schemas"] });
            let validator = jsonschema::options()
                .with_draft(Draft::Draft202012)
                .should_validate_formats(true)
                .with_format("gtin", |text: &str| text.parse::<Gtin>().is_ok())
                .build(&schema)
                .unwrap_or_else(|e| panic!("{place}: {e}"));
            let faults: Vec<String> = validator
                .iter_errors(&media["example"])
                .map(|e| format!("{} {e}", e.instance_path()))
                .collect();
            assert!(faults.is_empty(), "{place}: {faults:#?}");
            seen += 1;
        }
        assert!(seen > 150, "{seen} examples");
    }

    #[test]
    fn what_an_operation_answers_is_what_it_does() {
        let answer = |path: &str, status: &str| {
            let item = &document()["paths"][format!("/v1/stock/{path}")];
            item["post"]["responses"][status]["content"]["application/json"]["example"].clone()
        };
        for (path, kind) in [
            ("receipts", "receipt"),
            ("issues", "issue"),
            ("returns", "return"),
            ("transfers", "transfer"),
            ("scrappings", "scrapping"),
            ("reversals", "reversal"),
        ] {
            assert_eq!(answer(path, "201")["movements"][0]["kind"], kind, "{path}");
        }
        assert_eq!(answer("reservations", "201")["state"], "open");
        let released = answer("reservations/{id}/release", "200");
        assert_eq!(released["state"], "released");
    }

    #[test]
    fn no_example_is_left_over() {
        let mut used = BTreeSet::new();
        for (_, media) in contents() {
            let schema = media["schema"]["$ref"].as_str().and_then(named);
            used.extend(schema.map(str::to_owned));
        }
        for (_, _, operation) in operations(document()) {
            let id = operation["operationId"].as_str().unwrap_or_default();
            let statuses = operation["responses"].as_object().into_iter().flatten();
            used.extend(statuses.map(|(status, _)| answered(id, status)));
            used.insert(id.to_owned());
        }
        let left: Vec<&String> = EXAMPLES
            .keys()
            .filter(|name| !used.contains(*name))
            .collect();
        assert!(left.is_empty(), "{left:?}");
    }
}
