//! Reservations that run out: ended by the service itself, reported, and never in the way of anybody.

use std::thread;
use std::time::{Duration, Instant};

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_tests::bodies::{issue, stock_of};
use plugwell_tests::{Engine, Shop, Who, engines, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, word};

/// How long the service may take to end what has run out.
const PATIENCE: Duration = Duration::from_secs(10);

fn written(at: DateTime<Utc>) -> String {
    at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string()
}

/// Keeps plugs for so many milliseconds; the reservation.
fn kept_for(shelf: &Shelf<'_>, quantity: i64, ms: i64) -> Value {
    let until = written(Utc::now() + TimeDelta::milliseconds(ms));
    let body = json!({ "plug_id": shelf.plug_id, "quantity": quantity, "job": "Soon over", "expires_at": until });
    shelf.command("reservations", body).expect(201).json
}

fn until(what: &str, mut done: impl FnMut() -> bool) {
    let end = Instant::now() + PATIENCE;
    while !done() {
        assert!(Instant::now() < end, "{what}");
        thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn the_service_ends_it_by_itself_and_says_so() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let shelf = Shelf::with(&shop, 10);
        let other = Shelf::with(&shop, 4);
        let stays = other.reserve(3, "Stays");
        let kept = kept_for(&shelf, 6, 700);
        assert_eq!(stock_of(&shop, &shelf.plug_id), (4, 10));
        // Nobody asks for anything of the part but to look.
        until("the reservation ends", || {
            shelf.reservation(&kept["id"]).0 == "expired"
        });
        assert_eq!(shelf.reservation(&kept["id"]), ("expired".to_owned(), 0));
        assert_eq!(stock_of(&shop, &shelf.plug_id), (10, 10));
        let listed = shop.all(Who::Reader, "/v1/stock/reservations?state=expired");
        assert_eq!(listed.len(), 1);
        assert_eq!(listed[0]["id"], kept["id"]);
        assert_eq!(listed[0]["version"], 2);
        let log = shop.log();
        let told = |line: &&str| line.contains("a reservation ran out");
        assert_eq!(log.lines().filter(told).count(), 1, "{engine}: told once");
        let own = word(&kept, "id");
        assert!(log.lines().any(|line| told(&line) && line.contains(&own)));
        // What has time left stays.
        assert_eq!(other.reservation(&stays["id"]), ("open".to_owned(), 3));
        shelf
            .command("issues", issue(&shelf.plug_id, "Anybody", 10))
            .expect(201);
        let draw = json!({ "plug_id": shelf.plug_id, "quantity": 1, "reservation_id": kept["id"] });
        shelf
            .command("issues", draw)
            .problem(409, "reservation_closed");
        shelf
            .command(&format!("reservations/{own}/release"), Value::Null)
            .problem(409, "reservation_closed");
        assert_eq!(log.lines().filter(told).count(), 1);
    }
}

#[test]
fn in_its_last_instant_it_is_in_nobodys_way() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 8);
        let kept = kept_for(&shelf, 8, 300);
        shelf
            .command("issues", issue(&shelf.plug_id, "Early", 1))
            .problem(409, "not_enough_stock");
        let end: DateTime<Utc> = word(&kept, "expires_at").parse().expect("an instant");
        while Utc::now() < end {
            thread::sleep(Duration::from_millis(1));
        }
        // Whether the service has been round or not.
        let taken = shelf
            .command("issues", issue(&shelf.plug_id, "In time", 8))
            .expect(201);
        assert_eq!(taken.json["movements"][0]["quantity"], 8);
        assert_eq!(shelf.reservation(&kept["id"]), ("expired".to_owned(), 0));
    }
}

#[test]
fn an_instant_that_has_passed_is_a_fault() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 8);
        let body = json!({ "plug_id": shelf.plug_id, "quantity": 1, "job": "Late", "expires_at": "2020-01-01T00:00:00Z" });
        shelf
            .command("reservations", body)
            .refused_for(&["#/expires_at out_of_range"]);
    }
}

#[test]
fn the_policy_says_how_long_where_nobody_does() {
    let shop = Shop::start(Engine::Sqlite);
    let shelf = Shelf::with(&shop, 8);
    assert_eq!(shelf.reserve(1, "For good")["expires_at"], Value::Null);
    let mut policy = shop.get(Who::Manager, "/v1/policy").expect(200).json;
    policy["values"]["reservation_kept_days"]["value"] = json!(14);
    shop.put(Who::Manager, "/v1/policy", &policy).expect(200);
    let before = Utc::now();
    let kept = shelf.reserve(1, "A fortnight");
    let until: DateTime<Utc> = word(&kept, "expires_at").parse().expect("an instant");
    let days = until - TimeDelta::days(14);
    assert!(
        before - TimeDelta::seconds(1) <= days && days <= Utc::now(),
        "{until}"
    );
    let body = json!({ "plug_id": shelf.plug_id, "quantity": 1, "job": "Own", "expires_at": "2099-01-01T00:00:00Z" });
    let own = shelf.command("reservations", body).expect(201).json;
    assert_eq!(own["expires_at"], "2099-01-01T00:00:00.000000Z");
}

/// Where the server is not installed there is no second node; `engines` says that aloud.
#[test]
fn of_two_nodes_on_one_database_exactly_one_ends_it() {
    for engine in engines().into_iter().filter(|e| *e == Engine::Postgres) {
        let first = Shop::start(engine);
        let database = first.database().expect("a database").to_owned();
        // A node with a folder of its own on the same database.
        let mut second = Shop::closed(Engine::Sqlite, &["--database", &database]);
        second.open();
        let shelves: Vec<Shelf<'_>> = (0..12).map(|_| Shelf::with(&first, 9)).collect();
        let kept: Vec<Value> = shelves
            .iter()
            .map(|shelf| kept_for(shelf, 9, 1_500))
            .collect();
        until("all end", || {
            shelves
                .iter()
                .zip(&kept)
                .all(|(shelf, kept)| shelf.reservation(&kept["id"]).0 == "expired")
        });
        let told = |shop: &Shop| {
            let log = shop.log();
            log.lines()
                .filter(|line| line.contains("a reservation ran out"))
                .count()
        };
        until("all are told", || {
            told(&first) + told(&second) >= kept.len()
        });
        assert_eq!(told(&first) + told(&second), kept.len(), "each once");
        for listed in first.all(Who::Reader, "/v1/stock/reservations?state=expired") {
            assert_eq!(listed["version"], 2, "{listed}");
        }
        // Whichever node it was, the other follows.
        for shelf in &shelves {
            until("the shelf shows it", || {
                stock_of(&first, &shelf.plug_id) == (9, 9)
            });
        }
    }
}
