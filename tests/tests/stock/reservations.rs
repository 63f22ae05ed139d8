//! Reservations: kept for a job until issued or released.

use chrono::{TimeDelta, Utc};
use plugwell_tests::bodies::{issue, unique, with};
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::counter::{Shelf, is_instant, is_uuid_v7};

#[test]
fn a_reservation_shows_where_it_stands() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let job = unique("Reserved");
        let body = json!({ "plug_id": shelf.plug_id, "quantity": 6, "job": job, "expires_at": "2099-01-31T12:00:00.25+01:00" });
        let answer = shelf
            .command_by(Who::Tuner, "reservations", body)
            .expect(201);
        let made = &answer.json;
        let mut members: Vec<&str> = made
            .as_object()
            .expect("an object")
            .keys()
            .map(String::as_str)
            .collect();
        members.sort_unstable();
        assert_eq!(
            members,
            [
                "build_id",
                "created_at",
                "expires_at",
                "id",
                "issued_quantity",
                "job",
                "open_quantity",
                "plug_id",
                "quantity",
                "state",
                "version"
            ]
        );
        assert!(is_uuid_v7(&made["id"]));
        is_instant(&made["created_at"]);
        assert_eq!(made["expires_at"], "2099-01-31T11:00:00.250000Z");
        let wanted = json!({ "plug_id": shelf.plug_id, "job": job, "quantity": 6, "open_quantity": 6, "state": "open", "version": 1 });
        for (member, value) in wanted.as_object().expect("an object") {
            assert_eq!(&made[member], value, "{member}");
        }
        let path = format!("/v1/stock/reservations/{}", answer.text("id"));
        assert_eq!(answer.header("location"), Some(&*path));
        let again = shop.get(Who::Reader, &path).expect(200);
        assert_eq!(&again.json, made);
        assert_eq!(again.etag(), answer.etag());
        // Nothing moved.
        assert_eq!((shelf.held("bin"), shelf.held("job")), (10, 0));
        let list = |query: &str| {
            shop.get(Who::Reader, &format!("/v1/stock/reservations?{query}"))
                .expect(200)
                .items()
                .to_vec()
        };
        assert_eq!(
            list(&format!("plug_id={}", shelf.plug_id)),
            std::slice::from_ref(made)
        );
        assert_eq!(
            list(&format!("job={}", job.to_lowercase())),
            std::slice::from_ref(made)
        );
        assert_eq!(
            list(&format!("plug_id={}&state=open", shelf.plug_id)).len(),
            1
        );
        assert_eq!(
            list(&format!("plug_id={}&state=short", shelf.plug_id)).len(),
            0
        );
    }
}

#[test]
fn it_is_drawn_on_until_nothing_is_open() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let kept = shelf.reserve(6, "Drawn");
        shelf.reserve(4, "Other");
        shelf
            .command("issues", issue(&shelf.plug_id, "Drawn", 1))
            .problem(409, "not_enough_stock");
        // The job is the reservation's where nobody says.
        let draw = |quantity: i64| {
            shelf.command_by(Who::Tuner, "issues", json!({ "plug_id": shelf.plug_id, "quantity": quantity, "reservation_id": kept["id"] }))
        };
        let movement = draw(2).expect(201).json["movements"][0].clone();
        assert_eq!(movement["job"], "Drawn");
        assert_eq!(shelf.reservation(&kept["id"]), ("open".to_owned(), 4));
        // As far as the others' reservations allow.
        let refused = draw(5).problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(4), &json!(8))
        );
        draw(4).expect(201);
        assert_eq!(shelf.reservation(&kept["id"]), ("issued".to_owned(), 0));
        draw(1).problem(409, "reservation_closed");
    }
}

#[test]
fn more_than_reserved_is_issued_where_there_is_more() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let kept = shelf.reserve(3, "More");
        let body = json!({ "plug_id": shelf.plug_id, "quantity": 5, "reservation_id": kept["id"], "job": "MORE" });
        shelf.command("issues", body).expect(201);
        assert_eq!(shelf.reservation(&kept["id"]), ("issued".to_owned(), 0));
        assert_eq!(shelf.held("bin"), 5);
    }
}

