//! The feed of what happens: waited for, gone on with, and nothing missed.

use std::time::Duration;

use plugwell_client::{Code, StreamExt};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::misbehaving::{Does, Server, ok, problem};

fn events(ids: &[u128], next: &str) -> Does {
    let event = |id: &u128| {
        json!({
            "specversion": "1.0", "id": Uuid::from_u128(*id), "source": "urn:plugwell", "added_later": 1,
            "type": "plugwell.movement.booked.v1", "time": "2026-01-02T03:04:05.000006Z",
            "subject": "stock/movements", "datacontenttype": "application/json", "data": { "quantity": id }
        })
    };
    let items: Vec<Value> = ids.iter().map(event).collect();
    ok(json!({ "items": items, "next_cursor": next }))
}

#[tokio::test]
async fn the_stream_waits_goes_on_and_tells_where_to_begin_again() {
    let server = Server::that([
        events(&[1, 2], "a"),
        events(&[], "b"),
        Does::Drops,
        events(&[3], "c"),
        problem(410, "cursor_gone", vec![]),
    ])
    .await;
    let feed = server
        .client()
        .changes(Some("z"))
        .of_type("one")
        .of_type("two");
    let mut stream = feed.wait(Duration::from_secs(7)).limit(2).stream();
    let mut seen = Vec::new();
    for _ in 0..3 {
        let (event, cursor) = stream.next().await.expect("an event").expect("no error");
        seen.push((event.data["quantity"].as_u64().expect("a number"), cursor));
    }
    let at = |cursor: &str| Some(cursor.to_owned());
    // After the first of two a restart has to see the second again: it begins at the cursor before both.
    assert_eq!(seen, [(1, at("z")), (2, at("a")), (3, at("c"))]);
    let gone = stream.next().await.expect("an error").expect_err("gone");
    assert_eq!(gone.code(), Code::CursorGone);
    assert!(stream.next().await.is_none(), "ended");

    let sent = server.sent();
    let asked: Vec<&str> = sent.iter().map(|one| one.line.as_str()).collect();
    let after = |cursor: &str| format!("GET /v1/changes?after={cursor}&types=one%2Ctwo&limit=2");
    assert_eq!(
        asked,
        [after("z"), after("a"), after("b"), after("b"), after("c")]
    );
    assert!(
        sent.iter()
            .all(|one| one.header("prefer") == Some("wait=7"))
    );
}

#[tokio::test]
async fn the_answer_may_take_as_long_as_it_was_told_to_wait() {
    let server = Server::that([Does::IsSilent, events(&[1], "a")]).await;
    let told = plugwell_client::Client::builder(server.url(), "a-token")
        .timeout(Duration::from_millis(200))
        .pause(Duration::from_millis(1));
    let client = told.build().expect("a client");
    let mut feed = client.changes(None).wait(Duration::from_secs(1));
    let begun = std::time::Instant::now();
    assert_eq!(feed.next_page().await.expect("answered").items.len(), 1);
    assert!(
        begun.elapsed() >= Duration::from_millis(1200),
        "the first attempt had its time and the wait"
    );
    assert_eq!(feed.cursor(), Some("a"));
    assert_eq!(server.sent()[0].line, "GET /v1/changes");
}
