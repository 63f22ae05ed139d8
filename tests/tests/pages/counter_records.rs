//! Jobs, reservations, movements, quarantine, labels: what their pages show, do and refuse.

use plugwell_tests::Who;
use plugwell_tests::bodies::{issue, plug, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::counter_form::Counter;
use crate::forms::{in_bins, stocked};
use crate::visitor::{Seen, Visitor};

/// A hidden field of the form that goes to a path.
#[track_caller]
fn of_form(seen: &Seen, path: &str, name: &str) -> String {
    let form = seen.html.split(&format!("action=\"{path}\"")).nth(1);
    let form = form.unwrap_or_else(|| panic!("no form to {path} in {}", seen.html));
    let rest = form
        .split_once(&format!("name=\"{name}\" value=\""))
        .expect("the field")
        .1;
    rest.split('"').next().expect("a value").to_owned()
}

#[test]
fn plugs_are_kept_for_a_job_and_released_once() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-7100");
    let mut tuner = Counter::at(&shop, Who::Tuner, "/reserve");
    tuner.scan_all(&["FW-7100", "6", "<J>710"]);
    let seen = tuner.scan_all(&["ok"]);
    assert!(
        seen.html.contains("<h1>Job &#60;J&#62;710</h1>"),
        "{}",
        seen.html
    );
    assert!(seen.html.contains("The plugs are kept for this job."));
    assert!(seen.html.contains("<b>6</b>"));
    let kept = shop.get(Who::Reader, "/v1/stock/reservations").expect(200);
    let id = kept.items()[0]["id"].as_str().expect("an id").to_owned();
    let listed = tuner.who.get("/jobs").expect(200);
    assert!(listed.html.contains("&#60;J&#62;710") && !listed.html.contains("<J>"));
    // More than is there is refused, and what was typed stays.
    tuner.open(&format!("/reserve?plug_id={part}&quantity=15&job=J-711"));
    let seen = tuner.send(&[("expires_on", "2099-01-02")]);
    assert_eq!(seen.status, 409, "{}", seen.html);
    assert_eq!(tuner.value("expires_on"), "2099-01-02");
    let seen = tuner.send(&[("quantity", "2")]);
    assert!(
        seen.html.contains("until 2 Jan 2099 23:59 UTC"),
        "{}",
        seen.html
    );
    // What is kept for a job is what is issued to it.
    tuner.open(&format!("/issue?plug_id={part}&job=%3Cj%3E710"));
    assert_eq!(tuner.value("reservation_id"), id);
    let job = tuner.who.get(&format!("/reserved/{id}")).expect(303);
    let job = job
        .header("location")
        .split('?')
        .next()
        .expect("a path")
        .to_owned();
    let page = tuner.who.get(&job).expect(200);
    let path = format!("/reservations/{id}/release");
    let fields = [
        ("form_key", of_form(&page, &path, "form_key")),
        ("once", of_form(&page, &path, "once")),
    ];
    let fields: Vec<_> = fields.iter().map(|(n, v)| (*n, v.as_str())).collect();
    for _ in 0..2 {
        let sent = tuner.who.post(&path, &fields).expect(303);
        assert!(sent.header("location").starts_with(&job));
    }
    assert!(
        tuner
            .who
            .get(&job)
            .expect(200)
            .html
            .contains("Nothing is kept")
    );
    // A reader sees the job, and no button.
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let seen = reader.get(&job).expect(200);
    assert!(!seen.html.contains("/release\"") && !seen.html.contains("href=\"/issue?"));
    reader.get("/reserve").expect(403);
    let key = seen.hidden("form_key");
    reader.post(&path, &[("form_key", &key)]).expect(403);
    let place = "/jobs/01890000-0000-7000-8000-000000000000";
    reader.get(place).expect(404);
}

