//! What a form of the counter says before it books, rather than after: a part that fails its build, a
//! supplier that nobody knows, plugs that are kept for the job, places that nothing is moved to.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, build, place, plug, receive, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::{Value, json};

use crate::counter_form::Counter;
use crate::forms::{in_bins, stocked};

const NOT_FIT: &str = "This part does not pass every must of this build: do not fit it";

/// A part with eight plugs, too short for the build of [`build`], and that build.
fn short_one(shop: &Shop, part_number: &str) -> (String, String) {
    let body = with(plug(part_number), json!({ "reach_mm": 12.7 }));
    let part = stored_plug(shop, &body);
    receive(shop, &part, &bin(shop, part_number), 8);
    let build = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    (part, build.text("id"))
}

fn reserved(shop: &Shop, part: &str, job: &str, over: Value) -> String {
    let body = json!({ "plug_id": part, "quantity": 4, "job": job });
    let kept = shop.once(Who::Tuner, "/v1/stock/reservations", &with(body, over));
    kept.expect(201).text("id")
}

fn kept(shop: &Shop, id: &str) -> Value {
    let path = format!("/v1/stock/reservations/{id}");
    let seen = shop.get(Who::Reader, &path).expect(200).json;
    json!([seen["state"], seen["open_quantity"]])
}

#[test]
fn a_part_that_fails_its_build_is_said_before_it_is_booked() {
    let shop = Shop::start(Engine::Sqlite);
    let (part, build) = short_one(&shop, "FW-8810");
    let path = format!("/issue?plug_id={part}&quantity=1");
    let mut tuner = Counter::at(&shop, Who::Tuner, &path);
    assert!(!tuner.seen.html.contains(NOT_FIT), "no build is known yet");
    // Chosen in the form, and its button pressed at once: nobody has read it yet.
    let seen = tuner.send(&[("job", "J-881"), ("build", &build)]);
    assert_eq!(seen.status, 400, "{}", seen.html);
    assert_eq!(
        seen.html.matches("Never fit it").count(),
        2,
        "{}",
        seen.html
    );
    assert!(seen.html.contains(NOT_FIT) && seen.html.contains("Nothing has been booked."));
    assert_eq!(in_bins(&shop, &part), 8);
    // Once more, and it is booked: whoever issues has the last word.
    let seen = tuner.send(&[]);
    assert!(seen.html.contains("class=\"done\""), "{}", seen.html);
    assert!(seen.html.contains(NOT_FIT));
    assert_eq!(in_bins(&shop, &part), 7);
    // With part and build it stands on the form, and on the last look, which books as it did.
    let seen = tuner.open(&format!("{path}&job=J-882&build_id={build}"));
    assert!(seen.html.contains(NOT_FIT), "{}", seen.html);
    let seen = tuner.scan_all(&[""]);
    assert!(seen.html.contains("Look once more") && seen.html.contains(NOT_FIT));
    let seen = tuner.scan_all(&["ok"]);
    assert!(seen.html.contains("class=\"done\""), "{}", seen.html);
    // A build that was chosen later is another question.
    tuner.open(&path);
    let seen = tuner.send(&[("job", "J-883")]);
    assert!(seen.html.contains("class=\"done\""), "{}", seen.html);
    assert_eq!(in_bins(&shop, &part), 5);
    // The build of a reservation counts as well.
    reserved(&shop, &part, "J-884", json!({ "build_id": build }));
    let seen = tuner.open(&format!("{path}&job=J-884"));
    assert!(seen.html.contains(NOT_FIT), "{}", seen.html);
}

#[test]
fn what_is_kept_for_the_job_is_what_goes_out_to_it() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8820");
    let own = reserved(&shop, &part, "J-1820", json!({}));
    let path = format!("/issue?plug_id={part}");
    let mut tuner = Counter::at(&shop, Who::Tuner, &path);
    let seen = tuner.send(&[("quantity", "4"), ("job", "j-1820")]);
    assert!(seen.html.contains("class=\"done\""), "{}", seen.html);
    assert!(!seen.html.contains("kept for"), "{}", seen.html);
    assert_eq!(kept(&shop, &own), json!(["issued", 0]));
    // Of two nobody knows which is meant: what goes on being kept is said.
    let [one, two] = [1, 2].map(|_| reserved(&shop, &part, "J-1821", json!({})));
    tuner.open(&path);
    let seen = tuner.send(&[("quantity", "4"), ("job", "J-1821")]);
    assert!(
        seen.html.contains("8 more plugs of it are kept for J-1821"),
        "{}",
        seen.html
    );
    for id in [one, two] {
        assert_eq!(kept(&shop, &id), json!(["open", 4]));
    }
    assert_eq!(in_bins(&shop, &part), 12);
}

