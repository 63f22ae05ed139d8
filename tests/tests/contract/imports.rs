//! Tables of plugs: headers with units, all or nothing, met by maker and part number, once only.

use plugwell_tests::bodies::{heat_scale, unique};
use plugwell_tests::call::key;
use plugwell_tests::{Answer, Engine, Shop, Who, shared};
use serde_json::{Value, json};

pub fn import(shop: &Shop, csv: &str) -> Answer {
    import_with(shop, &key(), csv)
}

pub fn import_with(shop: &Shop, key: &str, csv: &str) -> Answer {
    shop.send(
        "POST",
        "/v1/imports/plugs",
        Who::Clerk,
        &[("content-type", "text/csv"), ("idempotency-key", key)],
        csv,
    )
}

pub fn dry_run(shop: &Shop, csv: &str) -> Answer {
    shop.send(
        "POST",
        "/v1/imports/plugs?dry_run=true",
        Who::Clerk,
        &[("content-type", "text/csv")],
        csv,
    )
}

pub fn of_maker(shop: &Shop, maker: &str) -> Vec<Value> {
    shop.get(Who::Reader, &format!("/v1/plugs?maker={maker}&limit=200"))
        .expect(200)
        .items()
        .to_vec()
}

fn report(rows: i64, created: i64, updated: i64, unchanged: i64) -> Value {
    json!({ "rows": rows, "created": created, "updated": updated, "unchanged": unchanged })
}

#[test]
fn a_table_is_read_with_its_units() {
    for shop in shared() {
        let maker = unique("Tabled");
        let csv = format!(
            "maker,part_number,thread,reach_in,hex_in,gap_preset_thou,resistance_kohm,resistor,torque_lbf_ft,service_life_mi,heat_index,provenance,description\n\
             {maker},T-1,14 x 1.25,0.75,0.625,32,5,yes,20,100000,60.5,reach_mm=measured;heat_index=assumed,\"with, comma and \"\"quotes\"\"\"\n\
             {maker},T-2,7/8-18 UNS,,,,,,,,,,\n"
        );
        let done = import(shop, &csv).expect(201);
        assert_eq!(done.json, report(2, 2, 0, 0));
        let plugs = of_maker(shop, &maker);
        let number = |member: &str| plugs[0][member].as_f64();
        // NIST SP 811: 1 in = 25.4 mm exactly, 1 lbf·ft = 1.355 817 948 N·m, 1 mi = 1.609 344 km exactly.
        assert_eq!(number("reach_mm"), Some(19.05));
        assert_eq!(number("hex_mm"), Some(15.875));
        assert_eq!(number("gap_preset_mm"), Some(0.8128));
        assert_eq!(number("resistance_ohm"), Some(5000.0));
        assert_eq!(number("torque_nm"), Some(27.12));
        assert_eq!(number("service_life_km"), Some(160_934.0));
        assert_eq!(
            plugs[0]["provenance"],
            json!({ "reach_mm": "measured", "heat_index": "assumed" })
        );
        assert_eq!(plugs[0]["description"], "with, comma and \"quotes\"");
        assert_eq!(
            (&plugs[0]["thread"], &plugs[0]["resistor"]),
            (&json!("M14x1.25"), &json!(true))
        );
        assert_eq!(
            (&plugs[1]["thread"], &plugs[1]["reach_mm"]),
            (&json!("7/8-18 UNS"), &Value::Null),
            "empty is unknown"
        );
        let q = shop
            .get(Who::Reader, &format!("/v1/plugs?q={maker}"))
            .expect(200);
        assert_eq!(q.items().len(), 2, "the search knows them at once");
    }
}

#[test]
fn semicolons_tabs_and_a_byte_order_mark_are_taken() {
    for shop in shared() {
        for (separator, decimal) in [(";", ","), ("\t", "."), (",", ".")] {
            let maker = unique("Parted");
            let rows = [
                ["maker", "part_number", "reach_mm"].join(separator),
                [maker.as_str(), "S-1", &format!("19{decimal}05")].join(separator),
            ];
            let csv = format!("\u{feff}{}\r\n", rows.join("\r\n"));
            assert_eq!(import(shop, &csv).expect(201).json, report(1, 1, 0, 0));
            assert_eq!(of_maker(shop, &maker)[0]["reach_mm"].as_f64(), Some(19.05));
        }
    }
}

