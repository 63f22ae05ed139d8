//! How much callers may ask: by token, by address, of wrong tokens, at the same time; and that nobody on
//! this machine is limited unless the shop says so.
//!
//! Hardly anything here touches the database in a way of its own: one engine is enough.

mod addresses;
mod at_once;
mod browsers;
mod tokens;

use std::time::Duration;

use plugwell_tests::shop::{Engine, Shop};
use plugwell_tests::{Answer, Who};

/// A shop that limits callers on this machine as well. What a test does not name is without limit.
fn limited(settings: &[&str]) -> Shop {
    limited_on(Engine::Sqlite, settings)
}

fn limited_on(engine: Engine, settings: &[&str]) -> Shop {
    let mut all = vec!["--limit-loopback"];
    for usual in [
        ["--token-rate", "0"],
        ["--address-rate", "0"],
        ["--wrong-token-rate", "0"],
    ] {
        if !settings.contains(&usual[0]) {
            all.extend(usual);
        }
    }
    all.extend(settings);
    Shop::start_with(engine, &all)
}

/// Asks until it is refused: how often it was answered, and the refusal.
#[track_caller]
fn until_refused(mut ask: impl FnMut() -> Answer) -> (usize, Answer) {
    // As slow as the machine may be: buckets of these tests refill more slowly than this.
    for answered in 0..200 {
        let answer = ask();
        if answer.status == 429 {
            return (answered, answer.problem(429, "rate_limited"));
        }
    }
    panic!("never refused")
}

/// The parameter of a policy in a list of structured fields: `"token";q=5;w=10, "address";q=9`.
#[track_caller]
fn parameter(answer: &Answer, header: &str, policy: &str, name: &str) -> Option<i64> {
    let line = answer
        .header(header)
        .unwrap_or_else(|| panic!("no {header} in {answer:?}"));
    let name_of = format!("\"{policy}\"");
    let mut items = line.split(", ").map(|item| item.split(';'));
    let mut item = items.find_map(|mut item| {
        let is_it = item.next() == Some(name_of.as_str());
        is_it.then_some(item)
    })?;
    let value = item.find_map(|pair| pair.strip_prefix(name)?.strip_prefix('='));
    value.map(|value| value.parse().expect("a whole number"))
}

/// Waits for as long as a refusal says.
#[track_caller]
fn wait_as_told(refusal: &Answer) {
    let seconds = refusal.header("retry-after").expect("Retry-After");
    let seconds: u64 = seconds.parse().expect("whole seconds");
    assert!((1..=30).contains(&seconds), "{refusal:?}");
    std::thread::sleep(Duration::from_secs(seconds));
}

#[test]
fn nobody_on_this_machine_is_limited_unless_the_shop_says_so() {
    let shop = Shop::start(Engine::Sqlite);
    for _ in 0..250 {
        let answer = shop.get(Who::Reader, "/v1/heads").expect(200);
        assert_eq!(answer.header("ratelimit"), None);
        assert_eq!(answer.header("ratelimit-policy"), None);
    }
    // A proxy that nobody has named speaks for others: they are limited, all as one.
    let far = [("x-forwarded-for", "192.0.2.1")];
    let answer = shop
        .send("GET", "/v1/heads", Who::Reader, &far, "")
        .expect(200);
    assert_eq!(
        parameter(&answer, "ratelimit-policy", "token", "q"),
        Some(200)
    );
    assert_eq!(
        parameter(&answer, "ratelimit-policy", "address", "q"),
        Some(400)
    );
}
