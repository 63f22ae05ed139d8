//! Each kind of event comes when it should, with the data that the document declares.

use std::collections::BTreeSet;

use chrono::{TimeDelta, Utc};
use plugwell_tests::bodies::{bin, issue, place, plug, receipt, receive, stored_plug, unique};
use plugwell_tests::call::key;
use plugwell_tests::{Who, until};
use serde_json::{Value, json};

use crate::feed::{changes, now, since, types};
use crate::quick;

fn own(told: &[Value], name: &str) -> Vec<Value> {
    let full = format!("plugwell.{name}.v1");
    told.iter().filter(|t| t["type"] == full).cloned().collect()
}

#[test]
fn stock_tells_of_movements_quarantine_and_scrap() {
    for shop in quick() {
        let start = now(shop);
        let bin_id = bin(shop, &unique("Told bin"));
        let cage = place(shop, "quarantine", &unique("Told cage"));
        let id = stored_plug(shop, &plug(&unique("TOLD")));
        let received = receive(shop, &id, &bin_id, 8);
        let lot = received["lot_id"].clone();
        let there =
            json!({ "lot_id": lot, "from_place_id": bin_id, "to_place_id": cage, "quantity": 2 });
        shop.once(Who::Clerk, "/v1/stock/transfers", &there)
            .expect(201);
        let back =
            json!({ "lot_id": lot, "from_place_id": cage, "to_place_id": bin_id, "quantity": 2 });
        shop.once(Who::Manager, "/v1/stock/transfers", &back)
            .expect(201);
        let scrap =
            json!({ "lot_id": lot, "place_id": bin_id, "quantity": 1, "reason": "dropped" });
        let scrapped = shop
            .once(Who::Clerk, "/v1/stock/scrappings", &scrap)
            .expect(201)
            .json;
        let undo = json!({ "movement_id": scrapped["movements"][0]["id"], "reason": "wrong lot" });
        let undone = shop
            .once(Who::Manager, "/v1/stock/reversals", &undo)
            .expect(201)
            .json;
        let told = since(shop, &start, &format!("plugs/{id}/stock"));
        let booked: Vec<_> = own(&told, "movement.booked")
            .iter()
            .map(|t| t["data"]["kind"].clone())
            .collect();
        assert_eq!(
            booked,
            ["receipt", "transfer", "transfer", "scrapping", "reversal"]
        );
        let quarantined = own(&told, "lot.quarantined");
        assert_eq!(quarantined.len(), 1);
        assert_eq!(
            (
                &quarantined[0]["data"]["lot_id"],
                &quarantined[0]["data"]["quantity"]
            ),
            (&lot, &json!(2))
        );
        assert_eq!(own(&told, "lot.released").len(), 1);
        let reversed = own(&told, "scrap.reversed");
        assert_eq!(reversed.len(), 1);
        assert_eq!(
            reversed[0]["data"]["movement_id"],
            undone["movements"][0]["id"]
        );
        let versions: Vec<_> = told
            .iter()
            .filter_map(|t| t["entityversion"].as_i64())
            .collect();
        assert!(versions.is_sorted(), "{versions:?}");
    }
}

#[test]
fn reservations_tell_how_they_begin_and_end() {
    for shop in quick() {
        let start = now(shop);
        let id = stored_plug(shop, &plug(&unique("KEPT")));
        receive(shop, &id, &bin(shop, &unique("Kept bin")), 20);
        let reserve = |expires: Value| {
            let body =
                json!({ "plug_id": id, "quantity": 4, "job": "Told job", "expires_at": expires });
            shop.once(Who::Tuner, "/v1/stock/reservations", &body)
                .expect(201)
                .text("id")
        };
        let drawn = reserve(Value::Null);
        for _ in 0..2 {
            let mut body = issue(&id, "Told job", 2);
            body["reservation_id"] = drawn.clone().into();
            shop.once(Who::Tuner, "/v1/stock/issues", &body).expect(201);
        }
        let given_back = reserve(Value::Null);
        let path = format!("/v1/stock/reservations/{given_back}/release");
        shop.once(Who::Tuner, &path, &Value::Null).expect(200);
        let soon = Utc::now() + TimeDelta::milliseconds(1500);
        let ended = reserve(json!(soon.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string()));
        let of = |id: &str| since(shop, &start, id);
        let told = until("the end of a reservation", || {
            let told = of(&ended);
            (told.len() == 2).then_some(told)
        });
        assert_eq!(
            types(&told),
            [
                "plugwell.reservation.made.v1",
                "plugwell.reservation.expired.v1"
            ]
        );
        assert_eq!(
            types(&of(&drawn)),
            ["made", "changed", "issued"].map(|p| format!("plugwell.reservation.{p}.v1"))
        );
        assert_eq!(
            types(&of(&given_back)),
            [
                "plugwell.reservation.made.v1",
                "plugwell.reservation.released.v1"
            ]
        );
    }
}

