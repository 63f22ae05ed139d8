//! The questions of the workshop, seen without a browser: a second opinion, and an unmarked plug.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, build, plug, receive, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::visitor::Visitor;

/// A build with a part that is far too hot for it, and one that fits with a set on the shelf: the ids
/// of all three.
fn car(shop: &Shop) -> (String, String, String) {
    let hot = stored_plug(
        shop,
        &with(
            plug("FW-9501"),
            json!({ "heat_index": 40, "reach_mm": 19.0 }),
        ),
    );
    let right = stored_plug(shop, &plug("FW-9502"));
    receive(shop, &right, &bin(shop, "W-1"), 12);
    let made = shop.post(Who::Tuner, "/v1/builds", &build()).expect(201);
    (made.text("id"), hot, right)
}

#[test]
fn a_second_opinion_says_what_is_wrong_and_what_the_shelf_has() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, hot, right) = car(&shop);
    let (reader, tuner) = (
        Visitor::signed_in(&shop, Who::Reader),
        Visitor::signed_in(&shop, Who::Tuner),
    );
    let begun = reader.get("/check").expect(200);
    assert!(begun.html.contains("Check a car") && !begun.html.contains("What was found"));
    let asked = format!(
        "/check?asked=yes&build={build}&in_part=FW-9501&in_dropped=1&in_lead_changes=2&in_distance_km=250000&symptoms=detonation&symptoms=radio_noise"
    );
    let told = tuner.get(&asked).expect(200).html;
    for said in [
        "class=\"finding stop\"".to_owned(),
        "</span> Stop</span> Too hot".to_owned(),
        "<dt>Explains</dt><dd>detonation</dd>".to_owned(),
        "Not explained by the plugs".to_owned(),
        "<dt>Radio noise</dt>".to_owned(),
        format!("href=\"/parts/{right}\""),
        format!("href=\"/parts/{hot}\""),
        format!("/issue?plug_id={right}&#38;quantity=8"),
        format!("/reserve?plug_id={right}&#38;quantity=8"),
        format!("href=\"/builds/{build}/fitting-card?plug_id={right}\""),
        "Cautions".to_owned(),
    ] {
        assert!(told.contains(&said), "{said} is missing from {told}");
    }
    assert!(told.contains("value=\"FW-9501\""), "what was told stays");
    // Each part is offered once, however many findings it helps; a run is told with its unit.
    assert!(told.matches("class=\"finding ").count() > 2, "{told}");
    let offer = format!("href=\"/issue?plug_id={right}");
    assert_eq!(told.matches(&offer).count(), 1, "{told}");
    assert!(!told.contains("FW-9502 ("), "no sentence names it again");
    assert!(told.contains("<dd>250 000 km (155 300 mi)</dd>"), "{told}");
    let only_read = reader.get(&asked).expect(200).html;
    assert!(
        !only_read.contains("/issue?") && !only_read.contains("/reserve?"),
        "a reader issues nothing"
    );
    assert!(only_read.contains("</span> Stop</span> Too hot"));
}

