//! Every operation that shows something, asked in a shop with a year of history: what the document says
//! of it holds, and what answers GET answers HEAD, OPTIONS, a known tag and a wish for compression.

use plugwell::http::routes::{Least, ROUTES, Route, allowed};
use plugwell_tests::{Engine, Shop, Who};
use serde_json::Value;

/// What a query has to have.
const QUERIES: &[(&str, &str)] = &[
    ("/v1/equivalents", "?maker=Ferrowick&part_number=none"),
    ("/v1/scans", "?text=L1"),
];

/// The list that the records of a path stand in.
fn list_of(path: &str) -> &str {
    let of = path.split("/{id}").next().unwrap_or(path);
    match of {
        "/v1/labels/lots" => "/v1/stock/lots",
        "/v1/labels/places" => "/v1/stock/places",
        "/v1/reorder" => "/v1/plugs",
        _ => of,
    }
}

/// The first record of a list.
fn first(shop: &Shop, list: &str) -> Value {
    let more = if list == "/v1/fitted-sets" {
        "&history=true"
    } else {
        ""
    };
    let listed = shop
        .get(Who::Manager, &format!("{list}?limit=1{more}"))
        .expect(200);
    let first = listed.items().first().cloned();
    first.unwrap_or_else(|| panic!("{list} is empty"))
}

/// The address to ask an operation at.
fn address(shop: &Shop, route: &Route) -> String {
    let text = |value: &Value| value.as_str().expect("a text").to_owned();
    match route.path {
        "/v1/barcodes/{id}" => {
            let plug = text(&first(shop, "/v1/plugs")["id"]);
            let code = serde_json::json!({ "code": "walk-1" });
            let made = shop.post(Who::Clerk, &format!("/v1/plugs/{plug}/barcodes"), &code);
            format!("/v1/barcodes/{}", made.expect(201).text("id"))
        }
        "/v1/pick-lists" => {
            let job = text(&first(shop, "/v1/stock/reservations")["job"]);
            format!("/v1/pick-lists?job={}", job.replace(' ', "%20"))
        }
        "/v1/labels/sheet" => {
            let lot = text(&first(shop, "/v1/stock/lots")["id"]);
            format!("/v1/labels/sheet?lots={lot}")
        }
        path if path.contains("{id}") => {
            path.replace("{id}", &text(&first(shop, list_of(path))["id"]))
        }
        path => {
            let query = QUERIES.iter().find(|(of, _)| *of == path);
            format!("{path}{}", query.map_or("", |(_, query)| query))
        }
    }
}

fn holds(shop: &Shop, document: &Value, route: &Route) {
    let at = address(shop, route);
    let who = match route.least {
        Least::Role(role) => Who::ROLES.into_iter().find(|who| who.word() == role.word()),
        Least::Open | Least::Loopback => None,
    };
    let ask = |method: &str, headers: &[(&str, &str)]| {
        shop.send(method, &at, who.unwrap_or(Who::Nobody), headers, "")
    };
    let shown = ask("GET", &[]).expect(200);
    let head = ask("HEAD", &[]).expect(200);
    assert!(head.body.is_empty(), "{at}");
    for name in ["content-type", "etag", "link"] {
        assert_eq!(head.header(name), shown.header(name), "{at}: {name}");
    }
    assert_eq!(
        ask("OPTIONS", &[]).expect(204).header("allow"),
        Some(allowed(route.path).as_str())
    );
    for coding in ["gzip", "zstd"] {
        let packed = ask("GET", &[("accept-encoding", coding)]).expect(200);
        assert_eq!(packed.header("content-encoding"), Some(coding), "{at}");
    }
    let answer = &document["paths"][route.path]["get"]["responses"]["200"];
    let tag = shown.header("etag");
    assert_eq!(
        tag.is_some(),
        answer["headers"]["ETag"].is_object(),
        "{at}: {tag:?}"
    );
    assert!(
        tag.is_some() || !route.path.ends_with("/{id}"),
        "{at} has no ETag"
    );
    if let Some(tag) = tag {
        let known = ask("GET", &[("if-none-match", tag)]).expect(304);
        assert!(known.body.is_empty(), "{at}");
    }
    let media = shown.header("content-type").unwrap_or_default();
    let media = media.split(';').next().unwrap_or_default();
    assert!(
        answer["content"][media].is_object(),
        "{at}: {media} is not described"
    );
    if let Some(next) = shown.json["next_cursor"].as_str() {
        let link = shown.header("link").unwrap_or_default();
        assert!(
            link.contains(next) && link.ends_with("rel=\"next\""),
            "{at}: {link}"
        );
    }
}

#[test]
fn what_the_document_says_of_every_get_holds() {
    let shop = Shop::start_demo(Engine::Sqlite);
    let document = shop.get(Who::Nobody, "/openapi.json").expect(200).json;
    // What the invented shop has none of; nobody is told anything of that type here.
    let types = ["plugwell.table.imported.v1"];
    let webhook = serde_json::json!({ "url": "https://jobs.example/told", "types": types });
    shop.post(Who::Manager, "/v1/webhooks", &webhook)
        .expect(201);
    let gets: Vec<&Route> = ROUTES
        .iter()
        .filter(|route| route.method == "GET")
        .collect();
    assert!(gets.len() > 60, "{}", gets.len());
    for route in gets {
        holds(&shop, &document, route);
    }
}
