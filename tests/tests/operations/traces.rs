//! `traceparent` in, `trace_id` and `span_id` in every line of the log.

use plugwell_tests::Who;
use plugwell_tests::shop::{Engine, Shop};
use serde_json::Value;

const TRACE: &str = "0af7651916cd43dd8448eb211c80319c";
const PARENT: &str = "b7ad6b7169203331";

/// The lines of the log about a path, each with the span of its request.
fn lines_about(shop: &Shop, path: &str) -> Vec<Value> {
    let log = shop.log();
    let lines = log
        .lines()
        .filter_map(|line| serde_json::from_str(line).ok());
    lines
        .filter(|line: &Value| line["span"]["path"] == path)
        .collect()
}

fn digits(value: &Value, many: usize) -> bool {
    let text = value.as_str().unwrap_or_default();
    text.len() == many
        && text
            .bytes()
            .all(|b| b.is_ascii_hexdigit() && !b.is_ascii_uppercase())
}

#[test]
fn a_request_is_logged_within_its_callers_trace() {
    let shop = Shop::start(Engine::Sqlite);
    let asked = |path: &str, headers: &[(&str, &str)]| {
        let answer = shop.send("GET", path, Who::Reader, headers, "");
        assert_eq!(
            answer.header("traceparent"),
            None,
            "none is defined for answers"
        );
        let lines = lines_about(&shop, path);
        assert!(!lines.is_empty(), "{path} is in the log");
        for line in &lines {
            assert!(digits(&line["span"]["trace_id"], 32), "{line}");
            assert!(digits(&line["span"]["span_id"], 16), "{line}");
        }
        lines[0]["span"].clone()
    };
    let own = format!("00-{TRACE}-{PARENT}-01");
    let within = asked(
        "/v1/within",
        &[("traceparent", &own), ("tracestate", "x=1")],
    );
    assert_eq!(within["trace_id"], TRACE);
    assert_eq!(within["parent_id"], PARENT);
    assert_ne!(within["span_id"], PARENT, "a span of our own");
    let later = asked(
        "/v1/later",
        &[("traceparent", &format!("cc-{TRACE}-{PARENT}-01-x"))],
    );
    assert_eq!(
        later["trace_id"], TRACE,
        "a later version is read as far as it is known"
    );
    for (path, line) in [
        ("/v1/capitals", own.to_uppercase()),
        ("/v1/zeros", format!("00-{}-{PARENT}-01", "0".repeat(32))),
        ("/v1/more", format!("{own}-more")),
        ("/v1/empty", String::new()),
    ] {
        let begun = asked(path, &[("traceparent", &line)]);
        assert_ne!(begun["trace_id"], TRACE, "{path}");
        assert_eq!(begun["parent_id"], Value::Null, "{path}");
    }
    let (one, other) = (asked("/v1/one", &[]), asked("/v1/other", &[]));
    assert_ne!(one["trace_id"], other["trace_id"]);
    let twice = asked("/v1/twice", &[("traceparent", &own), ("traceparent", &own)]);
    assert_ne!(twice["trace_id"], TRACE, "two lines are none");
}

#[test]
fn the_client_hands_a_trace_on() {
    let shop = Shop::start(Engine::Sqlite);
    let token = shop.token(Who::Reader).expect("a token");
    let client = plugwell_client::Client::new(shop.url(), token).expect("a client");
    let client = client.in_trace(&format!("00-{TRACE}-{PARENT}-01"));
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .expect("a runtime");
    let _: Value = runtime.block_on(client.get("/v1/builds")).expect("a list");
    let lines = lines_about(&shop, "/v1/builds");
    let line = lines.first().expect("it is in the log");
    assert_eq!(line["span"]["trace_id"], TRACE);
    assert_eq!(line["span"]["parent_id"], PARENT);
}
