//! Deliveries: signed, tried again, given up, sent again, one after the other.

use std::time::Duration;

use chrono::{DateTime, Utc};
use plugwell::service::webhooks::signing::signatures;
use plugwell_tests::bodies::{head, unique, with};
use plugwell_tests::receiver::{Delivered, Receiver, Reply};
use plugwell_tests::{Shop, Who, engines, until};
use serde_json::{Value, json};

use crate::{heads_alone, quick};

/// A webhook for the events of heads; its path and its secret.
fn hook(shop: &Shop, receiver: &Receiver) -> (String, String) {
    let types = ["created", "changed", "removed"].map(|p| format!("plugwell.head.{p}.v1"));
    let body = json!({ "url": receiver.url(), "types": types, "description": "a test" });
    let made = shop.post(Who::Manager, "/v1/webhooks", &body).expect(201);
    let secret = made.text("secret");
    assert!(secret.starts_with("whsec_"), "{secret}");
    (format!("/v1/webhooks/{}", made.text("id")), secret)
}

/// A head; its subject.
fn new_head(shop: &Shop) -> String {
    let body = with(head(), json!({ "name": unique("Sent head") }));
    let made = shop.post(Who::Tuner, "/v1/heads", &body).expect(201);
    format!("heads/{}", made.text("id"))
}

fn rename(shop: &Shop, subject: &str, name: &str) {
    let path = format!("/v1/{subject}");
    shop.patch(Who::Tuner, &path, &json!({ "name": name }))
        .expect(200);
}

/// The deliveries of a webhook for a subject, oldest first.
fn log(shop: &Shop, path: &str, subject: &str) -> Vec<Value> {
    let mut all = shop.all(Who::Manager, &format!("{path}/deliveries"));
    all.retain(|d| d["subject"] == subject);
    all.reverse();
    all
}

/// The only delivery for a subject, once it stands so.
#[track_caller]
fn ended(shop: &Shop, path: &str, subject: &str, state: &str) -> Value {
    until(&format!("a delivery that is {state}"), || {
        log(shop, path, subject)
            .into_iter()
            .find(|d| d["state"] == state)
    })
}

fn statuses(delivery: &Value) -> Vec<Option<u64>> {
    let attempts = delivery["attempts"].as_array().expect("attempts");
    attempts.iter().map(|a| a["status"].as_u64()).collect()
}

/// The signatures that a delivery ought to carry.
fn expected(delivered: &Delivered, secrets: &[&str]) -> String {
    let at: i64 = delivered.headers["webhook-timestamp"]
        .parse()
        .expect("seconds");
    let at = DateTime::from_timestamp(at, 0).expect("an instant");
    assert!((Utc::now() - at).num_seconds().abs() < 60);
    signatures(
        secrets.iter().copied(),
        &delivered.headers["webhook-id"],
        at,
        &delivered.body,
    )
}

#[test]
fn a_delivery_is_signed_and_secrets_rotate() {
    let _alone = heads_alone();
    for shop in quick() {
        let receiver = Receiver::answering([]);
        let (path, first) = hook(shop, &receiver);
        let subject = new_head(shop);
        let delivered = receiver.of(&subject, 1).remove(0);
        assert_eq!(delivered.path, "/hook");
        let event = delivered.event();
        assert_eq!(event["type"], "plugwell.head.created.v1");
        assert_eq!(event["specversion"], "1.0");
        assert_eq!(
            delivered.headers["webhook-id"],
            event["id"].as_str().expect("an id")
        );
        assert_eq!(
            delivered.headers["content-type"],
            "application/cloudevents+json; charset=utf-8"
        );
        assert_eq!(
            delivered.headers["webhook-signature"],
            expected(&delivered, &[&first])
        );
        assert_eq!(
            statuses(&ended(shop, &path, &subject, "delivered")),
            [Some(204)]
        );
        // Two secrets for a while, then the new one alone.
        let added = shop
            .send("POST", &format!("{path}/secrets"), Who::Manager, &[], "")
            .expect(201);
        let second = added.text("secret");
        let subject = new_head(shop);
        let delivered = receiver.of(&subject, 1).remove(0);
        let both = expected(&delivered, &[&first, &second]);
        assert_eq!(both.split(' ').count(), 2);
        assert_eq!(delivered.headers["webhook-signature"], both);
        let shown = shop.get(Who::Manager, &path).expect(200);
        let secrets = shown.json["secrets"].as_array().expect("secrets").clone();
        assert!(
            !shown.json.to_string().contains("whsec_"),
            "shown once only"
        );
        let remove = |secret: &Value, etag: &str| {
            let own = format!("{path}/secrets/{}", secret["id"].as_str().expect("an id"));
            shop.send("DELETE", &own, Who::Manager, &[("if-match", etag)], "")
        };
        remove(&secrets[0], "\"1\"").problem(412, "stale");
        remove(&secrets[0], &shown.etag()).expect(204);
        let etag = shop.get(Who::Manager, &path).expect(200).etag();
        remove(&secrets[0], &etag).problem(404, "not_found");
        remove(&secrets[1], &etag).problem(409, "secrets_bounded");
        let subject = new_head(shop);
        let delivered = receiver.of(&subject, 1).remove(0);
        assert_eq!(
            delivered.headers["webhook-signature"],
            expected(&delivered, &[&second])
        );
    }
}

