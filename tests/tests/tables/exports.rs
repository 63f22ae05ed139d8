//! Tables out: whole, safe for spreadsheets, with what stock cost.

use plugwell_tests::bodies::{bin, issue, place, plug, receipt, stored_plug, unique, with};
use plugwell_tests::{Engine, Shop, Who, engines, shared};
use serde_json::json;

use crate::{export, import};

#[test]
fn a_table_is_told_by_its_headers() {
    for shop in shared() {
        for kind in ["plugs", "stock", "heat-scales", "stand-ins"] {
            let path = format!("/v1/exports/{kind}");
            let answer = shop.get(Who::Reader, &path).expect(200);
            assert_eq!(
                answer.header("content-type"),
                Some("text/csv; charset=utf-8; header=present")
            );
            let name = format!("attachment; filename=\"{kind}.csv\"");
            assert_eq!(answer.header("content-disposition"), Some(&*name));
            assert_eq!(
                answer.header("content-length"),
                Some(&*answer.body.len().to_string())
            );
            shop.get(Who::Reader, &format!("{path}?limit=1"))
                .refused_for(&["?limit unknown_member"]);
        }
    }
}

#[test]
fn no_cell_is_a_formula() {
    for shop in shared() {
        let maker = unique("=cmd|x");
        import(
            shop,
            "plugs",
            &format!("maker,part_number,projection_mm,description\n\"{maker}\",-1+2,-0.5,@here\n"),
        )
        .expect(201);
        let table = export(shop, "plugs");
        let row = table
            .lines()
            .find(|line| line.contains(&maker))
            .expect("the row");
        assert!(
            row.starts_with(&format!("'{maker},'-1+2,,'@here,")),
            "{row}"
        );
        assert!(row.contains(",-0.5,"), "a number is none: {row}");
        let found = shop.all(Who::Reader, "/v1/plugs?part_number=-1%2B2");
        assert!(found.iter().any(|plug| plug["maker"] == maker.as_str()));
    }
}

#[test]
fn what_is_left_of_a_lot_costs_its_share() {
    for engine in engines() {
        let shop = Shop::start(engine);
        let part = stored_plug(&shop, &plug("E-1"));
        let (one, other) = (bin(&shop, "A"), bin(&shop, "B"));
        let cost = json!({ "minor": 1003, "currency": "USD" });
        let received = with(receipt(&part, &one, 10), json!({ "total_cost": cost }));
        let lot = shop
            .once(Who::Clerk, "/v1/stock/receipts", &received)
            .expect(201)
            .json["lots"][0]["id"]
            .clone();
        let half =
            json!({ "lot_id": lot, "from_place_id": one, "to_place_id": other, "quantity": 3 });
        shop.once(Who::Clerk, "/v1/stock/transfers", &half)
            .expect(201);
        let out = with(issue(&part, "job 1", 2), json!({ "place_id": one }));
        shop.once(Who::Clerk, "/v1/stock/issues", &out).expect(201);
        // 1003 over ten: three at 101, seven at 100, the dearer ones first; two of those are gone.
        let rows: Vec<String> = export(&shop, "stock")
            .lines()
            .skip(1)
            .map(str::to_owned)
            .collect();
        let mut costs: Vec<(String, i64)> = rows
            .iter()
            .map(|row| {
                let cells: Vec<&str> = row.split(',').collect();
                (
                    format!("{} {}", cells[2], cells[3]),
                    cells[5].parse().expect("a cost"),
                )
            })
            .collect();
        costs.sort();
        let names: Vec<&str> = costs.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["A 5", "B 3"]);
        let total: i64 = costs.iter().map(|(_, cost)| cost).sum();
        assert_eq!(
            total,
            1003 - 2 * 101,
            "of what is left nothing is lost: {rows:?}"
        );
        assert!([500, 501].contains(&costs[0].1), "{rows:?}");
    }
}

#[test]
fn what_descends_from_a_lot_has_its_share_of_what_that_one_cost() {
    for engine in engines() {
        let (shop, other) = (Shop::start(engine), Shop::start(engine));
        let part = stored_plug(&shop, &plug("E-2"));
        let shelf = bin(&shop, "A");
        let cost = json!({ "minor": 1003, "currency": "USD" });
        let received = with(receipt(&part, &shelf, 10), json!({ "total_cost": cost }));
        shop.once(Who::Clerk, "/v1/stock/receipts", &received)
            .expect(201);
        let out = shop.once(Who::Clerk, "/v1/stock/issues", &issue(&part, "job 1", 7));
        let out = out.expect(201).json["movements"][0]["id"].clone();
        // Two lots descend from it, one of them in two places; three stay with the job.
        let cage = place(&shop, "quarantine", "Cage");
        let mut lots = Vec::new();
        for (quantity, gap) in [(3, 0.7), (1, 0.8)] {
            let back = json!({ "movement_id": out, "quantity": quantity, "condition": "gapped", "gap_mm": gap, "place_id": shelf });
            let back = shop.once(Who::Clerk, "/v1/stock/returns", &back);
            lots.push(back.expect(201).json["lots"][0]["id"].clone());
        }
        let aside = json!({ "lot_id": lots[0], "from_place_id": shelf, "to_place_id": cage, "quantity": 2 });
        shop.once(Who::Clerk, "/v1/stock/transfers", &aside)
            .expect(201);
        let table = export(&shop, "stock");
        let costs = |table: &str| -> Vec<String> {
            let rows = table.lines().skip(1);
            let mut costs: Vec<String> = rows
                .map(|row| row.split(',').collect::<Vec<_>>()[5].to_owned())
                .collect();
            costs.sort();
            costs
        };
        // 1003 over ten: three at 101, seven at 100; three of the dearer ones are gone.
        assert_eq!(costs(&table), ["100", "100", "200", "300"], "{table}");
        for kind in ["plugs", "stock"] {
            if kind == "stock" {
                bin(&other, "A");
                place(&other, "quarantine", "Cage");
            }
            import(&other, kind, &export(&shop, kind)).expect(201);
        }
        assert_eq!(costs(&export(&other, "stock")), costs(&table));
        let worth = |shop: &Shop| {
            let total =
                shop.get(Who::Reader, "/v1/reports/value").expect(200).json["total"].clone();
            (
                total["quantity_without_cost"].clone(),
                total["value"]["minor"].clone(),
            )
        };
        assert_eq!(worth(&other), worth(&shop));
        assert_eq!(worth(&other), (json!(0), json!(700)));
    }
}

#[test]
fn an_empty_shop_has_tables_of_headers() {
    let shop = Shop::start(Engine::Sqlite);
    for kind in ["plugs", "stock", "heat-scales", "stand-ins"] {
        let table = export(&shop, kind);
        assert_eq!(table.lines().count(), 1, "{kind}: {table}");
        assert!(table.ends_with("\r\n"));
    }
}
