//! What comes in for the line of an order: under, over, late, put right.

use plugwell_tests::bodies::with;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::dock::{Dock, text};

fn counts(delivery: &Value) -> [i64; 5] {
    [
        "ordered",
        "received_before",
        "received_now",
        "missing",
        "too_many",
    ]
    .map(|member| delivery[member].as_i64().expect("a number"))
}

#[test]
fn an_order_comes_in_in_parts_and_closes_itself() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let (one, other) = (dock.part(json!({})), dock.part(json!({})));
        let order = dock.order(&[(&one, 12), (&other, 4)]);
        let (first, second) = (&order["lines"][0], &order["lines"][1]);
        let answer = dock.receive(first, 8).expect(201).json;
        let delivery = &answer["delivery"];
        assert_eq!(counts(delivery), [12, 0, 8, 4, 0]);
        assert_eq!(delivery["order_state"], "partly_in");
        assert_eq!(
            delivery["text"],
            "8 came; 8 of 12 ordered are in: 4 still to come."
        );
        assert_eq!(delivery["order_line_id"], first["id"]);
        let lot = &answer["lots"][0];
        assert_eq!(lot["order_line_id"], first["id"]);
        assert_eq!(
            lot["pack_size"], 4,
            "the order's box, where the receipt says none"
        );
        // 12001 for twelve: 1001 for the first, 1000 for each of the others.
        assert_eq!(
            lot["total_cost"],
            json!({ "minor": 8_001, "currency": "USD" })
        );
        assert_eq!(
            counts(&dock.receive(second, 4).expect(201).json["delivery"]),
            [4, 0, 4, 0, 0]
        );
        assert_eq!(dock.now(&order)["state"], "partly_in");
        let last = dock.receive(first, 4).expect(201).json;
        assert_eq!(counts(&last["delivery"]), [12, 8, 4, 0, 0]);
        assert_eq!(last["delivery"]["order_state"], "closed");
        assert_eq!(
            last["lots"][0]["total_cost"]["minor"], 4_000,
            "together the order's total"
        );
        let now = dock.now(&order);
        assert_eq!(now["state"], "closed");
        assert!(now["closed_at"].is_string());
        assert_eq!(dock.held(&one, "bin"), 12);
        dock.patch(&order, json!({ "note": "x" }))
            .problem(409, "order_closed");
    }
}

#[test]
fn too_many_are_named_and_cost_what_the_ordered_ones_do() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 4)]);
        let line = &order["lines"][0];
        let answer = dock.receive(line, 6).expect(201).json;
        assert_eq!(counts(&answer["delivery"]), [4, 0, 6, 0, 2]);
        assert_eq!(
            answer["delivery"]["text"],
            "6 came; 6 of 4 ordered are in: 2 too many."
        );
        // 4001 for four: the fifth costs as the first does.
        assert_eq!(answer["lots"][0]["total_cost"]["minor"], 4_001 + 2_001);
        let said = |answer: &Value| {
            let cautions = answer["cautions"].as_array().expect("a list");
            let of = |c: &&Value| c["code"] == "priced_as_ordered";
            cautions.iter().find(of).map(|c| text(c, "text"))
        };
        let told = said(&answer).expect("it is said");
        assert!(told.ends_with("2 of the 6 plugs."), "{told}");
        assert_eq!(dock.now(&order)["state"], "closed");
        // The van brings another box the next day.
        let late = dock.receive(line, 4).expect(201).json;
        assert_eq!(counts(&late["delivery"]), [4, 6, 4, 0, 6]);
        assert_eq!(late["lots"][0]["total_cost"]["minor"], 4_001);
        assert!(said(&late).is_some(), "{late}");
        let own = with(
            dock.delivery(line, 4),
            json!({ "total_cost": { "minor": 3_900, "currency": "USD" } }),
        );
        let own = shop
            .once(Who::Clerk, "/v1/stock/receipts", &own)
            .expect(201);
        assert_eq!(own.json["lots"][0]["total_cost"]["minor"], 3_900);
        assert_eq!(said(&own.json), None);
        assert_eq!(dock.now(&order)["lines"][0]["too_many"], 10);
    }
}

