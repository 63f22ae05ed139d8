//! Opening stock: every row a receipt through the ledger, all or nothing, once only.

use plugwell_tests::bodies::{bin, plug, stock_of, stored_plug, unique, with};
use plugwell_tests::call::key;
use plugwell_tests::{Who, shared};
use serde_json::{Value, json};

use crate::{attempt, import, import_with, numbers, told};

const HEADER: &str = "maker,part_number,place,quantity,supplier,total_cost_minor,pack_size,condition,gap_thou,reference";

#[test]
fn each_row_is_received_and_a_match_knows_at_once() {
    for shop in shared() {
        let (maker, shelf) = (unique("Opening"), unique("shelf"));
        let id = stored_plug(shop, &with(plug("O-1"), json!({ "maker": maker })));
        let place = bin(shop, &shelf);
        let code = shop
            .get(Who::Reader, &format!("/v1/stock/places/{place}"))
            .expect(200)
            .text("code");
        let csv = format!(
            "{HEADER}\n{},o-1,{},24,Quayside Parts,31600,4,,,note 9\n{maker},O-1,{code},4,Quayside Parts,,,gapped,28,\n",
            maker.to_uppercase(),
            shelf.to_uppercase(),
        );
        let tried = attempt(shop, "stock", &csv).expect(200);
        assert_eq!(numbers(&tried), [2, 2, 0, 0]);
        assert_eq!(stock_of(shop, &id), (0, 0), "a dry run moves nothing");
        let own = key();
        let first = import_with(shop, "stock", &own, &csv).expect(201);
        assert_eq!(numbers(&first), [2, 2, 0, 0]);
        // 28 thou are 0.7112 mm, further from the gap of the part than counts.
        assert_eq!(stock_of(shop, &id), (24, 28));
        let again = import_with(shop, "stock", &own, &csv).expect(201);
        assert_eq!(
            (again.header("once-only-replayed"), &again.body),
            (Some("true"), &first.body)
        );
        assert_eq!(stock_of(shop, &id), (24, 28), "received once");
        let lots = shop.all(Who::Reader, &format!("/v1/stock/lots?plug_id={id}"));
        assert_eq!(lots.len(), 2);
        assert_eq!(
            lots[0]["total_cost"],
            json!({ "minor": 31600, "currency": "USD" })
        );
        assert_eq!(
            (&lots[0]["pack_size"], &lots[0]["condition"]),
            (&json!(4), &json!("sealed"))
        );
        assert_eq!(
            (&lots[1]["total_cost"], &lots[1]["gap_mm"]),
            (&Value::Null, &json!(0.7112))
        );
        let moved = shop.all(Who::Reader, &format!("/v1/stock/movements?plug_id={id}"));
        let kinds: Vec<&Value> = moved.iter().map(|m| &m["kind"]).collect();
        assert_eq!(kinds, ["receipt", "receipt"]);
        assert_eq!(
            (&moved[0]["note"], &moved[0]["actor"]),
            (&json!("note 9"), &json!("test clerk"))
        );
    }
}

#[test]
fn every_fault_is_told_and_nothing_is_received() {
    for shop in shared() {
        let (maker, shelf) = (unique("Short"), unique("shelf"));
        let id = stored_plug(shop, &with(plug("S-1"), json!({ "maker": maker })));
        let gone = stored_plug(shop, &with(plug("S-2"), json!({ "maker": maker })));
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{gone}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        bin(shop, &shelf);
        let old = unique("old shelf");
        let path = format!("/v1/stock/places/{}", bin(shop, &old));
        shop.patch(Who::Clerk, &path, &json!({ "retired": true }))
            .expect(200);
        let csv = format!(
            "{HEADER},currency,place_kind\n\
             {maker},S-1,{shelf},8,Quay,100,4,sealed,,,USD,bin\n\
             {maker},S-9,{shelf},0,Quay,,,,,,,\n\
             {maker},S-1,nowhere,8,Quay,1.5,,,,,EUR,\n\
             {maker},S-1,{shelf},8,,100,,,32,,EUR,\n\
             {maker},S-9,{shelf},8,Quay,100,,worn,32,,EUR,\n\
             {maker},S-1,{shelf},8,Quay,100,,gapped,,,EUR,\n\
             {maker},S-1,{shelf},8,Quay,100,,,,,EUR,\n\
             {maker},S-1,{shelf},8,Quay,,,,,,USD,\n\
             {maker},S-2,{shelf},8,,,,,,,,\n\
             {maker},S-1,Scrap drum,8,Quay,,,,,,,\n\
             ,S-1,,many,Quay,,0,,,,,\n\
             {maker},S-1,{shelf},8,Quay,,,,,,,quarantine\n\
             {maker},S-2,{shelf},8,Quay,,,,,,,job\n\
             {maker},S-1,{old},8,Quay,,,,,,,\n"
        );
        let wanted = [
            "10 part_number contradiction",
            "10 supplier missing",
            "11 place not_found",
            "12 maker missing",
            "12 pack_size out_of_range",
            "12 place missing",
            "12 quantity wrong_type",
            "13 place not_found",
            "14 part_number contradiction",
            "14 place_kind not_in_list",
            "15 place contradiction",
            "3 part_number not_found",
            "3 quantity out_of_range",
            "4 place not_found",
            "4 total_cost_minor too_fine",
            "5 currency wrong_currency",
            "5 gap_thou not_together",
            "5 supplier missing",
            "6 condition not_in_list",
            "6 currency wrong_currency",
            "6 part_number not_found",
            "7 currency wrong_currency",
            "7 gap_thou missing",
            "8 currency wrong_currency",
            "9 currency not_together",
        ];
        assert_eq!(told(attempt(shop, "stock", &csv)), wanted);
        assert_eq!(told(import(shop, "stock", &csv)), wanted);
        assert_eq!(stock_of(shop, &id), (0, 0));
    }
}
