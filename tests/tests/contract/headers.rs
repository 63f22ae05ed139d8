//! What holds for every request besides its body: paths, methods, tokens, and the headers of HTTP.

use plugwell_tests::bodies::{plug, unique};
use plugwell_tests::{Answer, Who, shared};
use serde_json::json;

#[test]
fn a_path_that_leads_nowhere_is_told_to_those_who_may_ask() {
    for shop in shared() {
        for path in [
            "/v1",
            "/v1/",
            "/v1/nowhere",
            "/v1/plugs/",
            "/v1/plugs/a/b",
            "/v1/stock",
            "/v1/stock/nothing",
        ] {
            shop.get(Who::Reader, path).problem(404, "not_found");
            shop.get(Who::Nobody, path).problem(401, "unauthorized");
        }
        for path in ["/nowhere", "/v2/plugs", "/livez/more"] {
            shop.send(
                "GET",
                path,
                Who::Nobody,
                &[("accept", "application/json")],
                "",
            )
            .problem(404, "not_found");
        }
        for stem in [
            "plugs",
            "heads",
            "builds",
            "heat-scales",
            "stock/places",
            "stock/lots",
            "stock/movements",
        ] {
            let nothing = "018f4f5e-0000-7000-8000-000000000000";
            shop.get(Who::Reader, &format!("/v1/{stem}/{nothing}"))
                .problem(404, "not_found");
            shop.get(Who::Reader, &format!("/v1/{stem}/7"))
                .refused_for(&["/id wrong_form"]);
        }
    }
}

#[test]
fn a_method_that_a_path_does_not_take_is_told_with_those_that_it_takes() {
    let cases = [
        ("PUT", "/v1/plugs", "GET, POST, HEAD, OPTIONS"),
        ("DELETE", "/v1/plugs", "GET, POST, HEAD, OPTIONS"),
        (
            "POST",
            "/v1/plugs/018f4f5e-0000-7000-8000-000000000000",
            "GET, PATCH, DELETE, HEAD, OPTIONS",
        ),
        ("GET", "/v1/matches", "POST, OPTIONS"),
        ("HEAD", "/v1/matches", "POST, OPTIONS"),
        ("PATCH", "/v1/policy", "GET, PUT, HEAD, OPTIONS"),
        ("DELETE", "/v1/stock/movements", "GET, HEAD, OPTIONS"),
        ("BREW", "/v1/plugs", "GET, POST, HEAD, OPTIONS"),
        ("TRACE", "/v1/plugs", "GET, POST, HEAD, OPTIONS"),
        ("POST", "/livez", "GET, HEAD, OPTIONS"),
    ];
    let sorted = |allow: &str| {
        let mut methods: Vec<_> = allow.split(',').map(|m| m.trim().to_owned()).collect();
        methods.sort();
        methods
    };
    for shop in shared() {
        for (method, path, allowed) in cases {
            let who = if path.starts_with("/v1") {
                Who::Reader
            } else {
                Who::Nobody
            };
            let answer = shop.send(method, path, who, &[], "");
            assert_eq!(answer.status, 405, "{answer:?}");
            if method != "HEAD" {
                answer.clone().problem(405, "method_not_allowed");
            }
            assert_eq!(
                sorted(answer.header("allow").unwrap_or_default()),
                sorted(allowed),
                "{answer:?}"
            );
        }
    }
}

#[test]
fn who_shows_no_good_token_is_asked_for_one() {
    for shop in shared() {
        let bare = shop
            .get(Who::Nobody, "/v1/plugs")
            .problem(401, "unauthorized");
        let challenge = bare.header("www-authenticate").unwrap_or_default();
        assert!(
            challenge.starts_with("Bearer") && !challenge.contains("error"),
            "{bare:?}"
        );
        let good = shop.token(Who::Reader).unwrap();
        let half = &good[..good.len() / 2];
        for wrong in [
            "Bearer".to_owned(),
            "Bearer ".to_owned(),
            format!("Bearer {half}"),
            format!("Bearer {good}0"),
            format!("Bearer {good} {good}"),
            format!("Bearer {}", good.to_uppercase()),
            format!("Basic {good}"),
            good.to_owned(),
            "Bearer \u{e9}".to_owned(),
        ] {
            let answer = shop.send(
                "GET",
                "/v1/plugs",
                Who::Nobody,
                &[("authorization", &wrong)],
                "",
            );
            let answer = answer.problem(401, "unauthorized");
            let challenge = answer.header("www-authenticate").unwrap_or_default();
            assert!(
                challenge.contains("error=\"invalid_token\""),
                "{wrong:?}: {answer:?}"
            );
            assert!(
                !String::from_utf8_lossy(&answer.body).contains(half),
                "a secret is not told again: {answer:?}"
            );
        }
        let lower = format!("bearer {good}");
        shop.send(
            "GET",
            "/v1/plugs",
            Who::Nobody,
            &[("authorization", &lower)],
            "",
        )
        .expect(200);
    }
}

#[test]
fn head_is_get_without_the_body() {
    for shop in shared() {
        let made = shop
            .post(Who::Clerk, "/v1/plugs", &plug(&unique("HEAD")))
            .expect(201);
        let own = format!("/v1/plugs/{}", made.text("id"));
        for path in [own.as_str(), "/v1/policy", "/livez", "/openapi.json"] {
            let (get, head) = (
                shop.get(Who::Reader, path).expect(200),
                shop.send("HEAD", path, Who::Reader, &[], ""),
            );
            assert_eq!((head.status, head.body.len()), (200, 0), "{head:?}");
            for name in ["content-type", "etag", "content-length"] {
                assert_eq!(head.header(name), get.header(name), "{name}: {head:?}");
            }
        }
        let missing = shop.send(
            "HEAD",
            "/v1/plugs/018f4f5e-0000-7000-8000-000000000000",
            Who::Reader,
            &[],
            "",
        );
        assert_eq!(
            (missing.status, missing.body.len()),
            (404, 0),
            "{missing:?}"
        );
        assert_eq!(
            shop.send("HEAD", "/v1/plugs", Who::Nobody, &[], "").status,
            401
        );
    }
}

