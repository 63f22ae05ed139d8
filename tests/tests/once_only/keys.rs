//! Which requests are the same, and what a repetition is answered.

use std::thread;

use plugwell_tests::bodies::{bin, issue, receipt, receive, unique, with};
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Who, shared};
use serde_json::{Value, json};

use crate::{RECEIPTS, movements_of, replayed, shelf};

#[test]
fn the_first_answer_again_byte_for_byte() {
    for shop in shared() {
        let (plug_id, bin_id) = shelf(shop);
        let body = receipt(&plug_id, &bin_id, 8);
        let key = key();
        let first = shop
            .once_with(Who::Clerk, RECEIPTS, &key, &body)
            .expect(201);
        assert!(!replayed(&first));
        // What has happened since changes nothing.
        let taken = shop
            .once(
                Who::Clerk,
                "/v1/stock/issues",
                &issue(&plug_id, "Meanwhile", 8),
            )
            .expect(201);
        for key in [key.clone(), format!("\"{key}\"")] {
            let again = shop
                .once_with(Who::Clerk, RECEIPTS, &key, &body)
                .expect(201);
            assert!(replayed(&again), "{again:?}");
            assert_eq!(again.body, first.body);
            assert_eq!(again.header("location"), first.header("location"));
            assert_eq!(again.header("content-type"), first.header("content-type"));
        }
        assert_eq!(movements_of(shop, &plug_id).len(), 2);
        assert_eq!(taken.json["movements"][0]["quantity"], 8);
    }
}

#[test]
fn every_command_is_replayed() {
    for shop in shared() {
        let (plug_id, bin_id) = shelf(shop);
        let twice = |who: Who, kind: &str, body: Value| -> Value {
            let (path, key) = (format!("/v1/stock/{kind}"), key());
            let first = shop.once_with(who, &path, &key, &body);
            assert!(matches!(first.status, 200 | 201), "{first:?}");
            let again = shop.once_with(who, &path, &key, &body).expect(first.status);
            assert!(replayed(&again) && !replayed(&first), "{again:?}");
            assert_eq!(again.body, first.body);
            first.json
        };
        let received =
            twice(Who::Clerk, "receipts", receipt(&plug_id, &bin_id, 10))["movements"][0].clone();
        let issued =
            twice(Who::Tuner, "issues", issue(&plug_id, "Replay", 4))["movements"][0].clone();
        let gapped = json!({ "movement_id": issued["id"], "quantity": 1, "place_id": bin_id, "condition": "gapped", "gap_mm": 0.8 });
        twice(Who::Clerk, "returns", gapped);
        let other = bin(shop, &unique("Other"));
        let moved = json!({ "lot_id": received["lot_id"], "from_place_id": bin_id, "to_place_id": other, "quantity": 1 });
        let moved = twice(Who::Clerk, "transfers", moved)["movements"][0].clone();
        twice(
            Who::Tuner,
            "scrappings",
            json!({ "plug_id": plug_id, "job": "Replay", "quantity": 1, "reason": "dropped" }),
        );
        twice(
            Who::Clerk,
            "reversals",
            json!({ "movement_id": moved["id"], "reason": "slip" }),
        );
        let kept = twice(
            Who::Tuner,
            "reservations",
            json!({ "plug_id": plug_id, "quantity": 1, "job": "Replay" }),
        );
        twice(
            Who::Tuner,
            &format!(
                "reservations/{}/release",
                kept["id"].as_str().expect("an id")
            ),
            Value::Null,
        );
        assert_eq!(
            movements_of(shop, &plug_id).len(),
            7,
            "a return of gapped ones is two"
        );
    }
}

#[test]
fn an_import_is_replayed() {
    for shop in shared() {
        let table = format!("maker,part_number\nFerrowick,{}\n", unique("CSV"));
        let key = key();
        let headers = [("content-type", "text/csv"), ("idempotency-key", &*key)];
        let send = || {
            shop.send(
                "POST",
                "/v1/imports/plugs",
                Who::Clerk,
                &headers,
                table.clone(),
            )
        };
        let (first, again) = (send().expect(201), send().expect(201));
        assert_eq!(
            (&first.json["created"], replayed(&first)),
            (&json!(1), false)
        );
        assert!(replayed(&again));
        assert_eq!(again.body, first.body);
    }
}

#[test]
fn another_request_with_the_same_key_is_refused() {
    for shop in shared() {
        let (plug_id, bin_id) = shelf(shop);
        let body = receipt(&plug_id, &bin_id, 8);
        let key = key();
        shop.once_with(Who::Clerk, RECEIPTS, &key, &body)
            .expect(201);
        let other = with(body.clone(), json!({ "quantity": 9 }));
        shop.once_with(Who::Clerk, RECEIPTS, &key, &other)
            .problem(422, "once_key_reused");
        // The same JSON in other bytes is another request, and so is another path.
        let spaced = body.to_string().replacen(':', " : ", 1);
        let headers = [
            ("content-type", "application/json"),
            ("idempotency-key", &*key),
        ];
        shop.send("POST", RECEIPTS, Who::Clerk, &headers, spaced)
            .problem(422, "once_key_reused");
        let taken = issue(&plug_id, "Elsewhere", 1);
        shop.once_with(Who::Clerk, "/v1/stock/issues", &key, &taken)
            .problem(422, "once_key_reused");
        assert_eq!(movements_of(shop, &plug_id).len(), 1);
        // A fault of the body stands before it.
        let faulty = with(body, json!({ "quantity": 0 }));
        shop.once_with(Who::Clerk, RECEIPTS, &key, &faulty)
            .problem(400, "invalid");
    }
}