#[test]
fn orders_and_counts_tell_where_they_stand() {
    for shop in quick() {
        let start = now(shop);
        let id = stored_plug(shop, &plug(&unique("ORD")));
        let bin_id = bin(shop, &unique("Ordered bin"));
        let body =
            json!({ "supplier": "Quayside Parts", "lines": [{ "plug_id": id, "quantity": 8 }] });
        let order = shop.post(Who::Clerk, "/v1/orders", &body).expect(201).json;
        let path = format!("/v1/orders/{}", order["id"].as_str().expect("an id"));
        shop.patch(Who::Clerk, &path, &json!({ "note": "by boat" }))
            .expect(200);
        shop.patch(Who::Clerk, &path, &json!({ "state": "sent" }))
            .expect(200);
        for _ in 0..2 {
            let mut delivery = receipt(&id, &bin_id, 4);
            delivery["order_line_id"] = order["lines"][0]["id"].clone();
            shop.once(Who::Clerk, "/v1/stock/receipts", &delivery)
                .expect(201);
        }
        let told = since(shop, &start, &path[4..]);
        let expected = [
            "drafted", "changed", "sent", "received", "received", "closed",
        ];
        assert_eq!(
            types(&told),
            expected.map(|p| format!("plugwell.order.{p}.v1"))
        );
        assert_eq!(told[5]["data"]["code"], order["code"]);

        let count = shop
            .post(
                Who::Clerk,
                "/v1/stock/counts",
                &json!({ "places": [bin_id] }),
            )
            .expect(201)
            .json;
        let path = format!("/v1/stock/counts/{}", count["id"].as_str().expect("an id"));
        let lines: Vec<Value> = count["lines"]
            .as_array()
            .expect("lines")
            .iter()
            .map(|l| json!({ "lot_id": l["lot_id"], "place_id": l["place_id"], "counted": 4 }))
            .collect();
        shop.patch(Who::Clerk, &path, &json!({ "lines": lines }))
            .expect(200);
        shop.once(Who::Manager, &format!("{path}/approval"), &Value::Null)
            .expect(200);
        let told = since(shop, &start, &path[4..]);
        let kinds = types(&told);
        assert_eq!(kinds.first(), Some(&"plugwell.count.begun.v1"));
        assert_eq!(kinds.last(), Some(&"plugwell.count.approved.v1"));
    }
}

#[test]
fn a_table_tells_of_itself_and_of_each_record() {
    for shop in quick() {
        let start = now(shop);
        let number = unique("TAB");
        let table = format!("maker,part_number\nFerrowick,{number}a\nFerrowick,{number}b\n");
        let send = |path: &str, headers: &[(&str, &str)]| {
            let headers: Vec<_> = headers
                .iter()
                .copied()
                .chain([("content-type", "text/csv")])
                .collect();
            shop.send("POST", path, Who::Clerk, &headers, table.clone())
        };
        send("/v1/imports/plugs?dry_run=true", &[]).expect(200);
        assert_eq!(
            since(shop, &start, "imports/"),
            [] as [Value; 0],
            "a trial tells nothing"
        );
        send("/v1/imports/plugs", &[("idempotency-key", &key())]).expect(201);
        let table = since(shop, &start, "imports/");
        assert_eq!(types(&table), ["plugwell.table.imported.v1"]);
        assert_eq!(
            (&table[0]["data"]["rows"], &table[0]["data"]["created"]),
            (&json!(2), &json!(2))
        );
        let own = |t: &&Value| {
            t["data"]["part_number"]
                .as_str()
                .is_some_and(|n| n.starts_with(&number))
        };
        let plugs = since(shop, &start, "plugs/");
        assert_eq!(plugs.iter().filter(own).count(), 2);
    }
}

