//! Value and scrap as a bookkeeper reads them: one small story, worked out by hand to the cent.

use plugwell_tests::bodies::{bin, place, plug, stored_plug, with};
use plugwell_tests::{Shop, Who, engines, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, word};

/// A year of a small shop: its shelf, and the instant at which the second lot had come.
struct Story<'s> {
    shelf: Shelf<'s>,
    second_receipt: String,
}

fn receive(shelf: &Shelf<'_>, quantity: i64, cost: Value) -> Value {
    let body = json!({
        "plug_id": shelf.plug_id, "supplier": "Quayside Parts", "place_id": shelf.bin_id,
        "quantity": quantity, "total_cost": cost
    });
    shelf.command("receipts", body).expect(201).json["movements"][0].clone()
}

fn usd(minor: i64) -> Value {
    json!({ "minor": minor, "currency": "USD" })
}

/// 10 plugs for 10.00 and 10 for 15.07: 12 go to a job (10 and 2), one of the two comes back, one of the
/// ten is dropped there; in the bin two are dropped and one cracked plug is scrapped by mistake; then 4
/// come without a cost, and 2 are set aside.
fn lived(shop: &Shop) -> Story<'_> {
    let numbered = stored_plug(shop, &with(plug("x"), json!({ "part_number": "=2+3" })));
    let shelf = Shelf {
        plug_id: numbered,
        bin_id: bin(shop, "Drawer 1"),
        ..Shelf::empty(shop)
    };
    receive(&shelf, 10, usd(1_000));
    let second = receive(&shelf, 10, usd(1_507));
    let body = json!({ "plug_id": shelf.plug_id, "quantity": 12, "job": "Heron" });
    let issued = shelf.command("issues", body).expect(201).json["movements"].clone();
    let quantities = [&issued[0]["quantity"], &issued[1]["quantity"]];
    assert_eq!(quantities, [&json!(10), &json!(2)]);
    let body = json!({
        "movement_id": issued[1]["id"], "quantity": 1, "place_id": shelf.bin_id, "condition": "sealed"
    });
    shelf.command("returns", body).expect(201);
    let dropped = json!({
        "movement_id": issued[0]["id"], "quantity": 1, "condition": "dropped", "dropped_by": " Odile "
    });
    shelf.command("returns", dropped).expect(201);
    let scrap = |quantity: i64, reason: &str| {
        let body = json!({
            "plug_id": shelf.plug_id, "place_id": shelf.bin_id, "quantity": quantity, "reason": reason
        });
        shelf.command("scrappings", body).expect(201).json["movements"][0].clone()
    };
    scrap(2, "dropped");
    let mistaken = scrap(1, "cracked_insulator");
    let slip = json!({ "movement_id": mistaken["id"], "reason": "slip of the scanner" });
    shelf.command("reversals", slip).expect(201);
    receive(&shelf, 4, Value::Null);
    let hold = place(shop, "quarantine", "Hold");
    let body = json!({
        "lot_id": second["lot_id"], "from_place_id": shelf.bin_id, "to_place_id": hold, "quantity": 2
    });
    shelf.command("transfers", body).expect(201);
    Story {
        shelf,
        second_receipt: word(&second, "created_at"),
    }
}

fn asked(shop: &Shop, path: &str) -> Value {
    shop.get(Who::Reader, path).expect(200).json
}

fn table(shop: &Shop, path: &str) -> String {
    let answer = shop.send("GET", path, Who::Reader, &[("accept", "text/csv")], "");
    let answer = answer.expect(200);
    let form = answer.header("content-type").unwrap_or_default();
    assert!(form.starts_with("text/csv"), "{form}");
    assert!(answer.header("vary").unwrap_or_default().contains("accept"));
    String::from_utf8(answer.body).expect("UTF-8")
}

/// Plugs, minor units, plugs without a cost.
fn figures(sum: &Value, money: &str) -> (i64, i64, i64) {
    let number = |value: &Value| value.as_i64().unwrap_or_else(|| panic!("{sum}"));
    assert_eq!(sum[money]["currency"], "USD");
    (
        number(&sum["quantity"]),
        number(&sum[money]["minor"]),
        number(&sum["quantity_without_cost"]),
    )
}

