//! Draft orders made of the proposal.

use std::collections::BTreeSet;
use std::sync::Barrier;

use plugwell_tests::bodies::{bin, plug, receipt, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

const ORDERS: &str = "/v1/reorder/orders";

/// A part with one plug on the shelf, of which at least 8 are wanted and up to 24; its id.
fn wanted(shop: &Shop, rack: &str, supplier: &str) -> String {
    let id = stored_plug(shop, &plug(&unique("PO")));
    let delivered = with(receipt(&id, rack, 1), json!({ "supplier": supplier }));
    shop.once(Who::Clerk, "/v1/stock/receipts", &delivered)
        .expect(201);
    let given = json!({ "min_quantity": 8, "max_quantity": 24 });
    shop.patch(Who::Clerk, &format!("/v1/plugs/{id}/reordering"), &given)
        .expect(200);
    id
}

fn line(shop: &Shop, id: &str) -> Value {
    shop.get(Who::Reader, &format!("/v1/reorder?plug_id={id}"))
        .expect(200)
        .items()[0]
        .clone()
}

/// 24 − 1 in packs of 4, at 9.00 a plug as it was received.
fn is_draft_of_24_each(order: &Value) {
    assert_eq!(order["state"], "drafted");
    assert!(order["expected_on"].is_string());
    for line in order["lines"].as_array().unwrap() {
        let cost = json!({ "minor": 21_600, "currency": "USD" });
        let wanted = (&json!(24), &json!(4), &cost);
        let found = (&line["quantity"], &line["pack_size"], &line["total_cost"]);
        assert_eq!(found, wanted);
    }
}

#[test]
fn one_call_makes_a_draft_for_each_supplier() {
    for shop in shared() {
        let rack = bin(shop, &unique("Rack"));
        let (north, south) = (unique("North"), unique("South"));
        let parts = [
            wanted(shop, &rack, &north),
            wanted(shop, &rack, &north),
            wanted(shop, &rack, &south),
        ];
        let body = json!({ "plug_ids": parts });
        shop.once(Who::Tuner, ORDERS, &body)
            .problem(403, "forbidden");
        shop.post(Who::Clerk, ORDERS, &body)
            .problem(400, "once_key_missing");
        let answer = shop
            .once_with(Who::Clerk, ORDERS, "proposal-1", &body)
            .expect(201);
        let orders = answer.json["orders"].as_array().expect("orders");
        let suppliers: BTreeSet<&str> = orders
            .iter()
            .map(|order| order["supplier"].as_str().unwrap())
            .collect();
        assert_eq!(suppliers, BTreeSet::from([&*north, &*south]));
        assert_eq!(answer.json["left_out"], json!([]));
        let first = format!("/v1/orders/{}", orders[0]["id"].as_str().unwrap());
        assert_eq!(answer.header("location"), Some(&*first));
        assert_eq!(shop.get(Who::Reader, &first).expect(200).json, orders[0]);
        orders.iter().for_each(is_draft_of_24_each);
        // Drafts count: nothing is proposed twice, and the same key gives the same answer.
        for id in &parts {
            let now = line(shop, id);
            assert_eq!(
                (&now["on_order"], &now["order_quantity"]),
                (&json!(24), &json!(0)),
                "{now}"
            );
        }
        let again = shop
            .once_with(Who::Clerk, ORDERS, "proposal-1", &body)
            .expect(201);
        assert_eq!(
            (again.header("once-only-replayed"), &again.body),
            (Some("true"), &answer.body)
        );
        let nothing = shop.once(Who::Clerk, ORDERS, &body).expect(200);
        assert_eq!(nothing.json["orders"], json!([]));
        let codes: Vec<&Value> = nothing.json["left_out"]
            .as_array()
            .unwrap()
            .iter()
            .map(|part| &part["code"])
            .collect();
        assert_eq!(codes, ["not_due"; 3]);
        // Withdrawn, it is proposed anew.
        for order in orders {
            let path = format!("/v1/orders/{}", order["id"].as_str().unwrap());
            let sent = shop
                .patch(Who::Clerk, &path, &json!({ "state": "sent" }))
                .expect(200);
            assert_eq!(sent.json["state"], "sent");
            shop.patch(Who::Clerk, &path, &json!({ "state": "withdrawn" }))
                .expect(200);
        }
        assert_eq!(line(shop, &parts[0])["order_quantity"], 24);
    }
}

#[test]
fn suppliers_are_chosen_by_name_and_faults_are_told_at_once() {
    for shop in shared() {
        let rack = bin(shop, &unique("Rack"));
        let (east, west) = (unique("East"), unique("West"));
        let (own, other) = (wanted(shop, &rack, &east), wanted(shop, &rack, &west));
        let body = json!({ "suppliers": [east.to_uppercase()] });
        let made = shop.once(Who::Clerk, ORDERS, &body).expect(201);
        let orders = made.json["orders"].as_array().unwrap();
        assert_eq!((orders.len(), &orders[0]["supplier"]), (1, &json!(east)));
        assert_eq!(orders[0]["lines"][0]["plug_id"], own);
        assert_eq!(line(shop, &other)["on_order"], 0);
        let wrong =
            json!({ "suppliers": ["Nobody at all"], "plug_ids": [other, uuid::Uuid::nil()] });
        shop.once(Who::Clerk, ORDERS, &wrong)
            .refused_for(&["#/plug_ids/1 not_found", "#/suppliers/0 not_found"]);
        shop.once(Who::Clerk, ORDERS, &json!({ "suppliers": [], "all": true }))
            .refused_for(&["#/all unknown_member", "#/suppliers out_of_range"]);
        // Named, and of a part that the shop never dealt in.
        let stranger = stored_plug(shop, &plug(&unique("PO")));
        let told = shop
            .once(Who::Clerk, ORDERS, &json!({ "plug_ids": [stranger] }))
            .expect(200);
        assert_eq!(told.json["left_out"][0]["plug_id"], stranger);
        // Without a supplier nothing can be ordered.
        let nobody = stored_plug(shop, &plug(&unique("PO")));
        let given = json!({ "min_quantity": 8, "max_quantity": 24 });
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{nobody}/reordering"),
            &given,
        )
        .expect(200);
        let told = shop
            .once(Who::Clerk, ORDERS, &json!({ "plug_ids": [nobody] }))
            .expect(200);
        assert_eq!(told.json["left_out"][0]["code"], "supplier_unknown");
    }
}

#[test]
fn clerks_at_once_order_nothing_twice() {
    for shop in shared() {
        let rack = bin(shop, &unique("Rack"));
        let supplier = unique("Crowd");
        let parts: Vec<String> = (0..3).map(|_| wanted(shop, &rack, &supplier)).collect();
        let body = json!({ "plug_ids": parts });
        let start = Barrier::new(6);
        std::thread::scope(|scope| {
            for _ in 0..6 {
                scope.spawn(|| {
                    start.wait();
                    let answer = shop.once(Who::Clerk, ORDERS, &body);
                    assert!([200, 201].contains(&answer.status), "{answer:?}");
                });
            }
        });
        for id in &parts {
            assert_eq!(line(shop, id)["on_order"], 24);
        }
    }
}