#[test]
fn an_order_is_closed_short_and_says_what_never_came() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 12)]);
        let line = &order["lines"][0];
        dock.receive(line, 8).expect(201);
        dock.patch(&order, json!({ "state": "withdrawn" }))
            .problem(409, "order_partly_in");
        dock.patch(&order, json!({ "state": "sent" }))
            .problem(409, "order_already_sent");
        let short = dock
            .patch(&order, json!({ "state": "closed" }))
            .expect(200)
            .json;
        assert_eq!(
            (&short["state"], &short["lines"][0]["missing"]),
            (&json!("closed"), &json!(4))
        );
        let scanned = dock.scan(&text(&short, "code")).expect(200).json;
        assert_eq!(scanned["order_id"], short["id"]);
        // What comes all the same stands at the door, and the order stays closed.
        let late = dock.receive(line, 2).expect(201).json;
        assert_eq!(counts(&late["delivery"]), [12, 8, 2, 2, 0]);
        assert_eq!(late["delivery"]["order_state"], "closed");
        dock.reverse(Who::Clerk, &late["movements"][0]).expect(201);
        assert_eq!(dock.now(&order)["state"], "closed");
    }
}

#[test]
fn a_reversal_lowers_what_came_in_and_opens_the_order_again() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 8)]);
        let line = &order["lines"][0];
        let first = dock.receive(line, 4).expect(201).json;
        let second = dock.receive(line, 4).expect(201).json;
        assert_eq!(dock.now(&order)["state"], "closed");
        let back = dock
            .reverse(Who::Clerk, &second["movements"][0])
            .expect(201)
            .json;
        assert_eq!(counts(&back["delivery"]), [8, 8, -4, 4, 0]);
        let now = dock.now(&order);
        assert_eq!(
            (&now["state"], &now["closed_at"]),
            (&json!("partly_in"), &Value::Null)
        );
        dock.reverse(Who::Clerk, &first["movements"][0]).expect(201);
        let now = dock.now(&order);
        assert_eq!(
            (&now["state"], &now["lines"][0]["received"]),
            (&json!("sent"), &json!(0))
        );
        dock.reverse(Who::Clerk, &first["movements"][0])
            .problem(409, "already_reversed");
        assert_eq!(dock.now(&order), now, "nothing half done");
        dock.patch(&order, json!({ "state": "withdrawn" }))
            .expect(200);
    }
}

#[test]
fn a_receipt_has_to_agree_with_the_line_that_it_names() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let (part, other) = (dock.part(json!({})), dock.part(json!({})));
        let order = dock.order(&[(&part, 8)]);
        let line = &order["lines"][0];
        let book = |over: Value| {
            shop.once(
                Who::Clerk,
                "/v1/stock/receipts",
                &with(dock.delivery(line, 4), over),
            )
        };
        book(json!({ "plug_id": other, "supplier": "Somebody Else" }))
            .refused_for(&["#/plug_id contradiction", "#/supplier contradiction"]);
        book(json!({ "order_line_id": Uuid::now_v7() }))
            .refused_for(&["#/order_line_id not_found"]);
        book(json!({ "quantity": 0 })).refused_for(&["#/quantity out_of_range"]);
        let draft = shop
            .post(Who::Clerk, "/v1/orders", &dock.asked(&[(&part, 8)]))
            .expect(201)
            .json;
        dock.receive(&draft["lines"][0], 4)
            .problem(409, "order_not_sent");
        assert_eq!(dock.now(&order), order, "nothing half done");
        assert_eq!(dock.held(&part, "bin"), 0);
        // Its own cost and box stand above the order's; the name is compared case-blind.
        let own = json!({ "total_cost": { "minor": 5, "currency": "USD" }, "pack_size": 1, "supplier": dock.supplier.to_uppercase() });
        let lot = book(own).expect(201).json["lots"][0].clone();
        assert_eq!(
            (&lot["total_cost"]["minor"], &lot["pack_size"]),
            (&json!(5), &json!(1))
        );
        assert_eq!(lot["supplier"], dock.supplier.as_str());
    }
}

#[test]
fn a_receipt_sent_twice_counts_once() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 8)]);
        let body = dock.delivery(&order["lines"][0], 4);
        let key = plugwell_tests::call::key();
        let first = shop
            .once_with(Who::Clerk, "/v1/stock/receipts", &key, &body)
            .expect(201);
        let again = shop
            .once_with(Who::Clerk, "/v1/stock/receipts", &key, &body)
            .expect(201);
        assert_eq!(first.body, again.body);
        assert_eq!(dock.now(&order)["lines"][0]["received"], 4);
    }
}
