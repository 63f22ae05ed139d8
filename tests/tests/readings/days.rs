//! A tuning day from its plan to the last reading.

use plugwell_tests::bodies::{build, issue, stock_of, with};
use plugwell_tests::call::key;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::floor::{DAYS, Floor, in_days, word};

#[test]
fn the_least_costly_part_is_proposed_and_kept() {
    for shop in shared() {
        let floor = Floor::new(shop);
        // The dearer one is the better fit: iridium on the street.
        let dear = floor.part(json!({ "electrode": "iridium" }));
        let cheap = floor.part(json!({ "electrode": "nickel", "heat_index": 75 }));
        floor.receive(&dear, 20, 20_000);
        floor.receive(&cheap, 20, 6_007);
        let answer = floor.plan(json!({ "name": "Hill, first" })).expect(201);
        let (day, plan) = (&answer.json, &answer.json["plan"]);
        assert_eq!(
            plan["quantity"],
            json!({ "pulls": 3, "cylinders_read": 4, "plugs_per_cylinder": 1, "spares": 1, "total": 13 })
        );
        assert_eq!(plan["choice"], "in_full");
        let offer = &plan["proposed"];
        assert_eq!(
            (&offer["plug"]["id"], &offer["plug"]["heat_index"]),
            (&json!(cheap), &json!(75.0))
        );
        // 6007 over 20 is 300 and seven times one more: thirteen plugs are 3907.
        assert_eq!(
            offer["cost"],
            json!({ "total": { "minor": 3907, "currency": "USD" }, "per_plug": { "minor": 301, "currency": "USD" },
                    "unknown_quantity": 0 })
        );
        assert_eq!(offer["lots"].as_array().map(Vec::len), Some(1));
        assert_eq!(plan["others"][0]["plug"]["id"], *dear);
        assert_eq!(
            (&plan["short"], &plan["target_heat_index"]),
            (&Value::Null, &json!(70.0))
        );
        assert_eq!(day["state"], "reserved");
        let kept = &day["reservation"];
        assert_eq!(
            (&kept["job"], &kept["quantity"], &kept["plug_id"]),
            (&json!("Hill, first"), &json!(13), &json!(cheap))
        );
        assert_eq!(kept["id"], day["reservation_id"]);
        assert_eq!(
            stock_of(shop, &cheap),
            (7, 20),
            "the very next answer knows"
        );
        let path = format!("{DAYS}/{}", answer.text("id"));
        assert_eq!(answer.header("location"), Some(&*path));
        assert!(answer.header("plugwell-position").is_some());
        assert_eq!(floor.day(&answer.text("id")).json, *day);
    }
}

#[test]
fn a_whole_day_from_plan_to_history() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 13, 13_000);
        let day = floor.plan(json!({ "spares": 1 })).expect(201);
        let (id, etag) = (day.text("id"), floor.day(&day.text("id")).etag());
        // Nobody else gets them.
        let other = issue(&part, "Walk-in", 1);
        shop.once(Who::Clerk, "/v1/stock/issues", &other)
            .problem(409, "not_enough_stock");
        let mut read = Vec::new();
        for run in 1..=3 {
            let out = floor.issue(
                &part,
                4,
                json!({ "reservation_id": day.json["reservation_id"] }),
            );
            for cylinder in 1..=4 {
                let kept = floor.read(json!({
                    "movement_id": out, "tuning_day_id": id, "run": run, "cylinder": cylinder,
                    "heat_line": if run == 1 { "past_bend" } else { "midway" }
                }));
                let kept = kept.expect(201);
                assert_eq!(kept.json["evidence"], true, "{kept:?}");
                let wanted = if run == 1 {
                    "colder_by_one"
                } else {
                    "no_change"
                };
                assert_eq!(kept.json["suggestions"][0]["code"], wanted);
                read.push(kept.text("id"));
            }
            let now = floor.day(&id);
            assert_eq!(now.json["reservation"]["open_quantity"], 13 - 4 * run);
            assert_eq!(now.json["state"], "reserved");
            assert_ne!(now.etag(), etag, "its reservation changed");
        }
        let spare = json!({ "reservation_id": day.json["reservation_id"] });
        floor.issue(&part, 1, spare);
        assert_eq!(floor.day(&id).json["state"], "issued");
        let history = |query: &str| shop.all(Who::Reader, &format!("/v1/readings?{query}&limit=5"));
        let told = history(&format!("build_id={}", floor.build_id));
        let ids: Vec<String> = told.iter().map(|r| word(r, "id")).collect();
        read.reverse();
        assert_eq!(ids, read, "newest first, page by page");
        assert!(
            told.iter()
                .all(|r| r["plug"]["id"] == *part && r["plug"]["heat_index"] == 70.0)
        );
        assert_eq!(history(&format!("tuning_day_id={id}")).len(), 12);
        // What has been issued is not given back by calling the day off.
        let path = format!("{DAYS}/{id}/withdrawal");
        let off = shop.once(Who::Tuner, &path, &Value::Null).expect(200);
        assert_eq!(
            (&off.json["state"], &off.json["reservation"]["state"]),
            (&json!("withdrawn"), &json!("issued"))
        );
    }
}