#[test]
fn what_fails_is_tried_again_by_the_schedule() {
    let _alone = heads_alone();
    for shop in quick() {
        let answers = [
            Reply::Status(500, None),
            Reply::Status(302, Some(("location", "/elsewhere"))),
        ];
        let receiver = Receiver::answering(answers);
        let (path, _) = hook(shop, &receiver);
        let subject = new_head(shop);
        let delivered = receiver.of(&subject, 3);
        let apart = |n: usize| delivered[n].at - delivered[n - 1].at;
        assert!(apart(1) >= Duration::from_millis(180), "{:?}", apart(1));
        assert!(apart(2) >= Duration::from_millis(270), "{:?}", apart(2));
        let ids: Vec<_> = delivered.iter().map(|d| &d.headers["webhook-id"]).collect();
        assert!(
            ids.iter().all(|id| *id == ids[0]),
            "the same at every attempt"
        );
        assert!(
            receiver.seen().iter().all(|d| d.path == "/hook"),
            "no redirect is followed"
        );
        let delivery = ended(shop, &path, &subject, "delivered");
        assert_eq!(statuses(&delivery), [Some(500), Some(302), Some(204)]);
        let attempts = &delivery["attempts"];
        assert!(
            attempts[1]["failure"]
                .as_str()
                .expect("why")
                .contains("redirects are not followed")
        );
        assert!(attempts[0]["next_at"].is_string() && attempts[2]["next_at"].is_null());
    }
}

#[test]
fn retry_after_is_waited_for() {
    let _alone = heads_alone();
    for shop in quick() {
        let receiver = Receiver::answering([Reply::Status(429, Some(("retry-after", "2")))]);
        let (path, _) = hook(shop, &receiver);
        let subject = new_head(shop);
        let delivered = receiver.of(&subject, 2);
        let apart = delivered[1].at - delivered[0].at;
        assert!(apart >= Duration::from_millis(1900), "{apart:?}");
        assert_eq!(
            statuses(&ended(shop, &path, &subject, "delivered")),
            [Some(429), Some(204)]
        );
    }
}

#[test]
fn a_dead_delivery_is_kept_and_sent_again() {
    let _alone = heads_alone();
    for shop in quick() {
        let receiver = Receiver::answering(vec![Reply::Status(503, None); 3]);
        let (path, _) = hook(shop, &receiver);
        let subject = new_head(shop);
        let dead = ended(shop, &path, &subject, "dead");
        assert_eq!(
            statuses(&dead),
            [Some(503); 3],
            "three attempts by two waits"
        );
        assert!(dead["next_at"].is_null() && dead["ended_at"].is_string());
        assert_eq!(shop.get(Who::Manager, &path).expect(200).json["dead"], 1);
        let listed = shop
            .get(Who::Manager, &format!("{path}/deliveries?state=dead"))
            .expect(200);
        assert_eq!(listed.items().len(), 1);
        let lost = shop
            .get(Who::Manager, &format!("{path}/deliveries?state=lost"))
            .refused_for(&["?state not_in_list"]);
        let detail = lost.text("detail");
        assert!(detail.contains("waiting, delivered, dead"), "{detail}");
        let again = format!(
            "{path}/deliveries/{}/resend",
            dead["id"].as_str().expect("an id")
        );
        let waits = shop.send("POST", &again, Who::Manager, &[], "").expect(200);
        assert_eq!(waits.json["state"], "waiting");
        let delivered = ended(shop, &path, &subject, "delivered");
        assert_eq!(
            statuses(&delivered),
            [Some(503), Some(503), Some(503), Some(204)]
        );
        let other = hook(shop, &receiver).0;
        let again = again.replace(&path, &other);
        shop.send("POST", &again, Who::Manager, &[], "")
            .problem(404, "not_found");
    }
}

#[test]
fn later_events_of_a_subject_wait_for_the_earlier_and_others_do_not() {
    let _alone = heads_alone();
    for shop in quick() {
        let receiver = Receiver::answering([Reply::Status(429, Some(("retry-after", "2")))]);
        let (path, _) = hook(shop, &receiver);
        let subject = new_head(shop);
        receiver.of(&subject, 1);
        rename(shop, &subject, "Second name");
        let other = new_head(shop);
        let delivered = receiver.of(&subject, 3);
        let versions: Vec<_> = delivered
            .iter()
            .map(|d| d.event()["entityversion"].as_i64())
            .collect();
        assert_eq!(versions, [Some(1), Some(1), Some(2)]);
        assert!(receiver.of(&other, 1)[0].at < delivered[1].at);
        let states = until("both", || {
            let states: Vec<_> = log(shop, &path, &subject)
                .iter()
                .map(|d| d["state"].clone())
                .collect();
            (!states.contains(&json!("waiting"))).then_some(states)
        });
        assert_eq!(states, ["delivered", "delivered"]);
    }
}

