//! Where deliveries may go.

use plugwell_tests::receiver::Receiver;
use plugwell_tests::{Engine, Shop, Who, until};
use serde_json::json;

#[track_caller]
fn refused(shop: &Shop, url: &str, code: &str) {
    let body = json!({ "url": url });
    let answer = shop.post(Who::Manager, "/v1/webhooks", &body);
    answer.refused_for(&[&format!("#/url {code}")]);
}

#[test]
fn private_addresses_are_refused_unless_they_are_listed() {
    let shop = Shop::start_with(
        Engine::Sqlite,
        &["--webhook-allow", "10.0.0.0/8,192.168.1.7"],
    );
    let receiver = Receiver::answering([]);
    for url in [
        receiver.url(),
        format!("http://localhost:{}/", receiver.port),
        format!("http://[::1]:{}/", receiver.port),
        format!("http://[::ffff:127.0.0.1]:{}/", receiver.port),
        "https://169.254.169.254/latest".to_owned(),
        "https://192.168.1.8/".to_owned(),
        // Other spellings of 127.0.0.1.
        "https://2130706433/".to_owned(),
        "https://0x7f.1/".to_owned(),
        // Public, but in the open.
        "http://1.1.1.1/".to_owned(),
    ] {
        refused(&shop, &url, "out_of_range");
    }
    for url in [
        "ftp://1.1.1.1/",
        "https://ann:pw@1.1.1.1/",
        "https://1.1.1.1/#x",
        "nowhere",
        "mailto:ann@example.com",
    ] {
        refused(&shop, url, "wrong_form");
    }
    for url in [
        "https://1.1.1.1/",
        "http://10.1.2.3/",
        "https://192.168.1.7/",
    ] {
        shop.post(
            Who::Manager,
            "/v1/webhooks",
            &json!({ "url": url, "types": ["plugwell.policy.changed.v1"] }),
        )
        .expect(201);
    }
}

/// What was let in once is checked again at every attempt: the operator's list is what holds, and so is
/// what a name resolves to then.
#[test]
fn every_attempt_is_checked() {
    let mut shop = Shop::start_with(
        Engine::Sqlite,
        &[
            "--webhook-allow",
            "127.0.0.1,localhost",
            "--webhook-schedule",
            "100ms",
        ],
    );
    let receiver = Receiver::answering([]);
    let by = |url: String| {
        let body = json!({ "url": url, "types": ["plugwell.head.created.v1"] });
        let made = shop.post(Who::Manager, "/v1/webhooks", &body).expect(201);
        format!("/v1/webhooks/{}/deliveries", made.text("id"))
    };
    let logs = [
        by(receiver.url()),
        by(format!("http://localhost:{}/", receiver.port)),
    ];
    let head = |shop: &Shop| {
        shop.post(Who::Tuner, "/v1/heads", &plugwell_tests::bodies::head())
            .expect(201)
    };
    head(&shop);
    for log in &logs {
        until("a delivery", || {
            let all = shop.get(Who::Manager, log).expect(200);
            (all.json["items"][0]["state"] == "delivered").then_some(())
        });
    }
    assert_eq!(receiver.seen().len(), 2);
    shop.stop();
    shop.with(&["--webhook-schedule", "100ms"]);
    shop.open();
    head(&shop);
    for log in &logs {
        let failure = until("a refusal", || {
            let all = shop.get(Who::Manager, log).expect(200);
            let newest = all.json["items"][0].clone();
            (newest["state"] == "dead").then(|| newest["attempts"][0]["failure"].clone())
        });
        let failure = failure.as_str().expect("why").to_owned();
        assert!(failure.contains("--webhook-allow"), "{failure}");
    }
    assert_eq!(receiver.seen().len(), 2, "nothing went there");
}
