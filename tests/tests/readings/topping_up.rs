//! A day that was short is topped up, and what is kept for it ends.

use chrono::Days;
use plugwell_tests::bodies::stock_of;
use plugwell_tests::call::key;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::floor::{DAYS, Floor, in_days};

#[test]
fn what_came_in_later_is_kept_and_given_back_with_the_rest() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 5, 500);
        let planned = floor.plan(json!({})).expect(201);
        let id = planned.text("id");
        let path = format!("{DAYS}/{id}/reservation");
        let top_up = || shop.once(Who::Tuner, &path, &Value::Null).expect(200);
        // Nothing more is there: nothing changes.
        assert_eq!(top_up().json, planned.json);
        floor.receive(&part, 6, 600);
        let once = key();
        let more = shop.once_with(Who::Tuner, &path, &once, &Value::Null);
        let more = more.expect(200);
        assert_eq!(more.json["state"], "short");
        assert_eq!(more.json["further_reservations"][0]["quantity"], 6);
        let again = shop.once_with(Who::Tuner, &path, &once, &Value::Null);
        assert_eq!(again.expect(200).body, more.body, "once only");
        floor.receive(&part, 9, 900);
        let whole = top_up().json;
        assert_eq!(whole["state"], "reserved");
        let further = whole["further_reservations"].as_array().expect("a list");
        let kept: Vec<&Value> = further.iter().map(|r| &r["quantity"]).collect();
        assert_eq!(kept, [&json!(6), &json!(2)]);
        assert_eq!(
            whole["further_reservation_ids"],
            json!([further[0]["id"], further[1]["id"]])
        );
        assert_eq!(whole["reservation"], planned.json["reservation"]);
        assert_eq!(stock_of(shop, &part), (7, 20));
        assert_eq!(top_up().json, whole, "it lacks nothing");
        let now = floor.day(&id);
        assert_eq!(now.json, whole);
        // A draw on a further one shows in the day, and in its version.
        floor.issue(&part, 1, json!({ "reservation_id": further[1]["id"] }));
        let drawn = floor.day(&id);
        assert_eq!(drawn.json["further_reservations"][1]["open_quantity"], 1);
        assert_ne!(drawn.etag(), now.etag());
        let off = format!("{DAYS}/{id}/withdrawal");
        let off = shop.once(Who::Tuner, &off, &Value::Null).expect(200).json;
        assert_eq!(off["state"], "withdrawn");
        assert_eq!(off["reservation"]["state"], "released");
        let further = off["further_reservations"].as_array().expect("a list");
        assert!(
            further.iter().all(|r| r["state"] == "released"),
            "{further:?}"
        );
        assert_eq!(stock_of(shop, &part), (19, 19), "nothing is left kept");
        shop.once(Who::Tuner, &path, &Value::Null)
            .problem(409, "already_withdrawn");
    }
}

#[test]
fn a_day_that_kept_nothing_gets_its_first() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let nothing = floor.plan(json!({})).expect(201).text("id");
        shop.once(
            Who::Tuner,
            &format!("{DAYS}/{nothing}/reservation"),
            &Value::Null,
        )
        .problem(409, "does_not_fit");
        let part = floor.part(json!({}));
        let empty = floor.plan(json!({})).expect(201);
        assert_eq!(empty.json["reservation_id"], Value::Null);
        floor.receive(&part, 13, 1_300);
        let path = format!("{DAYS}/{}/reservation", empty.text("id"));
        let full = shop.once(Who::Tuner, &path, &Value::Null).expect(200).json;
        assert_eq!(full["state"], "reserved");
        assert_eq!(full["reservation"]["id"], full["reservation_id"]);
        assert_eq!(full["reservation"]["quantity"], 13);
        // Given back by hand it can be had again.
        let release = format!(
            "/v1/stock/reservations/{}/release",
            full["reservation_id"].as_str().expect("an id")
        );
        shop.once(Who::Tuner, &release, &Value::Null).expect(200);
        assert_eq!(floor.day(&empty.text("id")).json["state"], "released");
        let back = shop.once(Who::Tuner, &path, &Value::Null).expect(200).json;
        assert_eq!(back["state"], "reserved");
        assert_eq!(stock_of(shop, &part), (0, 13));
    }
}

#[test]
fn plugs_are_kept_until_two_days_after_the_day() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 5, 500);
        let day = floor.plan(json!({ "day": in_days(14) })).expect(201);
        // The day ends where the next begins; two more by the policy (own).
        let until = in_days(14) + Days::new(3);
        let until = json!(format!("{until}T00:00:00.000000Z"));
        assert_eq!(day.json["reservation"]["expires_at"], until);
        floor.receive(&part, 5, 500);
        let path = format!("{DAYS}/{}/reservation", day.text("id"));
        let more = shop.once(Who::Tuner, &path, &Value::Null).expect(200).json;
        assert_eq!(more["further_reservations"][0]["expires_at"], until);
    }
}

#[test]
fn who_may_top_up_and_how() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let day = floor.plan(json!({ "reserve": false })).expect(201);
        let path = format!("{DAYS}/{}/reservation", day.text("id"));
        shop.once(Who::Reader, &path, &Value::Null)
            .problem(403, "forbidden");
        shop.send("POST", &path, Who::Tuner, &[], "")
            .problem(400, "once_key_missing");
        shop.once(Who::Tuner, &path, &json!({ "quantity": 3 }))
            .refused_for(&["# unknown_member"]);
        let nowhere = format!("{DAYS}/{}/reservation", Uuid::now_v7());
        shop.send("POST", &nowhere, Who::Tuner, &[], "")
            .problem(404, "not_found");
    }
}

#[test]
fn what_went_out_before_it_was_given_back_is_not_kept_again() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 40, 4_000);
        let day = floor.plan(json!({})).expect(201);
        let own = day.json["reservation"].clone();
        assert_eq!(own["quantity"], 13);
        floor.issue(&part, 5, json!({ "reservation_id": own["id"] }));
        let release = format!(
            "/v1/stock/reservations/{}/release",
            own["id"].as_str().expect("an id")
        );
        let released = shop
            .once(Who::Tuner, &release, &Value::Null)
            .expect(200)
            .json;
        assert_eq!(
            (&released["issued_quantity"], &released["open_quantity"]),
            (&json!(5), &json!(0))
        );
        let path = format!("{DAYS}/{}/reservation", day.text("id"));
        let more = shop.once(Who::Tuner, &path, &Value::Null).expect(200).json;
        assert_eq!(
            more["further_reservations"][0]["quantity"], 8,
            "thirteen less the five that went out"
        );
        assert_eq!(more["state"], "reserved");
        assert_eq!(stock_of(shop, &part), (27, 35));
    }
}
