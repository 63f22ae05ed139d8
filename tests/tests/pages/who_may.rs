//! Who sees what: signing in and out, tokens that are gone, roles that are too small.

use plugwell_tests::Who;
use plugwell_tests::bodies::issue;
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::forms::{in_bins, stocked};
use crate::visitor::Visitor;

#[test]
fn nobody_sees_a_page_without_signing_in() {
    let shop = Shop::start(Engine::Sqlite);
    let nobody = Visitor::nobody(&shop);
    for (path, status) in [
        ("/", 200),
        ("/receive", 401),
        ("/issue?part=x", 401),
        ("/scrap", 401),
        ("/booked?id=1", 401),
    ] {
        let seen = nobody.get(path).expect(status);
        assert!(
            seen.html.contains("name=\"token\"") && !seen.html.contains("<nav"),
            "{path}"
        );
        assert_eq!(
            seen.header("www-authenticate").is_empty(),
            status == 200,
            "{path}"
        );
        let token = shop.token(Who::Clerk).expect("a token");
        let then = seen.hidden("then");
        let signed_in = nobody
            .post("/sign-in", &[("token", token), ("then", &then)])
            .expect(303);
        assert_eq!(
            signed_in.header("location"),
            path,
            "back to where one wanted to go"
        );
        let cookie = signed_in.header("set-cookie").to_owned();
        for flag in ["HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(cookie.contains(flag), "{flag} is missing from {cookie}");
        }
        assert!(
            !cookie.contains("Secure"),
            "over plain HTTP a browser would not send it back: {cookie}"
        );
    }
    let token = shop.token(Who::Reader).expect("a token");
    let behind_tls = nobody
        .post_with(
            "/sign-in",
            &[("token", token)],
            &[("x-forwarded-proto", "https")],
        )
        .expect(303);
    assert!(behind_tls.header("set-cookie").contains("Secure"));
    let led_away = nobody
        .post("/sign-in", &[("token", token), ("then", "//other.example")])
        .expect(303);
    assert_eq!(led_away.header("location"), "/");
    let wrong = nobody.post("/sign-in", &[("token", "0123")]).expect(401);
    assert!(wrong.header("set-cookie").is_empty() && wrong.html.contains("unknown or revoked"));
    nobody
        .post_with(
            "/sign-in",
            &[("token", token)],
            &[("sec-fetch-site", "cross-site")],
        )
        .expect(403);
}

#[test]
fn a_revoked_token_and_a_session_that_was_left_open_nothing() {
    let shop = Shop::start(Engine::Sqlite);
    let made = shop
        .post(
            Who::Manager,
            "/v1/tokens",
            &json!({ "name": "till", "role": "clerk" }),
        )
        .expect(201);
    let nobody = Visitor::nobody(&shop);
    let seen = nobody
        .post("/sign-in", &[("token", &made.text("token"))])
        .expect(303);
    let till = Visitor {
        cookie: seen
            .header("set-cookie")
            .split(';')
            .next()
            .expect("a cookie")
            .to_owned(),
        ..nobody
    };
    till.get("/receive").expect(200);
    let path = format!("/v1/tokens/{}", made.text("id"));
    let etag = shop.get(Who::Manager, &path).etag();
    shop.send("DELETE", &path, Who::Manager, &[("if-match", &etag)], "")
        .expect(204);
    till.get("/receive").expect(401);

    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let key = clerk.get("/receive").expect(200).hidden("form_key");
    assert!(
        clerk
            .post("/sign-out", &[("form_key", &key)])
            .expect(303)
            .header("set-cookie")
            .contains("Max-Age=0")
    );
    clerk.get("/receive").expect(401);
}

#[test]
fn a_role_that_is_too_small_is_told_so() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-9400");
    shop.once(Who::Tuner, "/v1/stock/issues", &issue(&part, "J-1", 4))
        .expect(201);
    let (reader, tuner) = (
        Visitor::signed_in(&shop, Who::Reader),
        Visitor::signed_in(&shop, Who::Tuner),
    );
    for (path, least) in [
        ("/receive", "clerk"),
        ("/issue", "tuner"),
        ("/scrap", "tuner"),
    ] {
        let seen = reader.get(path).expect(403);
        assert!(
            seen.html.contains(&format!(
                "This takes the role {least}; you are signed in as reader."
            )),
            "{path}"
        );
        reader
            .post(path, &[("form_key", &seen.hidden("form_key"))])
            .expect(403);
        assert!(
            !reader.get("/").html.contains(&format!("href=\"{path}\"")),
            "{path}"
        );
    }
    tuner.get("/receive").expect(403);
    let form = tuner.get(&format!("/scrap?plug_id={part}")).expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let scrap = |from: (&str, &str)| {
        let fields = [
            ("form_key", key.as_str()),
            ("once", &once),
            ("plug_id", &part),
            ("quantity", "1"),
            ("reason", "dropped"),
        ];
        tuner.post("/scrap", &[&fields[..], &[(from.0, from.1)]].concat())
    };
    assert!(
        scrap(("place", "FW-9400"))
            .expect(403)
            .html
            .contains("from a bin it takes a clerk")
    );
    scrap(("job", "J-1")).expect(303);
    assert_eq!(in_bins(&shop, &part), 16);
}
