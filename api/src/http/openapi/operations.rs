//! What the table of routes says of every operation: who may, what it has to bring, how it fails.

use serde_json::{Value, json};

use super::{failures, wording};
use crate::http::routes::{Brings, Least, ROUTES, Route};

/// What a once-only key may be.
const ONCE_KEY: &str = r#"^([!#-~][!-~]{0,127}|"([!-~]{0,126}[!#-~])?|"[!-~]{1,128}")$"#;

/// Adds it to the operations of the document.
pub(super) fn complete(document: &mut Value) {
    for route in ROUTES {
        if let Some(operation) = document["paths"]
            .get_mut(route.path)
            .and_then(|item| item.get_mut(route.method.to_lowercase()))
        {
            of_route(route, operation);
        }
    }
}

/// What the table says of one route.
pub(super) fn of_route(route: &Route, operation: &mut Value) {
    wording::complete(route, operation);
    who_may(route, operation);
    headers(route, operation);
    refusals(route, operation);
    operation["x-cost"] = route.cost.into();
    answered_headers(route, operation);
    if let Some(retiring) = &route.retires {
        retiring.describe(operation);
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
        let meaning = format!(
            "A new one with each new request, the same one when it is repeated; kept for 7 days. 1 to \
             128 visible ASCII characters, in quotes or not ({}).",
            failures::ONCE_DRAFT
        );
        let mut header = header("Idempotency-Key", required, &meaning);
        header["schema"]["pattern"] = ONCE_KEY.into();
        header["example"] = "0191d5c2-6f0a-7c3e-9b1d-2f4a6c8e0b13".into();
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
            "An ETag: 304 where the same would be shown.",
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

fn refusals(route: &Route, operation: &mut Value) {
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
        (406, !secured),
        (409, once || route.brings == Brings::Version),
        (412, route.brings == Brings::Version),
        (413, has_body),
        (415, has_body),
        (422, once),
        (428, route.brings == Brings::Version),
        (429, route.cost > 0),
        (503, secured),
    ];
    let Some(responses) = operation["responses"].as_object_mut() else {
        return;
    };
    for (status, _) in expected.into_iter().filter(|(_, comes)| *comes) {
        let answer = match status {
            304 => json!({ "description": "The caller has the record as it is." }),
            _ => failures::answer(status),
        };
        responses.entry(status.to_string()).or_insert(answer);
    }
    // What a handler says of a failure has the one form as well.
    for (status, answer) in responses
        .iter_mut()
        .filter(|(status, _)| status.starts_with(['4', '5']))
    {
        if answer["description"].is_string() && answer["content"].is_null() {
            let said = answer["description"]
                .as_str()
                .unwrap_or_default()
                .to_owned();
            answer["content"] = failures::content(status, &said);
        }
    }
    responses
        .entry("default")
        .or_insert(json!({ "$ref": "#/components/responses/Problem" }));
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
            "Version and content of the record as it is shown; `If-Match` looks at the version alone.",
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::http::retiring::Retiring;
    use chrono::NaiveDate;

    #[test]
    fn a_route_on_its_way_out_is_marked() {
        let day = |month| NaiveDate::from_ymd_opt(2027, month, 1).unwrap();
        let route = ROUTES.iter().find(|r| r.operation == "get_plug").unwrap();
        let retired = route.retiring(Retiring {
            since: day(1),
            until: day(7),
            instead: "/v2/plugs/{id}",
        });
        let described = |route: &Route| {
            let mut operation = json!({ "summary": "Shows a record.", "responses": {} });
            of_route(route, &mut operation);
            operation
        };
        assert!(described(route)["deprecated"].is_null());
        let marked = described(&retired);
        assert_eq!(marked["deprecated"], true);
        let said = marked["description"].as_str().unwrap();
        for part in [
            "2027-01-01",
            "2027-07-01",
            "/v2/plugs/{id}",
            "RFC 9745",
            "RFC 8594",
        ] {
            assert!(said.contains(part), "{part}: {said}");
        }
    }
}
