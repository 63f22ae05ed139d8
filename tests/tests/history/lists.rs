//! Lists of movements: any filters together, newest or oldest first, and the table of all of them.

use plugwell_tests::{Who, engines};
use serde_json::Value;

use crate::story::{Story, instant};

fn sequences(items: &[Value]) -> Vec<i64> {
    let numbers = items.iter().filter_map(|m| m["sequence"].as_i64());
    numbers.collect()
}

#[test]
fn filters_go_together_and_either_way_round() {
    for engine in engines() {
        let story = Story::on(engine);
        let list = |query: &str| {
            let path = format!("/v1/stock/movements?limit=2&{query}");
            sequences(&story.shop.all(Who::Reader, &path))
        };
        let all: Vec<i64> = (1..=11).collect();
        assert_eq!(list(""), all, "on {engine}");
        assert_eq!(
            list("order=newest"),
            all.iter().rev().copied().collect::<Vec<_>>()
        );
        let (plug, build) = (&story.plug_id, &story.build_id);
        assert_eq!(list(&format!("build_id={build}&order=newest")).len(), 3);
        assert_eq!(list("actor=test%20clerk"), all);
        assert_eq!(list("actor=nobody"), [0i64; 0]);
        let (from, to) = (instant(story.at[2]), instant(story.at[7]));
        assert_eq!(list(&format!("from={from}&to={to}")), [3, 4, 5, 6, 7]);
        assert_eq!(
            list(&format!("to={to}&kind=issue&plug_id={plug}&order=newest")),
            [7, 2]
        );
        assert_eq!(
            list(&format!("from={to}&job=NOBODY&actor=test%20clerk")),
            [8]
        );
        // A cursor goes with its order.
        let first = story.get("/v1/stock/movements?limit=2&order=newest");
        let cursor = first["next_cursor"].as_str().expect("a cursor");
        let other = format!("/v1/stock/movements?limit=2&cursor={cursor}");
        story
            .shop
            .get(Who::Reader, &other)
            .refused_for(&["?cursor wrong_form"]);
        let bad = "/v1/stock/movements?order=up&build_id=7&from=now";
        story.shop.get(Who::Reader, bad).refused_for(&[
            "?build_id wrong_form",
            "?from wrong_form",
            "?order not_in_list",
        ]);
    }
}

#[test]
fn the_table_has_all_that_the_filters_leave_with_names() {
    for engine in engines() {
        let story = Story::on(engine);
        let table = |query: &str| -> Vec<csv::StringRecord> {
            let answer = story.form(&format!("/v1/stock/movements?{query}"), "text/csv");
            let body = answer.expect(200).body;
            let mut reader = csv::Reader::from_reader(body.as_slice());
            let header = reader.headers().expect("a header").clone();
            assert_eq!(header.get(0), Some("sequence"));
            let rows: Result<Vec<_>, _> = reader.records().collect();
            rows.expect("rows as long as the header")
        };
        // Whatever the page: the limit says nothing here.
        assert_eq!(table("limit=2").len(), 11, "on {engine}");
        let newest = table("kind=receipt&order=newest");
        let told = |row: usize, place: usize| newest[row].get(place).expect("a cell").to_owned();
        assert_eq!((told(0, 0), told(1, 0)), ("11".into(), "1".into()));
        let names: Vec<String> = (2..11).map(|place| told(1, place)).collect();
        let wanted = [
            "receipt",
            "Ferrowick",
            "FW-3207",
            "L1",
            "supplier",
            "Quayside Parts",
            "bin",
            "Drawer 1",
            "10",
        ];
        assert_eq!(names, wanted);
        story
            .form("/v1/stock/movements", "text/html")
            .problem(406, "not_acceptable");
    }
}