#[test]
fn a_manager_puts_a_mistaken_scrapping_right_once() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-7200");
    let mut clerk = Counter::at(&shop, Who::Clerk, &format!("/scrap?plug_id={part}"));
    let seen = clerk.send(&[
        ("quantity", "3"),
        ("dropped_by", "<Kim>"),
        ("note", "<i>off</i>"),
    ]);
    assert!(seen.html.contains("by a manager until"), "{}", seen.html);
    assert_eq!(in_bins(&shop, &part), 17);
    let list = clerk.who.get("/movements?kind=scrapping").expect(200);
    let path = list
        .html
        .split("href=\"/movements/")
        .nth(1)
        .expect("a movement");
    let path = format!("/movements/{}", path.split('"').next().expect("its id"));
    let seen = clerk.who.get(&path).expect(200);
    assert!(seen.html.contains("can be reversed by a manager until"));
    assert!(seen.html.contains("&#60;Kim&#62;") && !seen.html.contains("<i>off"));
    assert!(!seen.html.contains("Reverse it"));
    let key = seen.hidden("form_key");
    clerk.who.post(
        &path,
        &[("form_key", &key), ("once", "x"), ("reason", "slip")],
    );
    assert_eq!(in_bins(&shop, &part), 17, "not by a clerk");
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let form = manager.get(&path).expect(200);
    let (key, once) = (form.hidden("form_key"), of_form(&form, &path, "once"));
    let fields = [("form_key", key.as_str()), ("once", &once)];
    let refused = manager.post(&path, &fields).expect(400);
    assert!(refused.html.contains("has to be filled in"));
    let fields = [&fields[..], &[("reason", "scanned the wrong box")]].concat();
    let places: Vec<String> = (0..2)
        .map(|_| {
            manager
                .post(&path, &fields)
                .expect(303)
                .header("location")
                .to_owned()
        })
        .collect();
    assert_eq!(format!("{}&again=yes", places[0]), places[1]);
    assert_eq!(in_bins(&shop, &part), 20);
    let seen = manager.get(&path).expect(200);
    assert!(seen.html.contains("It has been put right.") && seen.html.contains("Put right by"));
    let reversal = places[0].trim_start_matches("/booked?id=");
    let seen = manager.get(&format!("/movements/{reversal}")).expect(200);
    assert!(
        seen.html.contains(&format!("href=\"{path}\"")),
        "what it puts right"
    );
}

#[test]
fn the_history_is_narrowed_and_goes_on_page_by_page() {
    let shop = Shop::start(Engine::Sqlite);
    let (part, other) = (stocked(&shop, "FW-7300"), stocked(&shop, "FW-7301"));
    let out = |part: &str, job: &str, times: usize| {
        for _ in 0..times {
            let body = issue(part, job, 1);
            shop.once(Who::Tuner, "/v1/stock/issues", &body).expect(201);
        }
    };
    out(&part, "J-730", 10);
    out(&part, "J-731", 10);
    out(&other, "J-731", 20);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let rows = |path: &str| {
        let seen = reader.get(path).expect(200);
        (seen.html.matches("→").count(), seen.html)
    };
    // Two receipts and forty issues are on one page; nothing is left for another.
    let (all, html) = rows("/movements");
    assert_eq!(all, 42, "{html}");
    assert_eq!(rows("/movements?kind=receipt").0, 2);
    assert_eq!(rows("/movements?job=j-730").0, 10);
    assert_eq!(rows("/movements?part=FW-7301").0, 21);
    assert_eq!(
        rows(&format!("/movements?plug_id={other}&kind=issue")).0,
        20
    );
    assert_eq!(rows("/movements?place=fw-7300").0, 21);
    assert_eq!(rows("/movements?to=2001-01-01").0, 0);
    assert_eq!(rows("/movements?actor=nobody").0, 0);
    for wrong in [
        "part=nothing+so",
        "lot=L9999",
        "kind=theft",
        "from=soon",
        "from=2026-02-02&to=2026-02-01",
    ] {
        let seen = reader.get(&format!("/movements?{wrong}")).expect(400);
        assert!(seen.html.contains("This needs another look"), "{wrong}");
        assert_eq!(seen.html.matches("→").count(), 0, "{wrong}");
    }
    for _ in 0..10 {
        let body = json!({ "plug_id": part, "job": "J-730", "quantity": 1, "reason": "dropped" });
        shop.once(Who::Tuner, "/v1/stock/scrappings", &body)
            .expect(201);
    }
    let (first, html) = rows("/movements");
    assert_eq!(first, 50);
    let more = html.split("href=\"/movements?after=").nth(1).expect("more");
    let more = format!(
        "/movements?after={}",
        more.split('"').next().expect("where")
    );
    assert_eq!(rows(&more).0, 2, "each once");
}

#[test]
fn a_sample_that_contradicts_sends_its_lot_to_quarantine_for_a_manager() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-7400");
    let lots = shop
        .get(Who::Reader, &format!("/v1/stock/lots?plug_id={part}"))
        .expect(200);
    let (id, code) = (&lots.items()[0]["id"], &lots.items()[0]["code"]);
    let (id, code) = (id.as_str().expect("an id"), code.as_str().expect("a code"));
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let form = clerk
        .get(&format!("/incoming-check?lot_id={id}"))
        .expect(200);
    assert!(
        form.html.contains("Ferrowick FW-7400") && form.html.contains(&format!("value=\"{code}\""))
    );
    let (key, once) = (
        form.hidden("form_key"),
        of_form(&form, "/incoming-check", "once"),
    );
    let send = |reach: &str, note: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("once", &once),
            ("lot", code),
            ("sample", "2"),
            ("reach_mm", reach),
            ("note", note),
        ];
        clerk.post("/incoming-check", &fields)
    };
    let refused = send("12 short", "<u>").expect(400);
    assert!(
        refused.html.contains("value=\"12 short\"")
            && refused.html.contains("value=\"&#60;u&#62;\"")
    );
    assert!(
        send("1 2 3", "")
            .expect(400)
            .html
            .contains("3 readings of a sample of 2")
    );
    assert_eq!(in_bins(&shop, &part), 20);
    let places: Vec<String> = (0..2)
        .map(|_| {
            send("12 12.1", "<u>")
                .expect(303)
                .header("location")
                .to_owned()
        })
        .collect();
    assert_eq!(in_bins(&shop, &part), 0);
    assert_eq!(format!("{}?again=yes", places[0]), places[1]);
    let seen = clerk.get(&places[0]).expect(200);
    assert!(seen.html.contains("The lot is in quarantine") && seen.html.contains("contradict"));
    assert!(!seen.html.contains("What becomes of the lot") && seen.html.contains("&#60;u&#62;"));
    let path = format!("{}/decision", places[0]);
    clerk
        .post(&path, &[("form_key", &key), ("decision", "scrap")])
        .expect(403);
}

