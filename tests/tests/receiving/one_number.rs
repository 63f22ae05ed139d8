//! One number that several parts could be meant by: attached here, printed there. Nobody is chosen
//! silently, and no second meaning is taken in.

use plugwell_tests::bodies::{gtin, plug, unique, with};
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Engine, Shop, Who, shared};
use serde_json::{Value, json};

use crate::dock::{Dock, text};

fn attach(shop: &Shop, part: &str, code: &str) -> Answer {
    let path = format!("/v1/plugs/{part}/barcodes");
    shop.post(Who::Clerk, &path, &json!({ "code": code }))
}

fn import(shop: &Shop, csv: &str) -> Answer {
    let own = key();
    let headers = [("content-type", "text/csv"), ("idempotency-key", &*own)];
    shop.send("POST", "/v1/imports/plugs", Who::Clerk, &headers, csv)
}

/// The parts that a scan lets choose from, sorted; nothing else is proposed.
fn choices(scan: &Value) -> Vec<String> {
    let next = scan["next"].as_array().expect("steps");
    assert!(next.iter().all(|step| step["step"] == "choose"), "{scan}");
    let near = scan["near"].as_array().expect("parts");
    assert_eq!(next.len(), near.len(), "{scan}");
    let mut ids: Vec<String> = near.iter().map(|part| text(part, "plug_id")).collect();
    ids.sort();
    ids
}

#[test]
fn a_part_number_of_another_part_is_no_barcode_and_the_other_way_round() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let (one, other) = (dock.part(json!({})), dock.part(json!({})));
        let number = unique("FW-own");
        let named = dock.part(json!({ "part_number": number }));
        let refused = attach(shop, &one, &number.to_lowercase()).problem(409, "duplicate_record");
        let told = format!("Ferrowick {number} bears itself");
        assert!(text(&refused.json, "detail").contains(&told), "{refused:?}");
        attach(shop, &named, &number).expect(201);
        // What is attached is no new part's number, in whatever case or length.
        let (code, item) = (unique("QP-attached"), gtin(77_300));
        attach(shop, &one, &code).expect(201);
        attach(shop, &one, &item).expect(201);
        let of = shop
            .get(Who::Reader, &format!("/v1/plugs/{one}"))
            .expect(200)
            .text("part_number");
        for over in [
            json!({ "part_number": code.to_lowercase() }),
            json!({ "gtin": item }),
            json!({ "gtin": format!("0{item}") }),
            json!({ "part_number": item }),
        ] {
            let body = with(plug(&unique("new")), over.clone());
            let refused = shop
                .post(Who::Clerk, "/v1/plugs", &body)
                .problem(409, "duplicate_record");
            let detail = text(&refused.json, "detail");
            assert!(detail.contains(&format!("Ferrowick {of}")), "{detail}");
            let path = format!("/v1/plugs/{other}");
            shop.patch(Who::Clerk, &path, &over)
                .problem(409, "duplicate_record");
            // Its own it may be, and whoever has it changes in other ways as before.
            let path = format!("/v1/plugs/{one}");
            shop.patch(Who::Clerk, &path, &over).expect(200);
            let as_it_was = json!({ "part_number": of, "gtin": null });
            shop.patch(Who::Clerk, &path, &as_it_was).expect(200);
        }
    }
}

#[test]
fn a_table_with_a_number_that_is_attached_is_refused_by_its_rows() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let one = dock.part(json!({}));
        let (code, item) = (unique("QP-row"), gtin(77_301));
        attach(shop, &one, &code).expect(201);
        attach(shop, &one, &item).expect(201);
        let maker = unique("Tabled");
        let csv = format!(
            "maker,part_number,gtin\n{maker},A-1,\n{maker},{},{item}\n{maker},A-2,0{item}\n",
            code.to_lowercase()
        );
        let refused = import(shop, &csv).problem(400, "invalid");
        let errors = refused.json["errors"].as_array().expect("faults");
        let told: Vec<String> = errors
            .iter()
            .map(|e| format!("{} {} {}", e["row"], text(e, "column"), text(e, "code")))
            .collect();
        assert_eq!(
            told,
            [
                "3 part_number duplicate",
                "3 gtin duplicate",
                "4 gtin duplicate"
            ]
        );
        assert_eq!(
            refused.json["detail"],
            "3 faults in the table; nothing was stored"
        );
        let single = import(
            shop,
            &format!("maker,part_number,gtin\n{maker},A-2,{item}\n"),
        );
        let single = single.problem(400, "invalid");
        assert_eq!(
            single.json["detail"],
            "1 fault in the table; nothing was stored"
        );
        assert!(
            shop.all(Who::Reader, &format!("/v1/plugs?maker={maker}"))
                .is_empty()
        );
    }
}

