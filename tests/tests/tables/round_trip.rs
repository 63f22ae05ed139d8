//! What goes out comes in again as it was: records with the nastiest texts, entered one by one, written
//! out, read into another shop, and written out there.

use plugwell_tests::bodies::{heat_scale, place, plug, receipt, with};
use plugwell_tests::{Shop, Who, engines};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use serde_json::{Value, json};

use crate::{export, import, numbers};

/// Signs that mean something to a spreadsheet, to CSV, to a name in a cell, or to somebody abroad.
const NASTY: &str = "['\"=+@,;/\\\\|%üß漢🔧\u{200b}a-cA-C0-9 -]{0,10}";

fn nasty(runner: &mut TestRunner) -> String {
    let text = NASTY.new_tree(runner).expect("a text").current();
    // Space around names does not count, and none is empty.
    text.trim().to_owned()
}

/// Nasty lines, kept as they stand.
fn nasty_lines(runner: &mut TestRunner) -> Value {
    let text = "['\"=+@,;\\n\\\\ü a-c-]{0,12}"
        .new_tree(runner)
        .expect("a text")
        .current();
    if text.trim().is_empty() {
        Value::Null
    } else {
        text.into()
    }
}

/// Fills a shop with so many records of each kind, through its other endpoints.
fn fill(shop: &Shop, runner: &mut TestRunner, count: usize) {
    let bins: Vec<String> = (0..4)
        .map(|n| place(shop, "bin", &format!("{}{n}", nasty(runner))))
        .collect();
    let mut parts: Vec<Value> = Vec::new();
    for n in 0..count {
        let maker = format!("{}m{n}", nasty(runner));
        let scale = heat_scale(&format!(" {maker} "), &format!("{}s ", nasty(runner)));
        let scale = shop.post(Who::Clerk, "/v1/heat-scales", &scale).expect(201);
        let raw = n as i64 * 37 % 9_000;
        let over = json!({
            "maker": maker, "part_number": format!("{}p", nasty(runner)), "description": format!("{}d", nasty(runner)),
            "reach_mm": 19.0 + raw as f64 / 10_000.0, "heat_index": null, "heat_scale_id": scale.json["id"], "heat_code": "7",
            "projection_mm": if n % 3 == 0 { json!(-0.5) } else { json!(null) },
            "provenance": { "reach_mm": "measured", "hex_mm": "assumed" },
            "superseded_by": parts.last().map(|part| part["id"].clone()),
            "status": if n % 2 == 0 { "active" } else { "discontinued" },
        });
        let part = shop
            .post(Who::Clerk, "/v1/plugs", &with(plug("x"), over))
            .expect(201)
            .json;
        let cost = if n % 2 == 0 {
            json!({ "minor": 1003, "currency": "USD" })
        } else {
            Value::Null
        };
        let got = json!({ "supplier": format!("{}q", nasty(runner)), "total_cost": cost, "condition": "gapped", "gap_mm": 0.8,
                          "reference": nasty_lines(runner) });
        let got = if n % 3 == 0 {
            with(got, json!({ "condition": "sealed", "gap_mm": null }))
        } else {
            got
        };
        let id = part["id"].as_str().expect("an id");
        let body = with(receipt(id, &bins[n % bins.len()], 8), got);
        shop.once(Who::Clerk, "/v1/stock/receipts", &body)
            .expect(201);
        let said = json!({
            "part": { "maker": maker, "part_number": format!("{}a", nasty(runner)) },
            "stands_in_for": { "maker": format!("{}o", nasty(runner)), "part_number": part["part_number"] },
            "direction": if n % 2 == 0 { "one_way" } else { "both" }, "who": format!("{}w", nasty(runner)),
            "source": nasty_lines(runner), "note": nasty_lines(runner),
        });
        shop.post(Who::Clerk, "/v1/stand-ins", &said).expect(201);
        parts.push(part);
    }
    let old = with(plug("retired"), json!({ "maker": "zz" }));
    let old = shop
        .post(Who::Clerk, "/v1/plugs", &old)
        .expect(201)
        .text("id");
    shop.patch(
        Who::Clerk,
        &format!("/v1/plugs/{old}"),
        &json!({ "retired": true }),
    )
    .expect(200);
}

