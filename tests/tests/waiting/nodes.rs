//! Nothing is lost by a restart; two nodes tell once.

use plugwell_tests::{Engine, Shop, Who, engines};

use crate::bench::{Bench, told, until};

#[test]
fn a_restart_loses_nothing_and_tells_nothing_twice() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let (told_before, open);
        {
            let bench = Bench::new(&shop);
            let first = bench.wait("Told before", 8);
            open = bench.wait("Told after", 8);
            bench.receive(8);
            bench.becomes(&first, "possible");
            until("it is told", || told(&shop, "Told before") == 1);
            told_before = first;
            // Booked and killed at once: whether the line has seen it is open.
            bench.receive(8);
        }
        shop.kill();
        shop.open();
        let state = |id: &str| {
            let path = format!("/v1/waiting-jobs/{id}");
            shop.get(Who::Reader, &path).expect(200).json["state"].clone()
        };
        until("the second can be served", || state(&open) == "possible");
        assert_eq!(state(&told_before), "possible");
        // The log may lack what was told in the instant of the kill; the feed does not.
        for name in ["Told before", "Told after"] {
            assert!(told(&shop, name) <= 1, "{name}");
        }
        if engine == Engine::Sqlite {
            assert_eq!(events(&shop, "answered").len(), 2);
        }
    }
}

/// What the feed holds of waiting jobs, of one kind.
fn events(shop: &Shop, kind: &str) -> Vec<(String, serde_json::Value)> {
    let file = shop.data().join("plugwell.sqlite");
    let database = rusqlite::Connection::open(file).expect("the database");
    let sql = "SELECT subject, data FROM events WHERE kind = 'plugwell.waiting_job.' || ? || '.v1' ORDER BY sequence";
    let mut query = database.prepare(sql).expect("a query");
    let rows = query.query_map([kind], |row| {
        Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?))
    });
    let rows = rows.expect("rows").map(|row| row.expect("a row"));
    rows.map(|(subject, data)| (subject, serde_json::from_str(&data).expect("JSON")))
        .collect()
}

#[test]
fn the_events_say_what_can_be_had_and_what_no_longer() {
    let shop = Shop::start(Engine::Sqlite);
    let bench = Bench::new(&shop);
    let id = bench.wait("Tells", 8);
    bench.receive(9);
    bench.becomes(&id, "possible");
    let told = events(&shop, "answered");
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(told[0].0, format!("waiting-jobs/{id}"));
    let wanted = serde_json::json!({
        "waiting_job_id": id, "job": "Tells", "quantity": 8, "plug_ids": [bench.plug_id], "available": 9
    });
    assert_eq!(told[0].1, wanted);
    assert_eq!(events(&shop, "waits_again"), []);
    // Another job takes them: whoever was told that they can be had is told that they cannot.
    let others = bench.reserve("Quicker", 2);
    bench.becomes(&id, "waiting");
    // Still less is no news.
    let more = bench.reserve("Quicker", 1);
    let told = events(&shop, "waits_again");
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(told[0].0, format!("waiting-jobs/{id}"));
    let wanted = serde_json::json!({ "waiting_job_id": id, "job": "Tells", "quantity": 8 });
    assert_eq!(told[0].1, wanted);
    bench.release(&more);
    bench.release(&others);
    bench.becomes(&id, "possible");
    assert_eq!(events(&shop, "answered").len(), 2);
    assert_eq!(events(&shop, "waits_again").len(), 1);
}

/// Where the server is not installed there is no second node; `engines` says that aloud.
#[test]
fn of_two_nodes_on_one_database_exactly_one_tells() {
    for engine in engines().into_iter().filter(|e| *e == Engine::Postgres) {
        let first = Shop::start(engine);
        let database = first.database().expect("a database").to_owned();
        let mut second = Shop::closed(Engine::Sqlite, &["--database", &database]);
        second.open();
        let benches: Vec<Bench<'_>> = (0..10).map(|_| Bench::new(&first)).collect();
        let ids: Vec<String> = benches
            .iter()
            .enumerate()
            .map(|(place, bench)| bench.wait(&format!("Node {place}."), 8))
            .collect();
        for bench in &benches {
            bench.receive(8);
        }
        for (bench, id) in benches.iter().zip(&ids) {
            bench.becomes(id, "possible");
        }
        let all = || told(&first, "Node ") + told(&second, "Node ");
        until("all are told", || all() >= ids.len());
        for bench in &benches {
            // Something more for both to look at.
            bench.receive(1);
        }
        for (bench, id) in benches.iter().zip(&ids) {
            until("it shows", || bench.seen(id)["fits"][0]["available"] == 9);
        }
        assert_eq!(all(), ids.len(), "each once");
        for (place, id) in ids.iter().enumerate() {
            let name = format!("Node {place}.");
            assert_eq!(told(&first, &name) + told(&second, &name), 1, "{id}");
        }
    }
}
