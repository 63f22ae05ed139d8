//! The proposal is kept for as long as nothing changes that it rests on, and no longer.

use plugwell_tests::bodies::{bin, plug, receive, stored_plug};
use plugwell_tests::shop::engines;
use plugwell_tests::{Engine, Shop, Who};
use serde_json::{Value, json};

fn page(shop: &Shop, query: &str) -> Value {
    shop.get(Who::Reader, &format!("/v1/reorder?all=true{query}"))
        .expect(200)
        .json
}

/// A member of a part's line in the list of all.
fn of(shop: &Shop, id: &str, member: &str) -> Value {
    let page = page(shop, "");
    let lines = page["items"].as_array().expect("items");
    let line = lines.iter().find(|line| line["plug_id"] == id);
    line.unwrap_or_else(|| panic!("{id} in {page}"))[member].clone()
}

#[test]
fn pages_come_from_one_proposal_until_anything_changes() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let rack = bin(&shop, "Rack");
        let parts = ["KP-1", "KP-2", "KP-3"].map(|number| stored_plug(&shop, &plug(number)));
        for id in &parts {
            receive(&shop, id, &rack, 4);
        }
        let first = page(&shop, "&limit=2");
        let cursor = first["next_cursor"].as_str().expect("a second page");
        let second = page(&shop, &format!("&limit=2&cursor={cursor}"));
        assert_eq!(second["items"][0]["part_number"], "KP-3");
        // PostgreSQL tells changes of its other databases apart from ours only by working it out anew.
        if engine == Engine::Sqlite {
            assert_eq!(
                first["as_of"], second["as_of"],
                "both pages are of one proposal"
            );
            assert_eq!(
                page(&shop, "")["as_of"],
                first["as_of"],
                "and other questions too"
            );
        }
        let id = &parts[1];
        receive(&shop, id, &rack, 8);
        assert_eq!(of(&shop, id, "on_hand"), 12, "a receipt shows at once");
        assert_ne!(page(&shop, "")["as_of"], first["as_of"]);
        let kept = json!({ "plug_id": id, "quantity": 5, "job": "Kept" });
        shop.once(Who::Tuner, "/v1/stock/reservations", &kept)
            .expect(201);
        assert_eq!(of(&shop, id, "reserved"), 5);
        let given = json!({ "min_quantity": 20, "max_quantity": 40 });
        shop.patch(Who::Clerk, &format!("/v1/plugs/{id}/reordering"), &given)
            .expect(200);
        assert_eq!(of(&shop, id, "reorder_point"), 20);
        let body = json!({ "plug_ids": [id] });
        shop.once(Who::Clerk, "/v1/reorder/orders", &body)
            .expect(201);
        assert_eq!(of(&shop, id, "on_order"), 36, "40 - 7 in packs of 4");
        let suppliers = shop.all(Who::Reader, "/v1/suppliers");
        let supplier = suppliers[0]["id"].as_str().expect("an id");
        shop.patch(
            Who::Clerk,
            &format!("/v1/suppliers/{supplier}"),
            &json!({ "name": "Tollgate Parts", "lead_time_days": 21 }),
        )
        .expect(200);
        assert_eq!(of(&shop, id, "supplier"), "Tollgate Parts");
        assert_eq!(of(&shop, id, "lead_time_periods")["mean"], 3.0);
        let policy = shop.get(Who::Reader, "/v1/policy").expect(200);
        let mut body = json!({ "values": policy.json["values"] });
        body["values"]["service_level"]["value"] = json!(0.99);
        shop.put(Who::Manager, "/v1/policy", &body).expect(200);
        assert_eq!(of(&shop, id, "service_level"), 0.99);
    }
}
