//! Where an answer leads: from what was made or listed to the operations that show it, change it and
//! do something with it. Found by paths and schemas: what an operation shows under `{id}` is what another
//! one made.

use serde_json::{Map, Value, json};

use super::named;
use crate::http::routes::{Brings, ROUTES, Route};

/// A way from an answer to a record: the schema that shows it, and where its identifier stands.
struct Way {
    shown: String,
    id: String,
}

impl Way {
    /// Whether the answer is the record itself.
    fn is_whole(&self) -> bool {
        self.id == "/id"
    }
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
        for target in targets(document, route, &way) {
            // What is listed leads to what shows it; what was made, also to what becomes of it.
            let follows = status == "201" || target.method == "GET";
            // The version that an answer carries is that of the record which it is.
            let is_versioned = way.is_whole() || target.brings != Brings::Version;
            if follows && is_versioned && target.operation != route.operation {
                links
                    .entry(target.operation)
                    .or_insert_with(|| link(target, &way, None));
            }
        }
        for (target, name) in within(route) {
            if way.is_whole() || target.brings != Brings::Version {
                links
                    .entry(target.operation)
                    .or_insert_with(|| link(target, &way, Some(name)));
            }
        }
    }
    links
}

/// A link to an operation; `within` names the identifier in its path that is the answer's, where the
/// first one is that of the record which was asked about.
fn link(target: &Route, way: &Way, within: Option<&str>) -> Value {
    let (name, found) = (within.unwrap_or("id"), format!("$response.body#{}", way.id));
    let mut parameters = Map::new();
    if within.is_some() {
        parameters.insert("path.id".to_owned(), "$request.path.id".into());
    }
    parameters.insert(format!("path.{name}"), found.into());
    if target.brings == Brings::Version {
        parameters.insert("header.If-Match".to_owned(), "$response.header.ETag".into());
    }
    json!({
        "operationId": target.operation,
        "parameters": parameters,
        "description": format!("The `id` at `{}` is the `{name}` of `{}`.", way.id, target.path),
    })
}

/// The operations on a single thing of a record, of those that an operation lists or makes: under its
/// own path and another identifier, which is given.
fn within(route: &Route) -> impl Iterator<Item = (&'static Route, &'static str)> {
    ROUTES.iter().filter_map(move |target| {
        let rest = target.path.strip_prefix(route.path)?.strip_prefix("/{")?;
        let (name, _) = rest.split_once('}')?;
        (name != "id").then_some((target, name))
    })
}

/// The schema of an operation's JSON answer.
fn answered<'a>(document: &'a Value, route: &Route, status: &str) -> Option<&'a str> {
    let operation = &document["paths"][route.path][route.method.to_lowercase()];
    let content = &operation["responses"][status]["content"]["application/json"];
    content["schema"]["$ref"].as_str().and_then(named)
}

/// Which records an answer holds: itself, one by name, the first of a list, the first of what it did.
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
        let record = |schema: &Value| {
            let name = schema["$ref"].as_str().and_then(named)?;
            let own = &document["components"]["schemas"][name]["properties"];
            own["id"].is_object().then(|| name.to_owned())
        };
        let alone = record(schema).map(|shown| (shown, format!("/{member}/id")));
        let listed = record(&schema["items"]).map(|shown| (shown, format!("/{member}/0/id")));
        ways.extend(alone.or(listed).map(|(shown, id)| Way { shown, id }));
    }
    ways
}

/// The operations under the path that shows the record of an answer, as far as they need no other
/// identifier: the path is the one below that which it was made at, or else whichever shows this schema.
fn targets<'a>(document: &Value, route: &Route, way: &Way) -> impl Iterator<Item = &'a Route> {
    let shown = way.shown.as_str();
    let own = format!("{}/{{id}}", route.path);
    let shows = |fitting: &dyn Fn(&str) -> bool| {
        ROUTES.iter().find(|route| {
            route.method == "GET"
                && route.path.ends_with("/{id}")
                && answered(document, route, "200").is_some_and(fitting)
        })
    };
    let is_own = |route: &&Route| route.method == "GET" && way.is_whole() && route.path == own;
    let path = ROUTES
        .iter()
        .find(is_own)
        .or_else(|| shows(&|name| name == shown))
        .or_else(|| shows(&|name| listed_as(document, name, shown)))
        .map_or("", |route| route.path);
    ROUTES.iter().filter(move |route| {
        !path.is_empty()
            && route.path.strip_prefix(path).is_some_and(|rest| {
                rest.is_empty() || (rest.starts_with('/') && !rest.contains('{'))
            })
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
    use serde_json::json;

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
        // A secret is shown with what was made, which has another schema therefore.
        for (path, operation) in [
            ("/v1/tokens", "delete_token"),
            ("/v1/webhooks", "patch_webhook"),
            ("/v1/webhooks", "list_deliveries"),
        ] {
            let link = &responses(path)["links"][operation];
            assert_eq!(
                link["parameters"]["path.id"], "$response.body#/id",
                "{path}"
            );
        }
    }

    #[test]
    fn what_is_named_within_an_answer_leads_on() {
        let links = |path: &str, method: &str, status: &str| {
            document()["paths"][path][method]["responses"][status]["links"].clone()
        };
        let checked = links("/v1/stock/incoming-checks", "post", "201");
        let decided = &checked["decide_incoming"]["parameters"];
        assert_eq!(decided["path.id"], "$response.body#/check/id");
        let deliveries = links("/v1/webhooks/{id}/deliveries", "get", "200");
        let again = json!({
            "path.id": "$request.path.id", "path.delivery_id": "$response.body#/items/0/id"
        });
        assert_eq!(deliveries["resend_delivery"]["parameters"], again);
        let secret = links("/v1/webhooks/{id}/secrets", "post", "201");
        let gone = json!({
            "path.id": "$request.path.id", "path.secret_id": "$response.body#/id",
            "header.If-Match": "$response.header.ETag",
        });
        assert_eq!(secret["delete_webhook_secret"]["parameters"], gone);
    }

    #[test]
    fn every_link_leads_to_an_operation() {
        let mut seen = 0;
        for (_, path, operation) in super::super::operations(document()) {
            for (_, answer) in operation["responses"].as_object().into_iter().flatten() {
                for (name, link) in answer["links"].as_object().into_iter().flatten() {
                    let target = link["operationId"].as_str().unwrap();
                    let route = ROUTES.iter().find(|r| r.operation == target);
                    let route = route.unwrap_or_else(|| panic!("{path}: {name}"));
                    for piece in route.path.split('{').skip(1) {
                        let wanted = format!("path.{}", piece.split('}').next().unwrap());
                        let given = &link["parameters"][&wanted];
                        assert!(given.is_string(), "{path}: {name} gives no {wanted}");
                    }
                    seen += 1;
                }
            }
        }
        assert!(seen > 60, "{seen}");
    }
}
