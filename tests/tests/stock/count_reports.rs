//! The count sheet on paper and phone, and count accuracy over time.

use chrono::{TimeDelta, Utc};
use plugwell_tests::bodies::{bin, receive, unique};
use plugwell_tests::{Answer, Shop, Who, engines, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, word};
use crate::counts::{approve, begin, count};

const PATH: &str = "/v1/reports/count-accuracy";

fn html(shop: &Shop, path: &str) -> Answer {
    shop.send("GET", path, Who::Reader, &[("accept", "text/html")], "")
}

/// What the sheet says, without the count's identifier at its foot.
fn on_sheet(sheet: &Answer) -> String {
    let text = String::from_utf8_lossy(&sheet.body);
    let (said, _) = text.split_once("<footer>").expect("a foot");
    said.to_owned()
}

#[test]
fn the_sheet_is_blind_and_in_the_order_of_the_bins() {
    for shop in shared() {
        let (first, second) = (unique("Left <drawer>"), unique("Right drawer"));
        let bins = [bin(shop, &first), bin(shop, &second)];
        let shelf = Shelf::empty(shop);
        let lots = [(&bins[1], 7_351), (&bins[0], 6_247)].map(|(place, quantity)| {
            let lot_id = word(&receive(shop, &shelf.plug_id, place, quantity), "lot_id");
            shop.get(Who::Reader, &format!("/v1/stock/lots/{lot_id}"))
                .expect(200)
                .json
        });
        let path = begin(shop, &[&bins[1], &bins[0]]);
        let sheet = html(shop, &path).expect(200);
        assert_eq!(
            sheet.header("content-type"),
            Some("text/html; charset=utf-8")
        );
        assert_eq!(sheet.header("vary"), Some("accept"));
        assert!(
            sheet
                .header("content-security-policy")
                .is_some_and(|p| p.starts_with("default-src 'none'"))
        );
        let text = on_sheet(&sheet);
        let at = |words: &str| {
            text.find(words)
                .unwrap_or_else(|| panic!("no {words} in {text}"))
        };
        let escaped = first.replace('<', "&#60;").replace('>', "&#62;");
        let codes = lots
            .each_ref()
            .map(|lot| format!(">{}<", word(lot, "code")));
        assert!(
            at(&escaped) < at(&codes[1])
                && at(&codes[1]) < at(&second)
                && at(&second) < at(&codes[0])
        );
        assert!(
            text.contains("Ferrowick")
                && text.contains("Count sheet")
                && text.contains("class=\"a4\"")
        );
        assert!(
            !text.contains("7351") && !text.contains("6247"),
            "it says nowhere how many"
        );
        assert_eq!(
            text.matches("class=\"room\"").count(),
            2 + 2 * 2,
            "a room for each lot, two blank ones in each bin"
        );
        let letter = html(shop, &format!("{path}?paper=letter")).expect(200);
        assert!(String::from_utf8_lossy(&letter.body).contains("class=\"letter\""));
        html(shop, &format!("{path}?paper=a3")).refused_for(&["?paper not_in_list"]);
        shop.send("GET", &path, Who::Reader, &[("accept", "image/png")], "")
            .problem(406, "not_acceptable");
    }
}

#[test]
fn what_is_to_be_counted_again_stands_alone_on_its_sheet() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 6_247);
        let other = word(&shelf.receive(7_351), "lot_id");
        let path = begin(shop, &[&shelf.bin_id]);
        count(shop, &path, &shelf.lot_id, &shelf.bin_id, 6_247).expect(200);
        count(shop, &path, &other, &shelf.bin_id, 5_112).expect(200);
        let code = |lot_id: &str| {
            let lot = shop.get(Who::Reader, &format!("/v1/stock/lots/{lot_id}"));
            format!(">{}<", lot.expect(200).text("code"))
        };
        let sheet = || on_sheet(&html(shop, &path).expect(200));
        let again = sheet();
        assert!(again.contains("Recount sheet"));
        assert!(again.contains(&code(&other)) && !again.contains(&code(&shelf.lot_id)));
        assert!(
            !again.contains("7351") && !again.contains("5112"),
            "still nowhere how many"
        );
        let off = json!({ "state": "withdrawn" });
        shop.patch(Who::Clerk, &path, &off).expect(200);
        assert!(sheet().contains("This count was withdrawn"));
    }
}

