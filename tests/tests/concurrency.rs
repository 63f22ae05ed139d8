//! Many callers at once, with real threads over HTTP: nobody gets what is not there, every answer
//! shows what was answered before, and a stop loses nothing.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Barrier, Mutex};
use std::thread;
use std::time::Duration;

use plugwell_tests::bodies::{bin, issue, place, plug, receipt, receive, stock_of, stored_plug, unique, with};
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Shop, Who, engines};
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use serde_json::{Value, json};

const CALLERS: usize = 64;

/// All callers at once: each waits for the others before it asks.
fn at_once(callers: usize, ask: impl Fn(usize) -> Answer + Sync) -> Vec<Answer> {
    let (barrier, ask) = (Barrier::new(callers), &ask);
    thread::scope(|scope| {
        let asking: Vec<_> = (0..callers)
            .map(|caller| {
                let barrier = &barrier;
                scope.spawn(move || {
                    barrier.wait();
                    ask(caller)
                })
            })
            .collect();
        asking.into_iter().map(|thread| thread.join().expect("a caller")).collect()
    })
}

#[test]
fn the_last_set_goes_to_exactly_one_of_64_callers() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let bin_id = bin(&shop, "A1");
        for set in [8, 1] {
            let plug_id = stored_plug(&shop, &plug(&unique("LAST")));
            receive(&shop, &plug_id, &bin_id, set);
            let answers = at_once(CALLERS, |caller| {
                shop.once(Who::Tuner, "/v1/stock/issues", &issue(&plug_id, &format!("Job {caller}"), set))
            });
            let won = answers.iter().filter(|answer| answer.status == 201).count();
            assert_eq!(won, 1, "{engine}");
            for answer in answers.into_iter().filter(|answer| answer.status != 201) {
                let lost = answer.problem(409, "not_enough_stock");
                assert_eq!((&lost.json["available"], &lost.json["on_hand"]), (&json!(0), &json!(0)), "{engine}");
            }
            nothing_below_zero(&shop, &plug_id);
            assert_eq!(stock_of(&shop, &plug_id), (0, 0));
        }
    }
}

#[test]
fn the_last_set_is_reserved_by_exactly_one_of_64_callers() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let plug_id = stored_plug(&shop, &plug(&unique("LAST")));
        receive(&shop, &plug_id, &bin(&shop, "A1"), 12);
        let body = json!({ "plug_id": plug_id, "quantity": 7, "job": "Wanted" });
        let answers = at_once(CALLERS, |_| shop.once(Who::Tuner, "/v1/stock/reservations", &body));
        let won: Vec<&Answer> = answers.iter().filter(|answer| answer.status == 201).collect();
        assert_eq!(won.len(), 1, "{engine}");
        // And drawn on by exactly one.
        let draw = json!({ "plug_id": plug_id, "quantity": 7, "reservation_id": won[0].json["id"] });
        let drawn = at_once(CALLERS, |_| shop.once(Who::Tuner, "/v1/stock/issues", &draw));
        assert_eq!(drawn.iter().filter(|answer| answer.status == 201).count(), 1, "{engine}");
        for answer in drawn.into_iter().filter(|answer| answer.status != 201) {
            answer.problem(409, "reservation_closed");
        }
        assert_eq!(stock_of(&shop, &plug_id), (5, 5));
    }
}

#[test]
fn no_more_comes_back_than_went_out_however_many_return_it() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let (plug_id, bin_id) = (stored_plug(&shop, &plug(&unique("BACK"))), bin(&shop, "A1"));
        receive(&shop, &plug_id, &bin_id, 16);
        let issued = shop.once(Who::Tuner, "/v1/stock/issues", &issue(&plug_id, "Back", 8)).expect(201).json;
        shop.once(Who::Tuner, "/v1/stock/issues", &issue(&plug_id, "Back", 8)).expect(201);
        let body = json!({ "movement_id": issued["movements"][0]["id"], "quantity": 3, "place_id": bin_id, "condition": "sealed" });
        let answers = at_once(CALLERS, |_| shop.once(Who::Clerk, "/v1/stock/returns", &body));
        assert_eq!(answers.iter().filter(|answer| answer.status == 201).count(), 2, "{engine}: six of eight");
        for answer in answers.into_iter().filter(|answer| answer.status != 201) {
            answer.problem(409, "more_than_issued");
        }
        let slip = json!({ "movement_id": issued["movements"][0]["id"], "reason": "slip" });
        let answers = at_once(CALLERS, |_| shop.once(Who::Clerk, "/v1/stock/reversals", &slip));
        assert_eq!(answers.iter().filter(|answer| answer.status == 201).count(), 1, "{engine}");
    }
}

