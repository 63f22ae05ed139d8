//! A stop while requests are on their way.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::process::Command;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;
use std::time::Duration;

use plugwell_tests::bodies::{bin, plug, receipt, receive, stock_of, stored_plug, unique};
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Shop, Who, engines};
use serde_json::Value;

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
        stream
            .set_read_timeout(Some(Duration::from_secs(20)))
            .expect("a timeout");
        let head = format!(
            "POST /v1/stock/receipts HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {}\r\nIdempotency-Key: {}\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n{half}",
            shop.token(Who::Clerk).expect("a token"),
            key(),
            body.len()
        );
        stream
            .write_all(head.as_bytes())
            .expect("the head goes out");
        Self {
            stream,
            rest: rest.to_owned(),
        }
    }

    /// Sends the rest, and reads the answer to its end.
    fn finish(mut self) -> String {
        self.stream
            .write_all(self.rest.as_bytes())
            .expect("the rest goes out");
        let mut answer = String::new();
        self.stream.read_to_string(&mut answer).expect("an answer");
        answer
    }
}

/// Sends a receipt; no answer may be missing before the service is told to stop. From then on it
/// takes no more connections.
fn answered_or_stopping(shop: &Shop, body: &str, stopping: &AtomicBool) -> Option<Answer> {
    let key = key();
    let headers = [
        ("content-type", "application/json"),
        ("idempotency-key", &*key),
    ];
    match shop.try_send("POST", "/v1/stock/receipts", Who::Clerk, &headers, body) {
        Ok(answer) => Some(answer),
        Err(e) => {
            assert!(stopping.load(Ordering::Relaxed), "{e:?}");
            None
        }
    }
}

#[test]
fn a_stop_under_load_loses_no_answered_write_and_cuts_no_accepted_request_off() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let (plug_id, bin_id) = (stored_plug(&shop, &plug(&unique("STOP"))), bin(&shop, "A1"));
        let (answered, stopping) = (AtomicUsize::new(0), AtomicBool::new(false));
        let pid = shop.pid().to_string();
        let begun: Vec<Begun> = (0..8)
            .map(|_| Begun::send(&shop, &receipt(&plug_id, &bin_id, 1)))
            .collect();
        let finished = thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    let body = receipt(&plug_id, &bin_id, 1).to_string();
                    while let Some(answer) = answered_or_stopping(&shop, &body, &stopping) {
                        answer.expect(201);
                        answered.fetch_add(1, Ordering::Relaxed);
                    }
                });
            }
            thread::sleep(Duration::from_millis(300));
            stopping.store(true, Ordering::Relaxed);
            let sent = Command::new("kill").args(["-s", "TERM", &pid]).status();
            assert!(sent.expect("kill").success());
            thread::sleep(Duration::from_millis(300));
            begun.into_iter().map(Begun::finish).collect::<Vec<_>>()
        });
        for answer in &finished {
            assert!(
                answer.starts_with("HTTP/1.1 201"),
                "{engine}: cut off: {answer}"
            );
            assert!(
                answer.ends_with('}'),
                "{engine}: the body is not whole: {answer}"
            );
        }
        // It ends by itself, with success.
        shop.stop();
        shop.open();
        let answered = answered.load(Ordering::Relaxed) + finished.len();
        assert!(
            answered > finished.len(),
            "{engine}: nothing but what was begun was answered"
        );
        let (available, on_hand) = stock_of(&shop, &plug_id);
        assert_eq!(available, on_hand);
        // What was not answered may have been done: eight callers had one request each on the way.
        let on_hand = usize::try_from(on_hand).expect("not below zero");
        assert!(
            (answered..=answered + 8).contains(&on_hand),
            "{engine}: {answered} answered, {on_hand} there"
        );
    }
}

#[test]
fn an_interrupt_from_the_terminal_stops_it_too() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let (plug_id, bin_id) = (stored_plug(&shop, &plug(&unique("INT"))), bin(&shop, "A1"));
        receive(&shop, &plug_id, &bin_id, 5);
        let ended = shop.signal("INT");
        assert!(ended.success(), "{engine}: {ended}");
        shop.open();
        assert_eq!(stock_of(&shop, &plug_id), (5, 5));
    }
}
