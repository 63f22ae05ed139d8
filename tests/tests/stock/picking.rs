//! Pick lists: what is kept for a job, in the order of the bins, on a screen and on paper.

use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug, unique, with};
use plugwell_tests::{Answer, Shop, Who, shared};
use serde_json::{Value, json};

use crate::counter::{Shelf, word};
use crate::fitted::engine;

fn asked(shop: &Shop, job: &str, more: &str) -> Answer {
    shop.get(Who::Reader, &format!("/v1/pick-lists?job={job}{more}"))
}

fn list(shop: &Shop, job: &str, more: &str) -> Value {
    asked(shop, job, more).expect(200).json
}

fn lines(list: &Value) -> &[Value] {
    list["lines"].as_array().expect("a list")
}

/// The sheet for print.
fn printed(shop: &Shop, job: &str, more: &str) -> String {
    let path = format!("/v1/pick-lists?job={job}{more}");
    let html = shop.send("GET", &path, Who::Reader, &[("accept", "text/html")], "");
    let html = html.expect(200);
    assert_eq!(
        html.header("content-type"),
        Some("text/html; charset=utf-8")
    );
    assert_eq!(html.header("vary"), Some("accept"));
    String::from_utf8(html.body).expect("UTF-8")
}

/// Reserves a part for a job; the reservation's id.
fn keep(shop: &Shop, plug_id: &str, quantity: i64, job: &str, over: Value) -> Value {
    let body = with(
        json!({ "plug_id": plug_id, "quantity": quantity, "job": job }),
        over,
    );
    let kept = shop.once(Who::Tuner, "/v1/stock/reservations", &body);
    kept.expect(201).json["id"].clone()
}

#[test]
fn rows_stand_in_the_order_of_the_bins_with_the_gap_to_set() {
    for shop in shared() {
        let job = unique("Pick");
        let build_id = engine(shop);
        // Bins in the order that they were made; the part that is wanted first lies in the second.
        let bins = [0, 1].map(|_| bin(shop, &unique("Rack")));
        let stem = unique("PK");
        // Within a bin by part number.
        let parts = [0, 1].map(|n| stored_plug(shop, &plug(&format!("{stem}-{n}"))));
        for (part, place, quantity) in [(0, 1, 9), (1, 0, 4), (1, 1, 5)] {
            receive(shop, &parts[part], &bins[place], quantity);
        }
        let kept = [0, 1]
            .map(|part: usize| keep(shop, &parts[part], 9, &job, json!({ "build_id": build_id })));
        let found = list(shop, &job.to_lowercase(), "");
        assert_eq!(found["job"], *job, "as the job is called");
        let told: Vec<Value> = lines(&found)
            .iter()
            .map(|line| {
                json!([
                    line["place_id"],
                    line["plug_id"],
                    line["quantity"],
                    line["reservation_id"]
                ])
            })
            .collect();
        let want = [
            json!([bins[0], parts[1], 4, kept[1]]),
            json!([bins[1], parts[0], 9, kept[0]]),
            json!([bins[1], parts[1], 5, kept[1]]),
        ];
        assert_eq!(told, want);
        for line in lines(&found) {
            // What the build's own requirement says.
            assert_eq!(
                (&line["set_gap_mm"], &line["advice"]),
                (&json!(0.81), &json!("set"))
            );
            assert!(word(line, "lot_code").starts_with('L'));
            assert!(word(line, "place_code").starts_with('P'));
        }
        let part = &found["parts"][0];
        assert_eq!(part["fits"], true);
        assert_eq!((&part["picked"], &part["missing"]), (&json!(9), &json!(0)));
        let codes = found["cautions"].as_array().expect("a list");
        assert!(
            codes.iter().any(|c| c["code"] == "confirm_with_head_maker"),
            "{codes:?}"
        );
        // An issue on the reservation takes what the list says.
        let draw = json!({ "plug_id": parts[1], "quantity": 9, "reservation_id": kept[1], "gap_mm": 0.81 });
        let moved = shop.once(Who::Tuner, "/v1/stock/issues", &draw).expect(201);
        let moved: Vec<Value> = moved.json["movements"]
            .as_array()
            .expect("movements")
            .iter()
            .map(|m| json!([m["from_place_id"], m["plug_id"], m["quantity"]]))
            .collect();
        assert_eq!(
            moved,
            [json!([bins[0], parts[1], 4]), json!([bins[1], parts[1], 5])]
        );
        assert_eq!(
            lines(&list(shop, &job, "")).len(),
            1,
            "what went out is picked no more"
        );
    }
}