#[test]
fn what_two_parts_bear_is_told_of_both() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let sorted = |ids: [&String; 2]| {
            let mut ids = ids.map(Clone::clone).to_vec();
            ids.sort();
            ids
        };
        // Two makers with one part number.
        let number = unique("TWO-1");
        let one = dock.part(json!({ "part_number": number }));
        let other = dock.part(json!({ "part_number": number, "maker": unique("Quellmar") }));
        let scan = dock.scan(&number).expect(200).json;
        assert_eq!(choices(&scan), sorted([&one, &other]));
        assert_eq!(scan["part"], Value::Null);
        assert!(
            text(&scan, "said").starts_with("Several parts bear this number"),
            "{scan}"
        );
        // One that is spelled nearly so is no choice between several.
        let number = unique("NEAR-52");
        dock.part(json!({ "part_number": number }));
        let scan = dock.scan(&number.replace('-', "")).expect(200).json;
        assert_eq!(choices(&scan).len(), 1, "{scan}");
        assert!(
            text(&scan, "said")
                .starts_with("No part has this very number; one is spelled nearly so"),
            "{scan}"
        );
        // A GTIN of one that is another's part number, in every way that it can be read.
        let item = gtin(77_302);
        let bears = dock.part(json!({ "gtin": item }));
        let called = dock.part(json!({ "part_number": item }));
        let scan = dock.scan(&item).expect(200).json;
        assert_eq!(choices(&scan), sorted([&bears, &called]));
        assert_eq!(
            dock.scan(&format!("(01)0{item}")).expect(200).json["part"]["id"],
            *bears,
            "element strings bear no part number"
        );
        // Attached to one before the other was retired, and brought back.
        let gone = json!({ "retired": true });
        shop.patch(Who::Clerk, &format!("/v1/plugs/{called}"), &gone)
            .expect(200);
        assert_eq!(dock.scan(&item).expect(200).json["part"]["id"], *bears);
    }
}

#[test]
fn steps_that_would_be_refused_are_not_proposed() {
    for shop in shared() {
        let dock = Dock::new(shop);
        let item = gtin(77_303);
        let part = dock.part(json!({ "gtin": item, "pack_size": 4 }));
        let receive = |scan: &Value| scan["next"][0]["step"] == "receive";
        let most = dock
            .scan(&format!("(02)0{item}(37)250000"))
            .expect(200)
            .json;
        assert_eq!(
            (&most["quantity"], &most["next"][0]["body"]["quantity"]),
            (&json!(1_000_000), &json!(1_000_000))
        );
        let many = dock
            .scan(&format!("(02)0{item}(37)250001"))
            .expect(200)
            .json;
        assert_eq!(
            (&many["packs"], &many["quantity"]),
            (&json!(250_001), &Value::Null)
        );
        assert!(
            receive(&many) && many["next"][0]["body"].get("quantity").is_none(),
            "{many}"
        );
        assert!(
            text(&many, "said").contains("250001 packs of 4 are more than the 1000000 plugs"),
            "{many}"
        );
        let gone = json!({ "retired": true });
        shop.patch(Who::Clerk, &format!("/v1/plugs/{part}"), &gone)
            .expect(200);
        let retired = dock.scan(&item).expect(200).json;
        assert!(!receive(&retired), "{retired}");
        // What cannot be a barcode is not proposed as one, nor as a part number what cannot be one.
        let steps = |scanned: &str| -> Vec<String> {
            let scan = dock.scan(scanned).expect(200).json;
            let next = scan["next"].as_array().expect("steps");
            next.iter().map(|step| text(step, "step")).collect()
        };
        assert_eq!(steps(&unique("QP-new")), ["attach_barcode", "create_part"]);
        assert_eq!(steps(&unique("two words")), ["create_part"]);
        assert_eq!(steps("L999999"), ["create_part"]);
        assert!(steps(&"x".repeat(100)).is_empty());
    }
}

/// What was attached before numbers were compared, or at the same instant, is told as well.
#[test]
fn a_barcode_hides_nobody_who_bears_the_same() {
    let mut shop = Shop::start(Engine::Sqlite);
    let (number, item) = (unique("FW-both"), gtin(77_304));
    let (one, other) = {
        let dock = Dock::new(&shop);
        let one = dock.part(json!({}));
        let other = dock.part(json!({ "part_number": number, "gtin": item }));
        attach(&shop, &one, "QP-1").expect(201);
        attach(&shop, &one, "QP-2").expect(201);
        (one, other)
    };
    shop.stop();
    let database = rusqlite::Connection::open(shop.data().join("plugwell.sqlite")).expect("a file");
    let padded = format!("0{item}");
    for (from, code, compared) in [("QP-1", &number, &number), ("QP-2", &item, &padded)] {
        let changed = database
            .execute(
                "UPDATE barcodes SET code = ?2, code_key = ?3 WHERE code = ?1",
                [from, code.as_str(), compared.as_str()],
            )
            .expect("an update");
        assert_eq!(changed, 1);
    }
    drop(database);
    shop.open();
    let dock = Dock::new(&shop);
    let mut both = vec![one, other.clone()];
    both.sort();
    for scanned in [number, item.clone(), format!("(01)0{item}")] {
        let scan = dock.scan(&scanned).expect(200).json;
        assert_eq!(scan["part"], Value::Null, "{scan}");
        assert_eq!(choices(&scan), both, "{scan}");
    }
    // It stays as it is until somebody changes the very number.
    let path = format!("/v1/plugs/{other}");
    shop.patch(Who::Clerk, &path, &json!({ "description": "as before" }))
        .expect(200);
}
