//! The feed: from the beginning, by cursor, by waiting; what becomes of a cursor that is too old.

use std::time::{Duration, Instant};

use plugwell_tests::bodies::{head, plug, stored_plug, unique, with};
use plugwell_tests::{Answer, Engine, Shop, Who, engines};
use serde_json::{Value, json};

use crate::{heads_alone, quick};

pub fn changes(shop: &Shop, query: &str) -> Answer {
    shop.get(Who::Reader, &format!("/v1/changes{query}"))
}

pub fn cursor(answer: &Answer) -> String {
    answer.text("next_cursor")
}

/// A cursor behind everything so far.
pub fn now(shop: &Shop) -> String {
    let answer = changes(shop, "?after=now").expect(200);
    assert_eq!(answer.items(), [] as [Value; 0]);
    cursor(&answer)
}

/// What happened behind a cursor to subjects that hold a text.
pub fn since(shop: &Shop, after: &str, subject: &str) -> Vec<Value> {
    let (mut found, mut after) = (Vec::new(), after.to_owned());
    loop {
        let page = changes(shop, &format!("?limit=200&after={after}")).expect(200);
        if page.items().is_empty() {
            return found;
        }
        after = cursor(&page);
        let own = |item: &&Value| {
            item["subject"]
                .as_str()
                .is_some_and(|s| s.contains(subject))
        };
        found.extend(page.items().iter().filter(own).cloned());
    }
}

pub fn types(items: &[Value]) -> Vec<&str> {
    items
        .iter()
        .filter_map(|item| item["type"].as_str())
        .collect()
}

fn made_head(shop: &Shop) -> String {
    let body = with(head(), json!({ "name": unique("Feed head") }));
    shop.post(Who::Tuner, "/v1/heads", &body)
        .expect(201)
        .text("id")
}

#[test]
fn what_was_answered_is_in_the_feed_as_cloudevents() {
    for shop in quick() {
        let start = now(shop);
        let number = unique("FEED");
        let id = stored_plug(shop, &plug(&number));
        let path = format!("/v1/plugs/{id}");
        shop.patch(Who::Clerk, &path, &json!({ "description": "seen" }))
            .expect(200);
        shop.patch(Who::Clerk, &path, &json!({ "retired": true }))
            .expect(200);
        shop.delete(Who::Clerk, &path).expect(204);
        let told = since(shop, &start, &id);
        let expected =
            ["created", "changed", "retired", "removed"].map(|p| format!("plugwell.plug.{p}.v1"));
        assert_eq!(types(&told), expected);
        let versions: Vec<_> = told.iter().map(|t| t["entityversion"].as_i64()).collect();
        assert_eq!(versions, [Some(1), Some(2), Some(3), Some(4)]);
        let first = &told[0];
        assert_eq!(first["specversion"], "1.0");
        assert_eq!(first["subject"], format!("plugs/{id}"));
        assert_eq!(first["datacontenttype"], "application/json");
        assert_eq!(first["data"]["part_number"], number);
        assert_eq!(first["data"]["plug_id"], id);
        let source = first["source"].as_str().expect("a source");
        assert!(source.starts_with("urn:plugwell:shop:"), "{source}");
        let time = first["time"].as_str().expect("a time");
        assert!(
            time.ends_with('Z') && chrono::DateTime::parse_from_rfc3339(time).is_ok(),
            "{time}"
        );
        let places: Vec<_> = told
            .iter()
            .map(|t| t["sequence"].as_str().expect("a place"))
            .collect();
        assert!(places.is_sorted(), "{places:?}");
    }
}

#[test]
fn pages_go_on_and_types_narrow() {
    let _alone = heads_alone();
    for shop in quick() {
        let start = now(shop);
        let id = made_head(shop);
        let path = format!("/v1/heads/{id}");
        shop.patch(Who::Tuner, &path, &json!({ "name": "Narrowed" }))
            .expect(200);
        shop.delete(Who::Tuner, &path).expect(204);
        let wanted = ["created", "removed"].map(|p| format!("plugwell.head.{p}.v1"));
        let query = format!("types={}&after={start}", wanted.join(","));
        let (mut paged, mut next) = (Vec::new(), format!("/v1/changes?limit=1&{query}"));
        loop {
            let page = shop.get(Who::Reader, &next).expect(200);
            if page.items().is_empty() {
                break;
            }
            assert_eq!(page.items().len(), 1);
            paged.extend(page.items().iter().cloned());
            let link = page.header("link").expect("a link").to_owned();
            let target = link.trim_start_matches('<').split('>').next();
            next = target.expect("a target").to_owned();
        }
        assert_eq!(types(&paged), wanted);
        let all = since(shop, &start, &id);
        assert_eq!(all.len(), 3);
        assert_eq!(paged, [all[0].clone(), all[2].clone()]);
        let twice = format!("?types={}&types={}&after={start}", wanted[0], wanted[1]);
        assert_eq!(changes(shop, &twice).expect(200).items(), paged);
        changes(shop, "?types=plugwell.head.sold.v1").refused_for(&["?types not_in_list"]);
        changes(shop, "?after=made-up").refused_for(&["?after wrong_form"]);
        changes(shop, "?cursor=x").refused_for(&["?cursor unknown_member"]);
        changes(shop, "?limit=0").refused_for(&["?limit out_of_range"]);
    }
}

