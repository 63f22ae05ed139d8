//! What is given by hand for a part.

use plugwell_tests::bodies::{bin, plug, receive, stored_plug, unique};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

use crate::recomputed::{number, recompute};

fn path(id: &str) -> String {
    format!("/v1/plugs/{id}/reordering")
}

fn line(shop: &Shop, id: &str) -> Value {
    let answer = shop
        .get(Who::Reader, &format!("/v1/reorder?plug_id={id}"))
        .expect(200);
    assert_eq!(answer.items().len(), 1, "{answer:?}");
    recompute(&answer.items()[0]);
    answer.items()[0].clone()
}

#[test]
fn it_is_empty_at_first_and_changes_by_merge_patch() {
    for shop in shared() {
        let id = stored_plug(shop, &plug(&unique("BH")));
        let empty = shop.get(Who::Reader, &path(&id)).expect(200);
        assert_eq!(
            (&empty.json["id"], &empty.json["version"]),
            (&json!(id), &json!(1))
        );
        for member in [
            "supplier",
            "min_quantity",
            "max_quantity",
            "service_level",
            "lead_time_days",
            "note",
        ] {
            assert!(
                empty.json[member].is_null() && empty.json.get(member).is_some(),
                "{member}"
            );
        }
        shop.patch(Who::Tuner, &path(&id), &json!({ "note": "x" }))
            .problem(403, "forbidden");
        let given = json!({ "min_quantity": 8, "max_quantity": 24, "note": "the club's season" });
        let now = shop.patch(Who::Clerk, &path(&id), &given).expect(200);
        assert_eq!(now.json["version"], 2);
        let stale = [("if-match", "\"1\"")];
        shop.send_json("PATCH", &path(&id), Who::Clerk, &stale, &given)
            .problem(412, "stale");
        shop.send_json("PATCH", &path(&id), Who::Clerk, &[], &given)
            .problem(428, "precondition_required");
        let now = shop
            .patch(
                Who::Clerk,
                &path(&id),
                &json!({ "note": null, "service_level": 0.99 }),
            )
            .expect(200);
        assert_eq!(
            (&now.json["min_quantity"], &now.json["note"]),
            (&json!(8), &Value::Null)
        );
        let known = [("if-none-match", &*now.etag())].map(|(n, v)| (n, v.to_owned()));
        let headers: Vec<(&str, &str)> = known.iter().map(|(n, v)| (*n, v.as_str())).collect();
        assert_eq!(
            shop.send("GET", &path(&id), Who::Reader, &headers, "")
                .status,
            304
        );
        shop.patch(
            Who::Clerk,
            &path(&id),
            &json!({ "max_quantity": null, "service_level": 2, "odd": 1 }),
        )
        .refused_for(&["#/odd unknown_member", "#/service_level out_of_range"]);
        shop.patch(Who::Clerk, &path(&id), &json!({ "max_quantity": null }))
            .refused_for(&["#/max_quantity missing"]);
        shop.patch(Who::Clerk, &path(&id), &json!({ "max_quantity": 8 }))
            .refused_for(&["#/max_quantity contradiction"]);
        shop.get(Who::Reader, &path(&uuid::Uuid::nil().to_string()))
            .problem(404, "not_found");
        // Nothing else names the part: it goes, and what was given with it.
        shop.delete(Who::Clerk, &format!("/v1/plugs/{id}"))
            .expect(204);
        shop.get(Who::Reader, &path(&id)).problem(404, "not_found");
    }
}

#[test]
fn least_and_greatest_stock_supplier_and_lead_time_stand_in_the_line() {
    for shop in shared() {
        let id = stored_plug(shop, &plug(&unique("BH")));
        receive(shop, &id, &bin(shop, &unique("Rack")), 10);
        let before = line(shop, &id);
        assert_eq!(
            (&before["supplier"], &before["by_hand"]),
            (&json!("Quayside Parts"), &Value::Null)
        );
        assert_eq!(
            (
                number(&before, "/unit_cost/minor"),
                number(&before, "/pack_size")
            ),
            (900.0, 4.0)
        );
        assert_eq!(
            (
                number(&before, "/service_level"),
                number(&before, "/on_hand")
            ),
            (0.95, 10.0)
        );
        let given = json!({
            "min_quantity": 12, "max_quantity": 30, "supplier": unique("Harbour Plugs"), "pack_size": 5,
            "service_level": 0.9, "lead_time_days": 21, "lead_time_sd_days": 7
        });
        shop.patch(Who::Clerk, &path(&id), &given).expect(200);
        let after = line(shop, &id);
        assert_eq!(
            (&after["reorder_point"], &after["order_quantity"]),
            (&json!(12), &json!(20))
        );
        assert_eq!(
            after["by_hand"],
            json!({ "min_quantity": 12, "max_quantity": 30 })
        );
        assert_eq!(
            (&after["supplier"], &after["service_level"]),
            (&given["supplier"], &json!(0.9))
        );
        assert_eq!(
            after["lead_time_periods"],
            json!({ "mean": 3.0, "sd": 1.0 })
        );
        let codes: Vec<&Value> = after["notes"]
            .as_array()
            .unwrap()
            .iter()
            .map(|note| &note["code"])
            .collect();
        assert!(codes.contains(&&json!("given_by_hand")), "{codes:?}");
        // Reservations count against the stock.
        let kept = json!({ "plug_id": id, "quantity": 3, "job": unique("Kept") });
        shop.once(Who::Tuner, "/v1/stock/reservations", &kept)
            .expect(201);
        let kept = line(shop, &id);
        assert_eq!(
            (
                &kept["reserved"],
                &kept["position"],
                &kept["order_quantity"]
            ),
            (&json!(3), &json!(7), &json!(25))
        );
    }
}