/// Falls to its reorder point: told once, and once more only after it has risen above it.
#[test]
fn low_stock_is_told_once_until_it_has_risen() {
    for shop in quick() {
        let start = now(shop);
        let id = stored_plug(shop, &plug(&unique("LOW")));
        let given = json!({ "min_quantity": 5, "max_quantity": 12 });
        shop.patch(Who::Clerk, &format!("/v1/plugs/{id}/reordering"), &given)
            .expect(200);
        let bin_id = bin(shop, &unique("Low bin"));
        receive(shop, &id, &bin_id, 10);
        let crossed = || {
            own(
                &since(shop, &start, &format!("plugs/{id}/stock")),
                "reorder_point.crossed",
            )
        };
        let told = |count: usize| {
            until("a crossing", || {
                Some(crossed()).filter(|t| t.len() >= count)
            })
        };
        let take = |quantity| {
            shop.once(
                Who::Tuner,
                "/v1/stock/issues",
                &issue(&id, "Low job", quantity),
            )
            .expect(201)
        };
        let settled = || std::thread::sleep(std::time::Duration::from_millis(2500));
        let before = crossed().len();
        take(5);
        let first = told(before + 1);
        let last = first.last().expect("one");
        assert_eq!(last["data"]["plug_id"], id);
        let figures = |t: &Value| {
            ["reorder_point", "on_hand", "reserved", "on_order"].map(|m| t["data"][m].as_i64())
        };
        assert_eq!(figures(last), [Some(5), Some(5), Some(0), Some(0)]);
        take(1);
        settled();
        assert_eq!(crossed().len(), before + 1, "lower still is no news");
        receive(shop, &id, &bin_id, 4);
        settled();
        take(3);
        assert_eq!(told(before + 2).len(), before + 2, "it had risen above");
    }
}

/// Whatever has been told in this process has the data that the document declares for its type.
#[test]
fn data_is_what_the_document_declares() {
    for shop in quick() {
        stored_plug(shop, &plug(&unique("DOC")));
        let document = shop.get(Who::Nobody, "/openapi.json").expect(200).json;
        let declared = document["webhooks"].as_object().expect("a list of types");
        assert!(declared.len() > 40);
        let names = |map: &Value| -> BTreeSet<String> {
            map.as_object()
                .expect("an object")
                .keys()
                .cloned()
                .collect()
        };
        let listed = document
            .pointer("/components/schemas/EventKind/enum")
            .expect("the types");
        let listed: BTreeSet<&str> = listed
            .as_array()
            .expect("a list")
            .iter()
            .filter_map(Value::as_str)
            .collect();
        assert_eq!(listed, declared.keys().map(String::as_str).collect());
        let told = changes(shop, "?limit=200").expect(200);
        assert!(!told.items().is_empty());
        for event in told.items() {
            let kind = event["type"].as_str().expect("a type");
            let schema = declared[kind]
                .pointer("/post/requestBody/content")
                .expect("a body");
            let data = schema.pointer(
                "/application~1cloudevents+json/schema/allOf/1/properties/data/properties",
            );
            assert_eq!(names(&event["data"]), names(data.expect("data")), "{kind}");
        }
    }
}

#[test]
fn a_change_that_changes_nothing_tells_nothing() {
    for shop in quick() {
        let start = now(shop);
        let id = stored_plug(shop, &plug(&unique("SAME")));
        let path = format!("/v1/plugs/{id}");
        let whole = json!({ "hex_mm": 20.8 });
        for change in [&whole, &whole, &json!({})] {
            shop.patch(Who::Clerk, &path, change).expect(200);
        }
        let told = since(shop, &start, &format!("plugs/{id}"));
        assert_eq!(
            types(&told),
            ["created", "changed"].map(|p| format!("plugwell.plug.{p}.v1"))
        );
    }
}
