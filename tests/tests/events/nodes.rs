//! Two nodes on one database: each event is delivered, once, and those of one subject in their order.

use std::collections::HashMap;
use std::time::Duration;

use plugwell_tests::bodies::{head, unique, with};
use plugwell_tests::call::client;
use plugwell_tests::receiver::{Delivered, Receiver, Reply};
use plugwell_tests::{Engine, Shop, Who, engines, until};
use serde_json::{Value, json};

/// Heads that are written, and how often each.
const HEADS: usize = 16;
const WRITES: usize = 3;
/// Waits enough that no delivery is given up however often it is its turn to fail.
const SETTINGS: [&str; 6] = [
    "--webhook-allow",
    "127.0.0.1",
    "--webhook-schedule",
    "50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms,50ms",
    "--webhook-seconds",
    "5",
];

/// Where the server is not installed there is no second node; `engines` says that aloud.
fn two_nodes() -> Option<(Shop, Shop)> {
    let engine = engines().into_iter().find(|e| *e == Engine::Postgres)?;
    let first = Shop::start_with(engine, &SETTINGS);
    let database = first.database().expect("a database").to_owned();
    let extra = [&SETTINGS[..], &["--database", &database]].concat();
    let mut second = Shop::closed(Engine::Sqlite, &extra);
    second.open();
    Some((first, second))
}

/// A webhook for the events of heads; its path.
fn hook(shop: &Shop, receiver: &Receiver) -> String {
    let types = ["created", "changed"].map(|p| format!("plugwell.head.{p}.v1"));
    let body = json!({ "url": receiver.url(), "types": types });
    let made = shop.post(Who::Manager, "/v1/webhooks", &body).expect(201);
    format!("/v1/webhooks/{}", made.text("id"))
}

/// Writes a head at a node, which knows the tokens of the first; its subject.
fn write(first: &Shop, node: &Shop, subject: Option<&str>, version: usize) -> String {
    let at = |path: &str| format!("{}/v1/{path}", node.url());
    let name = json!({ "name": unique("Written at a node") });
    let request = match subject {
        None => client()
            .post(at("heads"))
            .body(with(head(), name).to_string()),
        Some(subject) => {
            let patch = client().patch(at(subject)).body(name.to_string());
            patch.header("if-match", format!("\"{version}\""))
        }
    };
    let token = first.token(Who::Tuner).expect("a token");
    let request = request.header("content-type", "application/json");
    let answer = request.bearer_auth(token).send().expect("an answer");
    assert!(answer.status().is_success(), "{answer:?}");
    let made: Value = answer.json().expect("JSON");
    format!("heads/{}", made["id"].as_str().expect("an id"))
}

/// What came, by subject, in the order in which it came.
fn by_subject(seen: Vec<Delivered>) -> HashMap<String, Vec<i64>> {
    let mut all: HashMap<String, Vec<i64>> = HashMap::new();
    for delivered in seen {
        let version = delivered.event()["entityversion"].as_i64();
        let own = all.entry(delivered.subject()).or_default();
        own.push(version.expect("a version"));
    }
    all
}

/// The deliveries of a webhook, once all have come to an end.
fn ended(shop: &Shop, path: &str, count: usize) -> Vec<Value> {
    until("the end of all deliveries", || {
        let all = shop.all(Who::Manager, &format!("{path}/deliveries"));
        let is_over = all.len() == count && all.iter().all(|d| d["state"] != "waiting");
        is_over.then_some(all)
    })
}

#[test]
fn of_two_nodes_that_deliver_each_event_comes_once_and_in_order() {
    let Some((mut first, second)) = two_nodes() else {
        return;
    };
    // Slow enough that a node alone cannot keep up, and every other fails.
    let slow = Reply::After(Duration::from_millis(150));
    let answers = std::iter::repeat_n([slow, Reply::Status(500, None)], HEADS).flatten();
    let receiver = Receiver::answering(answers);
    let path = hook(&first, &receiver);
    let mut subjects = Vec::new();
    for number in 0..HEADS {
        let node = [&first, &second][number % 2];
        subjects.push(write(&first, node, None, 0));
    }
    for version in 1..WRITES {
        for (number, subject) in subjects.iter().enumerate() {
            let node = [&first, &second][(number + version) % 2];
            write(&first, node, Some(subject), version);
        }
    }
    let deliveries = ended(&first, &path, HEADS * WRITES);
    let statuses = |delivery: &Value| -> Vec<u64> {
        let attempts = delivery["attempts"].as_array().expect("attempts");
        attempts
            .iter()
            .filter_map(|a| a["status"].as_u64())
            .collect()
    };
    let attempts: Vec<Vec<u64>> = deliveries.iter().map(statuses).collect();
    for of_one in &attempts {
        let (last, before) = of_one.split_last().expect("an attempt");
        assert!(
            *last < 300 && before.iter().all(|status| *status == 500),
            "{of_one:?}"
        );
    }
    let seen = receiver.seen();
    assert_eq!(
        seen.len(),
        attempts.iter().map(Vec::len).sum::<usize>(),
        "whatever was sent was written down"
    );
    let failed = attempts.iter().flatten().filter(|status| **status == 500);
    assert_eq!(
        failed.count(),
        HEADS,
        "nothing came twice but what had failed"
    );
    let came = by_subject(seen);
    assert_eq!(came.len(), HEADS);
    for (subject, versions) in &came {
        assert!(versions.is_sorted(), "{subject}: {versions:?}");
    }
    for (node, shop) in [("first", &first), ("second", &second)] {
        assert!(
            shop.log().contains("a delivery failed"),
            "the {node} delivers"
        );
    }
    // One is enough for what comes after the other has gone.
    first.kill();
    let subject = write(&first, &second, None, 0);
    receiver.of(&subject, 1);
}