#[test]
fn whoever_waits_is_answered_by_the_first_event_and_not_before() {
    for shop in quick() {
        let start = now(shop);
        let wait = |seconds: &str| {
            let path = format!("/v1/changes?types=plugwell.build.removed.v1&after={start}");
            shop.send("GET", &path, Who::Reader, &[("prefer", seconds)], "")
                .expect(200)
        };
        let begun = Instant::now();
        let empty = wait("wait=1");
        assert!(begun.elapsed() >= Duration::from_secs(1));
        assert_eq!(empty.items(), [] as [Value; 0]);
        assert_eq!(empty.header("preference-applied"), Some("wait=1"));
        let begun = Instant::now();
        let answer = std::thread::scope(|scope| {
            let waiting = scope.spawn(|| wait("wait=25"));
            std::thread::sleep(Duration::from_millis(300));
            let body = with(
                plugwell_tests::bodies::build(),
                json!({ "name": unique("Waited for") }),
            );
            let id = shop
                .post(Who::Tuner, "/v1/builds", &body)
                .expect(201)
                .text("id");
            shop.delete(Who::Tuner, &format!("/v1/builds/{id}"))
                .expect(204);
            waiting.join().expect("an answer")
        });
        assert!(
            begun.elapsed() < Duration::from_secs(20),
            "{:?}",
            begun.elapsed()
        );
        assert_eq!(types(answer.items()), ["plugwell.build.removed.v1"]);
    }
}

/// Waiting takes no thread: with one worker there are fewer for blocking work than there are who wait.
#[test]
fn many_may_wait_and_others_are_answered() {
    let shop = Shop::start_with(Engine::Sqlite, &["--workers", "1"]);
    let path = format!("/v1/changes?after={}", now(&shop));
    std::thread::scope(|scope| {
        let ask = || shop.send("GET", &path, Who::Reader, &[("prefer", "wait=30")], "");
        let waiting: Vec<_> = (0..300)
            .map(|_| {
                let small = std::thread::Builder::new().stack_size(256 << 10);
                small.spawn_scoped(scope, ask).expect("a thread")
            })
            .collect();
        std::thread::sleep(Duration::from_millis(1500));
        // It answers at once, and so do all who waited.
        let begun = Instant::now();
        made_head(&shop);
        for answer in waiting {
            let answer = answer.join().expect("an answer").expect(200);
            assert_eq!(types(answer.items()), ["plugwell.head.created.v1"]);
        }
        assert!(
            begun.elapsed() < Duration::from_secs(20),
            "{:?}",
            begun.elapsed()
        );
    });
}

#[test]
fn a_reader_goes_on_behind_a_restart_and_a_kill() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let start = now(&shop);
        let first = made_head(&shop);
        let page = changes(&shop, &format!("?after={start}")).expect(200);
        let seen = cursor(&page);
        assert_eq!(page.items().len(), 1);
        let second = made_head(&shop);
        shop.kill();
        shop.open();
        let third = made_head(&shop);
        shop.restart();
        let subjects = |after: &str| -> Vec<String> {
            let told = since(&shop, after, "heads/");
            told.iter()
                .map(|t| t["subject"].as_str().expect("one").to_owned())
                .collect()
        };
        let own = |ids: &[&String]| -> Vec<String> {
            ids.iter().map(|id| format!("heads/{id}")).collect()
        };
        assert_eq!(subjects(&seen), own(&[&second, &third]));
        assert_eq!(subjects(&start), own(&[&first, &second, &third]));
        let whole = changes(&shop, "?limit=200").expect(200);
        assert!(
            whole.items().len() >= 3,
            "without a cursor it begins with the oldest"
        );
    }
}

/// Whoever waits does not keep the service from stopping.
#[test]
fn a_stop_answers_those_who_wait() {
    let mut shop = Shop::start(Engine::Sqlite);
    let (url, token) = (
        shop.url().to_owned(),
        shop.token(Who::Reader).expect("one").to_owned(),
    );
    let client = plugwell_tests::call::client();
    let asked = move |wait: &str| {
        let request = client.get(format!("{url}/v1/changes?after=now"));
        let answer = request.bearer_auth(&token).header("prefer", wait).send();
        answer.map(|answer| answer.status().as_u16())
    };
    // What waits then goes at once, over a connection that stands.
    assert_eq!(asked("wait=0").expect("an answer"), 200);
    let waiting = std::thread::spawn(move || asked("wait=30"));
    std::thread::sleep(Duration::from_secs(1));
    let begun = Instant::now();
    shop.stop();
    assert!(
        begun.elapsed() < Duration::from_secs(15),
        "{:?}",
        begun.elapsed()
    );
    assert_eq!(waiting.join().expect("it ended").expect("an answer"), 200);
}

/// A cursor of another shop, as of one that was restored from a copy, leads nowhere, and the answer says
/// where to begin again.
#[test]
fn a_cursor_of_another_lineage_is_gone() {
    for shop in quick() {
        let other = Shop::start(Engine::Sqlite);
        let foreign = now(&other);
        let gone = changes(shop, &format!("?after={foreign}")).problem(410, "cursor_gone");
        let again = changes(shop, &format!("?limit=1&after={}", gone.text("oldest"))).expect(200);
        assert_eq!(again.items(), changes(shop, "?limit=1").expect(200).items());
        assert_eq!(again.items().len(), 1);
    }
}
