//! Heads and builds, seen without a browser: stored once, changed by whom it was meant for, removed
//! where nothing stands on them.

use plugwell_tests::Who;
use plugwell_tests::bodies::{build, plug, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::visitor::Visitor;

const HEAD: [(&str, &str); 6] = [
    ("name", "Cormorant <b>54</b>"),
    ("thread", "M14x1.25"),
    ("reach_mm", "0.75 in"),
    ("seat", "gasket"),
    ("heat_index", "50"),
    ("hex_max_mm", "16"),
];

#[test]
fn a_head_is_stored_once_changed_and_removed() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let form = tuner.get("/heads/new").expect(200);
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let own = [("form_key", key.as_str()), ("once", once.as_str())];
    let wrong = tuner.post(
        "/heads/new",
        &[&own[..], &HEAD[..2], &[("reach_mm", "deep")]].concat(),
    );
    let wrong = wrong.expect(400);
    for said in [
        "id=\"seat-fault\"",
        "id=\"reach_mm-fault\"",
        "value=\"deep\"",
        "&#60;b&#62;54",
    ] {
        assert!(
            wrong.html.contains(said),
            "{said} is missing from {}",
            wrong.html
        );
    }
    let sent = [&own[..], &HEAD].concat();
    let first = tuner.post("/heads/new", &sent).expect(303);
    let again = tuner.post("/heads/new", &sent).expect(303);
    let here = first.header("location");
    assert_eq!(again.header("location"), format!("{here}?again=yes"));
    assert_eq!(
        shop.get(Who::Reader, "/v1/heads").expect(200).items().len(),
        1
    );
    let shown = tuner.get(here).expect(200);
    assert!(
        shown.html.contains("19.05 mm (0.750 in)") && shown.html.contains("No build stands on it.")
    );
    let form = tuner.get(&format!("{here}/change")).expect(200);
    assert!(form.html.contains("value=\"19.05\""), "{}", form.html);
    let version = form.hidden("version");
    let own = [("form_key", key.as_str()), ("version", version.as_str())];
    // Without the hexagon: what is left open is cleared.
    tuner
        .post(&format!("{here}/change"), &[&own[..], &HEAD[..5]].concat())
        .expect(303);
    let now = shop
        .get(Who::Reader, &format!("/v1{here}"))
        .expect(200)
        .json;
    assert_eq!(
        (&now["hex_max_mm"], &now["version"]),
        (&json!(null), &json!(2))
    );
    let stale = tuner
        .post(&format!("{here}/change"), &[&own[..], &HEAD].concat())
        .expect(409);
    for said in [
        "Somebody changed this record",
        "stored is now: left open",
        "value=\"16\"",
    ] {
        assert!(
            stale.html.contains(said),
            "{said} is missing from {}",
            stale.html
        );
    }
    assert!(
        !stale.html.contains("id=\"reach_mm-fault\""),
        "0.75 in is what is stored"
    );
    let own = [
        ("form_key", key.clone()),
        ("version", stale.hidden("version")),
    ];
    let own = own.each_ref().map(|(name, value)| (*name, value.as_str()));
    tuner
        .post(&format!("{here}/change"), &[&own[..], &HEAD].concat())
        .expect(303);
    let version = tuner.get(here).expect(200).hidden("version");
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let looked = reader.get(here).expect(200);
    assert!(!looked.html.contains("Remove this head") && !looked.html.contains("Change it"));
    reader.get(&format!("{here}/change")).expect(403);
    let removal = [("form_key", key.as_str()), ("version", version.as_str())];
    let of_reader = [
        ("form_key", looked.hidden("form_key")),
        ("version", version.clone()),
    ];
    let of_reader = of_reader
        .each_ref()
        .map(|(name, value)| (*name, value.as_str()));
    reader
        .post(&format!("{here}/removal"), &of_reader)
        .expect(403);
    tuner.post(&format!("{here}/removal"), &removal).expect(303);
    tuner.get(here).expect(404);
}

