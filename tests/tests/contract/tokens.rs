//! Tokens: shown once, revoked at once, and never by themselves.

use plugwell_tests::bodies::unique;
use plugwell_tests::{Engine, Shop, Who, engines, shared};
use serde_json::json;

/// Asks with a token that is none of the shop's own.
fn with_token(
    shop: &Shop,
    token: &str,
    method: &str,
    path: &str,
    headers: &[(&str, &str)],
) -> plugwell_tests::Answer {
    let bearer = format!("Bearer {token}");
    let headers: Vec<_> = headers
        .iter()
        .copied()
        .chain([("authorization", bearer.as_str())])
        .collect();
    shop.send(method, path, Who::Nobody, &headers, "")
}

#[test]
fn a_token_is_shown_once() {
    for shop in shared() {
        let name = unique("counter");
        let made = shop
            .post(
                Who::Manager,
                "/v1/tokens",
                &json!({ "name": name, "role": "clerk" }),
            )
            .expect(201);
        let secret = made.text("token");
        assert!(
            secret.len() >= 43,
            "256 random bits: {} characters",
            secret.len()
        );
        let own = format!("/v1/tokens/{}", made.text("id"));
        assert_eq!(made.header("location"), Some(own.as_str()));
        let read = shop.get(Who::Manager, &own).expect(200);
        assert_eq!(
            (&read.json["name"], &read.json["role"]),
            (&json!(name), &json!("clerk"))
        );
        let list = shop.get(Who::Manager, "/v1/tokens?limit=200").expect(200);
        assert!(
            list.items()
                .iter()
                .any(|token| token["id"] == made.json["id"])
        );
        for answer in [&read, &list] {
            let text = String::from_utf8_lossy(&answer.body);
            assert!(!text.contains(&secret), "the secret is not shown again");
            assert!(
                !text.contains("\"token\"") && !text.contains("hash"),
                "{text}"
            );
        }
        let again = shop
            .post(
                Who::Manager,
                "/v1/tokens",
                &json!({ "name": name, "role": "clerk" }),
            )
            .expect(201);
        assert_ne!(again.text("token"), secret);
    }
}

#[test]
fn a_secret_is_kept_as_a_hash_only() {
    let mut shop = Shop::start(Engine::Sqlite);
    let made = shop
        .post(
            Who::Manager,
            "/v1/tokens",
            &json!({ "name": "counter", "role": "clerk" }),
        )
        .expect(201);
    shop.stop();
    let mut looked_at = 0;
    for entry in std::fs::read_dir(shop.data()).unwrap() {
        let path = entry.unwrap().path();
        let Ok(bytes) = std::fs::read(&path) else {
            continue;
        };
        looked_at += bytes.len();
        let secret = made.text("token");
        assert!(
            !bytes
                .windows(secret.len())
                .any(|window| window == secret.as_bytes()),
            "{}",
            path.display()
        );
    }
    assert!(
        looked_at > 10_000,
        "the database was looked at: {looked_at} bytes"
    );
}

#[test]
fn a_token_that_is_revoked_opens_nothing_more() {
    for shop in shared() {
        let made = shop
            .post(
                Who::Manager,
                "/v1/tokens",
                &json!({ "name": unique("lent"), "role": "reader" }),
            )
            .expect(201);
        let (secret, own) = (
            made.text("token"),
            format!("/v1/tokens/{}", made.text("id")),
        );
        with_token(shop, &secret, "GET", "/v1/plugs", &[]).expect(200);
        with_token(shop, &secret, "GET", "/v1/tokens", &[]).problem(403, "forbidden");
        shop.send("DELETE", &own, Who::Manager, &[], "")
            .problem(428, "precondition_required");
        shop.send("DELETE", &own, Who::Manager, &[("if-match", "\"9\"")], "")
            .problem(412, "stale");
        shop.delete(Who::Manager, &own).expect(204);
        with_token(shop, &secret, "GET", "/v1/plugs", &[]).problem(401, "unauthorized");
        shop.get(Who::Manager, &own).problem(404, "not_found");
        shop.send("DELETE", &own, Who::Manager, &[("if-match", "*")], "")
            .problem(404, "not_found");
        let list = shop.get(Who::Manager, "/v1/tokens?limit=200").expect(200);
        assert!(
            list.items()
                .iter()
                .all(|token| token["id"] != made.json["id"])
        );
    }
}

#[test]
fn a_token_cannot_revoke_itself() {
    for shop in shared() {
        let body = json!({ "name": unique("second"), "role": "manager" });
        let made = shop.post(Who::Manager, "/v1/tokens", &body).expect(201);
        let (secret, own) = (
            made.text("token"),
            format!("/v1/tokens/{}", made.text("id")),
        );
        with_token(shop, &secret, "DELETE", &own, &[("if-match", "*")]).problem(409, "own_token");
        with_token(shop, &secret, "GET", &own, &[]).expect(200);
        shop.delete(Who::Manager, &own).expect(204);
    }
}

#[test]
fn tokens_outlive_a_restart_and_the_first_one_is_made_once() {
    for engine in engines() {
        println!("-- on {engine}");
        let mut shop = Shop::start(engine);
        let lent = shop
            .post(
                Who::Manager,
                "/v1/tokens",
                &json!({ "name": "lent", "role": "reader" }),
            )
            .expect(201);
        shop.delete(Who::Manager, &format!("/v1/tokens/{}", lent.text("id")))
            .expect(204);
        let before = shop.get(Who::Manager, "/v1/tokens").expect(200).json;
        shop.restart();
        assert_eq!(
            shop.get(Who::Manager, "/v1/tokens").expect(200).json,
            before
        );
        with_token(&shop, &lent.text("token"), "GET", "/v1/plugs", &[])
            .problem(401, "unauthorized");
        let made = shop.run("token", &[]);
        assert!(!made.status.success(), "a token needs a role");
    }
}
