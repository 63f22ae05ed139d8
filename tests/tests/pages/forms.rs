//! What the forms refuse, and what every page says of itself: seen without a browser.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, plug, receive, stored_plug};
use plugwell_tests::shop::{Engine, Shop};

use crate::visitor::Visitor;

/// A part with twenty plugs in a bin.
pub fn stocked(shop: &Shop, part_number: &str) -> String {
    let part = stored_plug(shop, &plug(part_number));
    receive(shop, &part, &bin(shop, part_number), 20);
    part
}

pub fn in_bins(shop: &Shop, part: &str) -> i64 {
    let levels = shop
        .get(
            Who::Reader,
            &format!("/v1/stock/levels?kind=bin&plug_id={part}"),
        )
        .expect(200);
    levels
        .items()
        .iter()
        .filter_map(|level| level["quantity"].as_i64())
        .sum()
}

#[test]
fn a_form_without_its_key_does_nothing() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-9100");
    let (clerk, other) = (
        Visitor::signed_in(&shop, Who::Clerk),
        Visitor::signed_in(&shop, Who::Clerk),
    );
    let form = clerk.get(&format!("/issue?plug_id={part}")).expect(200);
    let (own, once) = (form.hidden("form_key"), form.hidden("once"));
    let others = other.get("/issue").expect(200).hidden("form_key");
    assert_ne!(own, others);
    let (own, once, part) = (own.as_str(), once.as_str(), part.as_str());
    let fields = |key| {
        [
            ("form_key", key),
            ("once", once),
            ("plug_id", part),
            ("quantity", "5"),
            ("job", "J-9"),
        ]
    };
    for wrong in ["", "0123", others.as_str()] {
        clerk.post("/issue", &fields(wrong)).expect(403);
    }
    clerk.post("/issue", &fields(own)[1..]).expect(403);
    let cross = clerk.post_with("/issue", &fields(own), &[("sec-fetch-site", "cross-site")]);
    assert_eq!(
        (cross.status, cross.header("content-type")),
        (403, "text/html; charset=utf-8")
    );
    Visitor::nobody(&shop)
        .post("/issue", &fields(own))
        .expect(401);
    clerk.post("/sign-out", &[]).expect(403);
    clerk.get("/issue").expect(200);
    assert_eq!(in_bins(&shop, part), 20);
    // Not even with the right key, without the one that makes it the same form when it is sent twice.
    let keyless = [
        ("form_key", own),
        ("plug_id", part),
        ("quantity", "5"),
        ("job", "J-9"),
    ];
    clerk.post("/issue", &keyless).expect(400);
    assert_eq!(in_bins(&shop, part), 20);
    clerk.post("/issue", &fields(own)).expect(303);
    assert_eq!(in_bins(&shop, part), 15);
}

#[test]
fn a_form_is_booked_once_however_often_it_is_sent() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-9200");
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let form = clerk.get(&format!("/issue?plug_id={part}")).expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let fields = |quantity| {
        [
            ("form_key", key.as_str()),
            ("once", &once),
            ("plug_id", &part),
            ("quantity", quantity),
            ("job", "J-9"),
        ]
    };
    // A refused form leaves its key free.
    let refused = clerk.post("/issue", &fields("21")).expect(409);
    assert!(refused.html.contains("there are 20 to be had") && refused.hidden("once") == once);
    let places: Vec<String> = std::thread::scope(|scope| {
        let send = || {
            clerk
                .post("/issue", &fields("5"))
                .expect(303)
                .header("location")
                .to_owned()
        };
        let twins: Vec<_> = (0..8).map(|_| scope.spawn(send)).collect();
        twins
            .into_iter()
            .map(|twin| twin.join().expect("an answer"))
            .collect()
    });
    let first = places[0].trim_end_matches("&again=yes");
    assert!(
        places
            .iter()
            .all(|place| place.trim_end_matches("&again=yes") == first),
        "{places:?}"
    );
    assert_eq!(
        places.iter().filter(|place| *place == first).count(),
        1,
        "one did it: {places:?}"
    );
    assert!(
        clerk
            .get(first)
            .expect(200)
            .text()
            .contains("5 × Ferrowick FW-9200")
    );
    assert_eq!(in_bins(&shop, &part), 15, "issued once");
    let other = clerk.post("/issue", &fields("6")).expect(409);
    assert!(
        other.html.contains("Nothing was done now"),
        "{}",
        other.html
    );
    assert_eq!(in_bins(&shop, &part), 15);
}

#[test]
fn a_part_is_looked_up_before_it_is_booked() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-9300");
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let form = clerk.get("/scrap").expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let sent = |part: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("once", &once),
            ("part", part),
            ("quantity", "1"),
            ("place", "fw-9300"),
            ("reason", "dropped"),
        ];
        clerk.post("/scrap", &fields)
    };
    // A word that leads to it may lead to another one: the part is shown first.
    let looked = sent("invented").expect(400);
    assert!(
        looked.html.contains("Look whether this is the part") && looked.hidden("plug_id") == part
    );
    assert!(
        sent("no such thing")
            .expect(400)
            .html
            .contains("no part is known by that")
    );
    let other = stored_plug(&shop, &plug("FW-9301"));
    let several = sent("invented").expect(400);
    assert!(
        several
            .html
            .contains(&format!("name=\"plug_id\" value=\"{part}\""))
            && several.html.contains(&other)
    );
    // Looking up is no fault.
    let looked = clerk.get("/scrap?part=invented").expect(200);
    assert!(looked.html.contains("Which of these?") && !looked.html.contains("role=\"alert\""));
    assert_eq!(in_bins(&shop, &part), 20);
    sent("fw 9300").expect(303);
    assert_eq!(in_bins(&shop, &part), 19);
}