#[track_caller]
fn nothing_below_zero(shop: &Shop, plug_id: &str) {
    let bounded: Vec<Value> = ["bin", "job", "quarantine", "scrap"]
        .iter()
        .flat_map(|kind| shop.get(Who::Reader, &format!("/v1/stock/places?kind={kind}&limit=200")).expect(200).column("id"))
        .collect();
    let levels = shop.get(Who::Reader, &format!("/v1/stock/levels?plug_id={plug_id}&limit=200")).expect(200);
    let mut sums = std::collections::BTreeMap::<String, i64>::new();
    for level in levels.items() {
        let quantity = level["quantity"].as_i64().expect("a quantity");
        assert!(quantity >= 0 || !bounded.contains(&level["place_id"]), "{level}");
        *sums.entry(level["lot_id"].to_string()).or_default() += quantity;
    }
    assert!(!sums.is_empty());
    assert!(sums.values().all(|sum| *sum == 0), "each lot sums to zero: {sums:?}");
}

const MIXERS: usize = 16;
const COMMANDS: usize = 40;

/// What random callers know of a shop.
struct Floor<'s> {
    shop: &'s Shop,
    plugs: Vec<String>,
    places: Vec<String>,
    /// Movements and reservations that were answered.
    movements: Mutex<Vec<Value>>,
    reservations: Mutex<Vec<Value>>,
    done: AtomicUsize,
}

impl Floor<'_> {
    fn step(&self, dice: &mut StdRng) {
        let (plug_id, bin_id) = (self.plugs.choose(dice).expect("a part"), self.places.choose(dice).expect("a place"));
        let quantity = dice.random_range(1..=6);
        let one_of = |known: &Mutex<Vec<Value>>, dice: &mut StdRng| known.lock().expect("no panic").choose(dice).cloned().unwrap_or_default();
        let movement = one_of(&self.movements, dice);
        let reservation = one_of(&self.reservations, dice);
        let job = format!("Job {}", dice.random_range(1..=5));
        let (path, body) = match dice.random_range(0..12) {
            0 | 1 => ("receipts".to_owned(), receipt(plug_id, bin_id, quantity)),
            2 | 3 => ("issues".to_owned(), issue(plug_id, &job, quantity)),
            4 => ("issues".to_owned(), json!({ "plug_id": reservation["plug_id"], "quantity": 1, "reservation_id": reservation["id"] })),
            5 => ("returns".to_owned(), json!({ "movement_id": movement["id"], "quantity": 1, "place_id": bin_id, "condition": "gapped", "gap_mm": 0.8 })),
            6 => ("returns".to_owned(), json!({ "movement_id": movement["id"], "quantity": 1, "condition": "fitted" })),
            7 => ("transfers".to_owned(), json!({ "lot_id": movement["lot_id"], "from_place_id": movement["to_place_id"], "to_place_id": bin_id, "quantity": quantity })),
            8 => ("scrappings".to_owned(), json!({ "plug_id": plug_id, "place_id": bin_id, "quantity": 1, "reason": "dropped" })),
            9 => ("reversals".to_owned(), json!({ "movement_id": movement["id"], "reason": "slip" })),
            10 => ("reservations".to_owned(), json!({ "plug_id": plug_id, "quantity": quantity, "job": job })),
            _ => (format!("reservations/{}/release", reservation["id"].as_str().unwrap_or_default()), Value::Null),
        };
        let answer = self.shop.once(Who::Manager, &format!("/v1/stock/{path}"), &body);
        assert!(matches!(answer.status, 200 | 201 | 400 | 404 | 409), "{answer:?}");
        if answer.status < 300 {
            self.done.fetch_add(1, Ordering::Relaxed);
            self.movements.lock().expect("no panic").extend(answer.json["movements"].as_array().into_iter().flatten().cloned());
            if answer.json["state"] == "open" {
                self.reservations.lock().expect("no panic").push(answer.json);
            }
        }
    }
}

