//! Waiting jobs, seen without a browser: asked from the answer to a match, told, reserved, called off.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::{Value, json};

use crate::visitor::{Seen, Visitor};

const PATH: &str = "/waiting/new";

fn waiting(shop: &Shop) -> Vec<Value> {
    shop.all(Who::Reader, "/v1/waiting-jobs")
}

/// A shop with a stored build and a part that meets it, of which nothing is there.
fn bare(part_number: &str) -> (Shop, String, String) {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug(part_number));
    let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    let id = made.text("id");
    (shop, id, part)
}

/// Sends the form of a page with a job's name.
fn let_wait(who: &Visitor<'_>, page: &Seen, build: &str, job: &str) -> Seen {
    let (key, once) = (page.hidden("form_key"), page.hidden("once"));
    let fields = [
        ("form_key", key.as_str()),
        ("once", &once),
        ("build", build),
        ("quantity", "9"),
        ("job", job),
    ];
    who.post(PATH, &fields)
}

#[test]
fn where_nothing_fits_a_job_is_let_wait_once() {
    let (shop, build, part) = bare("FW-9801");
    let (tuner, reader) = (
        Visitor::signed_in(&shop, Who::Tuner),
        Visitor::signed_in(&shop, Who::Reader),
    );
    let here = format!("/?build={build}");
    let looked = reader.get(&here).expect(200);
    assert!(!looked.html.contains("Let this job wait"), "no reader may");
    let page = tuner.get(&here).expect(200);
    assert!(page.html.contains("Let this job wait"), "{}", page.html);
    let wrong = let_wait(&tuner, &page, &build, "").expect(400);
    assert!(wrong.html.contains("id=\"job-fault\"") && wrong.html.contains(&build));
    assert_eq!(wrong.hidden("once"), page.hidden("once"));
    assert!(waiting(&shop).is_empty());
    let job = "<script>alert(1)</script>";
    for _ in 0..2 {
        let led = let_wait(&tuner, &page, &build, job).expect(303);
        assert!(led.header("location").starts_with("/waiting?done=asked"));
    }
    let all = waiting(&shop);
    assert_eq!(all.len(), 1, "asked once");
    assert_eq!(
        (&all[0]["quantity"], &all[0]["build_id"]),
        (&json!(9), &json!(build))
    );
    let shown = tuner.get("/waiting?done=asked").expect(200).html;
    assert!(shown.contains("Waits for 9 plugs"), "{shown}");
    assert!(!shown.contains("<script>alert"), "{shown}");
    receive(&shop, &part, &bin(&shop, "Bin"), 12);
    let shown = tuner.get("/waiting").expect(200).html;
    for said in [
        "9 plugs can be had",
        "Ferrowick FW-9801",
        "<b>12</b> available",
        "Cautions",
    ] {
        assert!(shown.contains(said), "{said} is missing from {shown}");
    }
    let reserve = format!("/reserve?plug_id={part}&#38;quantity=9&#38;job=");
    assert!(shown.contains(&reserve), "{shown}");
    let front = reader.get("/").expect(200).html;
    assert!(
        front.contains("1 waiting job can have its plugs"),
        "{front}"
    );
    let list = reader.get("/waiting").expect(200).html;
    assert!(!list.contains("/reserve?") && !list.contains("Wait no longer"));
    let page = tuner.get(&here).expect(200).html;
    assert!(!page.contains("Let this job wait"), "there are enough now");
}

#[test]
fn by_hand_too_and_the_page_of_the_job_says_that_it_waits() {
    let (shop, _, part) = bare("FW-9802");
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let engine = "thread=M14x1.25&reach_mm=19&seat=gasket&heat_index=50&cylinders=8&induction=naturally_aspirated&use=street";
    let page = tuner.get(&format!("/?{engine}")).expect(200);
    assert!(page.html.contains("Let this job wait"), "{}", page.html);
    let (key, once) = (page.hidden("form_key"), page.hidden("once"));
    let mut fields = vec![
        ("form_key", key.as_str()),
        ("once", &once),
        ("job", "Walk-in"),
    ];
    fields.extend(engine.split('&').filter_map(|pair| pair.split_once('=')));
    tuner.post(PATH, &fields).expect(303);
    let all = waiting(&shop);
    assert_eq!(
        (&all[0]["job"], &all[0]["quantity"]),
        (&json!("Walk-in"), &json!(9))
    );
    let place = all[0]["place_id"].as_str().expect("a place");
    let job = tuner.get(&format!("/jobs/{place}")).expect(200).html;
    assert!(job.contains("Waits for 9 plugs"), "{job}");
    // Reserved for it, it waits no longer.
    receive(&shop, &part, &bin(&shop, "Bin"), 12);
    let body = json!({ "plug_id": part, "quantity": 9, "job": "walk-in" });
    let patch = json!({ "heat_index": 50 });
    shop.patch(Who::Clerk, &format!("/v1/plugs/{part}"), &patch)
        .expect(200);
    shop.once(Who::Tuner, "/v1/stock/reservations", &body)
        .expect(201);
    let job = tuner.get(&format!("/jobs/{place}")).expect(200).html;
    assert!(!job.contains("Waits for"), "{job}");
    assert!(waiting(&shop).is_empty());
}

#[test]
fn a_job_is_called_off_as_it_was_seen() {
    let (shop, build, part) = bare("FW-9803");
    let (tuner, reader) = (
        Visitor::signed_in(&shop, Who::Tuner),
        Visitor::signed_in(&shop, Who::Reader),
    );
    let body = json!({ "job": "Off", "build_id": build });
    let made = shop.post(Who::Tuner, "/v1/waiting-jobs", &body).expect(201);
    let off = format!("/waiting/{}/withdrawal", made.text("id"));
    let page = tuner.get("/waiting").expect(200);
    let (key, version) = (page.hidden("form_key"), page.hidden("version"));
    let send = |who: &Visitor<'_>, key: &str, version: &str| {
        who.post(&off, &[("form_key", key), ("version", version)])
    };
    let looked = reader.get("/").expect(200);
    send(&reader, &looked.hidden("form_key"), &version).expect(403);
    // It can be had now: whoever presses is told so first.
    receive(&shop, &part, &bin(&shop, "Bin"), 12);
    assert_eq!(waiting(&shop)[0]["state"], "possible");
    let stale = send(&tuner, &key, &version).expect(409);
    assert!(stale.html.contains("stands otherwise"), "{}", stale.html);
    assert_eq!(waiting(&shop).len(), 1);
    let led = send(&tuner, &key, &stale.hidden("version")).expect(303);
    assert_eq!(led.header("location"), "/waiting?done=withdrawn");
    assert!(waiting(&shop).is_empty());
    send(&tuner, &key, &version).expect(404);
}
