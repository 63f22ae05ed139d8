//! Orders: written, changed, sent, called off, and what is refused in which state.

use plugwell_tests::bodies::with;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::dock::{Dock, text};

#[test]
fn an_order_is_drafted_changed_and_sent() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let (one, other) = (dock.part(json!({})), dock.part(json!({})));
        let made = shop
            .post(Who::Clerk, "/v1/orders", &dock.asked(&[(&one, 8)]))
            .expect(201);
        let order = made.json.clone();
        assert_eq!(
            made.header("location"),
            Some(&*format!("/v1/orders/{}", text(&order, "id")))
        );
        assert_eq!(
            (&order["state"], &order["version"]),
            (&json!("drafted"), &json!(1))
        );
        assert_eq!(
            (&order["sent_at"], &order["closed_at"]),
            (&Value::Null, &Value::Null)
        );
        assert!(text(&order, "code").starts_with('O'));
        let line = &order["lines"][0];
        assert_eq!(
            (&line["received"], &line["missing"], &line["too_many"]),
            (&json!(0), &json!(8), &json!(0))
        );
        assert_eq!(dock.now(&order), order);
        // The line that stays keeps its id, a new one gets its own.
        let lines = json!([
            { "plug_id": other, "quantity": 12 },
            { "id": line["id"], "plug_id": one, "quantity": 16 }
        ]);
        let changed = dock
            .patch(&order, json!({ "lines": lines, "note": "by van" }))
            .expect(200)
            .json;
        assert_eq!(changed["lines"][1]["id"], line["id"]);
        assert_eq!(changed["lines"][1]["quantity"], 16);
        assert!(changed["lines"][0]["id"].is_string());
        assert_eq!(changed["version"], 2);
        let sent = dock
            .patch(&order, json!({ "state": "sent" }))
            .expect(200)
            .json;
        assert_eq!(sent["state"], "sent");
        assert!(sent["sent_at"].is_string());
        let by_part = shop
            .get(
                Who::Reader,
                &format!("/v1/orders?plug_id={other}&state=sent"),
            )
            .expect(200);
        assert_eq!(by_part.items(), std::slice::from_ref(&sent));
        let code = text(&sent, "code").to_lowercase();
        let by_code = shop
            .get(Who::Reader, &format!("/v1/orders?code={code}"))
            .expect(200);
        assert_eq!(by_code.items(), std::slice::from_ref(&sent));
        let by_supplier = format!("/v1/orders?supplier_id={}", text(&sent, "supplier_id"));
        assert_eq!(shop.all(Who::Reader, &by_supplier), [sent]);
    }
}

#[test]
fn what_the_supplier_has_stays_but_for_cost_box_and_date() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 8)]);
        let line = |over: Value| {
            let own = json!({ "id": order["lines"][0]["id"], "plug_id": part, "quantity": 8 });
            json!({ "lines": [with(own, over)] })
        };
        let priced =
            line(json!({ "total_cost": { "minor": 99, "currency": "USD" }, "pack_size": 2 }));
        let now = dock.patch(&order, priced).expect(200).json;
        assert_eq!(now["lines"][0]["total_cost"]["minor"], 99);
        dock.patch(
            &order,
            json!({ "expected_on": "2030-06-01", "reference": "A-1" }),
        )
        .expect(200);
        let more =
            json!({ "lines": [line(json!({}))["lines"][0], { "plug_id": part, "quantity": 1 }] });
        for patch in [
            line(json!({ "quantity": 9 })),
            more,
            json!({ "lines": [{ "plug_id": part, "quantity": 8 }] }),
            json!({ "supplier": "Somebody Else" }),
            json!({ "state": "drafted" }),
        ] {
            dock.patch(&order, patch).problem(409, "order_already_sent");
        }
        for state in ["partly_in", "closed"] {
            dock.patch(&order, json!({ "state": state }))
                .problem(409, "order_nothing_in");
        }
        let off = dock
            .patch(&order, json!({ "state": "withdrawn" }))
            .expect(200)
            .json;
        assert_eq!(off["state"], "withdrawn");
        assert!(off["closed_at"].is_string());
        dock.patch(&order, json!({ "note": "late" }))
            .problem(409, "order_withdrawn");
        dock.receive(&order["lines"][0], 1)
            .problem(409, "order_withdrawn");
        assert_eq!(dock.held(&part, "bin"), 0, "nothing half done");
    }
}

