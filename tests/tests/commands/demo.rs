//! `demo`: an invented shop with a worked example, for people and for scripts.

use std::path::Path;
use std::process::Command;
use std::time::Duration;

use plugwell_tests::shop::command;
use plugwell_tests::{Engine, Shop, Who};
use serde_json::{Value, json};

use crate::terminal::{Said, Started, files, get, run};

/// For scripts: ready within 30 s.
const PATIENCE: Duration = Duration::from_secs(30);
const ROLES: [&str; 4] = ["reader", "tuner", "clerk", "manager"];

fn demo(more: &[&str]) -> Command {
    let mut demo = command(&["demo", "--port", "0"]);
    demo.args(more);
    demo
}

fn token(demo: &Started, role: &str) -> String {
    demo.ready["tokens"][role]
        .as_str()
        .unwrap_or_else(|| panic!("a token for {role}"))
        .to_owned()
}

fn count(demo: &Started, path: &str) -> usize {
    let (status, body) = get(&format!("{}{path}", demo.url()), &token(demo, "reader"));
    assert_eq!(status, 200, "{path}: {body}");
    body["items"].as_array().expect("a list").len()
}

#[test]
fn it_serves_an_invented_shop() {
    let folder = tempfile::tempdir().expect("a folder");
    let demo = Started::new(demo(&["--fresh"]), folder.path(), PATIENCE);
    assert!(
        folder.path().join("plugwell-demo").is_dir(),
        "in ./plugwell-demo where nobody names another folder"
    );
    assert_eq!(
        count(&demo, "/v1/plugs?limit=200"),
        200,
        "two hundred or more"
    );
    assert_eq!(
        (
            count(&demo, "/v1/heads"),
            count(&demo, "/v1/builds"),
            count(&demo, "/v1/heat-scales")
        ),
        (10, 15, 4)
    );
    assert!(count(&demo, "/v1/stock/movements?kind=scrapping") > 0);
    assert!(count(&demo, "/v1/stock/reservations?state=open") > 0);
    assert_eq!(count(&demo, "/v1/waiting-jobs?state=waiting"), 1);
    assert_eq!(
        count(&demo, "/v1/stock/movements?limit=200"),
        200,
        "a year of movements"
    );
    assert_eq!(
        (
            count(&demo, "/v1/tuning-days"),
            count(&demo, "/v1/readings?evidence=true"),
            count(&demo, "/v1/readings?evidence=false")
        ),
        (1, 4, 2)
    );
    let reader = token(&demo, "reader");
    let days = get(&format!("{}/v1/tuning-days", demo.url()), &reader).1;
    let day = &days["items"][0];
    assert_eq!(
        (&day["state"], &day["plan"]["choice"]),
        (&json!("reserved"), &json!("in_full")),
        "{day}"
    );
    the_dock_is_busy(&demo);
    roles_are_theirs(&demo);
    statements_lead_on(&demo);
    the_first_build_is_served(&demo);
    demo.stop();
    let said = run(folder.path(), &["audit", "--data", "plugwell-demo"]).went_well();
    assert!(said.contains("no difference"), "{said}");
}

/// The first build finds its plugs in stock.
fn the_first_build_is_served(demo: &Started) {
    let (status, built) = get(
        &format!("{}/v1/builds?limit=1", demo.url()),
        &token(demo, "reader"),
    );
    assert_eq!(status, 200);
    let client = plugwell_tests::call::client();
    let asked = client
        .post(format!("{}/v1/matches", demo.url()))
        .bearer_auth(token(demo, "reader"));
    let body = json!({ "build_id": built["items"][0]["id"] });
    let answer: Value = asked
        .json(&body)
        .send()
        .expect("an answer")
        .json()
        .expect("JSON");
    assert!(
        answer["totals"]["fits_in_stock"].as_u64() > Some(0),
        "the first build is served from stock: {answer}"
    );
}

/// An order in every state but withdrawn, and a lot that failed its incoming check.
fn the_dock_is_busy(demo: &Started) {
    for (state, orders) in [("drafted", 1), ("sent", 1), ("partly_in", 1), ("closed", 1)] {
        assert_eq!(
            count(demo, &format!("/v1/orders?state={state}")),
            orders,
            "{state}"
        );
    }
    assert_eq!(count(demo, "/v1/stock/incoming-checks?state=waiting"), 1);
    assert!(
        count(demo, "/v1/stock/levels?kind=quarantine") > 0,
        "what failed it"
    );
}

