//! Two nodes that take turns at one line: what one of them writes, the other has not forgotten to read.

use plugwell_tests::bodies::receipt;
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Engine, Shop, Who, engines};
use serde_json::{Value, json};

use crate::bench::{Bench, job, told, until};

/// A request with the first node's token of a role, to whichever node.
#[track_caller]
fn at(first: &Shop, node: &Shop, who: Who, method: &str, path: &str, body: &Value) -> Answer {
    let bearer = format!("Bearer {}", first.token(who).expect("a token"));
    let key = key();
    let mut headers = vec![("authorization", &*bearer), ("idempotency-key", &*key)];
    if *body == Value::Null {
        return node.send(method, path, Who::Nobody, &headers, "");
    }
    headers.push(("content-type", "application/json"));
    node.send(method, path, Who::Nobody, &headers, body.to_string())
}

/// Two nodes on one database; nothing where the server is not installed, which `engines` says aloud.
fn nodes() -> Option<(Shop, Shop)> {
    let engine = engines().into_iter().find(|e| *e == Engine::Postgres)?;
    let first = Shop::start(engine);
    let database = first.database().expect("a database").to_owned();
    let mut second = Shop::closed(Engine::Sqlite, &["--database", &database]);
    second.open();
    Some((first, second))
}

/// Lets a job wait at a node; how it stands at once.
#[track_caller]
fn ask(bench: &Bench<'_>, node: &Shop, name: &str, quantity: i64) -> Value {
    let body = json!({ "job": name, "requirement": bench.requirement(), "quantity": quantity });
    let asked = at(
        bench.shop,
        node,
        Who::Tuner,
        "POST",
        "/v1/waiting-jobs",
        &body,
    );
    asked.expect(201).json
}

/// Calls a waiting job off at a node.
#[track_caller]
fn call_off(first: &Shop, node: &Shop, id: &str) {
    let path = format!("/v1/waiting-jobs/{id}");
    let etag = first.get(Who::Reader, &path).expect(200).etag();
    let bearer = format!("Bearer {}", first.token(Who::Tuner).expect("a token"));
    let meant = [("authorization", &*bearer), ("if-match", &*etag)];
    node.send("DELETE", &path, Who::Nobody, &meant, "")
        .expect(204);
}

#[test]
fn whoever_is_asked_the_line_is_the_same() {
    let Some((first, second)) = nodes() else {
        return;
    };
    let bench = Bench::new(&first);
    let nodes = [&first, &second];
    let names: Vec<String> = (0..6).map(|_| job("Turn")).collect();
    let ids: Vec<String> = names
        .iter()
        .enumerate()
        .map(|(place, name)| {
            let asked = ask(&bench, nodes[place % 2], name, 4);
            assert_eq!(asked["state"], "waiting", "{asked}");
            asked["id"].as_str().expect("an id").to_owned()
        })
        .collect();
    let seen_at = |node: &Shop, id: &str| {
        let path = format!("/v1/waiting-jobs/{id}");
        let seen = at(&first, node, Who::Reader, "GET", &path, &Value::Null);
        seen.expect(200).json["state"].clone()
    };
    let until_possible = |served: &[usize]| {
        for node in nodes {
            for (place, id) in ids.iter().enumerate() {
                let wanted = ["waiting", "possible"][usize::from(served.contains(&place))];
                until(wanted, || seen_at(node, id) == wanted);
            }
        }
    };
    // Enough for one more each time, received where the one before was not.
    for served in 1..=3 {
        let body = receipt(&bench.plug_id, &bench.bin_id, 4);
        let path = "/v1/stock/receipts";
        at(&first, nodes[served % 2], Who::Clerk, "POST", path, &body).expect(201);
        until_possible(&(0..served).collect::<Vec<_>>());
    }
    // One that is called off at the one node moves up who asked at the other.
    call_off(&first, &second, &ids[1]);
    until("the fourth can be served", || {
        seen_at(&first, &ids[3]) == "possible"
    });
    // What the first of all takes leaves the others what they had.
    let body = json!({ "plug_id": bench.plug_id, "quantity": 4, "job": names[0] });
    at(
        &first,
        &second,
        Who::Tuner,
        "POST",
        "/v1/stock/issues",
        &body,
    )
    .expect(201);
    for node in nodes {
        let wanted = ["closed", "possible", "possible", "waiting", "waiting"];
        for (id, wanted) in ids.iter().take(1).chain(&ids[2..]).zip(wanted) {
            until(wanted, || seen_at(node, id) == wanted);
        }
    }
    let times = |name: &String| told(&first, name) + told(&second, name);
    until("all are told", || {
        names.iter().map(times).sum::<usize>() >= 4
    });
    for (place, name) in names.iter().enumerate() {
        let times = times(name);
        assert_eq!(times, usize::from(place < 4), "{place}");
    }
}

/// A job is in the line of every node once it has been answered that it waits, also while its mark hides
/// behind an older transaction.
#[test]
fn who_asked_first_at_another_node_is_served_first() {
    let Some((first, second)) = nodes() else {
        return;
    };
    let bench = Bench::new(&first);
    bench.receive(6);
    // Someone waits, so that both know a line, and both know what was received.
    bench.wait(&job("Long before"), 7);
    until("the second node shows it", || {
        let body = json!({ "requirement": bench.requirement(), "quantity": 6 });
        let path = "/v1/matches";
        let matched = at(&first, &second, Who::Reader, "POST", path, &body).expect(200);
        matched.json["totals"]["fits_in_stock"] == 1
    });
    let before = ask(&bench, &second, &job("Before"), 9);
    assert_eq!(before["state"], "waiting");
    let held = first.held_open().expect("a transaction");
    let early = ask(&bench, &first, &job("Early"), 4);
    let late = ask(&bench, &second, &job("Late"), 3);
    drop(held);
    assert_eq!(early["state"], "possible", "{early}");
    assert_eq!(late["state"], "waiting", "two of six are left: {late}");
    let path = format!("/v1/waiting-jobs/{}", early["id"].as_str().expect("an id"));
    first.delete(Who::Tuner, &path).expect(204);
    let late = late["id"].as_str().expect("an id");
    bench.becomes(late, "possible");
}
