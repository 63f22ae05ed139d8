//! The whole life of a lot.

use plugwell_tests::{Who, engines};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::story::Story;

#[test]
fn a_life_runs_from_the_supplier_to_engine_and_scrap() {
    for engine in engines() {
        let story = Story::on(engine);
        let path = format!("/v1/stock/lots/{}/life", story.lot_id);
        let life = story.get(&path);
        let steps = life["steps"].as_array().expect("steps");
        // All but the second delivery; the gapped plug is a lot of its own in the same family.
        assert_eq!(steps.len(), 10, "on {engine}");
        assert_eq!(life["family"].as_array().map(Vec::len), Some(2));
        let child = life["family"][1]["id"].as_str().expect("a lot");
        let of_child = story.get(&format!("/v1/stock/lots/{child}/life"));
        assert_eq!(of_child["steps"], life["steps"], "followed both ways");
        assert_eq!(of_child["lot"]["id"], child);
        balances(steps);
        assert_eq!(
            life["balance"],
            json!({ "sum": 0, "agrees_with_levels": true })
        );
        // 9 went to the job for good, 1 fell: 10.01 in shares, the dearest first.
        let usd = |minor: i64| json!({ "minor": minor, "currency": "USD" });
        assert_eq!(
            life["now"],
            json!([
                { "kind": "job", "quantity": 9, "cost": usd(901) },
                { "kind": "scrap", "quantity": 1, "cost": usd(100) }
            ])
        );
        engines_of(&story, steps);
        forms(&story, &path);
        assert_eq!(life["orders"], json!([]), "nobody ordered it");
        ordered(&story);
        let path = format!("/v1/stock/lots/{}/life", Uuid::now_v7());
        let missing = story.form(&path, "image/png");
        missing.problem(404, "not_found");
        let bad = story.shop.get(Who::Reader, "/v1/stock/lots/7/life");
        bad.problem(400, "invalid");
    }
}

/// What bin and job have of the first lot, and the child, after every step: by hand.
fn balances(steps: &[Value]) {
    let told: Vec<(i64, i64)> = steps
        .iter()
        .map(|s| {
            let of = |end: &str| s[end]["balance"].as_i64().expect("a balance");
            (of("from"), of("to"))
        })
        .collect();
    let wanted = [
        (-10, 10),
        (4, 6),
        (4, 6),
        // Over the difference account into the lot of gapped plugs.
        (3, 1),
        (-1, 1),
        (5, 1),
        (3, 2),
        (0, 5),
    ];
    assert_eq!(told[..8], wanted, "{steps:#?}");
    // The rest of both lots goes out in one act, in whatever order.
    let last: Vec<i64> = told[8..].iter().map(|(from, _)| *from).collect();
    assert_eq!(last, [0, 0]);
}

/// The three that stayed of the first six ran until the next set went into the same engine: 2500 km.
fn engines_of(story: &Story, steps: &[Value]) {
    let first = &steps[1]["engine"];
    assert_eq!(first["build_id"], story.build_id);
    assert_eq!(first["build_name"], "Heron, blown");
    assert_eq!(first["odometer_km"], 41_200);
    assert_eq!(first["distance_km"], 2_500);
    assert_eq!(first["readings"], json!([]));
    for step in &steps[8..] {
        let last = &step["engine"];
        assert_eq!(last["odometer_km"], 43_700);
        assert_eq!(
            (&last["changed_at"], &last["distance_km"]),
            (&Value::Null, &Value::Null)
        );
    }
    let text = steps[1]["text"].as_str().expect("words");
    assert_eq!(
        text,
        "6 of lot L1 from bin Drawer 1 to job Heron, for Heron, blown at 41200 km, changed after 2500 km"
    );
    assert!(steps.iter().filter(|s| s["engine"].is_null()).count() == 7);
    // A plug that comes back gapped is another lot from then on: nothing of it is a difference.
    let told = [&steps[3]["text"], &steps[4]["text"]].map(|text| text.as_str().expect("words"));
    assert_eq!(
        told,
        [
            "1 of lot L1 from job Heron became lot L2, set to 0.71 mm",
            "1 of lot L2, before of lot L1, to bin Drawer 1, set to 0.71 mm"
        ]
    );
}

/// A lot that was ordered says with which line of which order, and for when it was expected.
fn ordered(story: &Story) {
    let asked = json!({
        "supplier": "Quayside Parts", "expected_on": "2030-06-01",
        "lines": [{ "plug_id": story.plug_id, "quantity": 8 }]
    });
    let shop = &story.shop;
    let order = shop.post(Who::Clerk, "/v1/orders", &asked).expect(201);
    let path = format!("/v1/orders/{}", order.text("id"));
    let sent = json!({ "state": "sent" });
    shop.patch(Who::Clerk, &path, &sent).expect(200);
    let line_id = &order.json["lines"][0]["id"];
    let place = story.get("/v1/stock/places?kind=bin")["items"][0]["id"].clone();
    let came = json!({
        "plug_id": story.plug_id, "supplier": "Quayside Parts", "place_id": place, "quantity": 8,
        "order_line_id": line_id
    });
    let came = shop
        .once(Who::Clerk, "/v1/stock/receipts", &came)
        .expect(201);
    let lot_id = came.json["movements"][0]["lot_id"].as_str().expect("a lot");
    let path = format!("/v1/stock/lots/{lot_id}/life");
    let life = story.get(&path);
    let code = life["lot"]["code"].as_str().expect("a code");
    assert_eq!(
        life["orders"],
        json!([{
            "lot_id": lot_id, "lot_code": code, "order_id": order.json["id"],
            "order_code": order.json["code"], "line": 1, "order_line_id": line_id,
            "quantity": 8, "expected_on": "2030-06-01"
        }])
    );
    let page = story.form(&path, "text/html").expect(200);
    let page = String::from_utf8(page.body).expect("text");
    let said = format!(
        "Lot {code} was ordered with line 1 of order {}: 8 plugs, expected on 1 Jun 2030.",
        order.text("code")
    );
    assert!(page.contains(&said), "{page}");
}

fn forms(story: &Story, path: &str) {
    let table = story.form(path, "text/csv").expect(200);
    let text = String::from_utf8(table.body).expect("text");
    assert_eq!(text.lines().count(), 11, "{text}");
    let page = story.form(path, "text/html").expect(200);
    assert!(
        page.header("content-security-policy")
            .is_some_and(|p| p.matches("sha256-").count() == 2)
    );
    let page = String::from_utf8(page.body).expect("text");
    for part in [
        "10 plugs came as lot L1 from Quayside Parts",
        "Of the whole family, now with jobs and in engines: 9 plugs for 9.01 USD.",
        "The books of this lot agree",
    ] {
        assert!(page.contains(part), "{part} in {page}");
    }
    let svg = story
        .shop
        .get(Who::Reader, &format!("{path}.svg"))
        .expect(200);
    assert_eq!(svg.header("content-type"), Some("image/svg+xml"));
    let svg = String::from_utf8(svg.body).expect("text");
    // The last issue took of two lots: one mark for both.
    assert_eq!(svg.matches("class=\"step\"").count(), 9);
    assert!(svg.contains(">6 in 2<"), "{svg}");
    let now: Vec<&str> = svg
        .split("data-now=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    // Bin, job and drum, as the lanes stand.
    assert_eq!(now, ["0", "9", "1"], "{svg}");
    assert!(page.contains("class=\"step\""));
}
