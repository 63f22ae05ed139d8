//! Every operation that writes or is asked something, with a whole and right request: refused without a token
//! and to each role that may not, done for the least that may. What only shows something is asked with its
//! least role by the contract's walk over every GET.

mod catalogue;
mod floor;
mod stock;
mod workshop;

use std::collections::BTreeSet;

use plugwell::http::routes::{Brings, Least, ROUTES, Route};
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::Value;

use floor::Floor;

/// What an operation is asked with.
struct Asks {
    path: String,
    body: Body,
    /// The record whose version is meant, where that is not the one at the path.
    of: Option<String>,
}

enum Body {
    None,
    Json(Value),
    Csv(String),
}

impl Asks {
    fn at(path: impl Into<String>) -> Self {
        Self {
            path: path.into(),
            body: Body::None,
            of: None,
        }
    }

    fn json(self, body: Value) -> Self {
        let body = Body::Json(body);
        Self { body, ..self }
    }

    fn csv(self, table: impl Into<String>) -> Self {
        let body = Body::Csv(table.into());
        Self { body, ..self }
    }

    fn of(self, record: impl Into<String>) -> Self {
        let of = Some(record.into());
        Self { of, ..self }
    }
}

/// An operation, the status of its success, and what leads to that.
type Row = (&'static str, u16, fn(&Floor<'_>) -> Asks);

/// Everything that is asked.
fn table() -> impl Iterator<Item = &'static Row> {
    let rooms = [catalogue::ASKED, stock::ASKED, workshop::ASKED];
    rooms.into_iter().flatten()
}

/// Sends a request as it is meant, with a key of its own.
fn send(shop: &Shop, route: &Route, asks: &Asks, who: Who) -> Answer {
    let key = key();
    let mut headers = Vec::new();
    let etag = match route.brings {
        Brings::Version => {
            let of = asks.of.as_ref().unwrap_or(&asks.path);
            shop.get(Who::Manager, of).expect(200).etag()
        }
        _ => String::new(),
    };
    match route.brings {
        Brings::Nothing => {}
        Brings::OnceKey | Brings::OnceKeyOrDryRun => headers.push(("idempotency-key", &*key)),
        Brings::Version => headers.push(("if-match", &*etag)),
    }
    let body = match &asks.body {
        Body::None => String::new(),
        Body::Json(body) => body.to_string(),
        Body::Csv(table) => table.clone(),
    };
    match (&asks.body, route.method) {
        (Body::None, _) => {}
        (Body::Csv(_), _) => headers.push(("content-type", "text/csv")),
        (Body::Json(_), "PATCH") => headers.push(("content-type", "application/merge-patch+json")),
        (Body::Json(_), _) => headers.push(("content-type", "application/json")),
    }
    shop.send(route.method, &asks.path, who, &headers, body)
}

fn least(route: &Route) -> Who {
    let Least::Role(role) = route.least else {
        panic!("{} {} takes no token", route.method, route.path)
    };
    let who = Who::ROLES.into_iter().find(|who| who.word() == role.word());
    who.expect("a token of the role")
}

/// Whether a path is one of a route's.
fn is_of(path: &str, route: &Route) -> bool {
    let path = path.split('?').next().unwrap_or_default();
    let (own, named): (Vec<&str>, Vec<&str>) =
        (path.split('/').collect(), route.path.split('/').collect());
    let mut both = own.iter().zip(&named);
    own.len() == named.len() && both.all(|(own, named)| own == named || named.starts_with('{'))
}

fn walked(floor: &Floor<'_>, document: &Value, (operation, status, asks): &Row) {
    let route = ROUTES.iter().find(|route| route.operation == *operation);
    let route = route.unwrap_or_else(|| panic!("no operation {operation}"));
    let asks = asks(floor);
    assert!(is_of(&asks.path, route), "{operation}: {}", asks.path);
    let least = least(route);
    send(floor.shop, route, &asks, Who::Nobody).problem(401, "unauthorized");
    for who in Who::ROLES.into_iter().filter(|who| *who < least) {
        send(floor.shop, route, &asks, who).problem(403, "forbidden");
    }
    // What was refused has done nothing that stood in the way of this.
    let done = send(floor.shop, route, &asks, least).expect(*status);
    let method = route.method.to_lowercase();
    let said = &document["paths"][route.path][&method]["responses"][status.to_string()];
    let media = done.header("content-type").unwrap_or_default();
    let media = media.split(';').next().unwrap_or_default();
    assert!(said.is_object(), "{operation}: {status} is not described");
    assert_eq!(
        said["content"][media].is_object(),
        !done.body.is_empty(),
        "{operation}: {media:?} {done:?}"
    );
}

#[test]
fn the_least_role_that_may_gets_done_what_it_asks() {
    for engine in engines() {
        // A shop of its own: what is asked changes what everybody sees.
        let shop = Shop::start(engine);
        let document = shop.get(Who::Nobody, "/openapi.json").expect(200).json;
        let floor = Floor::of(&shop);
        for row in table() {
            println!("-- {}", row.0);
            walked(&floor, &document, row);
        }
    }
}

#[test]
fn nothing_that_the_document_describes_is_left_out() {
    let shop = plugwell_tests::shared().next().expect("a shop");
    let document = shop.get(Who::Nobody, "/openapi.json").expect(200).json;
    let paths = document["paths"].as_object().expect("paths").values();
    let operations = paths.flat_map(|item| item.as_object().expect("operations"));
    let described: BTreeSet<&str> = operations
        .filter(|(method, _)| ["post", "put", "patch", "delete"].contains(&method.as_str()))
        .map(|(_, operation)| operation["operationId"].as_str().expect("its name"))
        .collect();
    let asked: Vec<&str> = table().map(|(operation, _, _)| *operation).collect();
    let once: BTreeSet<&str> = asked.iter().copied().collect();
    assert_eq!(once, described);
    assert_eq!(once.len(), asked.len(), "each once");
}
