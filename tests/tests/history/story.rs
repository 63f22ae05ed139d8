//! A shop of its own with a story short enough to be worked out by hand.

use plugwell_client::{
    Issue, Length, Money, Receipt, Return, Returned, Reversal, ScrapReason, Scrapping,
};
use plugwell_tests::bodies::{bin, build, plug, stored_plug, with};
use plugwell_tests::{Answer, Engine, Shop, Who, engines, wait};
use serde_json::{Value, json};
use uuid::Uuid;

/// A shop with an engine of three plugs in which this has happened to one part, one after the other: 10 received for 10.01, 6 issued
/// to a job at 41 200 km, 2 of them back sealed, 1 back set to a gap, 1 dropped out of the bin, 2
/// issued by mistake and put right, the rest of the bin issued, 4 received for 6.00.
pub struct Story {
    pub shop: Shop,
    pub plug_id: String,
    pub build_id: String,
    pub lot_id: String,
    /// Instants of the movements in microseconds, in their order.
    pub at: Vec<i64>,
}

pub fn micros(instant: &Value) -> i64 {
    let text = instant.as_str().expect("an instant");
    chrono::DateTime::parse_from_rfc3339(text)
        .expect("RFC 3339")
        .timestamp_micros()
}

/// An instant as it is written.
pub fn instant(micros: i64) -> String {
    let at = chrono::DateTime::from_timestamp_micros(micros).expect("an instant");
    at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string()
}

impl Story {
    pub fn on(engine: Engine) -> Self {
        let shop = Shop::start(engine);
        let plug_id = stored_plug(&shop, &plug("FW-3207"));
        let drawer = bin(&shop, "Drawer 1");
        let body = with(build(), json!({ "name": "Heron, blown", "cylinders": 3 }));
        let build_id = shop
            .post(Who::Tuner, "/v1/builds", &body)
            .expect(201)
            .text("id");
        let lot_id = told(&shop, &plug_id, &drawer, &build_id).to_string();
        let all = shop.all(Who::Reader, "/v1/stock/movements?limit=200");
        let at = all.iter().map(|m| micros(&m["created_at"])).collect();
        Self {
            shop,
            plug_id,
            build_id,
            lot_id,
            at,
        }
    }

    pub fn get(&self, path: &str) -> Value {
        self.shop.get(Who::Reader, path).expect(200).json
    }

    pub fn form(&self, path: &str, accept: &str) -> Answer {
        self.shop
            .send("GET", path, Who::Reader, &[("accept", accept)], "")
    }
}

/// Does what the story tells, as another shop program would; the lot that came in first.
fn told(shop: &Shop, plug_id: &str, drawer: &str, build_id: &str) -> Uuid {
    let client = shop.typed(Who::Clerk);
    let id = |text: &str| Uuid::parse_str(text).expect("an id");
    let (plug_id, drawer, build_id) = (id(plug_id), id(drawer), id(build_id));
    let gap = Length::exact(0.71).ok();
    let bought = |quantity: i64, minor: i64| {
        let currency = "USD".to_owned();
        let receipt = Receipt {
            total_cost: Some(Money { minor, currency }),
            ..Receipt::of(plug_id, "Quayside Parts", drawer, quantity)
        };
        wait(client.receive(&receipt)).expect("received")
    };
    let out = |quantity: i64, gap_mm: Option<Length>, odometer_km: i64| {
        let issue = Issue {
            build_id: Some(build_id),
            odometer_km: Some(odometer_km),
            gap_mm,
            ..Issue::of(plug_id, quantity, "Heron")
        };
        wait(client.issue(&issue)).expect("issued").movements
    };
    let lot_id = bought(10, 1_001).movements[0].lot_id;
    let issue = out(6, None, 41_200)[0].id;
    let back = |quantity: i64, condition: Returned, gap_mm: Option<Length>| {
        let back = Return {
            place_id: Some(drawer),
            gap_mm,
            ..Return::of(issue, quantity, condition)
        };
        wait(client.give_back(&back)).expect("back");
    };
    back(2, Returned::Sealed, None);
    back(1, Returned::Gapped, gap);
    let fell = Scrapping::from_place(lot_id, drawer, 1, ScrapReason::Dropped);
    wait(client.scrap(&fell)).expect("scrapped");
    let slip = wait(client.issue(&Issue::of(plug_id, 2, "Nobody"))).expect("issued");
    let right = Reversal {
        movement_id: slip.movements[0].id,
        reason: "wrong job".to_owned(),
    };
    wait(client.reverse(&right)).expect("put right");
    out(6, gap, 43_700);
    bought(4, 600);
    lot_id
}