/// Its own shops: the report is about all counts.
#[test]
fn accuracy_tells_how_well_books_and_bins_agree() {
    for shop in engines().into_iter().map(Shop::start) {
        let none = shop.get(Who::Reader, PATH).expect(200);
        assert_eq!(
            (&none.json["months"], &none.json["total"]["exact_share"]),
            (&json!([]), &json!(null))
        );
        let shelf = Shelf::with(&shop, 10);
        let lots = [6, 20, 30].map(|quantity| word(&shelf.receive(quantity), "lot_id"));
        let path = begin(&shop, &[&shelf.bin_id]);
        for (lot, counted) in [
            (&shelf.lot_id, 8),
            (&lots[0], 6),
            (&lots[1], 21),
            (&lots[2], 29),
        ] {
            count(&shop, &path, lot, &shelf.bin_id, counted).expect(200);
        }
        // Nothing counts before it is approved.
        assert_eq!(
            shop.get(Who::Reader, PATH).expect(200).json["total"]["counts"],
            0
        );
        let done = approve(&shop, &path).expect(200);
        let report = shop.get(Who::Reader, PATH).expect(200);
        let total = &report.json["total"];
        let wanted = json!({
            "counts": 1, "lines": 4, "exact_lines": 1, "exact_share": 0.25, "expected": 66, "missing": 3, "found": 1,
            "absolute_difference": 4, "absolute_cost": { "minor": 3600, "currency": "USD" },
            "net_cost": { "minor": -1800, "currency": "USD" }, "quantity_without_cost": 0, "reversed_lines": 0
        });
        assert_eq!(total, &wanted);
        let month = &report.json["months"][0];
        assert_eq!(month["month"], word(&done.json, "approved_at")[..7]);
        assert_eq!(month["net_cost"], wanted["net_cost"]);
        put_right(&shelf, &done.json);
        other_forms(&shop);
    }
}

/// A difference that is put right counts as none.
fn put_right(shelf: &Shelf<'_>, approved: &Value) {
    let missing = &approved["lines"][0]["movement_id"];
    shelf
        .command(
            "reversals",
            json!({ "movement_id": missing, "reason": "a box stood behind" }),
        )
        .expect(201);
    let total = shelf.shop.get(Who::Reader, PATH).expect(200).json["total"].clone();
    assert_eq!(
        (
            &total["exact_lines"],
            &total["reversed_lines"],
            &total["missing"]
        ),
        (&json!(2), &json!(1), &json!(1))
    );
    assert_eq!(
        (
            &total["absolute_cost"]["minor"],
            &total["net_cost"]["minor"]
        ),
        (&json!(1800), &json!(0))
    );
}

/// The same report within a time, as a table and as a picture.
fn other_forms(shop: &Shop) {
    // Within a time only.
    let tomorrow = (Utc::now() + TimeDelta::days(1)).format("%Y-%m-%d");
    let later = shop
        .get(Who::Reader, &format!("{PATH}?from={tomorrow}"))
        .expect(200);
    assert_eq!(later.json["total"]["counts"], 0);
    shop.get(Who::Reader, &format!("{PATH}?from=soon&until=x"))
        .refused_for(&["?from wrong_form", "?until unknown_member"]);
    let table = shop
        .send("GET", PATH, Who::Reader, &[("accept", "text/csv")], "")
        .expect(200);
    let table = String::from_utf8(table.body).expect("text");
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(rows.len(), 2);
    assert!(
        rows[1].ends_with(",1,4,2,0.5000,66,1,1,2,18.00,0.00,USD,0,1"),
        "{table}"
    );
    let chart = shop
        .get(Who::Reader, &format!("{PATH}/chart.svg"))
        .expect(200);
    assert_eq!(chart.header("content-type"), Some("image/svg+xml"));
    assert!(String::from_utf8_lossy(&chart.body).contains("50.0 % of 4 lines"));
    shop.send(
        "GET",
        &format!("{PATH}/chart.svg"),
        Who::Reader,
        &[("if-none-match", &*chart.etag())],
        "",
    )
    .expect(304);
}