#[test]
fn after_a_mixed_day_the_books_are_right() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let seed = key();
        let floor = Floor {
            shop: &shop,
            plugs: (0..6).map(|_| stored_plug(&shop, &plug(&unique("MIX")))).collect(),
            places: [bin(&shop, "A1"), bin(&shop, "A2"), place(&shop, "quarantine", "Hold")].to_vec(),
            movements: Mutex::default(),
            reservations: Mutex::default(),
            done: AtomicUsize::new(0),
        };
        thread::scope(|scope| {
            for mixer in 0..MIXERS {
                let (floor, seed) = (&floor, &seed);
                scope.spawn(move || {
                    let mut dice = StdRng::seed_from_u64(seed.bytes().map(u64::from).sum::<u64>() + mixer as u64);
                    (0..COMMANDS).for_each(|_| floor.step(&mut dice));
                });
            }
        });
        let done = floor.done.load(Ordering::Relaxed);
        assert!(done > MIXERS * COMMANDS / 5, "only {done} commands were done");
        let plugs = floor.plugs.clone();
        plugs.iter().for_each(|plug_id| nothing_below_zero(&shop, plug_id));
        let before: Vec<(i64, i64)> = plugs.iter().map(|plug_id| stock_of(&shop, plug_id)).collect();
        shop.stop();
        let audit = shop.run("audit", &[]);
        assert!(audit.status.success(), "{engine}: {audit:?}");
        shop.open();
        let after: Vec<(i64, i64)> = plugs.iter().map(|plug_id| stock_of(&shop, plug_id)).collect();
        assert_eq!(after, before, "{engine}: the shelves in memory were those of the ledger");
    }
}

#[test]
fn a_match_shows_every_movement_that_was_answered_before() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let bin_id = bin(&shop, "A1");
        thread::scope(|scope| {
            for caller in 0..6 {
                let (shop, bin_id) = (&shop, &bin_id);
                scope.spawn(move || {
                    let plug_id = stored_plug(shop, &plug(&unique("FRESH")));
                    let (mut on_hand, mut kept) = (0, 0);
                    for step in 0..12 {
                        match (caller + step) % 4 {
                            0 | 1 => {
                                receive(shop, &plug_id, bin_id, 5);
                                on_hand += 5;
                            }
                            2 if on_hand - kept >= 2 => {
                                shop.once(Who::Tuner, "/v1/stock/issues", &issue(&plug_id, "Fresh", 2)).expect(201);
                                on_hand -= 2;
                            }
                            _ if on_hand - kept >= 1 => {
                                let body = json!({ "plug_id": plug_id, "quantity": 1, "job": "Fresh" });
                                shop.once(Who::Tuner, "/v1/stock/reservations", &body).expect(201);
                                kept += 1;
                            }
                            _ => {}
                        }
                        assert_eq!(stock_of(shop, &plug_id), (on_hand - kept, on_hand), "{engine}, step {step}");
                    }
                });
            }
        });
    }
}

/// A request of which the service has read the head and half the body.
struct Begun {
    stream: TcpStream,
    rest: String,
}

impl Begun {
    fn send(shop: &Shop, body: &Value) -> Self {
        let body = body.to_string();
        let (half, rest) = body.split_at(body.len() / 2);
        let address = shop.url().strip_prefix("http://").expect("plain HTTP");
        let mut stream = TcpStream::connect(address).expect("the service listens");
        stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a timeout");
        let head = format!(
            "POST /v1/stock/receipts HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {}\r\nIdempotency-Key: {}\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{half}",
            shop.token(Who::Clerk).expect("a token"),
            key(),
            body.len()
        );
        stream.write_all(head.as_bytes()).expect("the head goes out");
        Self { stream, rest: rest.to_owned() }
    }

