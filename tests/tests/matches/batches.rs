//! `POST /v1/match-batches`: each answer is the one that the question would have had by itself.

use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug, with, without};
use plugwell_tests::{Shop, Who, engines};
use serde_json::{Value, json};
use uuid::Uuid;

const PATH: &str = "/v1/match-batches";

fn batch(shop: &Shop, requests: &[Value]) -> Vec<Value> {
    let answer = shop
        .post(Who::Reader, PATH, &json!({ "requests": requests }))
        .expect(200);
    let members: Vec<&String> = answer.json.as_object().expect("an object").keys().collect();
    assert_eq!(members, ["answers"]);
    answer.json["answers"].as_array().expect("answers").clone()
}

/// Puts every question by itself, too: status and body are the same, but for the request that an error
/// names.
#[track_caller]
fn as_alone(shop: &Shop, requests: &[Value]) -> Vec<u64> {
    let answers = batch(shop, requests);
    assert_eq!(answers.len(), requests.len());
    for (request, answer) in requests.iter().zip(&answers) {
        let alone = shop.post(Who::Reader, "/v1/matches", request);
        assert_eq!(answer["status"], alone.status, "{request}");
        if alone.status == 200 {
            assert_eq!(answer["body"], alone.json, "{request}");
            continue;
        }
        let instance = answer["body"]["instance"].as_str().unwrap_or_default();
        assert!(instance.starts_with("urn:uuid:"), "{answer}");
        assert_eq!(
            without(answer["body"].clone(), &["instance"]),
            without(alone.json, &["instance"]),
            "{request}"
        );
    }
    answers
        .iter()
        .map(|answer| answer["status"].as_u64().expect("a status"))
        .collect()
}

#[test]
fn each_is_answered_as_by_itself_also_one_that_cannot_be() {
    for shop in engines().into_iter().map(Shop::start) {
        let shelf = bin(&shop, "Shelf 1");
        let ids: Vec<String> = (0..12)
            .map(|n| {
                let heat =
                    json!({ "heat_index": 60 + 2 * n, "projection_mm": 3.0 + f64::from(n) / 10.0 });
                let id = stored_plug(&shop, &with(plug(&format!("FW-{n}")), heat));
                if n % 3 != 0 {
                    receive(&shop, &id, &shelf, 4 + i64::from(n));
                }
                id
            })
            .collect();
        let bare = without(plug("FW-BARE"), &["thread"]);
        let bare = stored_plug(&shop, &bare);
        let requirement = shop
            .post(Who::Reader, "/v1/requirements", &build())
            .expect(200)
            .json;
        let statuses = as_alone(
            &shop,
            &[
                json!({ "build": build() }),
                json!({ "build": build(), "stock": "ignore", "limit": 3 }),
                json!({ "build": with(build(), json!({ "head_id": Uuid::now_v7() })) }),
                json!({ "plug_id": ids[4], "stock": "some" }),
                json!({ "plug_id": Uuid::now_v7() }),
                json!({ "plug_id": bare }),
                json!({ "requirement": requirement, "quantity": 2 }),
                json!({}),
                json!({ "build": build(), "plug_id": ids[0] }),
            ],
        );
        assert_eq!(statuses, [200, 200, 400, 200, 400, 409, 200, 400, 400]);
        // Two hundred, each another one, on all hands: in their order.
        let many: Vec<Value> = (0..200)
            .map(|n| json!({ "build": with(build(), json!({ "boost_kpa": n })), "stock": "ignore", "limit": 4 }))
            .collect();
        let answers = batch(&shop, &many);
        for n in [0, 1, 57, 120, 199] {
            let alone = shop.post(Who::Reader, "/v1/matches", &many[n]).expect(200);
            assert_eq!(answers[n]["body"], alone.json, "{n}");
        }
        assert_eq!(answers.len(), 200);
    }
}

#[test]
fn a_batch_itself_has_one_to_two_hundred_questions_and_nothing_else() {
    let shop = Shop::start(engines()[0]);
    let refused = |body: &Value, faults: &[&str]| {
        shop.post(Who::Reader, PATH, body).refused_for(faults);
    };
    let one = json!({ "build": build() });
    refused(&json!({}), &["#/requests missing"]);
    refused(&json!({ "requests": [] }), &["#/requests out_of_range"]);
    refused(
        &json!({ "requests": vec![one.clone(); 201] }),
        &["#/requests out_of_range"],
    );
    refused(&json!({ "requests": one }), &["#/requests wrong_type"]);
    refused(
        &json!({ "requests": [one], "limit": 3 }),
        &["#/limit unknown_member"],
    );
    refused(&json!([one]), &["# wrong_type"]);
    // What does not keep to its schema is the caller's fault, and refuses them all.
    let crooked = [
        json!({ "build": with(build(), json!({ "cylinders": 99, "colour": "red" })) }),
        one.clone(),
        json!({ "plug_id": "no id" }),
        json!("a text"),
        Value::Null,
    ];
    refused(
        &json!({ "requests": crooked }),
        &[
            "#/requests/0/build/colour unknown_member",
            "#/requests/0/build/cylinders out_of_range",
            "#/requests/2/plug_id wrong_form",
            "#/requests/3 wrong_type",
            "#/requests/4 missing",
        ],
    );
    shop.post(Who::Nobody, PATH, &json!({ "requests": [one] }))
        .problem(401, "unauthorized");
}