#[test]
fn a_sheet_has_a_row_for_each_pick() {
    for shop in shared() {
        let job = unique("Sheet");
        let shelf = Shelf::empty(shop);
        let more = bin(shop, "Rack <7> & \"8\"".replace('7', &unique("9")).as_str());
        receive(shop, &shelf.plug_id, &shelf.bin_id, 3);
        receive(shop, &shelf.plug_id, &more, 6);
        keep(
            shop,
            &shelf.plug_id,
            9,
            &job,
            json!({ "build_id": engine(shop) }),
        );
        let (found, html) = (list(shop, &job, ""), printed(shop, &job, ""));
        assert_eq!(lines(&found).len(), 2);
        assert_eq!(html.matches("<tr class=\"pick\">").count(), 2);
        for line in lines(&found) {
            for code in ["lot_code", "place_code"] {
                assert!(html.contains(&word(line, code)), "{code}");
            }
        }
        assert_eq!(html.matches("0.81 mm (32 thou)").count(), 2, "{html}");
        assert!(html.contains("9 plugs in 2 rows"));
        assert!(
            html.contains("&#38; &#34;8&#34;") && !html.contains("<9"),
            "names are escaped"
        );
        // Another form is asked for by name.
        let path = format!("/v1/pick-lists?job={job}");
        shop.send("GET", &path, Who::Reader, &[("accept", "image/png")], "")
            .problem(406, "not_acceptable");
    }
}

#[test]
fn without_a_build_no_gap_is_told() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 9);
        let job = unique("No build");
        keep(shop, &shelf.plug_id, 9, &job, json!({}));
        let found = list(shop, &job, "");
        let line = &lines(&found)[0];
        assert_eq!(
            (&line["set_gap_mm"], &line["advice"]),
            (&Value::Null, &json!("unknown"))
        );
        assert_eq!(found["parts"][0]["fits"], Value::Null);
        assert!(word(&found["parts"][0], "how").contains("without the build"));
        assert!(printed(shop, &job, "").contains("NOT KNOWN"));
        // Named with the question it is.
        let with_build = list(shop, &job, &format!("&build_id={}", engine(shop)));
        assert_eq!(lines(&with_build)[0]["set_gap_mm"], 0.81);
        assert_eq!(lines(&with_build).len(), 1, "no match beside what is kept");
    }
}

#[test]
fn a_part_that_does_not_fit_is_said() {
    for shop in shared() {
        let hot = stored_plug(
            shop,
            &with(plug(&unique("HOT")), json!({ "heat_index": 30 })),
        );
        receive(shop, &hot, &bin(shop, &unique("Hot")), 9);
        let job = unique("Hot");
        keep(shop, &hot, 9, &job, json!({ "build_id": engine(shop) }));
        let found = list(shop, &job, "");
        let part = &found["parts"][0];
        assert_eq!(part["fits"], false);
        let fails = part["fails"][0].as_str().expect("a sentence");
        assert!(fails.starts_with("heat index is 30"), "{fails}");
        assert!(printed(shop, &job, "").contains("Does not fit the build"));
    }
}

