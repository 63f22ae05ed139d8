//! Tables on their way in and out.

use std::io::{self, Cursor};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use plugwell_client::{Error, StreamExt};
use serde_json::json;

use crate::misbehaving::{Does, Server, ok, problem};

#[tokio::test]
async fn a_table_is_opened_anew_for_each_attempt() {
    let server = Server::that([Does::Drops, ok(json!({ "rows": 1 }))]).await;
    let opened = Arc::new(AtomicU32::new(0));
    let counted = Arc::clone(&opened);
    let table = "maker,part_number\n".to_owned() + &"Ferrowick,FW-1\n".repeat(20_000);
    let text = table.clone();
    let open = move || {
        counted.fetch_add(1, Ordering::Relaxed);
        Ok(Cursor::new(text.clone().into_bytes()))
    };
    let client = server.client();
    let report = client
        .import_from("plugs", open, false)
        .await
        .expect("taken");
    assert_eq!(report["rows"], 1);
    let sent = server.sent();
    assert_eq!((sent.len(), opened.load(Ordering::Relaxed)), (2, 2));
    assert_eq!(sent[0].key(), sent[1].key());
    assert!(sent.iter().all(|one| one.body == table), "whole each time");
    assert_eq!(sent[0].header("content-type"), Some("text/csv"));
}

#[tokio::test]
async fn a_table_that_cannot_be_read_is_not_sent() {
    let server = Server::that([ok(json!({}))]).await;
    let open = || Err::<io::Empty, _>(io::Error::from(io::ErrorKind::NotFound));
    let refused = server.client().import_from("plugs", open, true).await;
    assert!(matches!(refused, Err(Error::NotSent(_))), "{refused:?}");
    assert_eq!(server.sent().len(), 0);
}

#[tokio::test]
async fn a_table_that_breaks_off_is_no_table() {
    let server = Server::that([
        Does::BreaksOff("maker\nFerrowick\n"),
        problem(403, "forbidden", vec![]),
    ])
    .await;
    let client = server.client();
    let mut parts = client.table_of("plugs").await.expect("it begins");
    let mut read = Vec::new();
    let broken = loop {
        match parts.next().await.expect("no end without an error") {
            Ok(part) => read.extend_from_slice(&part),
            Err(error) => break error,
        }
    };
    assert_eq!(read, b"maker\nFerrowick\n");
    assert!(matches!(broken, Error::NoAnswer(_)), "{broken:?}");
    let refused = client
        .export("plugs", &mut Vec::new())
        .await
        .expect_err("refused");
    assert_eq!(refused.problem().map(|problem| problem.status), Some(403));
}
