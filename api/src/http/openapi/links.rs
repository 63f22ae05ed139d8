//! Where an answer leads: from what was made or listed to the operations that show it, change it and
//! do something with it. Found by the schemas: what an operation shows under `{id}` is what another one
//! made.

use serde_json::{Map, Value, json};

use super::named;
use crate::http::routes::{Brings, ROUTES, Route};

/// A way from an answer to a record: the schema that shows it, and where its identifier stands.
struct Way {
    shown: String,
    id: String,
}

/// Adds links to the operations of the document.
pub(super) fn complete(document: &mut Value) {
    let found: Vec<(&Route, &str, Map<String, Value>)> = ROUTES
        .iter()
        .flat_map(|route| ["200", "201"].map(|status| (route, status)))
        .filter_map(|(route, status)| {
            let links = links(document, route, status);
            (!links.is_empty()).then_some((route, status, links))
        })
        .collect();
    for (route, status, links) in found {
        let method = route.method.to_lowercase();
        document["paths"][route.path][method]["responses"][status]["links"] = links.into();
    }
}

fn links(document: &Value, route: &Route, status: &str) -> Map<String, Value> {
    let mut links = Map::new();
    for way in ways(document, route, status) {
        for target in targets(document, &way.shown) {
            // What is listed leads to what shows it; what was made, also to what becomes of it.
            let follows = status == "201" || target.method == "GET";
            if follows && target.operation != route.operation {
                links
                    .entry(target.operation)
                    .or_insert_with(|| link(target, &way));
            }
        }
    }
    links
}

fn link(target: &Route, way: &Way) -> Value {
    let mut parameters = json!({ "path.id": format!("$response.body#{}", way.id) });
    if target.brings == Brings::Version {
        parameters["header.If-Match"] = "$response.header.ETag".into();
    }
    json!({
        "operationId": target.operation,
        "parameters": parameters,
        "description": format!("The `id` at `{}` is that of `{}`.", way.id, target.path),
    })
}

/// The schema of an operation's JSON answer.
fn answered<'a>(document: &'a Value, route: &Route, status: &str) -> Option<&'a str> {
    let operation = &document["paths"][route.path][route.method.to_lowercase()];
    let content = &operation["responses"][status]["content"]["application/json"];
    content["schema"]["$ref"].as_str().and_then(named)
}

/// Which records an answer holds: itself, the first of a list, the first of what it did.
fn ways(document: &Value, route: &Route, status: &str) -> Vec<Way> {
    let Some(name) = answered(document, route, status) else {
        return Vec::new();
    };
    let mut ways = Vec::new();
    let properties = &document["components"]["schemas"][name]["properties"];
    if status == "201" && properties["id"].is_object() {
        ways.push(Way {
            shown: name.to_owned(),
            id: "/id".to_owned(),
        });
    }
    for (member, schema) in properties.as_object().into_iter().flatten() {
        let item = schema["items"]["$ref"].as_str().and_then(named);
        let has_id =
            |item: &&str| document["components"]["schemas"][item]["properties"]["id"].is_object();
        if let Some(item) = item.filter(has_id) {
            ways.push(Way {
                shown: item.to_owned(),
                id: format!("/{member}/0/id"),
            });
        }
    }
    ways
}

/// The operations under the path that shows a record of this schema.
fn targets<'a>(document: &Value, shown: &str) -> impl Iterator<Item = &'a Route> {
    let shows = |fitting: &dyn Fn(&str) -> bool| {
        ROUTES.iter().find(|route| {
            route.method == "GET"
                && route.path.ends_with("/{id}")
                && answered(document, route, "200").is_some_and(fitting)
        })
    };
    let path = shows(&|name| name == shown)
        .or_else(|| shows(&|name| listed_as(document, name, shown)))
        .map_or("", |route| route.path);
    ROUTES.iter().filter(move |route| {
        !path.is_empty()
            && route
                .path
                .strip_prefix(path)
                .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
    })
}

/// Lists show less of some records than their own path does: `CountHead` of `ShownCount`, whose
/// members are all among the record's.
fn listed_as(document: &Value, whole: &str, part: &str) -> bool {
    let members = |name: &str| {
        document["components"]["schemas"][name]["properties"]
            .as_object()
            .cloned()
            .unwrap_or_default()
    };
    let (whole, part) = (members(whole), members(part));
    part.len() > 4 && part.keys().all(|member| whole.contains_key(member))
}

#[cfg(test)]
mod tests {
    use super::super::document;
    use crate::http::routes::ROUTES;

    #[test]
    fn what_is_made_leads_to_what_shows_it() {
        let responses = |path: &str| &document()["paths"][path]["post"]["responses"]["201"];
        let plug = &responses("/v1/plugs")["links"];
        assert_eq!(
            plug["get_plug"]["parameters"]["path.id"],
            "$response.body#/id"
        );
        assert_eq!(
            plug["patch_plug"]["parameters"]["header.If-Match"],
            "$response.header.ETag"
        );
        let receipt = &responses("/v1/stock/receipts")["links"];
        assert_eq!(
            receipt["get_movement"]["parameters"]["path.id"],
            "$response.body#/movements/0/id"
        );
        assert!(receipt["get_lot"].is_object(), "{receipt}");
        assert!(responses("/v1/stock/reservations")["links"]["release"].is_object());
        let listed = &document()["paths"]["/v1/plugs"]["get"]["responses"]["200"]["links"];
        assert!(listed["get_plug"].is_object() && listed["delete_plug"].is_null());
    }

    #[test]
    fn every_link_leads_to_an_operation() {
        let mut seen = 0;
        for (_, path, operation) in super::super::operations(document()) {
            for (_, answer) in operation["responses"].as_object().into_iter().flatten() {
                for (name, link) in answer["links"].as_object().into_iter().flatten() {
                    let target = link["operationId"].as_str().unwrap();
                    assert!(
                        ROUTES.iter().any(|r| r.operation == target),
                        "{path}: {name}"
                    );
                    seen += 1;
                }
            }
        }
        assert!(seen > 60, "{seen}");
    }
}