#[test]
fn what_is_told_wrongly_is_named_by_its_field_and_stays() {
    let shop = Shop::start(Engine::Sqlite);
    let (build, ..) = car(&shop);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let nothing = reader.get("/check?asked=yes").expect(400).html;
    for said in [
        "choose a stored build, or describe one by hand",
        "name the part that is in, or tell of the plug below",
    ] {
        assert!(nothing.contains(said), "{said} is missing from {nothing}");
    }
    let path = format!(
        "/check?build={build}&in_part=%3Cscript%3Ealert(1)%3C%2Fscript%3E&in_gap_mm=thin&in_distance_km=100+mi&symptoms=fouling"
    );
    let wrong = reader.get(&path).expect(400).html;
    for said in [
        "id=\"in_part-fault\"",
        "id=\"in_gap_mm-fault\"",
        "value=\"thin\"",
        "value=\"100 mi\"",
        "value=\"fouling\" checked",
    ] {
        assert!(wrong.contains(said), "{said} is missing from {wrong}");
    }
    assert!(!wrong.contains("<script>alert"), "typed is text: {wrong}");
    // The checks know how many plugs the engine has, and how far a value goes.
    let path = format!("/check?build={build}&in_part=FW-9502&in_dropped=9&in_reach_mm=900");
    let wrong = reader.get(&path).expect(400).html;
    assert!(wrong.contains("id=\"in_reach_mm-fault\""), "{wrong}");
    let path = format!("/check?build={build}&in_part=FW-9502&in_dropped=9");
    let wrong = reader.get(&path).expect(400).html;
    assert!(
        wrong.contains("<a href=\"#in_dropped\">") && wrong.contains("the engine has 8 plugs"),
        "{wrong}"
    );
}

#[test]
fn a_car_by_hand_with_a_plug_as_it_was_told_is_judged_too() {
    let shop = Shop::start(Engine::Sqlite);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let path = "/check?thread=M14x1.25&reach_mm=19&seat=gasket&heat_index=50&cylinders=4&induction=naturally_aspirated\
                &use=street&in_thread=M14x1.25&in_reach_mm=0.5+in&in_seat=gasket&in_resistance_ohm=5+k%CE%A9";
    let told = reader.get(path).expect(200).html;
    for said in [
        "A build by hand",
        "A plug as it was told",
        "Wrong reach",
        "12.7 mm (0.500 in)",
    ] {
        assert!(told.contains(said), "{said} is missing from {told}");
    }
    assert!(
        !told.contains("fitting-card"),
        "no card without a stored build"
    );
}

#[test]
fn an_unmarked_plug_is_named_by_what_was_measured() {
    let shop = Shop::start(Engine::Sqlite);
    let slim = stored_plug(&shop, &plug("FW-9601"));
    let wide = stored_plug(&shop, &with(plug("FW-9602"), json!({ "hex_mm": 20.8 })));
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let begun = reader.get("/name").expect(200).html;
    assert!(
        begun.contains("pitch gauge in the flanks of the thread"),
        "how it is taken: {begun}"
    );
    let two = reader
        .get("/name?major_diameter_mm=13.9&pitch_mm=1.25&reach_mm=0.748+in&seat=gasket")
        .expect(200)
        .html;
    for said in [
        "M14x1.25".to_owned(),
        format!("href=\"/parts/{slim}\""),
        format!("href=\"/parts/{wide}\""),
        "about 50 %".to_owned(),
        "Measure next: Hex".to_owned(),
        "</span> Reach agrees:".to_owned(),
        "value=\"0.748 in\"".to_owned(),
    ] {
        assert!(two.contains(&said), "{said} is missing from {two}");
    }
    let hex = two.split("id=\"hex_mm\"").nth(1).expect("a field for it");
    let hex = hex.split('>').next().unwrap_or_default();
    assert!(hex.contains("autofocus"), "one goes on there: {hex}");
    let one = reader
        .get("/name?major_diameter_mm=13.9&pitch_mm=1.25&reach_mm=19&seat=gasket&hex_mm=20.8")
        .expect(200)
        .html;
    let (first, second) = (one.find(&wide), one.find(&slim));
    assert!(
        first.is_some() && second.is_none_or(|second| first < Some(second)),
        "{one}"
    );
    let wrong = reader
        .get("/name?reach_mm=%22%3E%3Cscript%3E&major_diameter_mm=90")
        .expect(400)
        .html;
    assert!(
        wrong.contains("id=\"reach_mm-fault\"") && wrong.contains("id=\"major_diameter_mm-fault\""),
        "{wrong}"
    );
    assert!(!wrong.contains("\"><script>"), "{wrong}");
    Visitor::nobody(&shop).get("/name").expect(401);
}
