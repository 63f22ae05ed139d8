//! What to order on paper: few columns, the arithmetic below each line, what each supplier gets.

use plugwell_tests::{Shop, Who};
use serde_json::Value;

use crate::demos;

fn form(shop: &Shop, accept: &str) -> String {
    let answer = shop.send("GET", "/v1/reorder", Who::Reader, &[("accept", accept)], "");
    String::from_utf8(answer.expect(200).body).expect("UTF-8")
}

fn words<'a>(value: &'a Value, member: &str) -> &'a str {
    value[member].as_str().expect("words")
}

/// As it stands between the marks of a page.
fn escaped(text: &str) -> String {
    text.replace('&', "&#38;").replace('\'', "&#39;")
}

#[test]
fn the_page_has_what_a_buyer_reads_and_the_file_has_all() {
    for shop in demos() {
        let answer = shop.get(Who::Reader, "/v1/reorder?limit=200").expect(200);
        let page = form(shop, "text/html");
        let head = page.split("<thead>").nth(1).expect("a table");
        let head = head.split("</thead>").next().expect("a head");
        let columns: Vec<&str> = head
            .split("</th>")
            .filter_map(|th| th.split('>').next_back())
            .collect();
        assert_eq!(
            columns[..7],
            [
                "Part",
                "On hand",
                "Reserved",
                "On order",
                "Reorder point",
                "Order quantity",
                "Cost"
            ]
        );
        assert!(page.contains("All sums are in USD."), "{page}");
        for sum in answer.json["suppliers"].as_array().expect("suppliers") {
            let above = format!("<th colspan=\"7\">{}</th>", escaped(words(sum, "text")));
            assert_eq!(page.matches(&above).count(), 1, "{above}");
        }
        let lines = answer.items();
        assert!(lines.len() > 5);
        for line in lines {
            let part = format!(
                "<td class=\"\">{} {}</td>",
                words(line, "maker"),
                words(line, "part_number")
            );
            assert!(page.contains(&part), "{part}");
            assert!(
                page.contains(&format!("<p>{}</p>", escaped(words(line, "text")))),
                "{line}"
            );
            for note in line["notes"].as_array().expect("notes") {
                let note = format!("<p>{}</p>", escaped(words(note, "text")));
                assert!(page.contains(&note), "{note}");
            }
        }
        let sum = |of: &dyn Fn(&Value) -> Option<i64>| lines.iter().filter_map(of).sum::<i64>();
        let plugs = sum(&|line| line["order_quantity"].as_i64());
        let minor = sum(&|line| line["cost"]["minor"].as_i64());
        let total = format!(
            "<td class=\"number\">{plugs}</td><td class=\"number\">{}.{:02}</td></tr></tfoot>",
            minor / 100,
            minor % 100
        );
        assert!(page.contains(&total), "{total}");
        left_out_is_told(&answer.json, &page);
        let csv = form(shop, "text/csv");
        assert!(csv.starts_with(
            "supplier,maker,part_number,order_quantity,packs,pack_size,cost_minor,currency,"
        ));
        assert!(csv.contains(",class,method,forecast_per_period,demand_sd,"));
    }
}

/// Each part that is left out stands above the lines, with why.
fn left_out_is_told(answer: &Value, page: &str) {
    let left_out = answer["left_out"].as_array().expect("parts");
    assert!(!left_out.is_empty());
    for part in left_out {
        let name = format!("{} {}", words(part, "maker"), words(part, "part_number"));
        let note = page
            .lines()
            .find(|line| line.starts_with("<p>Left out: ") && line.contains(&name));
        let told = note.is_some_and(|note| note.contains(&escaped(words(part, "text"))));
        assert!(told, "{part}");
    }
}
