//! What several parts would have of one: plugs that lie unsold, and a demand to begin with.

use std::sync::{Mutex, MutexGuard, OnceLock, PoisonError};

use plugwell_tests::bodies::{stored_plug, with, without};
use plugwell_tests::shop::engines;
use plugwell_tests::{Shop, Who};
use serde_json::{Value, json};

use crate::recomputed::{recompute, series};

/// The invented shop on each engine, for one test at a time: each gives the shop new parts, and those
/// share with each other.
fn demos() -> MutexGuard<'static, Vec<Shop>> {
    static SHOPS: OnceLock<Mutex<Vec<Shop>>> = OnceLock::new();
    let shops =
        SHOPS.get_or_init(|| Mutex::new(engines().into_iter().map(Shop::start_demo).collect()));
    shops.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A record of the demo as the body of another part, of the same kind in all.
fn twin(shop: &Shop, of: &str, number: &str) -> String {
    let known = shop.get(Who::Reader, &format!("/v1/plugs/{of}"));
    let derived = [
        "id",
        "version",
        "created_at",
        "updated_at",
        "retired",
        "projection_class",
    ];
    let own = json!({ "maker": "Newcomer", "part_number": number, "gtin": null, "superseded_by": null,
                      "status": "active", "heat_scale_id": null, "heat_code": null });
    stored_plug(shop, &with(without(known.expect(200).json, &derived), own))
}

fn give(shop: &Shop, id: &str, body: &Value) {
    shop.patch(Who::Clerk, &format!("/v1/plugs/{id}/reordering"), body)
        .expect(200);
}

fn line(shop: &Shop, id: &str) -> Value {
    let answer = shop.get(Who::Reader, &format!("/v1/reorder?plug_id={id}"));
    answer.expect(200).items()[0].clone()
}

fn certain(line: &Value) -> i64 {
    let others = line["use_first"].as_array().into_iter().flatten();
    let certain = others.filter(|other| other["certain"] == true);
    certain
        .filter_map(|other| other["available"].as_i64())
        .sum()
}

#[test]
fn plugs_that_lie_unsold_hold_back_one_order_only() {
    for shop in demos().iter() {
        let lines = shop.all(Who::Reader, "/v1/reorder?limit=200");
        let wants = lines.iter().find(|line| certain(line) > 0);
        let of =
            wants.expect("a part with a certain equivalent that lies unsold")["plug_id"].clone();
        // Before all others in the order of the proposal.
        let supplier = json!({ "name": "0 First Parts" });
        shop.post(Who::Clerk, "/v1/suppliers", &supplier)
            .expect(201);
        let parts = ["UN-1", "UN-2"].map(|number| twin(shop, of.as_str().unwrap(), number));
        let by_hand = |most: i64| json!({ "supplier": "0 First Parts", "min_quantity": 0, "max_quantity": most, "pack_size": 1 });
        for id in &parts {
            give(shop, id, &by_hand(1));
        }
        let lying = certain(&line(shop, &parts[0]));
        assert!(lying > 0);
        for id in &parts {
            // What lies there is enough for either, and not for both.
            give(shop, id, &by_hand(lying));
            assert_eq!(line(shop, id)["order_quantity"], lying);
        }
        let body = json!({ "suppliers": ["0 First Parts"] });
        let made = shop
            .once(Who::Clerk, "/v1/reorder/orders", &body)
            .expect(201);
        let ordered = &made.json["orders"][0]["lines"];
        assert_eq!(ordered.as_array().map(Vec::len), Some(1), "{ordered}");
        assert_eq!(ordered[0]["plug_id"], parts[1]);
        let of = |member: &str| {
            let left_out = made.json["left_out"].as_array().expect("left out");
            let held = left_out.iter().filter(|part| part["maker"] == "Newcomer");
            held.map(|part| part[member].clone()).collect::<Vec<_>>()
        };
        assert_eq!(of("plug_id"), [json!(parts[0])]);
        assert_eq!(of("code"), ["use_equivalent_first"]);
        // The one that is held back stays so; named, it is ordered.
        shop.once(Who::Clerk, "/v1/reorder/orders", &body)
            .expect(200);
        let body = json!({ "plug_ids": [parts[0]] });
        shop.once(Who::Clerk, "/v1/reorder/orders", &body)
            .expect(201);
    }
}

#[test]
fn a_demand_that_several_new_parts_begin_with_is_shared() {
    for shop in demos().iter() {
        let lines = shop.all(Who::Reader, "/v1/reorder?all=true&limit=200");
        let mut selling: Vec<&Value> = lines.iter().filter(|l| l["method"] != "given").collect();
        selling.sort_by_key(|line| -(series(line).iter().sum::<f64>() as i64));
        let whole = |line: &&&Value| {
            let id = line["plug_id"].as_str().unwrap();
            let known = shop
                .get(Who::Reader, &format!("/v1/plugs/{id}"))
                .expect(200);
            known.json["provenance"] == json!({}) && !known.json["heat_index"].is_null()
        };
        let lender = *selling.iter().find(whole).expect("a part that sells");
        let of = lender["plug_id"].as_str().unwrap();
        let parts = ["SH-1", "SH-2", "SH-3"].map(|number| twin(shop, of, number));
        for id in &parts {
            give(shop, id, &json!({ "supplier": "Harbour Plugs" }));
        }
        let all = shop.all(Who::Reader, "/v1/reorder?all=true&limit=200");
        let own = parts.each_ref().map(|id| {
            let line = all.iter().find(|line| line["plug_id"] == **id);
            line.expect("its line").clone()
        });
        let name = lender["part_number"].as_str().unwrap();
        for (line, id) in own.iter().zip(&parts) {
            recompute(line);
            assert_eq!(line, &self::line(shop, id), "alone it is the same");
            let told = line["notes"][0]["text"].as_str().unwrap();
            assert!(told.contains(name), "{told}");
            assert!(told.contains("equal shares, since nobody knows"), "{told}");
            for other in ["SH-1", "SH-2", "SH-3"] {
                let named = told.contains(&format!("Newcomer {other}"));
                assert_eq!(named, line["part_number"] != other, "{told}");
            }
        }
        // Others may begin with it too; never is more lent than was asked for.
        let of_all = series(lender);
        let lent = own.each_ref().map(series);
        for (place, asked) in of_all.iter().enumerate() {
            let sum: f64 = lent.iter().map(|own| own[place]).sum();
            assert!(sum <= *asked, "{place}: {sum} of {asked}");
        }
        let sum: f64 = lent.iter().flatten().sum();
        assert!(sum > 0.0);
    }
}
