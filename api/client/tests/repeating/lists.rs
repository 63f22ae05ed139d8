//! Lists as streams: pages are asked for as they are read, and again where one fails.

use plugwell_client::{Level, StreamExt};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::misbehaving::{Does, Server, ok, problem};

fn levels(quantities: &[i64], next: Option<&str>) -> Does {
    let level = |quantity: &i64| {
        let id = Uuid::from_u128(1);
        json!({ "plug_id": id, "lot_id": id, "place_id": id, "quantity": quantity, "added_later": [1] })
    };
    let items: Vec<Value> = quantities.iter().map(level).collect();
    ok(json!({ "items": items, "next_cursor": next, "added_later": true }))
}

#[tokio::test]
async fn a_stream_follows_the_cursors_with_the_same_filters() {
    let server = Server::that([
        levels(&[1, 2], Some("a+b/c=")),
        Does::Drops,
        levels(&[], Some("d")),
        levels(&[3], None),
    ])
    .await;
    let list = server
        .client()
        .list::<Level>()
        .filter("kind", "bin")
        .limit(2);
    let levels = list.all().await.expect("every page");
    let quantities: Vec<i64> = levels.iter().map(|level| level.quantity).collect();
    assert_eq!(quantities, [1, 2, 3]);
    let lines: Vec<String> = server.sent().into_iter().map(|one| one.line).collect();
    let first = "GET /v1/stock/levels?kind=bin&limit=2";
    assert_eq!(
        lines,
        [
            first.to_owned(),
            format!("{first}&cursor=a%2Bb%2Fc%3D"),
            format!("{first}&cursor=a%2Bb%2Fc%3D"),
            format!("{first}&cursor=d"),
        ]
    );
}

#[tokio::test]
async fn no_page_is_asked_for_before_it_is_needed() {
    let server = Server::that([levels(&[1, 2], Some("a")), levels(&[3], None)]).await;
    let mut stream = server.client().list::<Level>().stream();
    for _ in 0..2 {
        stream.next().await.expect("an item").expect("no error");
    }
    assert_eq!(server.sent().len(), 1);
    stream.next().await.expect("an item").expect("no error");
    assert!(stream.next().await.is_none());
    assert_eq!(server.sent().len(), 2);
}

#[tokio::test]
async fn an_error_ends_the_stream() {
    let server = Server::that([levels(&[1], Some("a")), problem(400, "invalid", vec![])]).await;
    let mut stream = server.client().list::<Level>().stream();
    assert!(stream.next().await.expect("an item").is_ok());
    assert!(stream.next().await.expect("an error").is_err());
    assert!(stream.next().await.is_none());
}