#[test]
fn options_tells_the_methods_and_does_nothing() {
    for shop in shared() {
        let answer = shop
            .send("OPTIONS", "/v1/plugs", Who::Reader, &[], "")
            .expect(204);
        assert_eq!(answer.header("allow"), Some("GET, POST, HEAD, OPTIONS"));
        assert_eq!(
            shop.send("OPTIONS", "/v1/stock/issues", Who::Reader, &[], "")
                .expect(204)
                .header("allow"),
            Some("POST, OPTIONS")
        );
        shop.send("OPTIONS", "/v1/nowhere", Who::Reader, &[], "")
            .problem(404, "not_found");
        shop.send("OPTIONS", "/v1/plugs", Who::Nobody, &[], "")
            .problem(401, "unauthorized");
    }
}

#[test]
fn every_problem_is_found_in_the_log_by_its_instance() {
    for shop in shared() {
        let answers: [Answer; 4] = [
            shop.get(Who::Reader, "/v1/nowhere")
                .problem(404, "not_found"),
            shop.get(Who::Nobody, "/v1/plugs")
                .problem(401, "unauthorized"),
            shop.send("PUT", "/v1/plugs", Who::Reader, &[], "")
                .problem(405, "method_not_allowed"),
            shop.post(Who::Clerk, "/v1/plugs", &json!({}))
                .problem(400, "invalid"),
        ];
        let mut seen = Vec::new();
        for answer in answers {
            let instance = answer.text("instance");
            let id = instance
                .strip_prefix("urn:uuid:")
                .unwrap_or_else(|| panic!("{answer:?}"))
                .to_owned();
            assert!(uuid::Uuid::parse_str(&id).is_ok(), "{id}");
            let log = shop.log();
            let line = log
                .lines()
                .find(|line| line.contains(&id))
                .unwrap_or_else(|| panic!("{id} is not in the log"));
            assert!(
                line.contains(&answer.status.to_string()) || log.matches(&id).count() > 1,
                "{line}"
            );
            assert!(!seen.contains(&id), "each request has its own");
            seen.push(id);
        }
    }
}

#[test]
fn the_log_keeps_no_secret() {
    for shop in shared() {
        shop.get(Who::Reader, "/v1/plugs").expect(200);
        let made = shop
            .post(
                Who::Manager,
                "/v1/tokens",
                &json!({ "name": unique("log"), "role": "reader" }),
            )
            .expect(201);
        let log = shop.log();
        for who in Who::ROLES {
            assert!(
                !log.contains(shop.token(who).unwrap()),
                "the {}'s token",
                who.word()
            );
        }
        assert!(!log.contains(&made.text("token")));
    }
}

#[test]
fn answers_are_not_made_more_of_by_browsers() {
    for shop in shared() {
        let good = shop.get(Who::Reader, "/v1/policy").expect(200);
        let bad = shop
            .get(Who::Reader, "/v1/nowhere")
            .problem(404, "not_found");
        for answer in [good, bad] {
            assert_eq!(
                answer.header("x-content-type-options"),
                Some("nosniff"),
                "{answer:?}"
            );
            assert!(
                answer
                    .header("cache-control")
                    .is_some_and(|v| v.contains("no-")),
                "{answer:?}"
            );
            assert_eq!(answer.header("server"), None, "{answer:?}");
        }
    }
}

#[test]
fn a_query_member_that_there_is_not_is_refused() {
    for shop in shared() {
        for path in [
            "/v1/plugs",
            "/v1/heads",
            "/v1/builds",
            "/v1/heat-scales",
            "/v1/stock/places",
            "/v1/stock/lots",
            "/v1/stock/levels",
            "/v1/stock/movements",
            "/v1/stock/reservations",
        ] {
            shop.get(Who::Reader, &format!("{path}?colour=red"))
                .refused_for(&["?colour unknown_member"]);
        }
    }
}

#[test]
fn answers_are_packed_for_those_who_ask() {
    for shop in shared() {
        let plain = shop.get(Who::Nobody, "/openapi.json").expect(200);
        assert_eq!(plain.header("content-encoding"), None);
        let packed_or_not = |answer: &Answer| {
            let told = answer.headers.get_all("vary").iter();
            told.filter(|v| v.as_bytes().eq_ignore_ascii_case(b"accept-encoding"))
                .count()
                == 1
        };
        assert!(packed_or_not(&plain), "{:?}", plain.headers);
        let policy = shop.get(Who::Reader, "/v1/policy").expect(200);
        let known = [("if-none-match", &*policy.etag())];
        let known = shop.send("GET", "/v1/policy", Who::Reader, &known, "");
        assert!(packed_or_not(&known.clone().expect(304)), "{known:?}");
        let packed = shop
            .send(
                "GET",
                "/openapi.json",
                Who::Nobody,
                &[("accept-encoding", "gzip")],
                "",
            )
            .expect(200);
        assert_eq!(
            packed.header("content-encoding"),
            Some("gzip"),
            "{:?}",
            packed.headers
        );
        assert!(packed_or_not(&packed), "{:?}", packed.headers);
        assert!(
            packed.body.len() * 2 < plain.body.len(),
            "{} of {}",
            packed.body.len(),
            plain.body.len()
        );
    }
}