#[test]
fn the_stock_is_worth_what_a_bookkeeper_works_out() {
    for engine in engines() {
        let mut shop = Shop::start(engine);
        let story = lived(&shop);
        // FIFO: 12 went as 10.00 and the first two of 15.07 (7 shares of 1.51, 3 of 1.50), one came back
        // for 1.51, two were scrapped for 3.02: 25.07 − 13.02 + 1.51 − 3.02 = 10.54.
        // Moving average: 12.54 of 25.07 for ten of 20, 2.51 of 12.53 for two of 10; of those 2.51 one comes
        // back for 1.25; 2 of 9 for 2.50 of 11.27: 8.77. The mistake goes and comes back for 1.25.
        for (method, left) in [("fifo", 1_054), ("moving_average", 877)] {
            let value = asked(&shop, &format!("/v1/reports/value?method={method}"));
            assert_eq!(value["method"], method);
            assert_eq!(figures(&value["total"], "value"), (11, left, 4));
            let items = value["items"].as_array().expect("items");
            assert_eq!(items.len(), 1, "what lies nowhere is left out: {value}");
            assert_eq!(figures(&items[0], "value"), (11, left, 4));
            assert_eq!(items[0]["plug_id"], json!(story.shelf.plug_id));
            let text = word(&value, "text");
            assert!(text.contains("4 plugs are left out"), "{text}");
            over_a_period(&shop, method, left);
        }
        // As at any past moment, the movement of that very moment within.
        let path = format!("/v1/reports/value?as_of={}", story.second_receipt);
        let then = asked(&shop, &path);
        assert_eq!(figures(&then["total"], "value"), (20, 2_507, 0));
        assert_eq!(word(&then, "as_of"), story.second_receipt);
        assert_eq!(
            asked(&shop, "/v1/reports/value?as_of=2020-02-29")["items"],
            json!([])
        );
        let csv = table(&shop, "/v1/reports/value");
        let row = format!("{},Ferrowick,'=2+3,11,10.54,USD,4\r\n", story.shelf.plug_id);
        assert!(
            csv.starts_with("plug_id,maker,") && csv.ends_with(&row),
            "{csv}"
        );
        assert_eq!(csv.lines().count(), 2);
        scrap_is_told(&shop, &story);
        what_was_taken_back_without_a_cost(&shop, &story);
        shop.stop();
        let audit = shop.run("audit", &[]);
        assert!(audit.status.success(), "{audit:?}");
    }
}

/// A receipt of which nobody said the cost, taken back: so many plugs without a cost fewer.
fn what_was_taken_back_without_a_cost(shop: &Shop, story: &Story<'_>) {
    let since = word(&receive(&story.shelf, 3, Value::Null), "created_at");
    let last = receive(&story.shelf, 2, Value::Null);
    let body = json!({ "movement_id": last["id"], "reason": "received twice" });
    story.shelf.command("reversals", body).expect(201);
    let period = asked(shop, &format!("/v1/reports/value?from={since}"));
    let flows = |column: &str| figures(&period["total"][column], "value");
    assert_eq!(flows("receipts"), (5, 0, 5));
    assert_eq!(flows("reversals"), (-2, 0, -2));
}

/// Every column of the period, and that it closes.
fn over_a_period(shop: &Shop, method: &str, left: i64) {
    let whole = asked(
        shop,
        &format!("/v1/reports/value?from=2020-01-01&method={method}"),
    );
    let total = &whole["total"];
    let of = |column: &str| figures(&total[column], "value");
    let [issued, back, thrown, mistake] = match method {
        "fifo" => [1_302, 151, 302, 151],
        _ => [1_505, 125, 250, 125],
    };
    for (column, wanted) in [
        ("opening", (0, 0, 0)),
        ("receipts", (24, 2_507, 4)),
        ("issues", (12, issued, 0)),
        ("returns", (1, back, 0)),
        ("scrapped", (3, thrown + mistake, 0)),
        ("differences", (0, 0, 0)),
        ("reversals", (1, mistake, 0)),
        ("closing", (11, left, 4)),
    ] {
        assert_eq!(of(column), wanted, "{column} by {method}");
    }
    assert_eq!(2_507 - issued + back - thrown - mistake + mistake, left);
    assert_eq!(whole["items"][0]["closing"], total["closing"]);
    let csv = table(shop, "/v1/reports/value?from=2020-01-01&method=fifo");
    let row = "USD,0,0.00,24,25.07,12,13.02,1,1.51,3,4.53,0,0.00,1,1.51,11,10.54,4\r\n";
    assert!(csv.ends_with(row), "{csv}");
    on_paper(shop);
    // Before anything came nothing happened.
    let before = asked(shop, "/v1/reports/value?to=2020-01-01");
    assert_eq!(
        (&before["items"], &before["total"]["closing"]["quantity"]),
        (&json!([]), &json!(0))
    );
}