#[test]
fn a_build_is_stored_over_a_head_changed_and_removed() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let head = shop
        .post(Who::Tuner, "/v1/heads", &plugwell_tests::bodies::head())
        .expect(201)
        .text("id");
    let form = tuner.get(&format!("/builds/new?head={head}")).expect(200);
    assert!(form.html.contains(&format!("value=\"{head}\" selected")));
    let (key, once) = (form.hidden("form_key"), form.hidden("once"));
    let own = [("form_key", key.as_str()), ("once", once.as_str())];
    let engine = [
        ("name", "Heron <i>blown</i>"),
        ("head", head.as_str()),
        ("cylinders", "8"),
        ("induction", "supercharged"),
        ("use", "street"),
        ("power_kw", "700 hp"),
        ("electronics", "radio"),
    ];
    let wrong = tuner.post(
        "/builds/new",
        &[&own[..], &engine[..2], &[("reach_mm", "19")]].concat(),
    );
    let wrong = wrong.expect(400).html;
    assert!(
        wrong.contains("id=\"cylinders-fault\"") && wrong.contains("&#60;i&#62;blown"),
        "{wrong}"
    );
    let sent = [&own[..], &engine].concat();
    let first = tuner.post("/builds/new", &sent).expect(303);
    tuner.post("/builds/new", &sent).expect(303);
    assert_eq!(
        shop.get(Who::Reader, "/v1/builds")
            .expect(200)
            .items()
            .len(),
        1
    );
    let here = first.header("location").to_owned();
    let shown = tuner.get(&here).expect(200);
    for said in [
        "522 kW (700 hp)",
        "Cormorant 54",
        "radio",
        "/section.svg\"",
        "&#60;i&#62;blown",
    ] {
        assert!(
            shown.html.contains(said),
            "{said} is missing from {}",
            shown.html
        );
    }
    assert!(
        tuner
            .get(&format!("/heads/{head}"))
            .expect(200)
            .html
            .contains(&here)
    );
    assert!(tuner.get("/builds").expect(200).html.contains(&here));
    let form = tuner.get(&format!("{here}/change")).expect(200);
    let version = form.hidden("version");
    let own = [("form_key", key.as_str()), ("version", version.as_str())];
    tuner
        .post(
            &format!("{here}/change"),
            &[&own[..], &engine[..5], &[("electronics", "none")]].concat(),
        )
        .expect(303);
    let now = shop
        .get(Who::Reader, &format!("/v1{here}"))
        .expect(200)
        .json;
    assert_eq!(
        (&now["power_kw"], &now["electronics"]),
        (&json!(null), &json!([]))
    );
    let stale = tuner
        .post(&format!("{here}/change"), &[&own[..], &engine].concat())
        .expect(409)
        .html;
    assert!(
        stale.contains("id=\"power_kw-fault\"") && stale.contains("value=\"700 hp\""),
        "{stale}"
    );
    let version = tuner.get(&here).expect(200).hidden("version");
    let reader = Visitor::signed_in(&shop, Who::Reader);
    assert!(
        !reader
            .get(&here)
            .expect(200)
            .html
            .contains("Remove this build")
    );
    reader.get("/builds/new").expect(403);
    let removal = [("form_key", key.as_str()), ("version", version.as_str())];
    tuner.post(&format!("{here}/removal"), &removal).expect(303);
    tuner.get(&here).expect(404);
}

#[test]
fn a_plug_that_is_too_long_is_drawn_as_such() {
    let shop = Shop::start(Engine::Sqlite);
    let long = stored_plug(&shop, &with(plug("FW-9801"), json!({ "reach_mm": 26.5 })));
    let made = shop
        .post(Who::Tuner, "/v1/builds", &build())
        .expect(201)
        .text("id");
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let drawn = reader
        .get(&format!("/builds/{made}/section.svg?plug_id={long}"))
        .expect(200);
    assert_eq!(drawn.header("content-type"), "image/svg+xml");
    assert!(drawn.html.contains("7.5 mm too long"), "{}", drawn.html);
    let told = reader
        .get(&format!("/check?build={made}&in_part=FW-9801"))
        .expect(200)
        .html;
    assert!(
        told.contains("Wrong reach") && told.contains("/section.svg?build="),
        "{told}"
    );
}

#[test]
fn a_build_by_hand_can_be_stored_as_it_was_asked_for() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let asked = "thread=M14x1.25&reach_mm=19&seat=gasket&heat_index=50&cylinders=6&induction=turbocharged&use=track";
    let matched = tuner.get(&format!("/?{asked}")).expect(200).html;
    assert!(
        matched.contains(&format!("/builds/new?{}", asked.replace('&', "&#38;"))),
        "{matched}"
    );
    let form = tuner.get(&format!("/builds/new?{asked}")).expect(200).html;
    for said in [
        "name=\"cylinders\" value=\"6\"",
        "value=\"turbocharged\" selected",
        "name=\"reach_mm\" value=\"19\"",
    ] {
        assert!(form.contains(said), "{said} is missing from {form}");
    }
    let reader = Visitor::signed_in(&shop, Who::Reader);
    assert!(
        !reader
            .get(&format!("/?{asked}"))
            .expect(200)
            .html
            .contains("/builds/new")
    );
    let stored = shop
        .post(Who::Tuner, "/v1/builds", &build())
        .expect(201)
        .text("id");
    let matched = reader.get(&format!("/?build={stored}")).expect(200).html;
    assert!(
        matched.contains(&format!("href=\"/builds/{stored}\"")),
        "{matched}"
    );
}