#[test]
fn records_are_met_by_maker_and_part_number() {
    for shop in shared() {
        let maker = unique("Met");
        import(shop, &format!("maker,part_number,reach_mm,hex_mm\n{maker},M-1,19,16\n{maker},M-2,19,16\n{maker},M-3,19,16\n")).expect(201);
        let before = of_maker(shop, &maker);
        // A column that is not there leaves; an empty cell clears; case does not matter.
        let csv = format!(
            "maker,part_number,hex_mm\n{},m-1,\n{maker},M-2,16\n{maker},M-4,14\n",
            maker.to_uppercase()
        );
        let tried = dry_run(shop, &csv).expect(200).json;
        let numbers = ["rows", "created", "updated", "unchanged"].map(|name| tried[name].as_u64());
        assert_eq!(numbers, [3, 1, 1, 1].map(Some));
        assert_eq!(of_maker(shop, &maker), before, "a dry run changes nothing");
        assert_eq!(import(shop, &csv).expect(201).json, report(3, 1, 1, 1));
        let after = of_maker(shop, &maker);
        assert_eq!(after.len(), 4);
        assert_eq!(
            (&after[0]["id"], &after[0]["reach_mm"], &after[0]["hex_mm"]),
            (&before[0]["id"], &before[0]["reach_mm"], &Value::Null)
        );
        assert_eq!(after[0]["version"], 2);
        assert_eq!(
            (&after[1], &after[2]),
            (&before[1], &before[2]),
            "unchanged keeps its version"
        );
        assert_eq!(
            import(shop, &format!("maker,part_number\n{maker},M-3\n"))
                .expect(201)
                .json,
            report(1, 0, 0, 1)
        );
    }
}

#[test]
fn scales_and_successors_may_be_named() {
    for shop in shared() {
        let maker = unique("Named");
        shop.post(
            Who::Clerk,
            "/v1/heat-scales",
            &heat_scale(&maker, "numbers"),
        )
        .expect(201);
        let csv = format!(
            "maker,part_number,heat_scale,heat_code,superseded_by,status\n\
             {maker},N-1,{maker}/numbers,7,{maker}/N-2,discontinued\n\
             {maker},N-2,{maker}/Numbers,5,,\n"
        );
        assert_eq!(import(shop, &csv).expect(201).json, report(2, 2, 0, 0));
        let plugs = of_maker(shop, &maker);
        assert_eq!(
            (
                plugs[0]["heat_index"].as_f64(),
                plugs[1]["heat_index"].as_f64()
            ),
            (Some(70.0), Some(50.0))
        );
        assert_eq!(
            plugs[0]["superseded_by"], plugs[1]["id"],
            "a successor may stand further down"
        );
        assert_eq!(
            (&plugs[0]["status"], &plugs[1]["status"]),
            (&json!("discontinued"), &json!("active"))
        );
    }
}

#[test]
fn an_import_is_done_once() {
    for shop in shared() {
        let (maker, own) = (unique("Once"), key());
        let csv = format!("maker,part_number,reach_mm\n{maker},O-1,19\n");
        let first = import_with(shop, &own, &csv).expect(201);
        assert_eq!(first.header("once-only-replayed"), None);
        let again = import_with(shop, &own, &csv).expect(201);
        assert_eq!(
            (again.header("once-only-replayed"), &again.body),
            (Some("true"), &first.body)
        );
        import_with(shop, &own, &csv.replace("19", "20")).problem(422, "once_key_reused");
        assert_eq!(of_maker(shop, &maker)[0]["version"], 1);
        // A refused import leaves the key free; one without a key is refused, a dry run needs none.
        let own = key();
        import_with(shop, &own, &csv.replace("19", "300")).problem(400, "invalid");
        import_with(shop, &own, &csv).expect(201);
        shop.send(
            "POST",
            "/v1/imports/plugs",
            Who::Clerk,
            &[("content-type", "text/csv")],
            csv.as_str(),
        )
        .problem(400, "once_key_missing");
        dry_run(shop, &csv).expect(200);
        let by_tuner = shop.send(
            "POST",
            "/v1/imports/plugs?dry_run=true",
            Who::Tuner,
            &[("content-type", "text/csv")],
            csv.as_str(),
        );
        by_tuner.problem(403, "forbidden");
    }
}

#[test]
fn a_table_may_be_larger_than_other_bodies() {
    for shop in shared() {
        let maker = unique("Large");
        let long = "x".repeat(480);
        let rows: String = (0..2_500)
            .map(|n| format!("{maker},L-{n:04},{long}\n"))
            .collect();
        let csv = format!("maker,part_number,description\n{rows}");
        assert!(csv.len() > 1 << 20, "{}", csv.len());
        assert_eq!(
            import(shop, &csv).expect(201).json,
            report(2_500, 2_500, 0, 0)
        );
        let last = shop
            .get(
                Who::Reader,
                &format!("/v1/plugs?maker={maker}&part_number=L-2499"),
            )
            .expect(200);
        assert_eq!(last.items().len(), 1);
    }
}

#[test]
fn limits_of_bodies_and_tables_can_be_set() {
    let shop = Shop::start_with(
        Engine::Sqlite,
        &["--max-body", "2000", "--max-import", "3000"],
    );
    let table = |length: usize| format!("maker,part_number\nLimited,{}\n", "x".repeat(length - 27));
    assert_eq!(table(3000).len(), 3000);
    import(&shop, &table(3000)).problem(400, "invalid");
    import(&shop, &table(3001)).problem(413, "payload_too_large");
    let post = |length: usize| {
        shop.post(
            Who::Clerk,
            "/v1/plugs",
            &json!({ "maker": "x".repeat(length - 12) }),
        )
    };
    post(2000).problem(400, "invalid");
    post(2001).problem(413, "payload_too_large");
}
