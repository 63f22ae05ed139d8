//! Parts without history, and parts that nobody can order.

use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug, unique, with};
use plugwell_tests::{Engine, Shop, Who, shared};
use serde_json::{Value, json};

use crate::demos;
use crate::recomputed::{recompute, series};

fn proposal(shop: &Shop, id: &str) -> Value {
    shop.get(Who::Reader, &format!("/v1/reorder?plug_id={id}"))
        .expect(200)
        .json
}

/// What a note of a line says.
fn note(line: &Value, code: &str) -> String {
    let notes = line["notes"].as_array().expect("notes");
    let found = notes.iter().find(|note| note["code"] == code);
    found.unwrap_or_else(|| panic!("no {code} in {line}"))["text"]
        .as_str()
        .unwrap()
        .to_owned()
}

/// A heat that no other part of the shop has, so that only its own builds and equivalents count.
fn rare(part_number: &str) -> Value {
    with(
        plug(part_number),
        json!({ "thread": "M18x1.5", "hex_mm": 20.8, "reach_mm": 11.2, "heat_index": 20 }),
    )
}

#[test]
fn a_new_part_begins_with_the_builds_that_take_it() {
    for engine in [Engine::Sqlite, Engine::Postgres] {
        if !plugwell_tests::shop::engines().contains(&engine) {
            continue;
        }
        let shop = Shop::start(engine);
        let id = stored_plug(&shop, &rare("NP-1"));
        let nothing = &proposal(&shop, &id)["items"][0];
        recompute(nothing);
        assert_eq!(
            (&nothing["method"], &nothing["order_quantity"]),
            (&json!("given"), &json!(0))
        );
        assert_eq!(
            (&nothing["class"], &nothing["supplier"]),
            (&Value::Null, &Value::Null)
        );
        assert!(note(nothing, "no_history").contains("nothing tells of demand"));
        assert!(note(nothing, "supplier_unknown").contains("name a supplier"));
        // Two engines that take it, eight plugs and a spare each; a third that does not.
        let takes = with(
            build(),
            json!({ "head": {
                "name": "Old twin", "thread": "M18x1.5", "reach_mm": 11.2, "seat": "gasket", "hex_max_mm": 20.8,
                "projection_min_mm": 2.0, "projection_max_mm": 4.0, "heat_index": 20
            }, "heat_steps": 0 }),
        );
        for _ in 0..2 {
            shop.post(Who::Tuner, "/v1/builds", &takes).expect(201);
        }
        shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
        let booked = &proposal(&shop, &id)["items"][0];
        recompute(booked);
        let told = note(booked, "no_history");
        assert!(
            told.starts_with("2 stored builds that take it, 1 set a year each: 0.35 per week"),
            "{told}"
        );
        assert_eq!(series(booked).iter().sum::<f64>(), 18.0);
        assert_eq!(booked["demand"]["series"].as_array().unwrap().len(), 52);
        assert!(booked["order_quantity"].as_i64() > Some(0), "{booked}");
        // It stands in the proposal once the shop deals in it.
        let listed = |query: &str| shop.all(Who::Reader, &format!("/v1/reorder?{query}"));
        assert_eq!(listed("all=true"), Vec::<Value>::new());
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{id}/reordering"),
            &json!({ "supplier": "Harbour Plugs" }),
        )
        .expect(200);
        assert_eq!(listed("").len(), 1);
        assert_eq!(listed("")[0]["supplier"], "Harbour Plugs");
    }
}

#[test]
fn a_new_part_begins_with_what_its_nearest_equivalent_sells() {
    for shop in demos() {
        let lines = shop.all(Who::Reader, "/v1/reorder?all=true&limit=200");
        let sold =
            |line: &&Value| line["method"] != "given" && series(line).iter().sum::<f64>() > 12.0;
        let twin_of = |line: &Value| {
            let id = line["plug_id"].as_str().unwrap();
            let known = shop
                .get(Who::Reader, &format!("/v1/plugs/{id}"))
                .expect(200)
                .json;
            let lacks = ["thread", "seat", "reach_mm", "heat_index"]
                .iter()
                .any(|name| known[*name].is_null());
            (!lacks && known["provenance"] == json!({})).then_some(known)
        };
        let twin = lines
            .iter()
            .filter(sold)
            .find_map(twin_of)
            .expect("a part that sells and is known whole");
        let derived = [
            "id",
            "version",
            "created_at",
            "updated_at",
            "retired",
            "projection_class",
        ];
        let body = plugwell_tests::bodies::without(twin.clone(), &derived);
        let own = json!({ "maker": "Newcomer", "part_number": unique("NC"), "gtin": null, "superseded_by": null,
                          "status": "active", "heat_scale_id": null, "heat_code": null });
        let id = stored_plug(shop, &with(body, own));
        let line = &proposal(shop, &id)["items"][0];
        recompute(line);
        assert_eq!(line["method"], "given");
        let told = note(line, "no_history");
        assert!(
            told.contains("Its nearest equivalent that sells, "),
            "{told}"
        );
        assert!(series(line).iter().sum::<f64>() > 0.0, "{line}");
    }
}

#[test]
fn what_nobody_can_order_is_left_out_and_said() {
    for shop in shared() {
        let rack = bin(shop, &unique("Rack"));
        let part = |over: Value| {
            let id = stored_plug(shop, &with(plug(&unique("LO")), over));
            receive(shop, &id, &rack, 1);
            // Reserved in full: what there is of it is promised.
            let kept = json!({ "plug_id": id, "quantity": 1, "job": unique("Kept") });
            shop.once(Who::Tuner, "/v1/stock/reservations", &kept)
                .expect(201);
            id
        };
        let successor = stored_plug(shop, &plug(&unique("LO-next")));
        let gone = part(json!({ "status": "discontinued" }));
        let replaced = part(json!({ "superseded_by": successor }));
        let left = shop.get(Who::Reader, "/v1/reorder").expect(200).json["left_out"].clone();
        let of = |id: &str| {
            let found = left
                .as_array()
                .unwrap()
                .iter()
                .find(|part| part["plug_id"] == id);
            found
                .unwrap_or_else(|| panic!("{id} is left out: {left}"))
                .clone()
        };
        assert_eq!(of(&gone)["code"], "discontinued");
        assert_eq!(of(&replaced)["code"], "superseded");
        assert!(
            of(&replaced)["text"].as_str().unwrap().contains("LO-next"),
            "{left}"
        );
        assert_eq!(proposal(shop, &gone)["items"], json!([]));
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{gone}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        assert_eq!(proposal(shop, &gone)["left_out"][0]["code"], "retired");
    }
}