#[test]
fn a_supplier_that_nobody_knows_is_said_before_and_after() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8830");
    let path = format!("/receive?plug_id={part}");
    let mut clerk = Counter::at(&shop, Who::Clerk, &path);
    let typed = [("quantity", "4"), ("supplier", "Quayside Part")];
    let seen = clerk.send(&typed);
    assert_eq!(seen.status, 400, "{}", seen.html);
    let said = "No supplier here is called Quayside Part: this makes a new one. Spelled nearly so: Quayside Parts.";
    assert!(seen.html.contains(said), "{}", seen.html);
    assert_eq!(in_bins(&shop, &part), 20);
    let seen = clerk.send(&[("supplier", "quayside parts")]);
    assert!(seen.html.contains("class=\"done\""), "{}", seen.html);
    assert!(!seen.html.contains("new among the suppliers"));
    clerk.open(&path);
    let far = [("quantity", "4"), ("supplier", "Wharf <b>Plugs")];
    let seen = clerk.send(&far);
    assert!(
        seen.html
            .contains("called Wharf &#60;b&#62;Plugs: this makes a new one. Put")
    );
    let seen = clerk.send(&[]);
    assert!(
        seen.html
            .contains("Wharf &#60;b&#62;Plugs is new among the suppliers.")
    );
    clerk.open(&path);
    let seen = clerk.send(&far);
    assert!(
        seen.html.contains("class=\"done\""),
        "known by now: {}",
        seen.html
    );
    assert!(!seen.html.contains("new among the suppliers"));
    assert_eq!(in_bins(&shop, &part), 32);
}

#[test]
fn an_order_that_waits_for_nothing_of_a_part_leaves_its_form_as_it_is() {
    let shop = Shop::start(Engine::Sqlite);
    let (part, other) = (stocked(&shop, "FW-8840"), stocked(&shop, "FW-8841"));
    let order = json!({
        "supplier": "Quayside Parts", "state": "sent",
        "lines": [{ "plug_id": other, "quantity": 8, "pack_size": 4 }]
    });
    let order = shop.post(Who::Clerk, "/v1/orders", &order).expect(201);
    place(&shop, "supplier", "Wharf Plugs");
    let path = format!("/receive?plug_id={part}");
    let mut clerk = Counter::at(&shop, Who::Clerk, &path);
    clerk.scan_all(&["Wharf Plugs", "3"]);
    let seen = clerk.scan(&order.text("code"));
    assert_eq!(seen.status, 400);
    assert_eq!(clerk.value("supplier"), "Wharf Plugs");
    assert_eq!(clerk.value("quantity"), "3");
}

#[test]
fn what_a_form_cannot_do_is_said_in_its_own_words() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8850");
    let lots = shop.get(Who::Reader, &format!("/v1/stock/lots?plug_id={part}"));
    let label = lots.expect(200).items()[0]["code"].clone();
    let scraps = shop
        .get(Who::Reader, "/v1/stock/places?kind=scrap")
        .expect(200);
    let scrap = scraps.items()[0]["name"]
        .as_str()
        .expect("a name")
        .to_owned();
    let mut clerk = Counter::at(&shop, Who::Clerk, "/move");
    let to = |place: &str| {
        [
            ("lot", label.as_str().expect("a code").to_owned()),
            ("quantity", "1".to_owned()),
            ("from_place", "FW-8850".to_owned()),
            ("to_place", place.to_owned()),
        ]
    };
    for (place, said) in [
        (scrap.as_str(), "is for scrap: nothing is moved there"),
        ("Quayside Parts", "is a supplier, which is no place for"),
        ("Nowhere", "no place here is called"),
    ] {
        let typed = to(place);
        let typed: Vec<_> = typed
            .iter()
            .map(|(name, own)| (*name, own.as_str()))
            .collect();
        let seen = clerk.send(&typed);
        assert_eq!(seen.status, 400, "{place}");
        assert!(seen.html.contains(said), "{place}: {}", seen.html);
    }
    let scrap = clerk.open(&format!("/scrap?plug_id={part}&quantity=1&reason=dropped"));
    assert!(!scrap.html.contains("place_id or job"));
    let seen = clerk.send(&[("place", ""), ("job", "")]);
    assert_eq!(seen.status, 400, "{}", seen.html);
    assert!(
        seen.html
            .contains("say the bin or the job that they come from")
            && !seen.html.contains("place_id or job"),
        "{}",
        seen.html
    );
    let seen = clerk.open("/return?job=J-1850");
    assert!(seen.html.contains("nothing can come back from this job"));
}

#[test]
fn an_odometer_that_runs_backwards_is_put_right_by_hand() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-8860");
    let ran = with(build(), json!({ "odometer_km": 120_000 }));
    let ran = shop.post(Who::Tuner, "/v1/builds", &ran).expect(201);
    let path = format!(
        "/issue?plug_id={part}&quantity=8&build_id={}",
        ran.text("id")
    );
    let mut tuner = Counter::at(&shop, Who::Tuner, &path);
    let seen = tuner.send(&[("job", "J-886"), ("odometer_km", "90000")]);
    assert_eq!(seen.status, 400, "{}", seen.html);
    assert!(
        seen.html
            .contains("A wrong reading of the build is put right at the build")
    );
    assert!(!seen.html.contains("null"), "{}", seen.html);
    assert_eq!(in_bins(&shop, &part), 20);
}
