//! `/metrics`: everything that it lists really moves, and an independent reader takes it.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::Scope;
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug};
use plugwell_tests::{Shop, Who, engines};
use serde_json::json;

use crate::reader;

/// An exposition: every sample by its name and labels as they are written.
struct Scrape {
    text: String,
    samples: BTreeMap<String, f64>,
}

impl Scrape {
    #[track_caller]
    fn of(shop: &Shop) -> Self {
        let answer = shop.get(Who::Nobody, "/metrics").expect(200);
        assert_eq!(
            answer.header("content-type"),
            Some("application/openmetrics-text; version=1.0.0; charset=utf-8")
        );
        let text = String::from_utf8(answer.body).expect("UTF-8");
        assert!(text.ends_with("\n# EOF\n"), "{text}");
        let samples = text.lines().filter(|line| !line.starts_with('#'));
        let sample = |line: &str| {
            let (name, value) = line.rsplit_once(' ').expect("a value");
            (name.to_owned(), value.parse().expect("a number"))
        };
        Self {
            samples: samples.map(sample).collect(),
            text,
        }
    }

    /// A sample; 0 where it has not been counted yet.
    fn get(&self, sample: &str) -> f64 {
        self.samples.get(sample).copied().unwrap_or(0.0)
    }

    #[track_caller]
    fn there(&self, sample: &str) -> f64 {
        let found = self.samples.get(sample);
        *found.unwrap_or_else(|| panic!("no {sample} in\n{}", self.text))
    }
}

fn shops() -> impl Iterator<Item = Shop> {
    engines().into_iter().map(Shop::start)
}

/// A part with eight plugs on the shelf.
fn stocked(shop: &Shop) -> (String, String) {
    let id = stored_plug(shop, &plug("FW-3207"));
    let bin = bin(shop, "Shelf 1");
    receive(shop, &id, &bin, 8);
    (id, bin)
}

#[test]
fn requests_matches_scrap_and_writes_are_counted() {
    const MATCHES: &str =
        "plugwell_requests_total{method=\"POST\",route=\"/v1/matches\",status=\"200\"}";
    const TOOK: &str =
        "plugwell_request_duration_seconds_count{method=\"POST\",route=\"/v1/matches\"}";
    for shop in shops() {
        let (id, bin) = stocked(&shop);
        let before = Scrape::of(&shop);
        let start = Instant::now();
        shop.post(Who::Reader, "/v1/matches", &json!({ "build": build() }))
            .expect(200);
        let took = start.elapsed().as_secs_f64();
        let scrap = json!({ "plug_id": id, "place_id": bin, "quantity": 2, "reason": "dropped" });
        shop.once(Who::Clerk, "/v1/stock/scrappings", &scrap)
            .expect(201);
        let after = Scrape::of(&shop);
        let moved = |sample: &str| after.there(sample) - before.get(sample);
        assert_eq!(moved(MATCHES), 1.0);
        assert_eq!(moved(TOOK), 1.0);
        assert_eq!(moved("plugwell_match_duration_seconds_count"), 1.0);
        let seconds = moved("plugwell_match_duration_seconds_sum");
        assert!(0.0 < seconds && seconds < took, "{seconds} of {took} s");
        assert_eq!(moved("plugwell_match_candidates_count"), 1.0);
        assert_eq!(moved("plugwell_match_candidates_sum"), 1.0, "the one part");
        assert_eq!(before.there("plugwell_scrapped_plugs"), 0.0);
        assert_eq!(after.there("plugwell_scrapped_plugs"), 2.0);
        assert_eq!(after.there("plugwell_index_records"), 1.0);
        let commits = moved("plugwell_writer_batch_commands_count");
        let commands = moved("plugwell_writer_batch_commands_sum");
        assert!(
            commits >= 1.0 && commands >= commits,
            "{commands} in {commits}"
        );
        assert_eq!(
            after.there("plugwell_writer_batch_commands_bucket{le=\"+Inf\"}"),
            after.there("plugwell_writer_batch_commands_count")
        );
        assert_eq!(after.there("plugwell_panics_total"), 0.0);
        assert_eq!(after.there("plugwell_database_up"), 1.0);
    }
}

/// Scrapes until something holds.
fn until(shop: &Shop, what: &str, holds: impl Fn(&Scrape) -> bool) -> Scrape {
    let deadline = Instant::now() + Duration::from_secs(30);
    loop {
        let scrape = Scrape::of(shop);
        if holds(&scrape) {
            return scrape;
        }
        assert!(Instant::now() < deadline, "{what}:\n{}", scrape.text);
    }
}

#[test]
fn the_outbox_fills_and_is_followed() {
    for shop in shops() {
        let (id, bin) = stocked(&shop);
        let followed = |scrape: &Scrape| {
            scrape.there("plugwell_outbox_depth") == 0.0
                && scrape.there("plugwell_index_lag") == 0.0
        };
        let before = until(&shop, "all is followed", followed);
        // The follower looks four times a second: one of these is seen before it comes.
        let deep = until(&shop, "something waits", |scrape| {
            let waits = scrape.there("plugwell_outbox_depth") > 0.0
                && scrape.there("plugwell_index_lag") > 0.0;
            if !waits {
                receive(&shop, &id, &bin, 1);
            }
            waits
        });
        let after = until(&shop, "all is followed again", followed);
        let position = "plugwell_index_position";
        assert!(after.there(position) > before.there(position));
        assert!(after.there(position) >= deep.there(position));
    }
}

