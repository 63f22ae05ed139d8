//! What is short: said, ordered in time, filled with what compares.

use plugwell_tests::bodies::stock_of;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::floor::{Floor, in_days};

#[test]
fn what_is_there_is_kept_and_the_rest_is_said() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let cheap = floor.part(json!({ "pack_size": 4 }));
        let dear = floor.part(json!({}));
        let colder = floor.part(json!({ "heat_index": 75 }));
        floor.receive(&cheap, 10, 1_000);
        floor.receive(&dear, 9, 9_000);
        floor.receive(&colder, 12, 90_000);
        // Gapped plugs would make it whole, but they are not read.
        floor.receive_as(&cheap, 8, json!({ "condition": "gapped", "gap_mm": 0.81 }));
        let answer = floor.plan(json!({ "day": in_days(20) })).expect(201);
        let plan = &answer.json["plan"];
        assert_eq!(plan["choice"], "in_part");
        let why = plan["why"].as_str().expect("a sentence");
        assert!(why.ends_with("lacks least: 1 plug."), "{why}");
        assert_eq!(
            (
                &plan["proposed"]["plug"]["id"],
                &plan["proposed"]["available"],
                &plan["proposed"]["enough"]
            ),
            (&json!(cheap), &json!(10), &json!(false))
        );
        let short = &plan["short"];
        assert_eq!(
            (&short["quantity"], &short["days_late"]),
            (&json!(3), &json!(0))
        );
        assert_eq!(
            (&short["pack_size"], &short["packs"]),
            (&json!(4), &json!(1))
        );
        // Seven days before the day, by the policy.
        assert_eq!(short["order_by"], json!(in_days(13)));
        let fill = short["fill_with"].as_array().expect("a list");
        assert_eq!(fill.len(), 1, "of the same heat only: {short}");
        assert_eq!(
            (&fill[0]["plug"]["id"], &fill[0]["available"]),
            (&json!(dear), &json!(9))
        );
        assert_eq!(
            (
                &answer.json["state"],
                &answer.json["reservation"]["quantity"]
            ),
            (&json!("short"), &json!(10))
        );
        // Too late to order: the one that lacks least, whatever it costs. Ten of the first are kept.
        let late = floor.plan(json!({ "day": in_days(2) })).expect(201);
        assert_eq!(late.json["plan"]["short"]["days_late"], 5);
        assert_eq!(late.json["plan"]["proposed"]["plug"]["id"], *colder);
        assert_eq!(late.json["plan"]["short"]["quantity"], 1);
    }
}

#[test]
fn with_nothing_on_the_shelf_the_nearest_part_is_named_and_nothing_kept() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let nothing = floor.plan(json!({})).expect(201);
        assert_eq!(
            (
                &nothing.json["plan"]["choice"],
                &nothing.json["plan"]["proposed"]
            ),
            (&json!("nothing_fits"), &Value::Null)
        );
        assert_eq!(nothing.json["plan"]["short"]["quantity"], 13);
        let nearest = floor.part(json!({}));
        floor.part(json!({ "heat_index": 75 }));
        // Nobody can order it any more.
        let gone = floor.part(json!({ "status": "discontinued" }));
        floor.receive(&gone, 2, 200);
        let answer = floor.plan(json!({})).expect(201);
        let plan = &answer.json["plan"];
        assert_eq!(
            (&plan["choice"], &plan["proposed"]["plug"]["id"]),
            (&json!("not_on_shelf"), &json!(nearest))
        );
        assert_eq!(plan["proposed"]["cost"]["total"], Value::Null);
        assert_eq!(
            (&answer.json["state"], &answer.json["reservation"]),
            (&json!("short"), &Value::Null)
        );
        let named = floor.plan(json!({ "plug_id": gone })).expect(201);
        let text = named.json["plan"]["short"]["text"]
            .as_str()
            .expect("a text");
        assert!(text.contains("no longer supplies"), "{text}");
        assert_eq!(named.json["reservation"]["quantity"], 2);
    }
}

#[test]
fn a_cost_that_nobody_said_is_not_taken_for_free() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let (free, dear) = (floor.part(json!({})), floor.part(json!({})));
        floor.receive_as(&free, 20, json!({ "total_cost": null }));
        let look = || {
            let answer = floor.plan(json!({ "reserve": false })).expect(201);
            answer.json["plan"].clone()
        };
        let alone = look();
        assert_eq!(alone["proposed"]["plug"]["id"], *free);
        assert_eq!(
            (
                &alone["proposed"]["cost"]["total"],
                &alone["proposed"]["cost"]["unknown_quantity"]
            ),
            (&Value::Null, &json!(13))
        );
        assert!(
            alone["why"]
                .as_str()
                .is_some_and(|t| t.contains("not taken for free"))
        );
        floor.receive(&dear, 13, 900_000);
        assert_eq!(look()["proposed"]["plug"]["id"], *dear);
    }
}

#[test]
fn a_day_whose_plugs_are_scrapped_is_short() {
    for shop in shared() {
        let floor = Floor::new(shop);
        let part = floor.part(json!({}));
        let lot = floor.receive(&part, 13, 1_300);
        let day = floor.plan(json!({})).expect(201).text("id");
        assert_eq!(floor.day(&day).json["state"], "reserved");
        let levels = shop.get(Who::Reader, &format!("/v1/stock/levels?lot_id={lot}"));
        let bin = levels
            .items()
            .iter()
            .find(|level| level["quantity"] == 13)
            .map(|level| level["place_id"].clone());
        let scrap = json!({ "lot_id": lot, "place_id": bin, "quantity": 2, "reason": "dropped" });
        shop.once(Who::Clerk, "/v1/stock/scrappings", &scrap)
            .expect(201);
        assert_eq!(floor.day(&day).json["state"], "short");
        floor.receive(&part, 2, 200);
        assert_eq!(floor.day(&day).json["state"], "reserved");
        // Given back over its own path the reservation says so here, too.
        let kept = floor.day(&day).json["reservation_id"].clone();
        let path = format!(
            "/v1/stock/reservations/{}/release",
            kept.as_str().expect("an id")
        );
        shop.once(Who::Tuner, &path, &Value::Null).expect(200);
        assert_eq!(floor.day(&day).json["state"], "released");
        assert_eq!(stock_of(shop, &part), (13, 13));
    }
}
