//! What a match sees of the stock: availability, gapped lots, picks, the three stock modes.

use plugwell_tests::bodies::{bin, build, issue, plug, receipt, receive, stored_plug, with};
use plugwell_tests::{Shop, Who, engines};
use serde_json::{Value, json};

fn shops() -> impl Iterator<Item = Shop> {
    engines().into_iter().map(Shop::start)
}

fn matched(shop: &Shop, over: Value) -> Value {
    let body = with(json!({ "build": build(), "near_misses": 0 }), over);
    shop.post(Who::Reader, "/v1/matches", &body)
        .expect(200)
        .json
}

fn part_numbers(answer: &Value) -> Vec<&str> {
    answer["fits"]
        .as_array()
        .expect("fits")
        .iter()
        .filter_map(|fit| fit["plug"]["part_number"].as_str())
        .collect()
}

#[test]
fn enough_some_and_ignore() {
    for shop in shops() {
        let place = bin(&shop, "A1");
        for (name, quantity) in [("FULL", 9), ("FEW", 8), ("NONE", 0)] {
            let id = stored_plug(&shop, &plug(name));
            if quantity > 0 {
                receive(&shop, &id, &place, quantity);
            }
        }
        // The build's total is nine: eight cylinders and a spare.
        let enough = matched(&shop, json!({}));
        assert_eq!(
            part_numbers(&enough),
            ["FULL"],
            "the whole quantity where nobody says"
        );
        assert_eq!(
            part_numbers(&matched(&shop, json!({ "stock": "enough" }))),
            ["FULL"]
        );
        assert_eq!(
            part_numbers(&matched(&shop, json!({ "quantity": 8 }))),
            ["FULL", "FEW"]
        );
        assert_eq!(
            part_numbers(&matched(&shop, json!({ "stock": "some" }))),
            ["FULL", "FEW"]
        );
        assert_eq!(
            part_numbers(&matched(&shop, json!({ "stock": "ignore" }))),
            ["FULL", "FEW", "NONE"]
        );
        assert_eq!(
            part_numbers(&matched(&shop, json!({ "stock": "ignore", "limit": 2 }))),
            ["FULL", "FEW"]
        );
        // Whatever is asked of the stock, the totals count the same.
        for stock in ["enough", "some", "ignore"] {
            let totals = &matched(&shop, json!({ "stock": stock, "limit": 1 }))["totals"];
            assert_eq!(
                totals,
                &json!({ "fits_in_catalogue": 3, "fits_in_stock": 1 }),
                "{stock}"
            );
        }
        assert_eq!(
            matched(&shop, json!({ "quantity": 8 }))["totals"]["fits_in_stock"],
            2
        );
        let few = &matched(&shop, json!({ "stock": "some" }))["fits"][1];
        assert_eq!(
            few["picks"][0]["quantity"], 8,
            "what there is, up to the quantity"
        );
    }
}

#[test]
fn one_lot_if_one_is_enough_else_the_fewest_the_oldest_first() {
    for shop in shops() {
        let (left, right) = (bin(&shop, "A1"), bin(&shop, "A2"));
        let id = stored_plug(&shop, &plug("LOTS"));
        let lots: Vec<Value> = [(&left, 3), (&right, 4), (&left, 9)]
            .iter()
            .map(|(place, quantity)| receive(&shop, &id, place, *quantity)["lot_id"].clone())
            .collect();
        let picks = |quantity: i64| {
            let answer = matched(&shop, json!({ "quantity": quantity, "stock": "some" }));
            answer["fits"][0]["picks"].clone()
        };
        let pick = |lot: usize, place: &str, quantity: i64| json!({ "lot_id": lots[lot], "place_id": place, "quantity": quantity });
        assert_eq!(
            picks(3),
            json!([pick(0, &left, 3)]),
            "the oldest that has them all"
        );
        assert_eq!(picks(4), json!([pick(1, &right, 4)]));
        assert_eq!(
            picks(9),
            json!([pick(2, &left, 9)]),
            "a younger one, since it is big enough"
        );
        assert_eq!(
            picks(10),
            json!([pick(0, &left, 3), pick(2, &left, 7)]),
            "two of the three, the older one emptied"
        );
        assert_eq!(
            picks(99),
            json!([pick(0, &left, 3), pick(1, &right, 4), pick(2, &left, 9)])
        );
        // An issue takes what the match said.
        let taken = shop
            .once(Who::Tuner, "/v1/stock/issues", &issue(&id, "Job 1", 10))
            .expect(201)
            .json;
        let taken: Vec<Value> = taken["movements"]
            .as_array()
            .expect("movements")
            .iter()
            .map(|m| json!({ "lot_id": m["lot_id"], "place_id": m["from_place_id"], "quantity": m["quantity"] }))
            .collect();
        assert_eq!(taken, [pick(0, &left, 3), pick(2, &left, 7)]);
        assert_eq!(picks(9), json!([pick(1, &right, 4), pick(2, &left, 2)]));
    }
}

