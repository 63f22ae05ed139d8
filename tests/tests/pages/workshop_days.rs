//! Tuning days, readings and what is fitted, seen without a browser: done once, told whole.

use chrono::{TimeDelta, Utc};
use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, build, issue, plug, receive, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::{Value, json};

use crate::visitor::{Seen, Visitor};

/// A build, and a part that fits it with so many plugs on the shelf.
fn stocked(shop: &Shop, part_number: &str, plugs: i64) -> (String, String) {
    let part = stored_plug(shop, &plug(part_number));
    receive(shop, &part, &bin(shop, part_number), plugs);
    let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    (made.text("id"), part)
}

fn next_week() -> String {
    (Utc::now() + TimeDelta::days(7)).date_naive().to_string()
}

fn kept_for_days(shop: &Shop) -> Vec<Value> {
    let path = "/v1/stock/reservations";
    shop.get(Who::Reader, path).expect(200).items().to_vec()
}

/// Where a form led, whether it had been done before or not.
fn led(seen: &Seen) -> String {
    let there = seen.header("location");
    there.split('?').next().unwrap_or_default().to_owned()
}

#[test]
fn a_tuning_day_is_planned_once_and_called_off_once() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, part) = stocked(&shop, "FW-9701", 30);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let form = tuner
        .get(&format!("/tuning-days/new?build_id={build}"))
        .expect(200);
    assert!(
        form.html.contains(&format!("value=\"{build}\" selected")),
        "{}",
        form.html
    );
    let (key, once, day) = (form.hidden("form_key"), form.hidden("once"), next_week());
    let fields = |pulls| {
        [
            ("form_key", key.as_str()),
            ("once", &once),
            ("name", "<script>alert(1)</script>"),
            ("build", &build),
            ("day", &day),
            ("pulls", pulls),
        ]
    };
    let wrong = tuner.post("/tuning-days/new", &fields("many")).expect(400);
    assert!(wrong.html.contains("id=\"pulls-fault\"") && wrong.html.contains("value=\"many\""));
    assert_eq!(
        wrong.hidden("once"),
        once,
        "a refused form leaves its key free"
    );
    assert!(!wrong.html.contains("<script>alert"), "{}", wrong.html);
    let first = tuner.post("/tuning-days/new", &fields("2")).expect(303);
    let again = tuner.post("/tuning-days/new", &fields("2")).expect(303);
    assert_eq!(led(&first), led(&again));
    assert_eq!(kept_for_days(&shop).len(), 1, "planned once");
    let here = led(&first);
    let shown = tuner.get(&here).expect(200);
    // 2 pulls × 8 cylinders × 1 plug and the policy's spare.
    for said in [
        "17 fresh plugs",
        "2 pulls × 8 cylinders × 1 plug, and 1 spare",
        "Ferrowick FW-9701",
        "153.00 USD, 9.00 USD each",
        "17 of 17 still kept, 0 issued: open",
        "Call the day off",
    ] {
        assert!(
            shown.html.contains(said),
            "{said} is missing from {}",
            shown.html
        );
    }
    assert!(shown.html.contains(&format!("/issue?plug_id={part}")));
    assert!(
        !shown.html.contains("Keep what it lacks"),
        "it lacks nothing"
    );
    assert!(tuner.get("/tuning-days").expect(200).html.contains(&here));
    let once = shown
        .html
        .rsplit("name=\"once\" value=\"")
        .next()
        .expect("a key");
    let once = once.split('"').next().unwrap_or_default();
    let off = |who: &Visitor<'_>, key: &str| {
        who.post(
            &format!("{here}/withdrawal"),
            &[("form_key", key), ("once", once)],
        )
    };
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let own = reader.get(&here).expect(200);
    assert!(!own.html.contains("Call the day off"));
    off(&reader, &own.hidden("form_key")).expect(403);
    assert_eq!(led(&off(&tuner, &key).expect(303)), here);
    assert_eq!(led(&off(&tuner, &key).expect(303)), here);
    assert_eq!(kept_for_days(&shop)[0]["state"], "released");
    let shown = tuner.get(&here).expect(200).html;
    assert!(shown.contains("<dd>withdrawn</dd>") && !shown.contains("Call the day off"));
}

#[test]
fn a_day_that_was_short_keeps_what_has_come_since() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, part) = stocked(&shop, "FW-9702", 10);
    let asked = json!({ "name": "Short day", "build_id": build, "day": next_week(), "pulls": 2 });
    let made = shop.once(Who::Tuner, "/v1/tuning-days", &asked).expect(201);
    let here = format!("/tuning-days/{}", made.text("id"));
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let shown = tuner.get(&here).expect(200);
    assert!(shown.html.contains("7 plugs are missing"), "{}", shown.html);
    receive(&shop, &part, &bin(&shop, "late"), 20);
    let fields = [
        ("form_key", shown.hidden("form_key")),
        ("once", shown.hidden("once")),
    ];
    let fields = fields
        .each_ref()
        .map(|(name, value)| (*name, value.as_str()));
    let path = format!("{here}/reservation");
    for _ in 0..2 {
        assert_eq!(led(&tuner.post(&path, &fields).expect(303)), here);
    }
    let open: i64 = kept_for_days(&shop)
        .iter()
        .filter_map(|r| r["open_quantity"].as_i64())
        .sum();
    assert_eq!(open, 17, "kept once");
    assert!(
        tuner
            .get(&here)
            .expect(200)
            .html
            .contains("<dd>reserved</dd>")
    );
}

