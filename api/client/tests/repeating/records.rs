//! Records with their versions: what is changed or removed is sent again, and what that can mean.

use plugwell_client::{Code, Plug, Versioned};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::misbehaving::{Does, Server, problem};

fn plug(version: i64) -> Value {
    json!({
        "id": Uuid::from_u128(7), "maker": "Ferrowick", "part_number": "FW-1", "thread": "M14x1.25",
        "reach_mm": 19.05, "retired": false, "version": version,
        "created_at": "2026-01-02T03:04:05.000006Z", "updated_at": "2026-01-02T03:04:05.000006Z"
    })
}

fn tagged(version: i64) -> Does {
    let tag = vec![("etag", format!("\"{version}\""))];
    Does::Answers(200, tag, "application/json", plug(version).to_string())
}

#[tokio::test]
async fn a_change_names_its_version_and_is_sent_again() {
    let server = Server::that([tagged(3), Does::Drops, tagged(4)]).await;
    let client = server.client();
    let known: Versioned<Plug> = client.read(Uuid::from_u128(7)).await.expect("the record");
    assert_eq!((known.etag.as_str(), known.record.version), ("\"3\"", 3));
    let changed = client.change(&known, &json!({ "heat_code": null })).await;
    assert_eq!(changed.expect("changed").etag, "\"4\"");
    let sent = server.sent();
    assert_eq!(sent.len(), 3);
    for one in &sent[1..] {
        assert_eq!(one.line, format!("PATCH /v1/plugs/{}", Uuid::from_u128(7)));
        assert_eq!(one.header("if-match"), Some("\"3\""));
        assert_eq!(one.body, r#"{"heat_code":null}"#);
    }
}

#[tokio::test]
async fn a_lost_answer_shows_in_how_often_it_was_sent() {
    let stale = || problem(412, "stale", vec![]);
    let gone = problem(404, "not_found", vec![]);
    let server = Server::that([tagged(3), Does::Drops, stale(), Does::Drops, gone, stale()]).await;
    let client = server.client();
    let known: Versioned<Plug> = client.read(Uuid::from_u128(7)).await.expect("the record");
    for (code, sent) in [(Code::Stale, 2), (Code::NotFound, 2), (Code::Stale, 1)] {
        let refused = if code == Code::NotFound {
            client.remove(&known).await.expect_err("refused")
        } else {
            let changed = client.change(&known, &json!({})).await;
            changed.expect_err("refused")
        };
        assert_eq!(refused.code(), code);
        assert_eq!(refused.problem().map(|problem| problem.sent), Some(sent));
    }
}

#[tokio::test]
async fn removing_answers_with_nothing() {
    let gone = Does::Answers(204, vec![], "text/plain", String::new());
    let server = Server::that([tagged(3), gone]).await;
    let client = server.client();
    let known: Versioned<Plug> = client.read(Uuid::from_u128(7)).await.expect("the record");
    client.remove(&known).await.expect("removed");
    assert_eq!(server.sent()[1].header("if-match"), Some("\"3\""));
}