#[test]
fn the_pool_is_seen_at_work() {
    for shop in shops() {
        let (idle, in_use) = (
            "plugwell_pool_connections{state=\"idle\"}",
            "plugwell_pool_connections{state=\"in_use\"}",
        );
        std::thread::scope(|scope| {
            let working = until_stopped(scope, &shop);
            until(&shop, "somebody uses a connection", |scrape| {
                scrape.there(in_use) > 0.0
            });
            drop(working);
        });
        let quiet = until(&shop, "all are idle", |scrape| scrape.there(in_use) == 0.0);
        assert!(quiet.there(idle) >= 1.0);
        assert!(quiet.there(idle) <= quiet.there("plugwell_pool_connections_limit"));
    }
}

/// Ends what several threads do, when dropped.
struct Stop(Arc<AtomicBool>);

impl Drop for Stop {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Lists asked for by several threads until what is returned is dropped.
fn until_stopped<'s>(scope: &'s Scope<'s, '_>, shop: &'s Shop) -> Stop {
    let stop = Arc::new(AtomicBool::new(false));
    for _ in 0..4 {
        let stop = Arc::clone(&stop);
        scope.spawn(move || {
            while !stop.load(Ordering::Relaxed) {
                shop.get(Who::Reader, "/v1/plugs").expect(200);
            }
        });
    }
    Stop(stop)
}

#[test]
fn labels_are_words_of_closed_lists() {
    for shop in shops() {
        let made_up = format!("/v1/made-up-{}", shop.pid());
        shop.get(Who::Reader, &made_up).problem(404, "not_found");
        shop.get(Who::Nobody, "/made-up.php?x=1").expect(404);
        shop.send("BREW", "/v1/plugs", Who::Reader, &[], "")
            .problem(405, "method_not_allowed");
        let id = stored_plug(&shop, &plug("FW-3207"));
        shop.get(Who::Reader, &format!("/v1/plugs/{id}"))
            .expect(200);
        let scrape = Scrape::of(&shop);
        assert!(!scrape.text.contains("made-up"), "{}", scrape.text);
        assert!(!scrape.text.contains("BREW") && !scrape.text.contains(&id));
        let counted = |method: &str, route: &str, status: u16| {
            let sample = format!(
                "plugwell_requests_total{{method=\"{method}\",route=\"{route}\",status=\"{status}\"}}"
            );
            scrape.there(&sample)
        };
        assert_eq!(counted("GET", "unknown", 404), 1.0);
        assert_eq!(counted("GET", "page", 404), 1.0);
        assert_eq!(counted("other", "/v1/plugs", 405), 1.0);
        assert_eq!(counted("GET", "/v1/plugs/{id}", 200), 1.0);
    }
}

#[test]
fn what_a_limit_refuses_is_counted() {
    let few = [
        "--limit-loopback",
        "--token-rate",
        "1",
        "--token-burst",
        "5",
    ];
    let shop = Shop::start_with(engines()[0], &few);
    for _ in 0..6 {
        shop.get(Who::Reader, "/v1/heads");
    }
    let limited = Scrape::of(&shop).there("plugwell_limited_total{policy=\"token\"}");
    assert!((1.0..=6.0).contains(&limited), "{limited}");
}

#[test]
fn an_independent_reader_takes_it() {
    for shop in shops() {
        stocked(&shop);
        shop.post(Who::Reader, "/v1/matches", &json!({ "build": build() }))
            .expect(200);
        let scrape = Scrape::of(&shop);
        let started = scrape.there("process_start_time_seconds");
        let now = SystemTime::now().duration_since(UNIX_EPOCH);
        let age = now.expect("after 1970").as_secs_f64() - started;
        assert!((0.0..3600.0).contains(&age), "{age} s old");
        let Some(families) = reader::families(&scrape.text) else {
            continue;
        };
        let expected = [
            ("process_start_time_seconds", "gauge", "seconds"),
            ("plugwell_build", "info", ""),
            ("plugwell_requests", "counter", ""),
            ("plugwell_request_duration_seconds", "histogram", "seconds"),
            ("plugwell_panics", "counter", ""),
            ("plugwell_limited", "counter", ""),
            ("plugwell_match_duration_seconds", "histogram", "seconds"),
            ("plugwell_match_candidates", "histogram", ""),
            ("plugwell_database_up", "gauge", ""),
            ("plugwell_index_position", "gauge", ""),
            ("plugwell_index_records", "gauge", ""),
            ("plugwell_index_lag", "gauge", ""),
            ("plugwell_outbox_depth", "gauge", ""),
            ("plugwell_scrapped_plugs", "gauge", ""),
            ("plugwell_pool_connections", "gauge", ""),
            ("plugwell_pool_connections_limit", "gauge", ""),
            ("plugwell_writer_batch_commands", "histogram", ""),
        ];
        for (name, kind, unit) in expected {
            let family = families
                .get(name)
                .unwrap_or_else(|| panic!("no {name} in {families:#?}"));
            assert_eq!(
                (&family["type"], &family["unit"]),
                (&kind.into(), &unit.into()),
                "{name}"
            );
            assert!(
                family["help"]
                    .as_str()
                    .is_some_and(|help| help.ends_with('.')),
                "{name}"
            );
        }
        assert_eq!(families.len(), expected.len(), "{families:#?}");
        let version = &families["plugwell_build"]["samples"];
        assert!(
            version.to_string().contains(env!("CARGO_PKG_VERSION")),
            "{version}"
        );
        assert_eq!(
            families["plugwell_match_duration_seconds"]["samples"]["plugwell_match_duration_seconds_count{}"],
            1.0
        );
    }
}