#[test]
fn a_reading_is_kept_once_and_says_what_it_suggests() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, part) = stocked(&shop, "FW-9703", 30);
    let issued = with(issue(&part, "J-71", 8), json!({ "build_id": build }));
    let issued = shop
        .once(Who::Tuner, "/v1/stock/issues", &issued)
        .expect(201);
    let movement = issued.json["movements"][0]["id"]
        .as_str()
        .expect("an id")
        .to_owned();
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    assert!(
        tuner
            .get("/readings/new")
            .expect(200)
            .html
            .contains("Go on")
    );
    let form = tuner
        .get(&format!(
            "/readings/new?build_id={build}&movement_id={movement}"
        ))
        .expect(200);
    assert!(
        form.html.contains("8 × Ferrowick FW-9703 to J-71"),
        "{}",
        form.html
    );
    assert!(
        form.html
            .contains("type=\"radio\" name=\"heat_line\" value=\"past_bend\"")
    );
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let fields = |cylinder, note| {
        [
            ("form_key", key.as_str()),
            ("once", once.as_str()),
            ("build_id", build.as_str()),
            ("movement_id", movement.as_str()),
            ("run", "1"),
            ("cylinder", cylinder),
            ("full_load", "yes"),
            ("clean_shut_off", "yes"),
            ("heat_line", "past_bend"),
            ("note", note),
        ]
    };
    let wrong = tuner
        .post("/readings/new", &fields("12", "<script>alert(1)</script>"))
        .expect(400);
    assert!(
        wrong.html.contains("the engine has 8 cylinders"),
        "{}",
        wrong.html
    );
    assert!(
        wrong.html.contains("value=\"past_bend\" checked"),
        "what was seen stays"
    );
    let first = tuner
        .post("/readings/new", &fields("3", "<script>alert(1)</script>"))
        .expect(303);
    let again = tuner
        .post("/readings/new", &fields("3", "<script>alert(1)</script>"))
        .expect(303);
    assert_eq!(led(&first), led(&again));
    let all = shop.get(Who::Reader, "/v1/readings").expect(200);
    assert_eq!(all.items().len(), 1, "kept once");
    let shown = tuner.get(&led(&first)).expect(200).html;
    for said in [
        "Run 1, cylinder 3",
        "Heat line: past bend",
        "The heat line stands past the bend: the strap gets too hot.",
        "one step colder",
        "cylinder=4",
        "Not looked at, which says nothing either way: base ring",
    ] {
        assert!(shown.contains(said), "{said} is missing from {shown}");
    }
    assert!(!shown.contains("<script>alert"), "{shown}");
    let listed = tuner
        .get(&format!("/readings?build_id={build}"))
        .expect(200)
        .html;
    assert!(
        listed.contains(&led(&first)) && listed.contains("colder by one"),
        "{listed}"
    );
    let reader = Visitor::signed_in(&shop, Who::Reader);
    reader.get(&led(&first)).expect(200);
    reader.get("/readings/new").expect(403);
}

#[test]
fn what_is_in_an_engine_is_told_and_when_it_is_due() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, part) = stocked(&shop, "FW-9704", 30);
    let issued = with(
        issue(&part, "J-72", 8),
        json!({ "build_id": build, "odometer_km": 10_000 }),
    );
    shop.once(Who::Tuner, "/v1/stock/issues", &issued)
        .expect(201);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let sets = tuner.get("/fitted-sets").expect(200).html;
    assert!(
        sets.contains("Ferrowick FW-9704") && sets.contains("10 000 km (6 200 mi)"),
        "{sets}"
    );
    let own = sets
        .split("href=\"/fitted-sets/")
        .nth(2)
        .or(sets.split("href=\"/fitted-sets/").nth(1));
    let own = own
        .and_then(|rest| rest.split('"').next())
        .expect("its page");
    let set = tuner.get(&format!("/fitted-sets/{own}")).expect(200).html;
    for said in ["J-72", "Heron, blown", "not told"] {
        assert!(set.contains(said), "{said} is missing from {set}");
    }
    let unknown = tuner.get("/due").expect(200).html;
    assert!(
        unknown.contains("</span> Unknown</span>"),
        "nobody said the odometer: {unknown}"
    );
    let page = tuner.get(&format!("/builds/{build}")).expect(200);
    let (key, version) = (page.hidden("form_key"), page.hidden("version"));
    let tell = |km| {
        let fields = [
            ("form_key", key.as_str()),
            ("version", &version),
            ("odometer_km", km),
        ];
        tuner.post(&format!("/builds/{build}/odometer"), &fields)
    };
    let wrong = tell("9000").expect(400).html;
    assert!(
        wrong.contains("id=\"odometer_km-fault\"") && wrong.contains("value=\"9000\""),
        "{wrong}"
    );
    tell("130000").expect(303);
    assert!(
        tell("140000")
            .expect(409)
            .html
            .contains("Somebody changed this build")
    );
    let due = tuner.get("/due").expect(200).html;
    for said in [
        "</span> Worn out</span>",
        "Past its life by",
        "120 000 km (74 600 mi)",
    ] {
        assert!(due.contains(said), "{said} is missing from {due}");
    }
    assert!(
        due.contains(&format!("/issue?plug_id={part}")),
        "what replaces it: {due}"
    );
}