#[test]
fn a_story_adds_up_by_hand() {
    for engine in engines() {
        let mut story = Story::on(engine);
        // Received; issued; back; back over two lots (2); fell; slip; put right; two lots (2); received.
        assert_eq!(story.at.len(), 11, "on {engine}");
        usage(&story);
        stock_outs(&story);
        turns(&story);
        forms(&story);
        beyond_now(&story);
        faults(&story);
        // Nothing of it is dead: it came a moment ago.
        let dead = story.get("/v1/reports/dead-stock");
        assert_eq!((&dead["items"], &dead["days"]), (&json!([]), &json!(180)));
        story.shop.stop();
        let said = story.shop.run("audit", &[]);
        assert!(said.status.success(), "{said:?}");
    }
}

fn usage(story: &Story) {
    // 6 + 6 issued (the slip of 2 was put right), 2 + 1 back, 1 fell.
    let sums = json!({ "issued": 12, "returned": 3, "scrapped": 1, "used": 10 });
    for by in ["month", "week", "part", "job"] {
        let report = story.get(&format!("/v1/reports/usage?by={by}"));
        assert_eq!(report["total"], sums, "by {by}");
        assert_eq!(report["by"], by);
        let items = report["items"].as_array().expect("lines");
        let used: i64 = items.iter().filter_map(|l| l["used"].as_i64()).sum();
        assert_eq!(used, 10, "by {by}: {items:?}");
    }
    let part = &story.get("/v1/reports/usage?by=part")["items"];
    assert_eq!(part[0]["key"], story.plug_id);
    assert_eq!(part[0]["label"], "Ferrowick FW-3207");
    let jobs = &story.get("/v1/reports/usage?by=job")["items"];
    let line = |key: Value, label: &str, [issued, returned, scrapped]: [i64; 3]| {
        json!({
            "key": key, "label": label, "issued": issued, "returned": returned, "scrapped": scrapped,
            "used": issued - returned + scrapped
        })
    };
    assert_eq!(
        jobs,
        &json!([
            line(json!("Heron"), "Heron", [12, 3, 0]),
            line(Value::Null, "no job", [0, 0, 1])
        ])
    );
    // Up to the slip and no further it counts: from the first movement, before the one that put it right.
    let to = instant(story.at[7]);
    let half = story.get(&format!("/v1/reports/usage?by=part&to={to}"));
    let sums = json!({ "issued": 8, "returned": 3, "scrapped": 1, "used": 6 });
    assert_eq!(half["total"], sums);
    let from = instant(story.at[7]);
    let rest = story.get(&format!("/v1/reports/usage?by=part&from={from}"));
    let sums = json!({ "issued": 4, "returned": 0, "scrapped": 0, "used": 4 });
    assert_eq!(rest["total"], sums);
}

fn stock_outs(story: &Story) {
    let report = story.get("/v1/reports/stock-outs");
    let items = report["items"].as_array().expect("lines");
    assert_eq!(items.len(), 1, "{report}");
    let (gone, came) = (story.at[9], story.at[10]);
    let out = &items[0];
    assert_eq!(out["plug_id"], story.plug_id);
    assert_eq!((micros(&out["since"]), micros(&out["until"])), (gone, came));
    assert_eq!(
        (&report["parts"], &report["still_out"]),
        (&json!(1), &json!(0))
    );
    // A period that ends before the next plugs came does not know of them.
    let to = instant(came);
    let open = story.get(&format!("/v1/reports/stock-outs?to={to}"));
    assert_eq!(open["items"][0]["until"], Value::Null);
    assert_eq!(open["still_out"], 1);
    let to = instant(gone);
    let before = story.get(&format!("/v1/reports/stock-outs?to={to}"));
    assert_eq!(before["items"], json!([]));
}

/// Value by FIFO: 10.01 over 10 plugs by largest remainder, the dearest first: 1.01, then 1.00 each.
fn turns(story: &Story) {
    let (from, to) = (story.at[0], story.at[10]);
    let path = format!(
        "/v1/reports/turns?from={}&to={}",
        instant(from),
        instant(to)
    );
    let report = story.get(&path);
    // Received; 6 out (1.01 + 5 × 1.00) and 3 of them back in two acts; 1 fell; 2 out and back; 6 out.
    let at = &story.at;
    let held = [
        (at[0], at[1], 1_001),
        (at[1], at[2], 400),
        (at[2], at[4], 600),
        (at[4], at[5], 700),
        (at[5], at[6], 600),
        (at[6], at[7], 400),
        (at[7], at[8], 600),
    ];
    let value_time: i128 = held
        .iter()
        .map(|(from, to, minor)| i128::from(to - from) * minor)
        .sum();
    let time = i128::from(to - from);
    let average = (2 * value_time + time).div_euclid(2 * time);
    let total = &report["total"];
    assert_eq!(
        total["average_value"]["minor"],
        json!(average as i64),
        "{report}"
    );
    // All ten plugs went out for good.
    assert_eq!(
        total["cost_out"],
        json!({ "minor": 1_001, "currency": "USD" })
    );
    let hundredths = (2 * 1_001 * time * 100 + value_time).div_euclid(2 * value_time);
    let told = total["turns"].as_f64().expect("turns");
    assert_eq!((told * 100.0).round() as i128, hundredths, "{report}");
    let part = story.get(&format!("{path}&by=part"));
    assert_eq!(part["items"][0]["key"], story.plug_id);
    assert_eq!(&part["total"], total);
    assert_eq!(part["items"][0]["average_value"], total["average_value"]);
}

