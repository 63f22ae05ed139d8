//! What moves stock is sent again under the same key; what stores a record without one never is.

use std::time::{Duration, Instant};

use plugwell_client::{Client, Code, Error, Issue, PlugData};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::misbehaving::{Does, Server, ok, problem};

fn issue() -> Issue {
    Issue::of(Uuid::from_u128(7), 9, "J-2001")
}

fn moved() -> Value {
    json!({ "movements": [], "lots": [], "reservations": [], "delivery": null, "fails": [], "cautions": [] })
}

#[tokio::test]
async fn a_command_is_sent_again_with_the_same_key_until_it_is_answered() {
    let server = Server::that([
        Does::Drops,
        problem(503, "unavailable", vec![]),
        ok(moved()),
    ])
    .await;
    server
        .client()
        .issue(&issue())
        .await
        .expect("answered in the end");
    let sent = server.sent();
    assert_eq!(sent.len(), 3);
    for one in &sent {
        assert_eq!(one.line, "POST /v1/stock/issues");
        assert_eq!(one.key(), sent[0].key(), "the same key");
        assert_eq!(one.body, sent[0].body, "the same body, byte for byte");
        assert_eq!(one.header("authorization"), Some("Bearer a-token"));
    }
    assert!(
        sent[0].key().len() > 30,
        "a key of its own: {}",
        sent[0].key()
    );
}

#[tokio::test]
async fn two_commands_have_two_keys() {
    let server = Server::that([ok(moved()), ok(moved())]).await;
    let client = server.client();
    client.issue(&issue()).await.expect("the first");
    client.issue(&issue()).await.expect("the second");
    let sent = server.sent();
    assert_ne!(sent[0].key(), sent[1].key());
}

#[tokio::test]
async fn a_record_is_never_sent_twice() {
    let cases = [
        Does::Drops,
        problem(503, "unavailable", vec![]),
        problem(429, "rate_limited", vec![("retry-after", "0".into())]),
        Does::Answers(502, vec![], "text/html", "<p>a proxy".into()),
    ];
    for case in cases {
        let server = Server::that([case, ok(json!({})), ok(json!({}))]).await;
        let client = server.client();
        let stored = client.store(&PlugData::named("Ferrowick", "FW-1")).await;
        assert!(
            stored.expect_err("refused").is_retryable(),
            "the caller may decide"
        );
        assert_eq!(server.sent().len(), 1, "once");

        let server = Server::that([problem(503, "unavailable", vec![]), ok(json!({}))]).await;
        let made: Result<Value, Error> = server.client().create("/v1/tokens", &json!({})).await;
        assert_eq!(made.expect_err("refused").code(), Code::Unavailable);
        assert_eq!(server.sent().len(), 1, "once");
    }
}

#[tokio::test]
async fn what_is_still_running_is_asked_for_again() {
    let server = Server::that([
        Does::Drops,
        problem(409, "still_running", vec![]),
        ok(moved()),
    ])
    .await;
    server.client().issue(&issue()).await.expect("answered");
    let sent = server.sent();
    assert_eq!(sent.len(), 3);
    assert!(sent.iter().all(|one| one.key() == sent[0].key()));
}

#[tokio::test]
async fn a_refusal_is_not_argued_with() {
    let server = Server::that([problem(409, "not_enough_stock", vec![]), ok(moved())]).await;
    let refused = server.client().issue(&issue()).await.expect_err("refused");
    assert_eq!(refused.code(), Code::NotEnoughStock);
    assert!(!refused.is_retryable());
    let problem = refused.problem().expect("a problem");
    assert_eq!((problem.available(), problem.on_hand()), (Some(3), Some(5)));
    assert_eq!(problem.sent, 1);
    assert_eq!(server.sent().len(), 1);
}

#[tokio::test]
async fn it_is_sent_so_often_and_no_more() {
    let busy = || problem(503, "unavailable", vec![]);
    let server = Server::that([busy(), busy(), busy(), busy(), ok(moved())]).await;
    let told = Client::builder(server.url(), "a-token")
        .attempts(4)
        .pause(Duration::from_millis(1));
    let client = told.build().expect("a client");
    let refused = client.issue(&issue()).await.expect_err("busy four times");
    assert_eq!(refused.problem().map(|problem| problem.sent), Some(4));
    assert_eq!(server.sent().len(), 4);
}

#[tokio::test]
async fn it_waits_as_long_as_it_is_told_but_not_for_ever() {
    let busy = |seconds: &str| problem(429, "rate_limited", vec![("retry-after", seconds.into())]);
    let server = Server::that([busy("1"), ok(moved())]).await;
    let begun = Instant::now();
    server.client().issue(&issue()).await.expect("answered");
    assert!(
        begun.elapsed() >= Duration::from_secs(1),
        "{:?}",
        begun.elapsed()
    );
    assert_eq!(server.sent().len(), 2);

    let server = Server::that([busy("120"), ok(moved())]).await;
    let refused = server.client().issue(&issue()).await.expect_err("too long");
    let problem = refused.problem().expect("a problem");
    assert_eq!(problem.retry_after, Some(Duration::from_secs(120)));
    assert_eq!(server.sent().len(), 1);
}

#[tokio::test]
async fn silence_is_waited_for_so_long() {
    let server = Server::that([Does::IsSilent, Does::IsSilent, ok(moved())]).await;
    let told = Client::builder(server.url(), "a-token")
        .timeout(Duration::from_millis(300))
        .attempts(2)
        .pause(Duration::from_millis(1));
    let silent = told.build().expect("a client").issue(&issue()).await;
    let silent = silent.expect_err("silent twice");
    assert!(matches!(silent, Error::NoAnswer(_)), "{silent:?}");
    assert!(silent.is_retryable());
    assert_eq!(server.sent().len(), 2);
}

#[tokio::test]
async fn a_caller_can_bring_key_and_trace() {
    let server = Server::that([ok(moved()), ok(json!({ "items": [] }))]).await;
    let trace = "00-0af7651916cd43dd8448eb211c80319c-b7ad6b7169203331-01";
    let client = server.client().in_trace(trace);
    let keyed = client.clone().under_key("delivery-17").expect("a key");
    keyed.issue(&issue()).await.expect("answered");
    let _: Value = client.get("/v1/plugs").await.expect("answered");
    let sent = server.sent();
    assert_eq!(sent[0].key(), "\"delivery-17\"");
    assert_eq!(sent[1].header("idempotency-key"), None);
    assert!(
        sent.iter()
            .all(|one| one.header("traceparent") == Some(trace))
    );
    for wrong in ["", "two words", "gr\u{fc}n", &"k".repeat(129)] {
        let refused = client.clone().under_key(wrong);
        assert!(matches!(refused, Err(Error::NotSent(_))), "{wrong:?}");
    }
}