#[test]
fn what_is_short_has_its_equivalents_beside_it() {
    for shop in shared() {
        // A reach of its own, so that nothing of other tests is equal to it.
        let own = json!({ "reach_mm": 26.5 });
        let [short, equal, hotter] = ["SH", "EQ", "HO"].map(|stem| {
            let over = match stem {
                "HO" => json!({ "reach_mm": 26.5, "heat_index": 60 }),
                _ => own.clone(),
            };
            stored_plug(shop, &with(plug(&unique(stem)), over))
        });
        let place = bin(shop, &unique("Short"));
        for (part, quantity) in [(&short, 9), (&equal, 24), (&hotter, 24)] {
            receive(shop, part, &place, quantity);
        }
        let job = unique("Short");
        keep(shop, &short, 9, &job, json!({}));
        let scrap =
            json!({ "plug_id": short, "place_id": place, "quantity": 4, "reason": "dropped" });
        shop.once(Who::Clerk, "/v1/stock/scrappings", &scrap)
            .expect(201);
        let found = list(shop, &job, "");
        let part = &found["parts"][0];
        assert_eq!((&part["picked"], &part["missing"]), (&json!(5), &json!(4)));
        let equal_to = part["equivalents"].as_array().expect("a list");
        let ids: Vec<&Value> = equal_to.iter().map(|e| &e["plug_id"]).collect();
        assert!(ids.contains(&&json!(equal)), "{equal_to:?}");
        assert!(!ids.contains(&&json!(hotter)), "never hotter: {equal_to:?}");
        assert!(!ids.contains(&&json!(short)), "nor itself");
        let html = printed(shop, &job, "");
        assert!(
            html.contains("4 of 9 are not there; equal to it and on the shelf: Ferrowick EQ"),
            "{html}"
        );
    }
}

#[test]
fn for_a_build_without_a_reservation_the_match_picks() {
    for shop in shared() {
        // A thread of its own: only this part fits.
        let own = json!({ "thread": "M10x1" });
        let part = stored_plug(shop, &with(plug(&unique("MT")), own.clone()));
        receive(shop, &part, &bin(shop, &unique("Match")), 12);
        let mut body = with(build(), json!({ "name": unique("Match") }));
        body["head"]["thread"] = json!("M10x1");
        let build_id = shop
            .post(Who::Tuner, "/v1/builds", &body)
            .expect(201)
            .text("id");
        let job = unique("Match");
        let found = list(shop, &job, &format!("&build_id={build_id}"));
        let line = &lines(&found)[0];
        assert_eq!(
            (&line["quantity"], &line["reservation_id"]),
            (&json!(9), &Value::Null)
        );
        assert_eq!(found["parts"][0]["quantity"], 9, "eight and a spare");
        // What nobody keeps and nobody names is no job.
        asked(shop, &job, "").refused_for(&["?job not_found"]);
        asked(shop, "", "").refused_for(&["?job missing"]);
        asked(shop, &job, &format!("&build_id={}", uuid::Uuid::now_v7()))
            .refused_for(&["?build_id not_found"]);
    }
}

#[test]
fn two_reservations_of_one_part_take_no_plug_twice() {
    for shop in shared() {
        let shelf = Shelf::with(shop, 10);
        let job = unique("Twice");
        for quantity in [6, 4] {
            keep(shop, &shelf.plug_id, quantity, &job, json!({}));
        }
        let found = list(shop, &job, "");
        let taken: Vec<&Value> = lines(&found).iter().map(|line| &line["quantity"]).collect();
        assert_eq!(taken, [6, 4]);
        assert!(
            found["parts"]
                .as_array()
                .expect("parts")
                .iter()
                .all(|p| p["missing"] == 0)
        );
        // Scrapped down to seven: an issue on the first leaves what the second keeps.
        shelf.scrap(3);
        let found = list(shop, &job, "");
        let taken: Vec<&Value> = lines(&found).iter().map(|line| &line["quantity"]).collect();
        assert_eq!(taken, [3, 4]);
        let missing: Vec<&Value> = found["parts"]
            .as_array()
            .expect("parts")
            .iter()
            .map(|p| &p["missing"])
            .collect();
        assert_eq!(missing, [3, 0]);
    }
}