    /// Sends the rest, and reads the answer to its end.
    fn finish(mut self) -> String {
        self.stream.write_all(self.rest.as_bytes()).expect("the rest goes out");
        let mut answer = String::new();
        self.stream.read_to_string(&mut answer).expect("an answer");
        answer
    }
}

#[test]
fn a_stop_under_load_loses_no_answered_write_and_cuts_no_accepted_request_off() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let (plug_id, bin_id) = (stored_plug(&shop, &plug(&unique("STOP"))), bin(&shop, "A1"));
        let (answered, stopping) = (AtomicUsize::new(0), AtomicBool::new(false));
        let pid = shop.pid().to_string();
        let begun: Vec<Begun> = (0..8).map(|_| Begun::send(&shop, &receipt(&plug_id, &bin_id, 1))).collect();
        let finished = thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    let body = receipt(&plug_id, &bin_id, 1).to_string();
                    loop {
                        let headers = [("content-type", "application/json"), ("idempotency-key", &*key())];
                        let answer = shop.try_send("POST", "/v1/stock/receipts", Who::Clerk, &headers, body.clone());
                        match answer {
                            Ok(answer) => {
                                answer.expect(201);
                                answered.fetch_add(1, Ordering::Relaxed);
                            }
                            // Once it stops it takes no more connections; before, every request is answered.
                            Err(e) => break assert!(stopping.load(Ordering::Relaxed), "{e:?}"),
                        }
                    }
                });
            }
            thread::sleep(Duration::from_millis(300));
            stopping.store(true, Ordering::Relaxed);
            assert!(std::process::Command::new("kill").args(["-s", "TERM", &pid]).status().expect("kill").success());
            thread::sleep(Duration::from_millis(300));
            begun.into_iter().map(Begun::finish).collect::<Vec<_>>()
        });
        for answer in &finished {
            assert!(answer.starts_with("HTTP/1.1 201"), "{engine}: cut off: {answer}");
            assert!(answer.ends_with('}'), "{engine}: the body is not whole: {answer}");
        }
        // It ends by itself, with success.
        shop.stop();
        shop.open();
        let answered = answered.load(Ordering::Relaxed) + finished.len();
        assert!(answered > 20, "only {answered} were answered");
        let (available, on_hand) = stock_of(&shop, &plug_id);
        assert_eq!(available, on_hand);
        // What was not answered may have been done: eight callers had one request each on the way.
        let on_hand = usize::try_from(on_hand).expect("not below zero");
        assert!((answered..=answered + 8).contains(&on_hand), "{engine}: {answered} answered, {on_hand} there");
    }
}

#[test]
fn a_supplier_and_a_job_that_all_name_at_once_are_made_once() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let (plug_id, bin_id) = (stored_plug(&shop, &plug(&unique("BUSY"))), bin(&shop, "A1"));
        let body = with(receipt(&plug_id, &bin_id, 2), json!({ "supplier": "New to all" }));
        let answers = at_once(CALLERS, |_| shop.once(Who::Clerk, "/v1/stock/receipts", &body));
        assert!(answers.iter().all(|answer| answer.status == 201), "{engine}");
        let answers = at_once(CALLERS, |_| shop.once(Who::Tuner, "/v1/stock/issues", &issue(&plug_id, "New to all", 1)));
        assert!(answers.iter().all(|answer| answer.status == 201), "{engine}");
        assert_eq!(stock_of(&shop, &plug_id), (64, 64));
        for kind in ["supplier", "job"] {
            let names = shop.get(Who::Reader, &format!("/v1/stock/places?kind={kind}")).expect(200).column("name");
            assert_eq!(names.iter().filter(|name| *name == "New to all").count(), 1, "{engine}: {kind}");
        }
    }
}