#[test]
fn what_was_booked_says_what_to_beware_of() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-9300");
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let short = plugwell_tests::bodies::head();
    let short = plugwell_tests::bodies::with(short, serde_json::json!({ "reach_mm": 12.7 }));
    let body = plugwell_tests::bodies::with(
        plugwell_tests::bodies::build(),
        serde_json::json!({ "head": short }),
    );
    let build = shop.post(Who::Tuner, "/v1/builds", &body).expect(201);
    let issued = |over: serde_json::Value| {
        let body = plugwell_tests::bodies::issue(&part, "J-9", 1);
        let body = plugwell_tests::bodies::with(body, over);
        let done = shop.once(Who::Tuner, "/v1/stock/issues", &body).expect(201);
        let id = done.json["movements"][0]["id"].as_str().map(str::to_owned);
        let path = format!("/booked?id={}", id.expect("an id"));
        tuner.get(&path).expect(200).html
    };
    let never = "Never fit it";
    let wrong = issued(serde_json::json!({ "build_id": build.json["id"], "gap_mm": 1.3 }));
    assert!(
        wrong.contains(never) && wrong.contains("outside the range"),
        "{wrong}"
    );
    let plain = issued(serde_json::json!({}));
    assert!(!plain.contains(never) && !plain.contains("outside the range"));
}

#[test]
fn every_page_is_hardened_and_errors_are_pages_for_browsers_only() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let unknown = "01890000-0000-7000-8000-000000000000";
    for (path, status) in [
        ("/", 200),
        ("/sign-in", 200),
        ("/receive", 200),
        ("/?cylinders=x", 400),
        ("/nowhere", 404),
        ("/booked?id=1", 404),
        (&format!("/?build={unknown}"), 404),
        (&format!("/issue?plug_id={unknown}"), 404),
        ("/sign-out", 405),
    ] {
        let seen = clerk.get(path).expect(status);
        assert_eq!(
            seen.header("content-type"),
            "text/html; charset=utf-8",
            "{path}"
        );
        let policy = seen.header("content-security-policy");
        for rule in [
            "default-src 'none'",
            "style-src 'self'",
            "script-src 'self'",
            "connect-src 'self'",
            "form-action 'self'",
            "frame-ancestors 'none'",
            "base-uri 'none'",
        ] {
            assert!(policy.contains(rule), "{rule} is missing from {policy}");
        }
        assert!(!policy.contains("unsafe"), "{policy}");
        for (name, value) in [
            ("x-content-type-options", "nosniff"),
            ("x-frame-options", "DENY"),
            ("referrer-policy", "same-origin"),
            ("cache-control", "no-store"),
        ] {
            assert_eq!(seen.header(name), value, "{path} {name}");
        }
        for inline in ["<script>", "<style", " style=", " onclick=", "javascript:"] {
            assert!(!seen.html.contains(inline), "{inline} in {path}");
        }
        let scripts = seen.html.matches("<script").count();
        let own = "<script src=\"/assets/plugwell.js?";
        assert_eq!(scripts, seen.html.matches(own).count(), "{path}");
    }
    assert_eq!(
        clerk.ask("DELETE", "/receive").expect(405).header("allow"),
        "GET, HEAD, POST"
    );
    clerk.ask("HEAD", "/").expect(200);
    let large = clerk
        .post("/receive", &[("note", &"x".repeat(70_000))])
        .expect(413);
    assert_eq!(large.header("content-type"), "text/html; charset=utf-8");
    for path in ["/nowhere", "/receive/7"] {
        shop.get(Who::Clerk, path).problem(404, "not_found");
    }
    shop.send("DELETE", "/receive", Who::Clerk, &[], "")
        .problem(405, "method_not_allowed");
}

#[test]
fn the_stylesheet_is_kept_under_its_own_mark() {
    let shop = Shop::start(Engine::Sqlite);
    let nobody = Visitor::nobody(&shop);
    let page = nobody.get("/").html;
    let (_, rest) = page
        .split_once("rel=\"stylesheet\" href=\"")
        .expect("a stylesheet");
    let address = rest.split('"').next().expect("its address");
    let style = nobody.get(address).expect(200);
    assert_eq!(style.header("content-type"), "text/css; charset=utf-8");
    assert!(
        style.header("cache-control").contains("immutable")
            && style.html.contains(":focus-visible")
    );
    let plain = nobody.get("/assets/plugwell.css").expect(200);
    assert!(!plain.header("cache-control").contains("immutable"));
    let etag = plain.header("etag");
    assert!(
        address.ends_with(etag.trim_matches('"')) && etag.len() == 18,
        "{address} {etag}"
    );
    let again = nobody
        .client
        .get(format!("{}/assets/plugwell.css", shop.url()))
        .header("if-none-match", etag);
    assert_eq!(again.send().expect("an answer").status(), 304);
    let icon = nobody.get("/assets/plugwell.svg").expect(200);
    assert_eq!(icon.header("content-type"), "image/svg+xml");
    assert!(page.contains("href=\"/assets/plugwell.svg\""));
}