/// Measures a lot of a part so that it contradicts the record; the page of the check.
fn set_aside(shop: &Shop, part: &str) -> String {
    let lots = shop
        .get(Who::Reader, &format!("/v1/stock/lots?plug_id={part}"))
        .expect(200);
    let id = lots.items()[0]["id"].as_str().expect("an id").to_owned();
    let body = json!({ "lot_id": id, "sample": 1, "reach_mm": [12.0] });
    let made = shop
        .once(Who::Clerk, "/v1/stock/incoming-checks", &body)
        .expect(201);
    let check = made.json["check"]["id"].as_str().expect("an id").to_owned();
    format!("/incoming-checks/{check}")
}

#[test]
fn a_manager_lets_a_lot_out_of_quarantine_once() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-7450");
    let check = set_aside(&shop, &part);
    assert_eq!(in_bins(&shop, &part), 0);
    let path = format!("{check}/decision");
    let manager = Visitor::signed_in(&shop, Who::Manager);
    assert!(
        manager
            .get("/quarantine")
            .expect(200)
            .html
            .contains(&format!("href=\"{check}\""))
    );
    let form = manager.get(&check).expect(200);
    let (key, once) = (form.hidden("form_key"), of_form(&form, &path, "once"));
    let decide = |place: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("once", &once),
            ("decision", "release"),
            ("place", place),
            ("note", "measured anew"),
        ];
        manager.post(&path, &fields)
    };
    let refused = decide("nowhere").expect(400);
    assert!(refused.html.contains("value=\"measured anew\""));
    for _ in 0..2 {
        decide("FW-7450").expect(303);
    }
    assert_eq!(in_bins(&shop, &part), 20);
    let seen = manager.get(&check).expect(200);
    assert!(seen.html.contains("Released from quarantine") && seen.html.contains("measured anew"));
    assert!(
        manager
            .get("/quarantine")
            .expect(200)
            .html
            .contains("Nothing waits")
    );
}

#[test]
fn labels_and_words_for_the_scanner_are_printed() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(
        &shop,
        &with(plug("FW-7500"), json!({ "description": "<s>x</s>" })),
    );
    plugwell_tests::bodies::receive(
        &shop,
        &part,
        &plugwell_tests::bodies::bin(&shop, "Rack <A>"),
        4,
    );
    let mut reader = Counter::at(&shop, Who::Reader, "/labels?all=lots");
    assert!(reader.value("of").starts_with('L'));
    reader.open("/labels");
    let seen = reader.scan("no such bin");
    assert_eq!(seen.status, 400);
    assert!(seen.html.contains("is no lot and no bin"));
    reader.scan_all(&["rack <a>", "L1"]);
    let seen = reader.send(&[("size", "a4")]);
    assert_eq!((seen.status, seen.html.matches("<svg").count()), (200, 2));
    assert!(seen.html.contains("<h1>2 labels</h1>"));
    reader.open("/labels");
    let one = reader.send(&[("of", "L1"), ("size", "a4")]);
    assert!(one.html.contains("<h1>1 label</h1>"), "{}", one.html);
    reader.open("/labels");
    let seen = reader.send(&[("of", "rack <a>\nL1"), ("size", "a4")]);
    assert!(seen.html.contains("Rack &lt;A&gt;") || seen.html.contains("Rack &#60;A&#62;"));
    assert!(!seen.html.contains("Rack <A>"));
    let words = reader.who.get("/labels/words").expect(200);
    for word in [
        "Label ok:",
        "Label receive:",
        "Label dropped:",
        "Label bent_strap:",
    ] {
        assert!(words.html.contains(word), "{word}");
    }
    reader.open("/labels");
    let seen = reader.send(&[("of", "")]);
    assert_eq!(seen.status, 400);
    assert!(seen.html.contains("has to be filled in"));
    let unknown = "/labels/sheet?lots=01890000-0000-7000-8000-000000000000";
    reader.who.get(unknown).expect(400);
    Visitor::nobody(&shop).get("/labels/words").expect(401);
}