#[test]
fn a_receiver_that_is_gone_is_told_nothing_more_until_it_is_let_in() {
    let _alone = heads_alone();
    for shop in quick() {
        let receiver = Receiver::answering([Reply::Status(410, None)]);
        let (path, _) = hook(shop, &receiver);
        let subject = new_head(shop);
        let dead = ended(shop, &path, &subject, "dead");
        assert_eq!(statuses(&dead), [Some(410)]);
        let shown = shop.get(Who::Manager, &path).expect(200).json;
        assert_eq!(shown["enabled"], false);
        assert!(
            shown["disabled_because"]
                .as_str()
                .expect("why")
                .contains("410")
        );
        let missed = new_head(shop);
        std::thread::sleep(Duration::from_millis(1200));
        assert_eq!(receiver.seen().len(), 1);
        let open = shop
            .patch(Who::Manager, &path, &json!({ "enabled": true }))
            .expect(200)
            .json;
        assert_eq!(
            (&open["enabled"], &open["disabled_because"]),
            (&json!(true), &Value::Null)
        );
        // It goes on where it stopped.
        receiver.of(&missed, 1);
    }
}

#[test]
fn slow_and_endless_answers_are_bounded() {
    let _alone = heads_alone();
    for shop in quick() {
        let receiver = Receiver::answering([Reply::After(Duration::from_secs(6)), Reply::Huge]);
        let (path, _) = hook(shop, &receiver);
        let subject = new_head(shop);
        let delivery = ended(shop, &path, &subject, "delivered");
        assert_eq!(statuses(&delivery), [None, Some(200)]);
        let slow = &delivery["attempts"][0];
        assert_eq!(slow["failure"], "there was no answer within 2 s");
        assert!(
            (1900..5500).contains(&slow["took_ms"].as_i64().expect("a time")),
            "{slow}"
        );
        // What the sockets hold in between comes on top of what is read.
        assert!(
            receiver.written() < 32 << 20,
            "{} bytes were taken",
            receiver.written()
        );
    }
}

#[test]
fn what_was_not_delivered_before_a_kill_is_delivered_after_it() {
    for engine in engines() {
        let settings = [
            "--webhook-allow",
            "127.0.0.1",
            "--webhook-schedule",
            "500ms,1s,1s,1s",
        ];
        let mut shop = Shop::start_with(engine, &settings);
        let receiver = Receiver::answering([
            Reply::After(Duration::from_secs(2)),
            Reply::Status(500, None),
        ]);
        let (path, _) = hook(&shop, &receiver);
        let slow = new_head(&shop);
        receiver.of(&slow, 1);
        // While an attempt is under way; a second event has just been written.
        let written = new_head(&shop);
        shop.kill();
        shop.open();
        receiver.of(&written, 1);
        ended(&shop, &path, &written, "delivered");
        // On PostgreSQL another node might still be at it: its lease has to end first.
        if engine == plugwell_tests::Engine::Sqlite {
            assert!(receiver.of(&slow, 2).len() >= 2, "at least once");
            ended(&shop, &path, &slow, "delivered");
        }
    }
}

#[test]
fn webhooks_are_entered_changed_and_removed() {
    let _alone = heads_alone();
    for shop in quick() {
        let receiver = Receiver::answering([]);
        let (path, _) = hook(shop, &receiver);
        let listed = shop.all(Who::Manager, "/v1/webhooks");
        assert!(
            listed
                .iter()
                .any(|h| path.ends_with(h["id"].as_str().expect("an id")))
        );
        shop.get(Who::Clerk, "/v1/webhooks")
            .problem(403, "forbidden");
        let policy = json!({ "types": ["plugwell.policy.changed.v1"] });
        let changed = shop.patch(Who::Manager, &path, &policy).expect(200).json;
        assert_eq!(
            (&changed["types"], &changed["version"]),
            (&policy["types"], &json!(2))
        );
        let all = shop
            .patch(Who::Manager, &path, &json!({ "types": null }))
            .expect(200)
            .json;
        assert_eq!(all["types"], Value::Null);
        shop.delete(Who::Manager, &path).expect(204);
        shop.get(Who::Manager, &path).problem(404, "not_found");
        let wrong = |body: Value, faults: &[&str]| {
            shop.post(Who::Manager, "/v1/webhooks", &body)
                .refused_for(faults);
        };
        wrong(json!({}), &["#/url missing"]);
        wrong(
            json!({ "url": receiver.url(), "types": [] }),
            &["#/types out_of_range"],
        );
        wrong(
            json!({ "url": receiver.url(), "types": ["plugwell.x.v1"] }),
            &["#/types/0 not_in_list"],
        );
        wrong(
            json!({ "url": receiver.url(), "secret": "mine" }),
            &["#/secret unknown_member"],
        );
    }
}
