//! The proposal of the invented shop.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Datelike, NaiveDate, Utc};
use plugwell_tests::{Shop, Who};
use serde_json::{Value, json};

use crate::demos;
use crate::recomputed::{recompute, series};

fn all(shop: &Shop, query: &str) -> Vec<Value> {
    shop.all(Who::Reader, &format!("/v1/reorder?limit=200{query}"))
}

#[test]
fn every_line_can_be_recomputed_from_its_members() {
    for shop in demos() {
        let lines = all(shop, "&all=true");
        assert!(lines.len() > 20, "{}", lines.len());
        lines.iter().for_each(recompute);
        let methods: Vec<&str> = lines
            .iter()
            .map(|line| line["method"].as_str().expect("a method"))
            .collect();
        assert!(
            methods.contains(&"sba") || methods.contains(&"tsb"),
            "{methods:?}"
        );
        let due = all(shop, "");
        assert!(
            !due.is_empty()
                && due
                    .iter()
                    .all(|line| line["order_quantity"].as_i64() > Some(0))
        );
        let wanted: Vec<&Value> = lines
            .iter()
            .filter(|line| line["order_quantity"] != 0)
            .collect();
        assert_eq!(due.iter().collect::<Vec<_>>(), wanted);
    }
}

/// The Monday of a day.
fn monday(at: DateTime<Utc>) -> NaiveDate {
    let day = at.date_naive();
    day - chrono::Days::new(u64::from(day.weekday().num_days_from_monday()))
}

/// Demand of every part by week, recounted from the movements as they are listed.
fn recounted(shop: &Shop) -> HashMap<String, BTreeMap<NaiveDate, i64>> {
    let places = shop.all(Who::Reader, "/v1/stock/places?limit=200");
    let kinds: HashMap<&str, &str> = places
        .iter()
        .map(|place| {
            (
                place["id"].as_str().unwrap(),
                place["kind"].as_str().unwrap(),
            )
        })
        .collect();
    let movements = shop.all(Who::Reader, "/v1/stock/movements?limit=200");
    let by_id: HashMap<&str, &Value> = movements
        .iter()
        .map(|m| (m["id"].as_str().unwrap(), m))
        .collect();
    let put_right: Vec<&str> = movements
        .iter()
        .filter_map(|m| m["reverses"].as_str())
        .collect();
    let mut weeks: HashMap<String, BTreeMap<NaiveDate, i64>> = HashMap::new();
    for movement in movements
        .iter()
        .filter(|m| !put_right.contains(&m["id"].as_str().unwrap()))
    {
        let from = kinds[movement["from_place_id"].as_str().unwrap()];
        let quantity = movement["quantity"].as_i64().unwrap();
        let (counts, of) = match (movement["kind"].as_str().unwrap(), from) {
            ("issue", _) | ("scrapping", "bin" | "quarantine") => (quantity, movement),
            ("return", "job") => (-quantity, by_id[movement["answers"].as_str().unwrap()]),
            _ => continue,
        };
        let at: DateTime<Utc> = of["created_at"].as_str().unwrap().parse().unwrap();
        let own = weeks
            .entry(of["plug_id"].as_str().unwrap().to_owned())
            .or_default();
        *own.entry(monday(at)).or_default() += counts;
    }
    weeks
}

#[test]
fn demand_is_what_the_movements_say() {
    for shop in demos() {
        let weeks = recounted(shop);
        let this_week = monday(Utc::now());
        let mut sold = 0;
        for line in all(shop, "&all=true") {
            if line["method"] == "given" {
                continue;
            }
            assert_eq!(line["demand"]["period"], "week");
            let from: NaiveDate = line["demand"]["from"].as_str().unwrap().parse().unwrap();
            let own = weeks.get(line["plug_id"].as_str().unwrap());
            let told = series(&line);
            let end = from + chrono::Days::new(7 * told.len() as u64);
            assert_eq!(
                end, this_week,
                "the last entry is the last week that is over: {line}"
            );
            let expected: Vec<f64> = (0..told.len() as u64)
                .map(|n| from + chrono::Days::new(7 * n))
                .map(|week| own.and_then(|own| own.get(&week)).copied().unwrap_or(0) as f64)
                .collect();
            assert_eq!(told, expected, "{line}");
            sold += told.iter().filter(|n| **n > 0.0).count();
        }
        assert!(sold > 50, "weeks with demand: {sold}");
    }
}

