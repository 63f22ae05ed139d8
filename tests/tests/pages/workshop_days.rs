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
fn a_tuning_day_is_planned_once_with_its_reckoning() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, part) = stocked(&shop, "FW-9701", 30);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let form = tuner
        .get(&format!("/tuning-days/new?build_id={build}"))
        .expect(200);
    assert!(form.html.contains(&format!("value=\"{build}\" selected")));
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
    assert_eq!(wrong.hidden("once"), once, "its key is still free");
    assert!(!wrong.html.contains("<script>alert"), "{}", wrong.html);
    let first = tuner.post("/tuning-days/new", &fields("2")).expect(303);
    let again = tuner.post("/tuning-days/new", &fields("2")).expect(303);
    assert_eq!(led(&first), led(&again));
    assert_eq!(kept_for_days(&shop).len(), 1, "planned once");
    let shown = tuner.get(&led(&first)).expect(200).html;
    // 2 pulls × 8 cylinders × 1 plug and the policy's spare.
    for said in [
        "17 fresh plugs",
        "2 pulls × 8 cylinders × 1 plug, and 1 spare",
        "Ferrowick FW-9701",
        "153.00 USD, 9.00 USD each",
        "17 of 17 still kept, 0 issued: open",
        "Call the day off",
    ] {
        assert!(shown.contains(said), "{said} is missing from {shown}");
    }
    assert!(shown.contains(&format!("/issue?plug_id={part}")));
    assert!(!shown.contains("Keep what it lacks"), "it lacks nothing");
    let listed = tuner.get("/tuning-days").expect(200).html;
    assert!(listed.contains(&led(&first)), "{listed}");
}

#[test]
fn a_tuning_day_is_called_off_once() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, _) = stocked(&shop, "FW-9705", 30);
    let asked = json!({ "name": "Off", "build_id": build, "day": next_week(), "pulls": 2 });
    let made = shop.once(Who::Tuner, "/v1/tuning-days", &asked);
    let here = format!("/tuning-days/{}", made.expect(201).text("id"));
    let (tuner, reader) = (
        Visitor::signed_in(&shop, Who::Tuner),
        Visitor::signed_in(&shop, Who::Reader),
    );
    let shown = tuner.get(&here).expect(200);
    let (key, once) = (shown.hidden("form_key"), shown.hidden("once"));
    let off = |who: &Visitor<'_>, key: &str| {
        let fields = [("form_key", key), ("once", once.as_str())];
        who.post(&format!("{here}/withdrawal"), &fields)
    };
    let looked = reader.get(&here).expect(200);
    assert!(!looked.html.contains("Call the day off"));
    off(&reader, &looked.hidden("form_key")).expect(403);
    for _ in 0..2 {
        assert_eq!(led(&off(&tuner, &key).expect(303)), here);
    }
    assert_eq!(kept_for_days(&shop)[0]["state"], "released");
    let shown = tuner.get(&here).expect(200);
    assert!(shown.html.contains("<dd>withdrawn</dd>"));
    assert!(!shown.html.contains("Call the day off"));
    let later = [
        ("form_key", key.as_str()),
        ("once", "0190a1c0-0000-7000-8000-000000000001"),
    ];
    let later = tuner
        .post(&format!("{here}/withdrawal"), &later)
        .expect(409);
    assert!(
        later.html.contains("was called off before"),
        "{}",
        later.html
    );
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

/// A build whose set went out with an issue: both ids.
fn set_issued(shop: &Shop, part_number: &str) -> (String, String) {
    let (build, part) = stocked(shop, part_number, 30);
    let issued = with(issue(&part, "J-71", 8), json!({ "build_id": build }));
    let issued = shop
        .once(Who::Tuner, "/v1/stock/issues", &issued)
        .expect(201);
    let movement = issued.json["movements"][0]["id"].as_str().expect("an id");
    (build, movement.to_owned())
}

/// What is typed of a plug that ran too hot.
fn too_hot<'a>(
    form: &'a [(&'a str, String); 4],
    cylinder: &'a str,
    note: &'a str,
) -> Vec<(&'a str, &'a str)> {
    let own = form.iter().map(|(name, value)| (*name, value.as_str()));
    own.chain([
        ("run", "1"),
        ("cylinder", cylinder),
        ("full_load", "yes"),
        ("clean_shut_off", "yes"),
        ("heat_line", "past_bend"),
        ("note", note),
    ])
    .collect()
}

const SCRIPT: &str = "<script>alert(1)</script>";

fn reading_form(tuner: &Visitor<'_>, build: &str, movement: &str) -> [(&'static str, String); 4] {
    let path = format!("/readings/new?build_id={build}&movement_id={movement}");
    let form = tuner.get(&path).expect(200);
    assert!(form.html.contains("to J-71"), "{}", form.html);
    assert!(
        form.html
            .contains("type=\"radio\" name=\"heat_line\" value=\"past_bend\"")
    );
    [
        ("form_key", form.hidden("form_key")),
        ("once", form.hidden("once")),
        ("build_id", build.to_owned()),
        ("movement_id", movement.to_owned()),
    ]
}

#[test]
fn a_reading_is_kept_once_and_says_what_it_suggests() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, movement) = set_issued(&shop, "FW-9703");
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let form = reading_form(&tuner, &build, &movement);
    let send = || {
        tuner
            .post("/readings/new", &too_hot(&form, "3", SCRIPT))
            .expect(303)
    };
    let (first, again) = (send(), send());
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
    assert!(!shown.contains(SCRIPT), "{shown}");
    let listed = tuner
        .get(&format!("/readings?build_id={build}"))
        .expect(200)
        .html;
    assert!(
        listed.contains(&led(&first)) && listed.contains("colder by one"),
        "{listed}"
    );
}

#[test]
fn a_reading_that_cannot_be_is_refused_and_stays() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, movement) = set_issued(&shop, "FW-9706");
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let begun = tuner.get("/readings/new").expect(200).html;
    assert!(
        begun.contains("Go on"),
        "which build is asked first: {begun}"
    );
    let form = reading_form(&tuner, &build, &movement);
    let wrong = tuner
        .post("/readings/new", &too_hot(&form, "12", SCRIPT))
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
    assert!(!wrong.html.contains(SCRIPT), "{}", wrong.html);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let looked = reader.get("/readings/new").expect(403);
    let own = [("form_key", looked.hidden("form_key"))];
    let own: Vec<_> = own
        .iter()
        .map(|(name, value)| (*name, value.as_str()))
        .collect();
    reader.post("/readings/new", &own).expect(403);
    assert!(
        shop.get(Who::Reader, "/v1/readings")
            .expect(200)
            .items()
            .is_empty()
    );
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
