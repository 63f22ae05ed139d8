//! The one form of errors, the answers that bear it by their status, and who may.

use std::collections::BTreeMap;

use plugwell_domain::fault::{Fault, FaultCode};
use serde_json::{Value, json};
use utoipa::{PartialSchema, ToSchema};

use super::reference;
use crate::http::problem::{CODES, Code, INTERNAL, MEDIA_TYPE};
use crate::service::refusal::RowFault;

/// The drafts that headers follow: names and forms of them may change until they are standards.
pub(super) const ONCE_DRAFT: &str = "draft-ietf-httpapi-idempotency-key-header-07";
const RATE_DRAFT: &str = "draft-ietf-httpapi-ratelimit-headers-10";

/// A kind of problem as the list of all tells it.
pub(super) fn told(code: &Code) -> Value {
    json!({ "type": code.urn(), "status": code.status, "title": code.title, "cause": code.cause, "cure": code.cure })
}

/// The answer with a status: `components/responses/Refused409`.
pub(super) fn answer(status: u16) -> Value {
    json!({ "$ref": format!("#/components/responses/Refused{status}") })
}

/// A problem of a kind.
fn example(code: &Code) -> Value {
    json!({
        "type": code.urn(), "title": code.title, "status": code.status, "detail": code.cause,
        "instance": "urn:uuid:0191d5c2-6f0a-7c3e-9b1d-2f4a6c8e0b13",
    })
}

/// The content of an answer that a handler tells of: an example of the first kind that it names, or of
/// the first of the status.
pub(super) fn content(status: &str, said: &str) -> Value {
    let named = said.split('`').skip(1).step_by(2).find_map(Code::named);
    let of_status = || CODES.iter().find(|code| code.status.to_string() == status);
    let example = named.or_else(|| of_status().copied()).map(example);
    json!({ MEDIA_TYPE: { "schema": reference("Problem"), "example": example } })
}

/// Adds them to the components.
pub(super) fn add(components: &mut Value) {
    let as_value = |schema| serde_json::to_value(schema).unwrap_or_default();
    components["schemas"][Fault::name().as_ref()] = as_value(Fault::schema());
    components["schemas"][FaultCode::name().as_ref()] = as_value(FaultCode::schema());
    components["schemas"][RowFault::name().as_ref()] = as_value(RowFault::schema());
    components["schemas"]["Problem"] = problem();
    components["schemas"]["LineOfCount"] = line_of_count();
    components["schemas"]["PlaceOfCount"] = place_of_count();
    components["responses"]["Problem"] = json!({
        "description": "Another error.",
        "content": { MEDIA_TYPE: { "schema": reference("Problem"), "example": example(&INTERNAL) } },
    });
    let mut by_status: BTreeMap<u16, Vec<&Code>> = BTreeMap::new();
    for code in CODES {
        by_status.entry(code.status).or_default().push(code);
    }
    for (status, codes) in by_status {
        components["responses"][format!("Refused{status}")] = of_status(status, &codes);
    }
    components["securitySchemes"]["bearer"] = json!({
        "type": "http", "scheme": "bearer", "description": "A token of this shop; its role says what it may do.",
    });
}

/// Leaves answers out that no operation gives.
pub(super) fn keep_used(document: &mut Value) {
    let paths = format!("{}{}", document["paths"], document["webhooks"]);
    if let Some(answers) = document["components"]["responses"].as_object_mut() {
        answers.retain(|name, _| paths.contains(&format!("#/components/responses/{name}\"")));
    }
}

/// What all kinds of a status have in common, with the first of them for an example.
fn of_status(status: u16, codes: &[&Code]) -> Value {
    let kinds: Vec<String> = codes
        .iter()
        .map(|code| format!("`{}`: {}.", code.word, code.title))
        .collect();
    let first = codes.first().map(|code| example(code));
    let mut answer = json!({
        "description": kinds.join(" "),
        "content": { MEDIA_TYPE: { "schema": reference("Problem"), "example": first } },
    });
    for (name, description) in headers(status) {
        answer["headers"][name] =
            json!({ "description": description, "schema": { "type": "string" } });
    }
    answer
}

fn headers(status: u16) -> Vec<(&'static str, String)> {
    let rate = |what: &str| format!("{what} ({RATE_DRAFT}).");
    match status {
        401 => vec![(
            "WWW-Authenticate",
            "`Bearer`, and what is wrong with the token.".into(),
        )],
        405 => vec![("Allow", "The methods that the path takes.".into())],
        429 => vec![
            ("Retry-After", "Seconds to wait.".into()),
            ("RateLimit", rate("What is left of the allowance")),
            ("RateLimit-Policy", rate("The allowance")),
        ],
        503 => vec![("Retry-After", "Seconds to wait.".into())],
        _ => Vec::new(),
    }
}