#[test]
fn a_key_is_required_and_has_its_form() {
    for shop in shared() {
        let (plug_id, bin_id) = shelf(shop);
        let body = receipt(&plug_id, &bin_id, 8).to_string();
        let with_keys = |keys: &[&str]| {
            let mut headers = vec![("content-type", "application/json")];
            headers.extend(keys.iter().map(|key| ("idempotency-key", *key)));
            shop.send("POST", RECEIPTS, Who::Clerk, &headers, body.clone())
        };
        for keys in [
            &[][..],
            &[""],
            &["\"\""],
            &["two words"],
            &["ümlaut"],
            &["k".repeat(129).as_str()],
            &["one", "two"],
        ] {
            with_keys(keys).problem(400, "once_key_missing");
        }
        assert_eq!(movements_of(shop, &plug_id).len(), 0);
        for longest in ["k".repeat(128), format!("\"{}\"", "q".repeat(128))] {
            with_keys(&[&longest]).expect(201);
        }
        // It stands before the faults of the body.
        let headers = [("content-type", "application/json")];
        shop.send("POST", RECEIPTS, Who::Clerk, &headers, "{}")
            .problem(400, "once_key_missing");
        for path in [
            "issues",
            "returns",
            "transfers",
            "scrappings",
            "reversals",
            "reservations",
        ] {
            let answer = shop.send(
                "POST",
                &format!("/v1/stock/{path}"),
                Who::Manager,
                &headers,
                "{}",
            );
            answer.problem(400, "once_key_missing");
        }
        let csv = [("content-type", "text/csv")];
        shop.send(
            "POST",
            "/v1/imports/plugs",
            Who::Clerk,
            &csv,
            "maker,part_number\n",
        )
        .problem(400, "once_key_missing");
    }
}

#[test]
fn a_refused_request_leaves_its_key_free() {
    for shop in shared() {
        let (plug_id, bin_id) = shelf(shop);
        let (body, key) = (issue(&plug_id, "Early", 4), key());
        for _ in 0..2 {
            let refused = shop
                .once_with(Who::Tuner, "/v1/stock/issues", &key, &body)
                .problem(409, "not_enough_stock");
            assert!(!replayed(&refused));
        }
        receive(shop, &plug_id, &bin_id, 4);
        let done = shop
            .once_with(Who::Tuner, "/v1/stock/issues", &key, &body)
            .expect(201);
        assert!(!replayed(&done), "the same request is done once it can be");
        // Refused for a fault, the key may come with another request.
        let free = plugwell_tests::call::key();
        let faulty = with(body.clone(), json!({ "quantity": 0 }));
        shop.once_with(Who::Tuner, "/v1/stock/issues", &free, &faulty)
            .problem(400, "invalid");
        receive(shop, &plug_id, &bin_id, 4);
        shop.once_with(Who::Tuner, "/v1/stock/issues", &free, &body)
            .expect(201);
    }
}

#[test]
fn keys_of_two_tokens_do_not_meet() {
    for shop in shared() {
        let (plug_id, bin_id) = shelf(shop);
        let (body, key) = (receipt(&plug_id, &bin_id, 8), key());
        let by_clerk = shop
            .once_with(Who::Clerk, RECEIPTS, &key, &body)
            .expect(201);
        let by_manager = shop
            .once_with(Who::Manager, RECEIPTS, &key, &body)
            .expect(201);
        assert!(!replayed(&by_manager));
        assert_ne!(by_manager.body, by_clerk.body);
        assert!(replayed(
            &shop
                .once_with(Who::Clerk, RECEIPTS, &key, &body)
                .expect(201)
        ));
        assert_eq!(movements_of(shop, &plug_id).len(), 2);
    }
}

#[test]
fn the_same_key_at_the_same_time_is_done_once() {
    for shop in shared() {
        let (plug_id, bin_id) = shelf(shop);
        for _ in 0..5 {
            let (body, key) = (receipt(&plug_id, &bin_id, 1), key());
            let answers: Vec<Answer> = thread::scope(|scope| {
                let ask = || shop.once_with(Who::Clerk, RECEIPTS, &key, &body);
                let asking: Vec<_> = (0..8).map(|_| scope.spawn(ask)).collect();
                asking
                    .into_iter()
                    .map(|thread| thread.join().expect("an answer"))
                    .collect()
            });
            let done: Vec<&Answer> = answers
                .iter()
                .filter(|answer| answer.status == 201)
                .collect();
            assert_eq!(
                done.iter().filter(|answer| !replayed(answer)).count(),
                1,
                "{answers:?}"
            );
            assert!(done.iter().all(|answer| answer.body == done[0].body));
            for answer in answers.iter().filter(|answer| answer.status != 201) {
                let running = answer.clone().problem(409, "still_running");
                assert_eq!(running.header("retry-after"), Some("1"), "{running:?}");
            }
        }
        assert_eq!(movements_of(shop, &plug_id).len(), 5);
    }
}
