//! The policy `at_once`: a caller's own line.

use std::io::Write;
use std::net::TcpStream;
use std::time::{Duration, Instant};

use plugwell_tests::Who;
use plugwell_tests::shop::{Engine, Shop, engines};

use crate::{limited_on, parameter};

/// A shop in which one asks for what takes five seconds: a write of another node that never comes. A shop
/// of one process knows that at once, so that this takes a server; `engines` says where there is none.
fn slow_shops(settings: &'static [&'static str]) -> impl Iterator<Item = Shop> {
    let slow = engines().into_iter().filter(|e| *e == Engine::Postgres);
    slow.map(|engine| limited_on(engine, settings))
}

/// Asks for what takes five seconds, and does not wait for it.
fn ask_and_go(shop: &Shop) {
    let address = shop.url().trim_start_matches("http://");
    let mut stream = TcpStream::connect(address).expect("a connection");
    let token = shop.token(Who::Reader).expect("a token");
    let request = format!(
        "GET /v1/heads HTTP/1.1\r\nHost: {address}\r\nAuthorization: Bearer {token}\r\n\
         Plugwell-Position: 999999999999\r\n\r\n"
    );
    stream.write_all(request.as_bytes()).expect("it is sent");
    std::thread::sleep(Duration::from_millis(500));
}

#[test]
fn whoever_goes_away_keeps_the_place_until_the_work_is_done() {
    for shop in slow_shops(&["--at-once", "1", "--waiting", "0"]) {
        ask_and_go(&shop);
        std::thread::sleep(Duration::from_millis(500));
        let refusal = shop
            .get(Who::Reader, "/v1/heads")
            .problem(429, "rate_limited");
        assert_eq!(refusal.json["policy"], "at_once");
        let deadline = Instant::now() + Duration::from_secs(30);
        while shop.get(Who::Reader, "/v1/heads").status != 200 {
            assert!(Instant::now() < deadline, "it comes free again");
            std::thread::sleep(Duration::from_millis(200));
        }
    }
}

#[test]
fn a_greedy_caller_stands_in_a_line_of_its_own() {
    for shop in slow_shops(&["--at-once", "1", "--waiting", "1"]) {
        // Waits for a write that never comes, five seconds long.
        let slow = || {
            let far = [("plugwell-position", "999999999999")];
            shop.send("GET", "/v1/heads", Who::Reader, &far, "")
        };
        std::thread::scope(|scope| {
            let working = scope.spawn(slow);
            std::thread::sleep(Duration::from_millis(800));
            let waiting = scope.spawn(|| shop.get(Who::Reader, "/v1/heads"));
            std::thread::sleep(Duration::from_millis(800));
            let refusal = shop
                .get(Who::Reader, "/v1/heads")
                .problem(429, "rate_limited");
            assert_eq!(refusal.json["policy"], "at_once");
            assert_eq!(refusal.header("retry-after"), Some("1"));
            assert_eq!(
                parameter(&refusal, "ratelimit-policy", "at_once", "q"),
                Some(1)
            );
            assert!(
                refusal
                    .header("ratelimit-policy")
                    .is_some_and(|line| line.contains("qu=\"concurrent-requests\"")),
                "{refusal:?}"
            );
            let start = Instant::now();
            shop.get(Who::Tuner, "/v1/heads").expect(200);
            assert!(
                !working.is_finished(),
                "another's line is another: {:?}",
                start.elapsed()
            );
            working
                .join()
                .expect("an answer")
                .problem(503, "unavailable");
            waiting.join().expect("an answer").expect(200);
        });
        shop.get(Who::Reader, "/v1/heads").expect(200);
    }
}