fn problem() -> Value {
    json!({
        "type": "object",
        "description": "An error (RFC 9457). The members behind `error_count` are of some kinds only, which they name.",
        "properties": {
            "type": { "type": "string", "description": "Which kind; a closed list.", "enum": CODES.iter().map(|code| code.urn()).collect::<Vec<_>>() },
            "title": { "type": "string", "description": "The same for every occurrence of the kind." },
            "status": { "type": "integer", "description": "The status of the answer.", "minimum": 400, "maximum": 599 },
            "detail": { "type": "string", "description": "A sentence on this occurrence." },
            "instance": { "type": "string", "format": "uri", "description": "The request, as it is found in the log." },
            "errors": {
                "type": "array",
                "items": { "oneOf": [reference("Fault"), reference("RowFault")] },
                "description": "Every fault of the request; of a table the first thousand.",
            },
            "error_count": { "type": "integer", "description": "All faults of a table, counted.", "minimum": 1 },
            "available": { "type": "integer", "description": "`not_enough_stock`: plugs that the command may take." },
            "on_hand": { "type": "integer", "description": "`not_enough_stock`: plugs of the part in bins." },
            "equivalents": {
                "type": "array",
                "items": reference("InStead"),
                "description": "`not_enough_stock`: what is equal to the part and on the shelf; where it was looked for.",
            },
            "fails": {
                "type": "array",
                "items": reference("Failed"),
                "description": "`does_not_fit`: the musts that the part fails.",
            },
            "lines": {
                "type": "array",
                "items": reference("LineOfCount"),
                "description": "`count_incomplete`, `recount_asked`, `count_overtaken`: the lines that are to be counted.",
            },
            "places": {
                "type": "array",
                "items": reference("PlaceOfCount"),
                "description": "`place_being_counted`: which count has which bin.",
            },
            "oldest": { "type": "string", "description": "`cursor_gone`: a cursor to begin again with." },
            "policy": { "type": "string", "description": "`rate_limited`: the policy of `RateLimit-Policy` that is used up." },
        },
        "required": ["type", "title", "status", "detail", "instance"],
    })
}

fn line_of_count() -> Value {
    json!({
        "type": "object",
        "description": "A line of a count that a problem names.",
        "properties": {
            "lot_id": { "type": "string", "format": "uuid", "description": "The lot." },
            "place_id": { "type": "string", "format": "uuid", "description": "The bin." },
            "missing": { "type": "integer", "description": "`count_overtaken`: plugs that were found missing." },
            "on_hand": { "type": "integer", "description": "`count_overtaken`: plugs that the books still have." },
        },
        "required": ["lot_id", "place_id"],
    })
}

fn place_of_count() -> Value {
    json!({
        "type": "object",
        "description": "A bin that is being counted.",
        "properties": {
            "place_id": { "type": "string", "format": "uuid", "description": "The bin." },
            "code": { "type": "string", "description": "Its code." },
            "name": { "type": "string", "description": "What the shop calls it." },
            "count_id": { "type": "string", "format": "uuid", "description": "The count that has it." },
        },
        "required": ["place_id", "code", "name", "count_id"],
    })
}

#[cfg(test)]
mod tests {
    use super::super::document;

    #[test]
    fn a_problem_describes_what_kinds_of_it_carry_besides() {
        let schemas = &document()["components"]["schemas"];
        let members = &schemas["Problem"]["properties"];
        for number in ["available", "on_hand", "error_count"] {
            assert_eq!(members[number]["type"], "integer", "{number}");
        }
        for list in ["equivalents", "fails", "lines", "places"] {
            let items = members[list]["items"]["$ref"].as_str().unwrap();
            assert!(schemas[items.rsplit('/').next().unwrap()].is_object());
        }
        let required = schemas["Problem"]["required"].as_array().unwrap();
        assert!(required.contains(&"instance".into()), "{required:?}");
    }

    #[test]
    fn what_drafts_could_change_names_their_revision() {
        let too_many = &document()["components"]["responses"]["Refused429"]["headers"];
        for header in ["RateLimit", "RateLimit-Policy"] {
            let said = too_many[header]["description"].as_str().unwrap();
            assert!(
                said.contains("draft-ietf-httpapi-ratelimit-headers-10"),
                "{said}"
            );
        }
        let receipts = &document()["paths"]["/v1/stock/receipts"]["post"]["parameters"];
        let key = receipts
            .as_array()
            .and_then(|all| all.iter().find(|p| p["name"] == "Idempotency-Key"));
        let said = key.and_then(|key| key["description"].as_str()).unwrap();
        assert!(said.contains(super::ONCE_DRAFT), "{said}");
    }
}