fn forms(story: &Story) {
    for (report, header) in [
        ("usage", "key,label,issued,returned,scrapped,used"),
        ("stock-outs", "plug_id,maker,part_number,since,until,days"),
        (
            "turns",
            "key,label,cost_out,average_value,currency,turns,days_of_stock",
        ),
        (
            "dead-stock",
            "plug_id,maker,part_number,on_hand,last_issue_at",
        ),
        ("scrap", "by,key,label"),
        ("value", "plug_id,maker,part_number"),
    ] {
        let path = format!("/v1/reports/{report}");
        let table = story.form(&path, "text/csv").expect(200);
        assert_eq!(
            table.header("content-type"),
            Some("text/csv; charset=utf-8; header=present")
        );
        let text = String::from_utf8(table.body.clone()).expect("text");
        assert!(text.starts_with(header), "{report}: {text}");
        let page = story.form(&path, "text/html").expect(200);
        assert_eq!(
            page.header("content-type"),
            Some("text/html; charset=utf-8")
        );
        let text = String::from_utf8(page.body.clone()).expect("text");
        assert!(
            text.contains("<h1>") && !text.contains(&story.plug_id),
            "{report}: {text}"
        );
        assert_eq!(page.header("vary"), Some("accept"));
        story
            .form(&path, "image/png")
            .problem(406, "not_acceptable");
    }
    for report in ["usage", "turns", "scrap"] {
        let page = story
            .form(&format!("/v1/reports/{report}"), "text/html")
            .expect(200);
        let svg = story.get_text(&format!("/v1/reports/{report}/chart.svg"));
        let page = String::from_utf8(page.body).expect("text");
        assert!(svg.starts_with("<svg ") && svg.contains("<desc"), "{svg}");
        assert!(
            page.contains("<svg "),
            "{report} has its picture on the page"
        );
    }
}

/// What was asked for is kept, and it is said up to when there are data.
fn beyond_now(story: &Story) {
    let now = || chrono::Utc::now().timestamp_micros();
    for report in ["usage", "turns", "stock-outs"] {
        let before = now();
        let path = format!("/v1/reports/{report}?from=2020-01-01&to=2099-12-31");
        let made = story.get(&path);
        let asked = (&made["from"], &made["to"]);
        let wanted = ["2020-01-01T00:00:00.000000Z", "2100-01-01T00:00:00.000000Z"];
        assert_eq!(asked, (&json!(wanted[0]), &json!(wanted[1])), "{report}");
        assert!(
            (before..=now()).contains(&micros(&made["data_to"])),
            "{made}"
        );
        let page = story.form(&path, "text/html").expect(200);
        let page = String::from_utf8(page.body).expect("text");
        let said = "From 1 Jan 2020 to 31 Dec 2099, UTC. There are data up to ";
        assert!(page.contains(said), "{report}: {page}");
        let later = story.get(&format!(
            "/v1/reports/{report}?from=2099-01-01&to=2099-12-31"
        ));
        assert_eq!(later["from"], "2099-01-01T00:00:00.000000Z", "{report}");
        assert_eq!(later["items"], json!([]), "{report}");
        assert!(micros(&later["data_to"]) <= now(), "{later}");
    }
}

impl Story {
    fn get_text(&self, path: &str) -> String {
        let body = self.shop.get(Who::Reader, path).expect(200).body;
        String::from_utf8(body).expect("text")
    }
}

fn faults(story: &Story) {
    let refused = |path: &str, faults: &[&str]| {
        story.shop.get(Who::Reader, path).refused_for(faults);
    };
    refused(
        "/v1/reports/usage?by=colour&from=soon&limit=3",
        &[
            "?by not_in_list",
            "?from wrong_form",
            "?limit unknown_member",
        ],
    );
    refused(
        "/v1/reports/turns?by=job&to=2026-02-30",
        &["?by not_in_list", "?to wrong_form"],
    );
    refused("/v1/reports/dead-stock?days=0", &["?days out_of_range"]);
    refused(
        "/v1/reports/stock-outs?from=2026-02-01&to=2026-01-31",
        &["?to out_of_range"],
    );
}