/// Statements of the demo: a chain of two, one that the attributes contradict, one over a part that
/// the catalogue lacks.
fn statements_lead_on(demo: &Started) {
    let ask = |path: &str| {
        let (status, body) = get(&format!("{}{path}", demo.url()), &token(demo, "reader"));
        assert_eq!(status, 200, "{path}: {body}");
        body
    };
    let statements = ask("/v1/stand-ins");
    let first = &statements["items"][0]["stands_in_for"];
    let named = |name: &Value| {
        let text = |member: &str| name[member].as_str().expect("a name").replace(' ', "%20");
        format!(
            "/v1/equivalents?maker={}&part_number={}",
            text("maker"),
            text("part_number")
        )
    };
    let found = ask(&named(first))["equivalents"].clone();
    let items = found["items"].as_array().expect("equivalents");
    let steps = |item: &Value| item["path"].as_array().map_or(0, Vec::len);
    assert!(items.iter().any(|item| steps(item) == 2), "{found}");
    assert_eq!(found["disagreements"][0]["finding"], "contradicted");
    let lacked = &statements["items"][4]["stands_in_for"];
    let found = ask(&named(lacked));
    assert_eq!(
        (&found["known"], steps(&found["asserted"][0])),
        (&Value::Null, 1),
        "{found}"
    );
}

fn roles_are_theirs(demo: &Started) {
    for (place, role) in ROLES.iter().enumerate() {
        let status = |path: &str| get(&format!("{}{path}", demo.url()), &token(demo, role)).0;
        assert_eq!(status("/v1/plugs?limit=1"), 200, "{role}");
        assert_eq!(
            status("/v1/tokens"),
            if place == 3 { 200 } else { 403 },
            "{role}"
        );
    }
}

#[test]
fn each_sign_in_link_works_once() {
    let folder = tempfile::tempdir().expect("a folder");
    let demo = Started::new(demo(&["--fresh"]), folder.path(), PATIENCE);
    let client = plugwell_tests::call::client();
    for role in ROLES {
        let link = demo.ready["sign_in"][role]
            .as_str()
            .unwrap_or_else(|| panic!("a link for {role}"));
        assert!(
            link.starts_with(&format!("{}/sign-in?", demo.url())),
            "{link}"
        );
        let first = client.get(link).send().expect("an answer");
        assert_eq!(first.status().as_u16(), 303, "{role}: on to the pages");
        let cookie = first.headers()["set-cookie"]
            .to_str()
            .expect("text")
            .to_owned();
        for wanted in ["HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(cookie.contains(wanted), "{wanted} in {cookie}");
        }
        let session = cookie.split(';').next().expect("its value").to_owned();
        let page = client
            .get(format!("{}/", demo.url()))
            .header("cookie", &session)
            .send()
            .expect("a page");
        assert_eq!(page.status().as_u16(), 200, "{role}");
        assert!(
            page.headers()["content-type"]
                .to_str()
                .is_ok_and(|media| media.starts_with("text/html"))
        );
        let second = client.get(link).send().expect("an answer");
        assert!(
            second.headers().get("set-cookie").is_none(),
            "{role}: {second:?}"
        );
        assert_ne!(second.status().as_u16(), 303, "{role}");
    }
}

#[test]
fn it_prints_a_worked_example_a_link_and_three_calls() {
    let folder = tempfile::tempdir().expect("a folder");
    let demo = Started::new(demo(&["--data", "shop"]), folder.path(), PATIENCE);
    // The invitation is printed before the ready file is written.
    let printed = std::fs::read_to_string(folder.path().join("out")).expect("what it printed");
    for wanted in [
        " mm (",
        " in)",
        "hp",
        "On the shelf now",
        "Cautions",
        demo.url(),
    ] {
        assert!(printed.contains(wanted), "{wanted:?} in\n{printed}");
    }
    let manager = demo.ready["sign_in"]["manager"].as_str().expect("a link");
    assert!(printed.contains(manager));
    let calls: Vec<&str> = printed
        .lines()
        .filter(|line| line.trim_start().starts_with("curl "))
        .collect();
    assert_eq!(calls.len(), 3, "{printed}");
    for call in calls {
        let quoted: Vec<&str> = call.split('\'').collect();
        let (bearer, url) = (
            quoted[1]
                .strip_prefix("Authorization: Bearer ")
                .expect("a token"),
            quoted[3],
        );
        let (status, body) = get(url, bearer);
        assert_eq!(status, 200, "{call}");
        assert!(
            !body["items"].as_array().expect("a list").is_empty(),
            "{call}: {body}"
        );
    }
    demo.stop();
}