/// On paper each flow is one column, value above plugs, and the method and the time are said.
fn on_paper(shop: &Shop) {
    let average = page(
        shop,
        "/v1/reports/value?from=2020-01-01&method=moving_average",
    );
    for part in [
        "From 1 Jan 2020 to now, UTC. Valued by the moving average.",
        "<td class=\"number\">25.07\n24</td>",
        "<tfoot><tr><td class=\"\">All</td>",
    ] {
        assert!(average.contains(part), "{part} in {average}");
    }
    let whole = "From 1 Jan 2020 to 31 Dec 2099, UTC. Valued by FIFO. There are data up to ";
    let fifo = page(shop, "/v1/reports/value?from=2020-01-01&to=2099-12-31");
    assert!(fifo.contains(whole), "{fifo}");
}

fn scrap_is_told(shop: &Shop, story: &Story<'_>) {
    let report = asked(shop, "/v1/reports/scrap");
    assert_eq!(
        report["drops"]["text"],
        "Drops cost 4.02 USD in this time: 3 plugs, 100 % of the cost of all scrap."
    );
    assert_eq!(figures(&report["drops"], "cost"), (3, 402, 0));
    assert_eq!(figures(&report["total"], "cost"), (3, 402, 0));
    let reversals = report["reversals"].as_array().expect("reversals");
    assert_eq!(reversals.len(), 1);
    assert_eq!(figures(&reversals[0], "cost"), (1, 151, 0));
    assert_eq!(reversals[0]["why"], "slip of the scanner");
    assert!(!word(&reversals[0], "who").is_empty());
    assert_eq!(reversals[0]["reason"], "cracked_insulator");
    let month = chrono::Utc::now().format("%Y-%m").to_string();
    let (part, drawer) = (story.shelf.plug_id.clone(), story.shelf.bin_id.clone());
    for (by, lines) in [
        (
            "reason",
            vec![
                (json!("dropped"), "dropped", 3, 402),
                (json!("cracked_insulator"), "cracked insulator", 0, 0),
            ],
        ),
        ("part", vec![(json!(part), "Ferrowick =2+3", 3, 402)]),
        (
            "bin",
            vec![
                (json!(drawer), "Drawer 1", 2, 302),
                (Value::Null, "jobs", 1, 100),
            ],
        ),
        (
            "person",
            vec![
                (Value::Null, "nobody named", 2, 302),
                (json!("Odile"), "Odile", 1, 100),
            ],
        ),
        ("month", vec![(json!(month), month.as_str(), 3, 402)]),
    ] {
        let report = asked(shop, &format!("/v1/reports/scrap?by={by}&from=2020-01-01"));
        let items = report["items"].as_array().expect("items");
        let told: Vec<_> = items
            .iter()
            .map(|line| {
                let (quantity, minor, _) = figures(line, "cost");
                (
                    line["key"].clone(),
                    line["label"].as_str().unwrap_or_default(),
                    quantity,
                    minor,
                )
            })
            .collect();
        assert_eq!(told, lines, "by {by}");
    }
    scrap_in_other_forms(shop, &reversals[0]);
    let none = asked(shop, "/v1/reports/scrap?to=2020-01-01");
    assert_eq!(none["drops"]["text"], "No plug was dropped in this time.");
    chart_is_drawn(shop);
}

