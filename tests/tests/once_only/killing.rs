//! The service is killed while commands are on their way.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use plugwell_tests::bodies::{receipt, with};
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::{Value, json};

use crate::{RECEIPTS, movements_of, replayed, shelf};

/// A command that was sent, and whether its answer came.
struct Sent {
    key: String,
    body: Value,
    answer: Option<Answer>,
}

const KILLS: u64 = 5;
const SENDERS: usize = 6;

/// The key is kept in the transaction of its command: a kill leaves both or neither.
#[test]
fn a_kill_loses_no_acknowledged_command_and_doubles_none() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let (plug_id, bin_id) = shelf(&shop);
        let mut acknowledged: BTreeMap<String, Vec<u8>> = BTreeMap::new();
        let (mut cut_off, mut repeated_done) = (0, 0);
        for round in 0..KILLS {
            let sent = send_until_killed(&mut shop, &plug_id, &bin_id, 60 + 45 * round);
            shop.open();
            let noted = by_note(&shop, &plug_id);
            for one in &sent {
                let there = noted.get(&one.key).map_or(0, Vec::len);
                match &one.answer {
                    Some(answer) => {
                        assert_eq!(there, 1, "acknowledged as {answer:?}");
                        assert_eq!(
                            noted[&one.key][0], answer.json["movements"][0],
                            "as it was answered"
                        );
                        acknowledged.insert(one.key.clone(), answer.body.clone());
                    }
                    None => {
                        cut_off += 1;
                        assert!(there <= 1, "{there} movements of one command");
                        // Whoever got no answer asks again with the same key.
                        let again = shop
                            .once_with(Who::Clerk, RECEIPTS, &one.key, &one.body)
                            .expect(201);
                        assert_eq!(replayed(&again), there == 1, "{again:?}");
                        repeated_done += there;
                        acknowledged.insert(one.key.clone(), again.body);
                    }
                }
            }
        }
        let noted = by_note(&shop, &plug_id);
        assert_eq!(noted.len(), acknowledged.len());
        assert!(noted.values().all(|movements| movements.len() == 1));
        assert!(
            cut_off > 0,
            "no command was cut off: the kill came too late each time"
        );
        println!(
            "{engine}: {} commands, {cut_off} cut off, {repeated_done} of them were done",
            acknowledged.len()
        );
        // All of it lies on the shelf.
        let levels = shop
            .get(
                Who::Reader,
                &format!("/v1/stock/levels?place_id={bin_id}&limit=1"),
            )
            .expect(200);
        assert_eq!(levels.items().len(), 1);
        shop.stop();
        let audit = shop.run("audit", &[]);
        assert!(audit.status.success(), "{audit:?}");
    }
}

/// Several threads send receipts, each with a key that is also its note, until the service is gone.
fn send_until_killed(shop: &mut Shop, plug_id: &str, bin_id: &str, after_ms: u64) -> Vec<Sent> {
    let sent: Mutex<Vec<Sent>> = Mutex::default();
    let gone = AtomicBool::new(false);
    let pid = shop.pid().to_string();
    thread::scope(|scope| {
        for _ in 0..SENDERS {
            scope.spawn(|| {
                while !gone.load(Ordering::Relaxed) {
                    let key = key();
                    let body = with(receipt(plug_id, bin_id, 1), json!({ "reference": key }));
                    let headers = [
                        ("content-type", "application/json"),
                        ("idempotency-key", &*key),
                    ];
                    let answer =
                        shop.try_send("POST", RECEIPTS, Who::Clerk, &headers, body.to_string());
                    if answer.is_err() {
                        gone.store(true, Ordering::Relaxed);
                    }
                    let answer = answer.ok().map(|answer| answer.expect(201));
                    sent.lock()
                        .expect("nobody panicked")
                        .push(Sent { key, body, answer });
                }
            });
        }
        thread::sleep(Duration::from_millis(after_ms));
        let killed = std::process::Command::new("kill")
            .args(["-s", "KILL", &pid])
            .status()
            .expect("kill");
        assert!(killed.success());
    });
    // It is gone already: this takes note of it.
    shop.kill();
    sent.into_inner().expect("nobody panicked")
}

fn by_note(shop: &Shop, plug_id: &str) -> BTreeMap<String, Vec<Value>> {
    let mut noted: BTreeMap<String, Vec<Value>> = BTreeMap::new();
    for movement in movements_of(shop, plug_id) {
        noted
            .entry(movement["note"].as_str().expect("a note").to_owned())
            .or_default()
            .push(movement);
    }
    noted
}