#[test]
fn a_released_one_is_available_again() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let kept = shelf.reserve(10, "Released");
        let more = json!({ "plug_id": shelf.plug_id, "quantity": 1, "job": "Late" });
        let refused = shelf
            .command("reservations", more.clone())
            .problem(409, "not_enough_stock");
        assert_eq!(
            (&refused.json["available"], &refused.json["on_hand"]),
            (&json!(0), &json!(10))
        );
        let path = format!(
            "/v1/stock/reservations/{}/release",
            kept["id"].as_str().expect("an id")
        );
        shop.once(Who::Reader, &path, &Value::Null)
            .problem(403, "forbidden");
        shop.send("POST", &path, Who::Tuner, &[], "")
            .problem(400, "once_key_missing");
        let released = shop.once(Who::Tuner, &path, &Value::Null).expect(200);
        assert_eq!(
            (&released.json["state"], &released.json["open_quantity"]),
            (&json!("released"), &json!(0))
        );
        assert_eq!(released.json["version"], 2);
        let shown = shop.get(Who::Reader, &path.replace("/release", ""));
        assert_eq!(shown.expect(200).etag(), released.etag());
        assert_eq!(released.json["id"], kept["id"]);
        shop.once(Who::Tuner, &path, &Value::Null)
            .problem(409, "reservation_closed");
        shelf.command("reservations", more).expect(201);
        let nowhere = format!("/v1/stock/reservations/{}/release", Uuid::now_v7());
        shop.once(Who::Tuner, &nowhere, &Value::Null)
            .problem(404, "not_found");
    }
}

#[test]
fn what_can_no_longer_be_met_is_short_newest_first() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 12);
        let (first, second, third) = (
            shelf.reserve(5, "One"),
            shelf.reserve(4, "Two"),
            shelf.reserve(3, "Three"),
        );
        let states = || [&first, &second, &third].map(|r| shelf.reservation(&r["id"]).0);
        assert_eq!(states(), ["open", "open", "open"]);
        shelf.scrap(1);
        assert_eq!(states(), ["open", "open", "short"]);
        shelf.scrap(3);
        assert_eq!(states(), ["open", "short", "short"]);
        let path = format!(
            "/v1/stock/reservations?plug_id={}&state=short",
            shelf.plug_id
        );
        assert_eq!(
            shop.get(Who::Reader, &path).expect(200).items().len(),
            2,
            "it is reported"
        );
        // Nothing is available, so nothing more goes out but to who has a reservation.
        shelf
            .command("issues", issue(&shelf.plug_id, "Walk-in", 1))
            .problem(409, "not_enough_stock");
        shelf.receive(4);
        assert_eq!(states(), ["open", "open", "open"]);
    }
}

#[test]
fn faults_of_a_reservation() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let bad = |over: Value| {
            shelf.command(
                "reservations",
                with(
                    json!({ "plug_id": shelf.plug_id, "quantity": 1, "job": "Job" }),
                    over,
                ),
            )
        };
        bad(json!({ "quantity": 0, "job": "" }))
            .refused_for(&["#/job out_of_range", "#/quantity out_of_range"]);
        bad(json!({ "plug_id": Uuid::now_v7() })).refused_for(&["#/plug_id not_found"]);
        bad(json!({ "expires_at": "tomorrow" })).refused_for(&["#/expires_at wrong_form"]);
        let past = (Utc::now() - TimeDelta::seconds(1)).to_rfc3339();
        bad(json!({ "expires_at": past })).refused_for(&["#/expires_at out_of_range"]);
        bad(json!({ "quantity": 11 })).problem(409, "not_enough_stock");
        let path = format!("/v1/stock/reservations?plug_id={}", shelf.plug_id);
        assert!(shop.get(Who::Reader, &path).expect(200).items().is_empty());
    }
}