/// As a table and on paper: the lines, what was put right, what it comes to, and of which time it is.
fn scrap_in_other_forms(shop: &Shop, put_right: &Value) {
    let csv = table(shop, "/v1/reports/scrap?by=person&from=2020-01-01");
    let since = "2020-01-01T00:00:00.000000Z,";
    let (id, at, who) = (
        word(put_right, "movement_id"),
        word(put_right, "at"),
        word(put_right, "who"),
    );
    let wanted = [
        "by,key,label,quantity,cost,currency,quantity_without_cost,from,to,at,who,why".to_owned(),
        format!("person,,nobody named,2,3.02,USD,0,{since},,,"),
        format!("person,Odile,Odile,1,1.00,USD,0,{since},,,"),
        format!(
            "reversal,{id},\"Ferrowick =2+3, cracked insulator\",1,1.51,USD,0,{since},{at},{who},slip of the scanner"
        ),
        format!("total,,total,3,4.02,USD,0,{since},,,"),
    ];
    assert_eq!(csv.lines().collect::<Vec<_>>(), wanted);
    let path = "/v1/reports/scrap?by=person&from=2020-01-01&to=2099-12-31";
    let paper = page(shop, path);
    for part in [
        "From 1 Jan 2020 to 31 Dec 2099, UTC.",
        "All sums are in USD.",
        "<tfoot><tr><td class=\"\">All</td><td class=\"number\">3</td><td class=\"number\">4.02</td></tr></tfoot>",
        "<h2>Put right in this time</h2>",
        ">slip of the scanner<",
    ] {
        assert!(paper.contains(part), "{part} in {paper}");
    }
}

fn page(shop: &Shop, path: &str) -> String {
    let answer = shop.send("GET", path, Who::Reader, &[("accept", "text/html")], "");
    String::from_utf8(answer.expect(200).body).expect("UTF-8")
}

fn chart_is_drawn(shop: &Shop) {
    let answer = shop
        .get(Who::Reader, "/v1/reports/scrap/chart.svg?by=person")
        .expect(200);
    assert_eq!(answer.header("content-type"), Some("image/svg+xml"));
    let text = String::from_utf8(answer.body.clone()).expect("UTF-8");
    let picture = roxmltree::Document::parse(&text).expect("SVG");
    let bars = picture
        .descendants()
        .filter(|n| n.attribute("data-label").is_some());
    let width =
        |n: roxmltree::Node<'_, '_>| n.attribute("width").and_then(|w| w.parse::<f64>().ok());
    let widths: Vec<f64> = bars.filter_map(width).collect();
    // 3.02 beside 1.00.
    assert!((widths[0] / widths[1] - 3.02).abs() < 0.01, "{widths:?}");
    for said in [
        "3.02 USD · 2 plugs",
        "1.00 USD · 1 plug",
        "Drops cost 4.02 USD",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let known = [("if-none-match", &*answer.etag())];
    shop.send(
        "GET",
        "/v1/reports/scrap/chart.svg?by=person",
        Who::Reader,
        &known,
        "",
    )
    .expect(304);
}

#[test]
fn reports_refuse_what_they_cannot_read() {
    for shop in shared() {
        let bad = |path: &str| shop.get(Who::Reader, path);
        bad("/v1/reports/value?as_of=soon&from=2026-01-01&method=lifo&colour=red").refused_for(&[
            "?as_of not_together",
            "?as_of wrong_form",
            "?colour unknown_member",
            "?method not_in_list",
        ]);
        bad("/v1/reports/value?from=2026-02-01&to=2026-01-31").refused_for(&["?to out_of_range"]);
        bad("/v1/reports/scrap?by=colour&to=2026-02-30")
            .refused_for(&["?by not_in_list", "?to wrong_form"]);
        bad("/v1/reports/scrap/chart.svg?as_of=2026-01-01").refused_for(&["?as_of unknown_member"]);
        for path in ["/v1/reports/value", "/v1/reports/scrap"] {
            let picture = [("accept", "image/png")];
            shop.send("GET", path, Who::Reader, &picture, "")
                .problem(406, "not_acceptable");
        }
    }
}