#[test]
fn gapped_lots_count_within_the_tolerance_of_the_set_gap() {
    for shop in shops() {
        let place = bin(&shop, "A1");
        // 0.81 mm is set; 0.025 mm of tolerance (common practice, about 0.001 in), ends included.
        for (name, gap, serves) in [
            ("ON", 0.81, true),
            ("LOW", 0.785, true),
            ("HIGH", 0.835, true),
            ("UNDER", 0.7849, false),
            ("OVER", 0.8351, false),
        ] {
            let id = stored_plug(&shop, &plug(name));
            let body = with(
                receipt(&id, &place, 12),
                json!({ "condition": "gapped", "gap_mm": gap }),
            );
            shop.once(Who::Clerk, "/v1/stock/receipts", &body)
                .expect(201);
            let answer = matched(&shop, json!({ "stock": "ignore" }));
            let fit = answer["fits"]
                .as_array()
                .expect("fits")
                .iter()
                .find(|fit| fit["plug"]["id"] == *id)
                .expect("a fit")
                .clone();
            assert_eq!(fit["set_gap_mm"], 0.81);
            assert_eq!(fit["available"], if serves { 12 } else { 0 }, "{name}");
            assert_eq!(fit["on_hand"], 12, "{name}: on hand is every lot in bins");
            assert_eq!(
                fit["picks"].as_array().expect("picks").len(),
                usize::from(serves),
                "{name}"
            );
            // Without a wanted gap only sealed lots count.
            let of_part = shop.post(Who::Reader, "/v1/matches", &json!({ "requirement": {
                "demands": [{ "attribute": "thread", "strength": "must", "test": { "one_of": ["M14x1.25"] }, "unknown": "fails" }]
            }, "stock": "ignore" })).expect(200).json;
            let fit = of_part["fits"]
                .as_array()
                .expect("fits")
                .iter()
                .find(|fit| fit["plug"]["id"] == *id)
                .expect("a fit")
                .clone();
            assert_eq!(
                (&fit["available"], &fit["set_gap_mm"]),
                (&json!(0), &Value::Null),
                "{name}"
            );
        }
    }
}

#[test]
fn what_is_reserved_is_not_available() {
    for shop in shops() {
        let place = bin(&shop, "A1");
        let id = stored_plug(&shop, &plug("KEPT"));
        receive(&shop, &id, &place, 24);
        let kept = shop
            .once(
                Who::Tuner,
                "/v1/stock/reservations",
                &json!({ "plug_id": id, "quantity": 16, "job": "Job 1" }),
            )
            .expect(201);
        let fit = |over: Value| matched(&shop, over)["fits"][0].clone();
        assert_eq!(
            matched(&shop, json!({}))["fits"],
            json!([]),
            "eight are left, nine are needed"
        );
        let some = fit(json!({ "stock": "some" }));
        assert_eq!(
            (&some["available"], &some["on_hand"]),
            (&json!(8), &json!(24))
        );
        assert_eq!(some["picks"][0]["quantity"], 8);
        // Scrap is bounded by the shelf, not by reservations; available never shows below zero.
        let body = json!({ "plug_id": id, "place_id": place, "quantity": 12, "reason": "dropped" });
        shop.once(Who::Clerk, "/v1/stock/scrappings", &body)
            .expect(201);
        let none = fit(json!({ "stock": "ignore" }));
        assert_eq!(
            (&none["available"], &none["on_hand"], &none["picks"]),
            (&json!(0), &json!(12), &json!([]))
        );
        let path = format!("/v1/stock/reservations/{}/release", kept.text("id"));
        shop.once(Who::Tuner, &path, &Value::Null).expect(200);
        assert_eq!(fit(json!({}))["available"], 12);
    }
}

#[test]
fn reserved_sealed_plugs_are_not_picked_while_gapped_ones_serve() {
    for shop in shops() {
        let place = bin(&shop, "A1");
        let id = stored_plug(&shop, &plug("BOTH"));
        let sealed = receive(&shop, &id, &place, 10)["lot_id"].clone();
        let body = with(
            receipt(&id, &place, 6),
            json!({ "condition": "gapped", "gap_mm": 0.81 }),
        );
        let gapped = shop
            .once(Who::Clerk, "/v1/stock/receipts", &body)
            .expect(201)
            .json["movements"][0]["lot_id"]
            .clone();
        shop.once(
            Who::Tuner,
            "/v1/stock/reservations",
            &json!({ "plug_id": id, "quantity": 8, "job": "Kept" }),
        )
        .expect(201);
        let answer = matched(&shop, json!({ "quantity": 6 }));
        let fit = &answer["fits"][0];
        assert_eq!(
            fit["available"], 8,
            "ten sealed and six gapped, eight of them kept"
        );
        // Eight sealed ones are kept, so only the gapped lot has six.
        assert_eq!(
            fit["picks"],
            json!([{ "lot_id": gapped, "place_id": place, "quantity": 6 }])
        );
        let body = with(issue(&id, "Now", 8), json!({ "gap_mm": 0.81 }));
        let taken = shop
            .once(Who::Tuner, "/v1/stock/issues", &body)
            .expect(201)
            .json;
        let of = |lot: &Value| -> i64 {
            let movements = taken["movements"].as_array().expect("movements").iter();
            movements
                .filter(|m| m["lot_id"] == *lot)
                .filter_map(|m| m["quantity"].as_i64())
                .sum()
        };
        assert_eq!((of(&sealed), of(&gapped)), (2, 6));
    }
}