#[test]
fn a_plan_that_only_looks_keeps_nothing() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 13, 1_300);
        let day = floor.plan(json!({ "reserve": false })).expect(201);
        assert_eq!(
            (&day.json["state"], &day.json["reservation"]),
            (&json!("planned"), &Value::Null)
        );
        assert_eq!(day.json["plan"]["proposed"]["plug"]["id"], *part);
        assert_eq!(stock_of(shop, &part), (13, 13));
        // A build that is stored nowhere serves as well, and what it points to is pointed to.
        let inline = with(
            build(),
            json!({ "head": null, "head_id": uuid::Uuid::now_v7() }),
        );
        floor
            .plan(json!({ "build_id": null, "build": inline }))
            .refused_for(&["#/build/head_id not_found"]);
    }
}

#[test]
fn the_part_and_the_metal_are_the_tuners_to_name() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let dear = floor.part(json!({ "electrode": "iridium" }));
        let cheap = floor.part(json!({ "electrode": "nickel" }));
        floor.receive(&dear, 20, 20_000);
        floor.receive(&cheap, 20, 6_000);
        let look = |over: Value| floor.plan(with(json!({ "reserve": false }), over));
        let named = look(json!({ "plug_id": dear })).expect(201);
        assert_eq!(
            (
                &named.json["plan"]["proposed"]["plug"]["id"],
                &named.json["plan"]["choice"]
            ),
            (&json!(dear), &json!("named"))
        );
        let metal = look(json!({ "electrode": ["iridium"] })).expect(201);
        assert_eq!(metal.json["plan"]["proposed"]["plug"]["id"], *dear);
        // Never hotter, never unknown, never retired.
        let hotter = floor.part(json!({ "heat_index": 60 }));
        let unknown = floor.part(json!({ "heat_index": null }));
        for part in [&hotter, &unknown] {
            floor.receive(part, 20, 20);
            look(json!({ "plug_id": part })).refused_for(&["#/plug_id contradiction"]);
        }
        let retired = floor.part(json!({}));
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{retired}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        look(json!({ "plug_id": retired })).refused_for(&["#/plug_id contradiction"]);
        look(json!({ "plug_id": uuid::Uuid::now_v7() })).refused_for(&["#/plug_id not_found"]);
        let offered = look(json!({})).expect(201).json["plan"].clone();
        assert_eq!(offered["proposed"]["plug"]["id"], *cheap);
        assert_eq!(offered["others"].as_array().map(Vec::len), Some(1));
    }
}

#[test]
fn a_day_is_planned_once_however_often_it_is_sent() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.receive(&part, 40, 4_000);
        let (once, body) = (key(), floor.asked(json!({})));
        let first = shop.once_with(Who::Tuner, DAYS, &once, &body).expect(201);
        let again = shop.once_with(Who::Tuner, DAYS, &once, &body).expect(201);
        assert_eq!(first.body, again.body, "byte for byte");
        assert_eq!(again.header("once-only-replayed"), Some("true"));
        assert_eq!(stock_of(shop, &part), (27, 40));
        let other = with(body, json!({ "pulls": 1 }));
        shop.once_with(Who::Tuner, DAYS, &once, &other)
            .problem(422, "once_key_reused");
        let path = format!("{DAYS}/{}/withdrawal", first.text("id"));
        let once = key();
        let off = shop.once_with(Who::Tuner, &path, &once, &Value::Null);
        let off = off.expect(200);
        assert_eq!(
            (&off.json["state"], &off.json["reservation"]["state"]),
            (&json!("withdrawn"), &json!("released"))
        );
        assert_eq!(stock_of(shop, &part), (40, 40));
        let again = shop.once_with(Who::Tuner, &path, &once, &Value::Null);
        assert_eq!(again.expect(200).body, off.body);
        shop.once(Who::Tuner, &path, &Value::Null)
            .problem(409, "already_withdrawn");
        let now = floor.day(&first.text("id"));
        assert_eq!(now.json, off.json);
        let known = [("if-none-match", &*now.etag())];
        let own = format!("{DAYS}/{}", first.text("id"));
        assert_eq!(shop.send("GET", &own, Who::Reader, &known, "").status, 304);
    }
}

#[test]
fn days_are_listed_by_build_and_date() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let plan = |days: u64| {
            let over = json!({ "day": in_days(days), "reserve": false });
            floor.plan(over).expect(201).text("id")
        };
        let planned = [plan(0), plan(30), plan(60)];
        let list = |query: String| -> Vec<String> {
            let path = format!("{DAYS}?build_id={}{query}&limit=2", floor.build_id);
            let days = shop.all(Who::Reader, &path);
            days.iter().map(|day| word(day, "id")).collect()
        };
        assert_eq!(list(String::new()), planned);
        assert_eq!(list(format!("&day_min={}", in_days(30))), planned[1..]);
        assert_eq!(list(format!("&day_max={}", in_days(30))), planned[..2]);
        let bad = format!("{DAYS}?day_min=tomorrow&state=short");
        shop.get(Who::Reader, &bad)
            .refused_for(&["?day_min wrong_form", "?state unknown_member"]);
    }
}

#[test]
fn what_a_day_names_is_not_deleted() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        floor.plan(json!({ "reserve": false })).expect(201);
        shop.delete(Who::Tuner, &format!("/v1/builds/{}", floor.build_id))
            .problem(409, "in_use");
        shop.delete(Who::Clerk, &format!("/v1/plugs/{part}"))
            .problem(409, "has_history");
    }
}
