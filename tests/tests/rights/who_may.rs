//! Who may: every route without a token, with a malformed one, and with each role.

use std::collections::BTreeSet;

use plugwell::http::routes::{Brings, Least, ROUTES, Route};
use plugwell_tests::bodies::unique;
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Shop, Who, engines, shared};
use serde_json::json;
use uuid::Uuid;

/// The path of a route with an identifier that no record has.
fn path(route: &Route) -> String {
    let filled = route.path.replace("{id}", &Uuid::now_v7().to_string());
    ["{secret_id}", "{delivery_id}"]
        .iter()
        .fold(filled, |path, name| {
            path.replace(name, &Uuid::now_v7().to_string())
        })
}

/// Asks with a body that nothing is done with: it is no JSON.
fn ask(shop: &Shop, route: &Route, who: Who, more: &[(&str, &str)]) -> Answer {
    let key = key();
    let mut headers: Vec<(&str, &str)> = more.to_vec();
    match route.brings {
        Brings::Nothing => {}
        Brings::OnceKey | Brings::OnceKeyOrDryRun => headers.push(("idempotency-key", &key)),
        Brings::Version => headers.push(("if-match", "\"1\"")),
    }
    let body = if route.method == "GET" { "" } else { "nothing" };
    if !body.is_empty() {
        headers.push(("content-type", "application/json"));
    }
    shop.send(route.method, &path(route), who, &headers, body)
}

fn least(route: &Route) -> Option<Who> {
    let Least::Role(role) = route.least else {
        return None;
    };
    let who = Who::ROLES.into_iter().find(|who| who.word() == role.word());
    Some(who.unwrap_or_else(|| panic!("a token for {role}")))
}

#[test]
fn the_walk_covers_every_documented_operation() {
    for shop in shared() {
        let document = shop.get(Who::Nobody, "/openapi.json").expect(200).json;
        let paths = document["paths"].as_object().expect("paths");
        let documented: BTreeSet<(String, String)> = paths
            .iter()
            .flat_map(|(path, item)| {
                let methods = item.as_object().expect("operations").keys();
                methods
                    .map(|method| (method.to_uppercase(), path.clone()))
                    .collect::<Vec<_>>()
            })
            .filter(|(method, _)| {
                ["GET", "POST", "PUT", "PATCH", "DELETE"].contains(&method.as_str())
            })
            .collect();
        let walked: BTreeSet<(String, String)> = ROUTES
            .iter()
            .map(|route| (route.method.to_owned(), route.path.to_owned()))
            .collect();
        assert_eq!(walked, documented);
        assert!(walked.len() > 40);
    }
}

#[test]
fn without_a_token_nothing_but_health_is_answered() {
    for shop in shared() {
        for route in ROUTES {
            let answer = ask(shop, route, Who::Nobody, &[]);
            if least(route).is_none() {
                assert_eq!(answer.status, 200, "{answer:?}");
                continue;
            }
            let refused = answer.problem(401, "unauthorized");
            let challenge = refused.header("www-authenticate").unwrap_or_default();
            assert!(challenge.starts_with("Bearer"), "{refused:?}");
        }
    }
}

#[test]
fn a_malformed_token_is_none() {
    for shop in shared() {
        let good = shop.token(Who::Manager).expect("a token");
        let malformed = [
            "Bearer".to_owned(),
            "Bearer ".to_owned(),
            good.to_owned(),
            format!("Basic {good}"),
            format!("Bearer {}", &good[1..]),
            format!("Bearer {good}0"),
            format!("Bearer {}", good.to_uppercase()),
            format!("Bearer {}", "0".repeat(good.len())),
            format!("Bearer {good} {good}"),
            "Bearer \u{fffd}".to_owned(),
        ];
        for route in ROUTES.iter().filter(|route| least(route).is_some()) {
            for header in &malformed {
                let refused = ask(shop, route, Who::Nobody, &[("authorization", header)])
                    .problem(401, "unauthorized");
                assert!(refused.header("www-authenticate").is_some(), "{refused:?}");
            }
        }
    }
}

#[test]
fn a_role_may_what_its_own_and_the_smaller_ones_may() {
    for shop in shared() {
        for route in ROUTES {
            for who in Who::ROLES {
                let answer = ask(shop, route, who, &[]);
                let may = least(route).is_none_or(|least| who >= least);
                if may {
                    assert!(!matches!(answer.status, 401 | 403), "{answer:?}");
                    assert!(answer.status < 500, "{answer:?}");
                } else {
                    let refused = answer.problem(403, "forbidden");
                    let needed = least(route).map_or("", Who::word);
                    assert!(
                        refused.text("detail").contains(needed),
                        "it says which role: {refused:?}"
                    );
                }
            }
        }
    }
}