#[test]
fn lines_stand_by_supplier_and_page_by_page() {
    for shop in demos() {
        let first = shop
            .get(Who::Reader, "/v1/reorder?limit=3&all=true")
            .expect(200);
        assert_eq!(first.items().len(), 3);
        assert!(
            first
                .header("link")
                .is_some_and(|link| link.contains("rel=\"next\""))
        );
        let paged = shop.all(Who::Reader, "/v1/reorder?limit=3&all=true");
        let whole = all(shop, "&all=true");
        let parts = |lines: &[Value]| {
            lines
                .iter()
                .map(|line| line["plug_id"].clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(parts(&paged), parts(&whole));
        let order: Vec<(String, String, String)> = whole
            .iter()
            .map(|line| {
                let word = |name: &str| line[name].as_str().unwrap_or("\u{7f}").to_lowercase();
                (word("supplier"), word("maker"), word("part_number"))
            })
            .collect();
        assert!(order.is_sorted(), "{order:?}");
        // What the suppliers' lines come to, whatever page is shown.
        let sums = first.json["suppliers"].as_array().expect("suppliers");
        assert!(sums.len() > 1);
        for sum in sums {
            let own: Vec<&Value> = whole
                .iter()
                .filter(|line| line["supplier"] == sum["supplier"])
                .collect();
            let total = |path: &str| {
                own.iter()
                    .map(|line| line.pointer(path).unwrap().as_i64().unwrap())
                    .sum::<i64>()
            };
            assert_eq!(sum["lines"], own.len());
            assert_eq!(
                (&sum["quantity"], &sum["cost"]["minor"]),
                (
                    &json!(total("/order_quantity")),
                    &json!(total("/cost/minor"))
                )
            );
        }
        let name = sums[0]["supplier"].as_str().expect("a name");
        let asked = name.to_uppercase().replace(' ', "%20").replace('&', "%26");
        let only = all(shop, &format!("&all=true&supplier={asked}"));
        assert!(!only.is_empty() && only.iter().all(|line| line["supplier"] == name));
        let nobody = all(shop, "&supplier=Nobody%20At%20All");
        assert_eq!(nobody, Vec::<Value>::new());
        shop.get(Who::Reader, "/v1/reorder?all=perhaps&plug_id=7&odd=1")
            .refused_for(&[
                "?all wrong_form",
                "?odd unknown_member",
                "?plug_id wrong_form",
            ]);
        let nowhere = format!("/v1/reorder?plug_id={}", uuid::Uuid::nil());
        shop.get(Who::Reader, &nowhere).problem(404, "not_found");
    }
}

#[test]
fn one_part_alone_has_the_same_line() {
    for shop in demos() {
        for line in all(shop, "&all=true").iter().step_by(7) {
            let id = line["plug_id"].as_str().unwrap();
            let alone = shop
                .get(Who::Reader, &format!("/v1/reorder?plug_id={id}"))
                .expect(200);
            assert_eq!(alone.items(), std::slice::from_ref(line));
        }
    }
}

#[test]
fn the_same_lines_stand_in_a_table() {
    for shop in demos() {
        let lines = all(shop, "");
        let headers = [("accept", "text/csv")];
        let table = shop
            .send("GET", "/v1/reorder?limit=1", Who::Reader, &headers, "")
            .expect(200);
        assert!(
            table
                .header("content-type")
                .is_some_and(|media| media.starts_with("text/csv"))
        );
        assert_eq!(table.header("vary"), Some("accept"));
        let text = String::from_utf8(table.body.clone()).expect("text");
        let rows: Vec<&str> = text.split("\r\n").filter(|row| !row.is_empty()).collect();
        assert_eq!(rows.len(), lines.len() + 1, "all lines, whatever the limit");
        assert!(rows[0].starts_with(
            "supplier,maker,part_number,order_quantity,packs,pack_size,cost_minor,currency"
        ));
        for (row, line) in rows[1..].iter().zip(&lines) {
            assert!(row.contains(line["plug_id"].as_str().unwrap()), "{row}");
            assert!(
                row.contains(&format!(",{},", line["order_quantity"])),
                "{row}"
            );
        }
    }
}

#[test]
fn a_line_is_drawn_to_scale() {
    for shop in demos() {
        let lines = all(shop, "&all=true");
        let line = lines
            .iter()
            .find(|line| series(line).iter().filter(|n| **n > 0.0).count() > 3)
            .expect("one that sells");
        let id = line["plug_id"].as_str().unwrap();
        let answer = shop
            .get(Who::Reader, &format!("/v1/reorder/{id}/chart.svg"))
            .expect(200);
        assert_eq!(answer.header("content-type"), Some("image/svg+xml"));
        let text = String::from_utf8(answer.body.clone()).expect("text");
        let drawn = roxmltree::Document::parse(&text).expect("XML");
        let of = |name: &str| {
            drawn
                .descendants()
                .filter(|n| n.attribute(name).is_some())
                .collect::<Vec<_>>()
        };
        let bars = of("data-demand");
        let sold: Vec<f64> = series(line).into_iter().filter(|n| *n > 0.0).collect();
        assert_eq!(bars.len(), sold.len());
        let measure = |node: &roxmltree::Node, name: &str| {
            node.attribute(name).unwrap().parse::<f64>().unwrap()
        };
        let most = sold.iter().copied().fold(0.0, f64::max);
        let highest = bars
            .iter()
            .map(|bar| measure(bar, "height"))
            .fold(0.0, f64::max);
        for (bar, sold) in bars.iter().zip(sold) {
            assert!((measure(bar, "height") - highest * sold / most).abs() < 0.05);
        }
        let point = of("data-reorder-point");
        assert_eq!(
            measure(&point[0], "data-reorder-point"),
            line["reorder_point"].as_f64().unwrap()
        );
        let described = drawn
            .descendants()
            .find(|n| n.attribute("id") == Some("desc"))
            .expect("words");
        assert_eq!(described.text(), line["text"].as_str());
    }
}
