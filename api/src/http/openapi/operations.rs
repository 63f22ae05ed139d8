//! What the table of routes says of every operation: who may, what it has to bring, how it fails.

use serde_json::{Value, json};

use crate::http::routes::{Brings, Least, ROUTES, Route};

/// Adds it to the operations of the document.
pub(super) fn complete(document: &mut Value) {
    for route in ROUTES {
        if let Some(operation) = document["paths"]
            .get_mut(route.path)
            .and_then(|item| item.get_mut(route.method.to_lowercase()))
        {
            who_may(route, operation);
            headers(route, operation);
            failures(route, operation);
            limits(route, operation);
            answered_headers(route, operation);
        }
    }
}

fn who_may(route: &Route, operation: &mut Value) {
    let role = match route.least {
        Least::Open => "none",
        Least::Loopback => "reader, or none from the same machine",
        Least::Role(role) => role.word(),
    };
    operation["x-least-role"] = role.into();
    operation["security"] = match route.least {
        Least::Open => json!([]),
        Least::Loopback => json!([{}, { "bearer": [] }]),
        Least::Role(_) => json!([{ "bearer": [] }]),
    };
}

fn headers(route: &Route, operation: &mut Value) {
    let header = |name: &str, required: bool, description: &str| {
        json!({
            "name": name, "in": "header", "required": required, "description": description,
            "schema": { "type": "string" },
        })
    };
    let key = |required| {
        let mut header = header(
            "Idempotency-Key",
            required,
            "A new one with each new request, the same one when it is repeated; kept for 7 days.",
        );
        header["schema"] = json!({ "type": "string", "minLength": 1, "maxLength": 128 });
        header
    };
    let extra = match route.brings {
        Brings::OnceKey => key(true),
        Brings::OnceKeyOrDryRun => key(false),
        Brings::Version => header(
            "If-Match",
            true,
            "The ETag of the record as it was read, or *.",
        ),
        Brings::Nothing if carries_version(route) => header(
            "If-None-Match",
            false,
            "An ETag: 304 where the record is still the same.",
        ),
        Brings::Nothing => return,
    };
    if !operation["parameters"].is_array() {
        operation["parameters"] = json!([]);
    }
    if let Some(parameters) = operation["parameters"].as_array_mut() {
        parameters.push(extra);
    }
}

/// Whether a route shows a single record with its version, or a picture with its own tag.
fn carries_version(route: &Route) -> bool {
    let changed = ROUTES
        .iter()
        .any(|other| other.path == route.path && other.brings == Brings::Version);
    route.method == "GET"
        && (changed
            || [".svg", "/{id}"]
                .iter()
                .any(|end| route.path.ends_with(end)))
}

fn failures(route: &Route, operation: &mut Value) {
    let has_body = operation["requestBody"].is_object();
    let has_input = has_body || operation["parameters"].is_array();
    let once = matches!(route.brings, Brings::OnceKey | Brings::OnceKeyOrDryRun);
    let secured = matches!(route.least, Least::Role(_));
    let expected = [
        (304, carries_version(route)),
        (400, has_input),
        (401, secured),
        (403, secured),
        (404, route.path.contains('{')),
        (409, once || route.brings == Brings::Version),
        (412, route.brings == Brings::Version),
        (413, has_body),
        (415, has_body),
        (422, once),
        (428, route.brings == Brings::Version),
    ];
    let problem = json!({ "$ref": "#/components/responses/Problem" });
    let Some(responses) = operation["responses"].as_object_mut() else {
        return;
    };
    for (status, _) in expected.into_iter().filter(|(_, comes)| *comes) {
        let answer = match status {
            304 => json!({ "description": "The caller has the record as it is." }),
            _ => problem.clone(),
        };
        responses.entry(status.to_string()).or_insert(answer);
    }
    // What a handler says of a failure has the one form as well.
    for (_, answer) in responses
        .iter_mut()
        .filter(|(status, _)| status.starts_with(['4', '5']))
    {
        if answer["description"].is_string() && answer["content"].is_null() {
            answer["content"]["application/problem+json"]["schema"] = super::reference("Problem");
        }
    }
    responses.entry("default").or_insert(problem);
}

/// What the operation counts for, and what it says where that was too much.
fn limits(route: &Route, operation: &mut Value) {
    operation["x-cost"] = route.cost.into();
    if route.cost > 0 {
        operation["responses"]["429"] = json!({ "$ref": "#/components/responses/RateLimited" });
    }
}

/// Headers that answers carry.
fn answered_headers(route: &Route, operation: &mut Value) {
    let once = matches!(route.brings, Brings::OnceKey | Brings::OnceKeyOrDryRun);
    let shows =
        carries_version(route) || (route.brings == Brings::Version && route.method != "DELETE");
    let made = operation["responses"]["201"].is_object();
    let carried = [
        (
            "Location",
            made && route.brings != Brings::OnceKeyOrDryRun,
            "Where the record, or the first movement, is.",
        ),
        (
            "ETag",
            shows || (made && !once),
            "The version of the record.",
        ),
        (
            "Once-Only-Replayed",
            once,
            "`true` where the answer was given before.",
        ),
        (
            "Plugwell-Position",
            made || once || route.brings == Brings::Version,
            "How far the service had come; a later read on this node shows at least that.",
        ),
    ];
    let Some(responses) = operation["responses"].as_object_mut() else {
        return;
    };
    for (_, answer) in responses
        .iter_mut()
        .filter(|(status, _)| status.starts_with('2'))
    {
        for (name, _, description) in carried.iter().filter(|(_, comes, _)| *comes) {
            answer["headers"][name] =
                json!({ "description": description, "schema": { "type": "string" } });
        }
    }
}