/// The rows of a table, whatever their order.
fn rows(table: &str) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(table.as_bytes());
    let mut rows: Vec<Vec<String>> = reader
        .records()
        .map(|row| row.expect("a row").iter().map(str::to_owned).collect())
        .collect();
    rows[1..].sort();
    rows
}

#[test]
fn what_goes_out_comes_in_again_as_it_was() {
    let count = 40;
    for engine in engines() {
        // Another seed each time; a failure shows the tables.
        let mut runner = TestRunner::default();
        let (one, other) = (Shop::start(engine), Shop::start(engine));
        fill(&one, &mut runner, count);
        let kinds = ["heat-scales", "plugs", "stand-ins"];
        for kind in kinds {
            let count = if kind == "plugs" { count + 1 } else { count };
            let table = export(&one, kind);
            // Here nothing changes by it; there all of it is new.
            let same = numbers(&import(&one, kind, &table).expect(201));
            assert_eq!(
                (same[1], same[2], same[3]),
                (0, 0, count as u64),
                "{engine} {kind}: {table}"
            );
            let new = numbers(&import(&other, kind, &table).expect(201));
            assert_eq!(
                (new[1], new[2], new[3]),
                (count as u64, 0, 0),
                "{engine} {kind}"
            );
            assert_eq!(rows(&export(&one, kind)), rows(&table), "{engine} {kind}");
            assert_eq!(rows(&export(&other, kind)), rows(&table), "{engine} {kind}");
        }
        let members = |shop: &Shop| -> Vec<Value> {
            let mut all = shop.all(Who::Reader, "/v1/plugs?retired=true");
            all.extend(shop.all(Who::Reader, "/v1/plugs?retired=false"));
            let mut all: Vec<Value> = all
                .into_iter()
                .map(|mut plug| {
                    let own = plug.as_object_mut().expect("an object");
                    own.retain(|name, _| {
                        !name.ends_with("_at")
                            && !name.ends_with("id")
                            && name != "version"
                            && name != "superseded_by"
                    });
                    plug
                })
                .collect();
            all.sort_by_key(|plug| plug["maker"].as_str().map(str::to_owned));
            all
        };
        assert_eq!(members(&one), members(&other), "{engine}");
        stock(&one, &other);
    }
}

/// Stock comes in again as receipts into the same places, with what is put aside of a lot and whole lots.
fn stock(one: &Shop, other: &Shop) {
    let bins = one.all(Who::Reader, "/v1/stock/places?kind=bin");
    // A quarantine may be called like a bin.
    let name = bins[0]["name"].as_str().expect("a name");
    let cages = [
        place(one, "quarantine", name),
        place(one, "quarantine", "=cage"),
    ];
    for (n, quantity) in [(0, 8), (1, 3), (2, 1), (2, 2)] {
        let filter = "/v1/stock/levels?kind=bin";
        let level = one.all(Who::Reader, filter)[n].clone();
        let body = json!({ "lot_id": level["lot_id"], "from_place_id": level["place_id"],
                           "to_place_id": cages[n % 2], "quantity": quantity });
        one.once(Who::Clerk, "/v1/stock/transfers", &body)
            .expect(201);
    }
    let table = export(one, "stock");
    assert_eq!(table.matches(",quarantine\r\n").count(), 3, "{table}");
    for bin in &bins {
        place(other, "bin", bin["name"].as_str().expect("a name"));
    }
    place(other, "quarantine", name);
    place(other, "quarantine", "=cage");
    let done = numbers(&import(other, "stock", &table).expect(201));
    assert_eq!(done[0], done[1]);
    assert!(done[0] >= 40);
    assert_eq!(rows(&export(other, "stock")), rows(&table));
    let sum = |shop: &Shop, kind: &str| -> i64 {
        let levels = shop.all(Who::Reader, &format!("/v1/stock/levels?kind={kind}"));
        levels
            .iter()
            .filter_map(|level| level["quantity"].as_i64())
            .sum()
    };
    for kind in ["bin", "quarantine"] {
        assert_eq!(sum(one, kind), sum(other, kind), "{kind}");
    }
    let value =
        |shop: &Shop| shop.get(Who::Reader, "/v1/reports/value").expect(200).json["total"].clone();
    assert_eq!(value(one), value(other));
}