#[test]
fn every_fault_of_an_order_is_told() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let bad = |over: Value| {
            shop.post(
                Who::Clerk,
                "/v1/orders",
                &with(dock.asked(&[(&part, 8)]), over),
            )
        };
        bad(json!({ "supplier": "", "lines": [], "colour": "red", "expected_on": "May" }))
            .refused_for(&[
                "#/colour unknown_member",
                "#/expected_on wrong_form",
                "#/lines out_of_range",
                "#/supplier out_of_range",
            ]);
        bad(json!({ "lines": [{ "plug_id": part, "quantity": 0, "pack_size": 0 }] })).refused_for(
            &[
                "#/lines/0/pack_size out_of_range",
                "#/lines/0/quantity out_of_range",
            ],
        );
        bad(json!({ "lines": [{ "plug_id": Uuid::now_v7(), "quantity": 1 }, { "plug_id": Uuid::now_v7(), "quantity": 1 }] }))
            .refused_for(&["#/lines/0/plug_id not_found", "#/lines/1/plug_id not_found"]);
        let line = Uuid::now_v7();
        bad(json!({ "lines": [{ "id": line, "plug_id": part, "quantity": 1 }, { "id": line, "plug_id": part, "quantity": 1 }] }))
            .refused_for(&["#/lines/1/id duplicate"]);
        bad(json!({ "lines": [{ "id": line, "plug_id": part, "quantity": 1 }] }))
            .refused_for(&["#/lines/0/id not_found"]);
        let foreign = json!({ "lines": [{ "plug_id": part, "quantity": 1, "total_cost": { "minor": 1, "currency": "EUR" } }] });
        let refused = bad(foreign).problem(400, "wrong_currency");
        assert_eq!(
            refused.faults(),
            ["#/lines/0/total_cost/currency wrong_currency"]
        );
        bad(json!({ "state": "closed" })).problem(409, "order_nothing_in");
        bad(json!({ "state": "withdrawn" })).problem(409, "order_not_sent");
        let path = format!("/v1/orders?plug_id={part}");
        assert!(shop.get(Who::Reader, &path).expect(200).items().is_empty());
        assert!(
            shop.get(
                Who::Reader,
                &format!("/v1/suppliers?name={}", dock.supplier)
            )
            .expect(200)
            .items()
            .is_empty(),
            "no supplier was made for what was refused"
        );
    }
}

#[test]
fn nothing_more_is_ordered_of_a_retired_part_or_from_a_retired_supplier() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 8)]);
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{part}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        shop.post(Who::Clerk, "/v1/orders", &dock.asked(&[(&part, 8)]))
            .problem(409, "plug_retired");
        // What stands already can still be looked after.
        dock.patch(&order, json!({ "note": "the last of them" }))
            .expect(200);
        let supplier = format!("/v1/suppliers/{}", text(&order, "supplier_id"));
        shop.patch(Who::Clerk, &supplier, &json!({ "retired": true }))
            .expect(200);
        let other = dock.part(json!({}));
        shop.post(Who::Clerk, "/v1/orders", &dock.asked(&[(&other, 8)]))
            .problem(409, "place_retired");
        shop.delete(Who::Clerk, &format!("/v1/plugs/{part}"))
            .problem(409, "has_history");
    }
}

#[test]
fn a_change_is_meant_for_one_version() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let part = dock.part(json!({}));
        let order = dock.order(&[(&part, 8)]);
        dock.receive(&order["lines"][0], 4).expect(201);
        let path = format!("/v1/orders/{}", text(&order, "id"));
        let media = ("content-type", "application/merge-patch+json");
        let body = json!({ "note": "x" }).to_string();
        shop.send("PATCH", &path, Who::Clerk, &[media], body.clone())
            .problem(428, "precondition_required");
        // A delivery counts as a change.
        shop.send(
            "PATCH",
            &path,
            Who::Clerk,
            &[media, ("if-match", "\"1\"")],
            body,
        )
        .problem(412, "stale");
        assert_eq!(dock.now(&order)["version"], 2);
    }
}
