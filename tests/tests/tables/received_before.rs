//! A table of stock that comes a second time: never refused, never without a word.

use plugwell_tests::bodies::{bin, plug, stock_of, stored_plug, unique, with};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

use crate::{attempt, import, numbers};

const HEADER: &str =
    "maker,part_number,place,quantity,supplier,total_cost_minor,gap_thou,condition,reference";

/// The lots that are like a row, as `row code`.
fn like(answer: &Value) -> Vec<String> {
    let lots = answer["already"]["lots"].as_array().expect("lots");
    lots.iter()
        .map(|lot| format!("{} {}", lot["row"], lot["code"].as_str().expect("a code")))
        .collect()
}

fn reads(answer: &Value) -> Vec<&Value> {
    let reads = answer["already"]["reads"].as_array().expect("reads");
    reads.iter().map(|read| &read["read_by"]).collect()
}

fn codes(shop: &Shop, part: &str) -> Vec<String> {
    let lots = shop.all(Who::Reader, &format!("/v1/stock/lots?plug_id={part}"));
    lots.iter()
        .map(|lot| lot["code"].as_str().expect("a code").to_owned())
        .collect()
}

#[test]
fn a_table_that_was_read_before_says_when_and_by_whom_and_which_lots_are_like_it() {
    for shop in shared() {
        let (maker, shelf) = (unique("Twice"), unique("shelf"));
        let part = stored_plug(shop, &with(plug("T-1"), json!({ "maker": maker })));
        bin(shop, &shelf);
        let supplier = unique("Quay");
        let rows = [
            format!("{maker},T-1,{shelf},8,{supplier},100,,,note 1"),
            format!("{maker},T-1,{shelf},4,{supplier},,32,gapped,"),
        ];
        let csv = format!("{HEADER}\n{}\n", rows.join("\n"));
        let tried = attempt(shop, "stock", &csv).expect(200).json;
        assert!(
            reads(&tried).is_empty() && like(&tried).is_empty(),
            "{tried}"
        );
        let first = import(shop, "stock", &csv).expect(201).json;
        assert!(
            reads(&first).is_empty() && like(&first).is_empty(),
            "a dry run leaves nothing: {first}"
        );
        let [one, two] = codes(shop, &part).try_into().expect("two lots");
        // The same content in another order, spelling and unit.
        let other = format!(
            "reference,condition,gap_mm,total_cost_minor,supplier,quantity,place,part_number,maker\n\
             ,gapped,0.8128,,{},4,{},t-1,{maker}\nnote 1,sealed,,100,{supplier},8,{shelf},T-1,{maker}\n",
            supplier.to_uppercase(),
            shelf.to_uppercase()
        );
        let tried = attempt(shop, "stock", &other).expect(200).json;
        assert_eq!(reads(&tried), ["test clerk"]);
        assert!(tried["already"]["reads"][0]["read_at"].is_string());
        assert_eq!(like(&tried), [format!("2 {two}"), format!("3 {one}")]);
        assert_eq!(stock_of(shop, &part).1, 12, "a dry run moves nothing");
        // Sent all the same it is received, and said again.
        let second = import(shop, "stock", &other).expect(201);
        assert_eq!(numbers(&second), [2, 2, 0, 0]);
        assert_eq!(reads(&second.json), ["test clerk"]);
        assert_eq!(stock_of(shop, &part).1, 24);
        assert_eq!(
            reads(&attempt(shop, "stock", &csv).expect(200).json).len(),
            2
        );
    }
}

#[test]
fn only_what_is_the_same_in_everything_is_like_a_row() {
    for shop in shared() {
        let (maker, shelf, supplier) = (unique("Like"), unique("shelf"), unique("Quay"));
        let part = stored_plug(shop, &with(plug("L-1"), json!({ "maker": maker })));
        bin(shop, &shelf);
        let table = |row: &str| format!("{HEADER}\n{maker},L-1,{shelf},{row}\n");
        let own = format!("8,{supplier},100,,,note 1");
        // Two boxes of one delivery in one table are two boxes.
        let twins = format!("{}{maker},L-1,{shelf},{own}\n", table(&own));
        let first = import(shop, "stock", &twins).expect(201).json;
        assert!(like(&first).is_empty(), "{first}");
        for other in [
            format!("9,{supplier},100,,,note 1"),
            format!("8,{supplier} & Sons,100,,,note 1"),
            format!("8,{supplier},101,,,note 1"),
            format!("8,{supplier},,,,note 1"),
            format!("8,{supplier},100,,,note 2"),
            format!("8,{supplier},100,,,"),
        ] {
            let tried = attempt(shop, "stock", &table(&other)).expect(200).json;
            assert!(
                reads(&tried).is_empty() && like(&tried).is_empty(),
                "{other}: {tried}"
            );
        }
        let tried = attempt(shop, "stock", &table(&own)).expect(200).json;
        assert!(reads(&tried).is_empty(), "one of two rows is another table");
        assert_eq!(like(&tried).len(), 2, "{tried}");
        // What was put right does not stand.
        let moved = shop.all(Who::Reader, &format!("/v1/stock/movements?plug_id={part}"));
        let body = json!({ "movement_id": moved[0]["id"], "reason": "a slip" });
        shop.once(Who::Clerk, "/v1/stock/reversals", &body)
            .expect(201);
        let tried = attempt(shop, "stock", &table(&own)).expect(200).json;
        assert_eq!(like(&tried), [format!("2 {}", codes(shop, &part)[1])]);
    }
}