#[test]
fn it_can_stop_after_the_example() {
    let folder = tempfile::tempdir().expect("a folder");
    let arguments = ["demo", "--fresh", "--exit-after-example", "--data", "shop"];
    let printed = run(folder.path(), &arguments).went_well();
    assert!(printed.contains("On the shelf now"), "{printed}");
    assert!(!printed.contains("curl"), "{printed}");
    // Again, on what is there, it prints the same example.
    let again = run(
        folder.path(),
        &arguments[..3]
            .iter()
            .filter(|a| **a != "--fresh")
            .chain(&arguments[3..])
            .copied()
            .collect::<Vec<_>>(),
    )
    .went_well();
    assert!(printed.ends_with(&again), "{again}");
}

#[test]
fn running_it_again_keeps_the_data_and_fresh_starts_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let start = |more: &[&str]| {
        Started::new(
            demo(&[&["--data", "shop"], more].concat()),
            folder.path(),
            PATIENCE,
        )
    };
    let added = |demo: &Started| count(demo, "/v1/plugs?q=ADDED-BY-HAND") > 0;
    let first = start(&[]);
    let client = plugwell_tests::call::client();
    let body = json!({ "maker": "Ferrowick", "part_number": "ADDED-BY-HAND" });
    let stored = client
        .post(format!("{}/v1/plugs", first.url()))
        .bearer_auth(token(&first, "clerk"))
        .json(&body)
        .send()
        .expect("an answer");
    assert_eq!(stored.status().as_u16(), 201);
    let old = token(&first, "manager");
    first.stop();
    let second = start(&[]);
    assert!(added(&second));
    assert_ne!(token(&second, "manager"), old, "new tokens at each start");
    assert_eq!(
        get(&format!("{}/v1/plugs", second.url()), &old).0,
        401,
        "and the old ones are revoked"
    );
    second.stop();
    let third = start(&["--fresh"]);
    assert!(!added(&third));
    assert_eq!(count(&third, "/v1/plugs?limit=200"), 200);
    third.stop();
}

#[test]
fn fresh_empties_nothing_that_is_not_a_demos() {
    let mut shop = Shop::start(Engine::Sqlite);
    shop.post(
        Who::Clerk,
        "/v1/plugs",
        &json!({ "maker": "Ferrowick", "part_number": "REAL" }),
    )
    .expect(201);
    shop.stop();
    for more in [
        &["--fresh", "--exit-after-example"][..],
        &["--exit-after-example"],
    ] {
        let complaint = Said::of(shop.run("demo", more)).complained();
        assert!(complaint.contains("no demo"), "{complaint}");
    }
    shop.open();
    assert_eq!(
        shop.get(Who::Reader, "/v1/plugs")
            .expect(200)
            .column("part_number"),
        ["REAL"]
    );
}

#[test]
fn fresh_leaves_foreign_files_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("shop");
    std::fs::create_dir_all(data.join("letters")).expect("a folder");
    std::fs::write(data.join("letters").join("dear.txt"), "keep me").expect("a file");
    for _ in 0..2 {
        let said = run(
            folder.path(),
            &["demo", "--fresh", "--exit-after-example", "--data", "shop"],
        );
        // Refused or done: what it did not make is there still.
        assert!(said.success || said.err.contains("shop"), "{said:?}");
        assert_eq!(
            std::fs::read_to_string(data.join("letters").join("dear.txt")).expect("the letter"),
            "keep me"
        );
    }
    assert!(files(Path::new(&data)).contains(&"dear.txt".to_owned()));
}