/// A sample of contract.md's own words, so that the table is not its only witness.
#[test]
fn the_least_roles_are_the_contracts() {
    let contract = [
        ("GET", "/v1/plugs", Who::Reader),
        ("POST", "/v1/matches", Who::Reader),
        ("POST", "/v1/fitment-checks", Who::Reader),
        ("POST", "/v1/requirements", Who::Reader),
        ("POST", "/v1/identifications", Who::Reader),
        ("GET", "/v1/stock/movements", Who::Reader),
        ("POST", "/v1/builds", Who::Tuner),
        ("POST", "/v1/heads", Who::Tuner),
        ("POST", "/v1/stock/reservations", Who::Tuner),
        ("POST", "/v1/stock/reservations/{id}/release", Who::Tuner),
        ("POST", "/v1/stock/issues", Who::Tuner),
        ("POST", "/v1/tuning-days", Who::Tuner),
        ("POST", "/v1/readings", Who::Tuner),
        ("POST", "/v1/stock/scrappings", Who::Tuner),
        ("POST", "/v1/plugs", Who::Clerk),
        ("PATCH", "/v1/plugs/{id}", Who::Clerk),
        ("DELETE", "/v1/plugs/{id}", Who::Clerk),
        ("POST", "/v1/heat-scales", Who::Clerk),
        ("POST", "/v1/imports/plugs", Who::Clerk),
        ("POST", "/v1/stock/receipts", Who::Clerk),
        ("POST", "/v1/stock/returns", Who::Clerk),
        ("POST", "/v1/stock/transfers", Who::Clerk),
        ("GET", "/v1/stock/counts/{id}", Who::Reader),
        ("POST", "/v1/stock/counts", Who::Clerk),
        ("PATCH", "/v1/stock/counts/{id}", Who::Clerk),
        ("POST", "/v1/stock/counts/{id}/approval", Who::Manager),
        ("PUT", "/v1/policy", Who::Manager),
        ("POST", "/v1/tokens", Who::Manager),
        ("DELETE", "/v1/tokens/{id}", Who::Manager),
    ];
    for (method, path, who) in contract {
        let route = ROUTES
            .iter()
            .find(|route| (route.method, route.path) == (method, path));
        let route = route.unwrap_or_else(|| panic!("no route {method} {path}"));
        assert_eq!(least(route), Some(who), "{method} {path}");
    }
    let open: Vec<&str> = ROUTES
        .iter()
        .filter(|route| least(route).is_none())
        .map(|route| route.path)
        .collect();
    assert_eq!(open, ["/livez", "/readyz", "/openapi.json", "/metrics"]);
}

#[test]
fn a_path_that_leads_nowhere_is_told_to_those_who_may_ask_only() {
    for shop in shared() {
        shop.get(Who::Nobody, "/v1/nowhere")
            .problem(401, "unauthorized");
        shop.get(Who::Reader, "/v1/nowhere")
            .problem(404, "not_found");
        // 401 stands before 405, and 403 before 404.
        shop.send("PUT", "/v1/plugs", Who::Nobody, &[], "")
            .problem(401, "unauthorized");
        shop.send("PUT", "/v1/plugs", Who::Reader, &[], "")
            .problem(405, "method_not_allowed");
        shop.get(Who::Clerk, &format!("/v1/tokens/{}", Uuid::now_v7()))
            .problem(403, "forbidden");
        shop.get(Who::Manager, &format!("/v1/tokens/{}", Uuid::now_v7()))
            .problem(404, "not_found");
    }
}

#[test]
fn metrics_off_this_machine_take_a_token() {
    for shop in shared() {
        shop.get(Who::Nobody, "/metrics").expect(200);
        // A proxy on this machine says whom it asks for.
        let forwarded = [("x-forwarded-for", "192.0.2.1")];
        shop.send("GET", "/metrics", Who::Nobody, &forwarded, "")
            .problem(401, "unauthorized");
        shop.send("GET", "/metrics", Who::Reader, &forwarded, "")
            .expect(200);
    }
}

#[test]
fn a_revoked_token_is_none_also_after_a_restart() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let body = json!({ "name": unique("Guest"), "role": "reader" });
        let made = shop.post(Who::Manager, "/v1/tokens", &body).expect(201);
        let bearer = format!("Bearer {}", made.text("token"));
        let ask = |shop: &Shop| {
            shop.send(
                "GET",
                "/v1/plugs",
                Who::Nobody,
                &[("authorization", &bearer)],
                "",
            )
        };
        ask(&shop).expect(200);
        shop.restart();
        ask(&shop).expect(200);
        shop.delete(Who::Manager, &format!("/v1/tokens/{}", made.text("id")))
            .expect(204);
        ask(&shop).problem(401, "unauthorized");
        shop.restart();
        ask(&shop).problem(401, "unauthorized");
    }
}
