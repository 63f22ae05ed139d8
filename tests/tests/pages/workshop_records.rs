//! Heads and builds, seen without a browser: stored once, changed by whom it was meant for, removed
//! where nothing stands on them.

use plugwell_tests::Who;
use plugwell_tests::bodies::{build, head, plug, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::visitor::{Seen, Visitor};

const HEAD: [(&str, &str); 6] = [
    ("name", "Cormorant <b>54</b>"),
    ("thread", "M14x1.25"),
    ("reach_mm", "0.75 in"),
    ("seat", "gasket"),
    ("heat_index", "50"),
    ("hex_max_mm", "16"),
];

/// What a form carries besides what is typed into it.
fn sent<'a>(own: &'a [(&'a str, String)], typed: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let own = own.iter().map(|(name, value)| (*name, value.as_str()));
    own.chain(typed.iter().copied()).collect()
}

/// The form's key, and another hidden field of it.
fn hidden(seen: &Seen, name: &'static str) -> [(&'static str, String); 2] {
    [
        ("form_key", seen.hidden("form_key")),
        (name, seen.hidden(name)),
    ]
}

/// Stores a head by its form, sent twice; where it stands.
fn stored_head(shop: &Shop, tuner: &Visitor<'_>) -> String {
    let own = hidden(&tuner.get("/heads/new").expect(200), "once");
    let first = tuner.post("/heads/new", &sent(&own, &HEAD)).expect(303);
    let again = tuner.post("/heads/new", &sent(&own, &HEAD)).expect(303);
    let here = first.header("location");
    assert_eq!(again.header("location"), format!("{here}?again=yes"));
    let all = shop.get(Who::Reader, "/v1/heads").expect(200);
    assert_eq!(all.items().len(), 1, "stored once");
    here.to_owned()
}

#[test]
fn a_head_is_stored_once_and_what_is_wrong_with_it_is_named() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let own = hidden(&tuner.get("/heads/new").expect(200), "once");
    let typed = [&HEAD[..2], &[("reach_mm", "deep")]].concat();
    let wrong = tuner
        .post("/heads/new", &sent(&own, &typed))
        .expect(400)
        .html;
    for said in [
        "id=\"seat-fault\"",
        "id=\"reach_mm-fault\"",
        "value=\"deep\"",
        "&#60;b&#62;54",
    ] {
        assert!(wrong.contains(said), "{said} is missing from {wrong}");
    }
    let shown = tuner.get(&stored_head(&shop, &tuner)).expect(200).html;
    assert!(shown.contains("19.05 mm (0.750 in)") && shown.contains("No build stands on it."));
}

#[test]
fn a_head_is_changed_under_its_version_and_removed() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let here = stored_head(&shop, &tuner);
    let change = format!("{here}/change");
    let form = tuner.get(&change).expect(200);
    assert!(form.html.contains("value=\"19.05\""), "{}", form.html);
    let own = hidden(&form, "version");
    let typed = [&HEAD[..1], &HEAD[2..]].concat();
    let wrong = tuner.post(&change, &sent(&own, &typed)).expect(400).html;
    assert!(wrong.contains("id=\"thread-fault\""), "{wrong}");
    // Without the hexagon: what is left open is cleared.
    tuner.post(&change, &sent(&own, &HEAD[..5])).expect(303);
    let now = shop
        .get(Who::Reader, &format!("/v1{here}"))
        .expect(200)
        .json;
    assert_eq!(
        (&now["hex_max_mm"], &now["version"]),
        (&json!(null), &json!(2))
    );
    let stale = tuner.post(&change, &sent(&own, &HEAD)).expect(409);
    for said in [
        "Somebody changed this",
        "id=\"hex_max_mm-fault\"",
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
    tuner
        .post(&change, &sent(&hidden(&stale, "version"), &HEAD))
        .expect(303);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let looked = reader.get(&here).expect(200);
    assert!(!looked.html.contains("Remove this head") && !looked.html.contains("Change it"));
    reader.get(&change).expect(403);
    let removal = format!("{here}/removal");
    let own = hidden(&tuner.get(&here).expect(200), "version");
    let of_reader = [("form_key", looked.hidden("form_key"))];
    reader
        .post(&removal, &sent(&of_reader, &[("version", "3")]))
        .expect(403);
    let stale = tuner
        .post(&removal, &sent(&own[..1], &[("version", "1")]))
        .expect(409);
    assert!(stale.html.contains("it was not removed"), "{}", stale.html);
    tuner.post(&removal, &sent(&own, &[])).expect(303);
    tuner.get(&here).expect(404);
}

/// A build over a stored head, as it is typed.
fn engine(head: &str) -> [(&str, &str); 7] {
    [
        ("name", "Heron <i>blown</i>"),
        ("head", head),
        ("cylinders", "8"),
        ("induction", "supercharged"),
        ("use", "street"),
        ("power_kw", "700 hp"),
        ("electronics", "radio"),
    ]
}

/// Stores a head, and by its form, sent twice, a build over it: where both stand.
fn stored_build(shop: &Shop, tuner: &Visitor<'_>) -> (String, String) {
    let head = shop
        .post(Who::Tuner, "/v1/heads", &head())
        .expect(201)
        .text("id");
    let form = tuner.get(&format!("/builds/new?head={head}")).expect(200);
    assert!(form.html.contains(&format!("value=\"{head}\" selected")));
    let own = hidden(&form, "once");
    let first = tuner
        .post("/builds/new", &sent(&own, &engine(&head)))
        .expect(303);
    tuner
        .post("/builds/new", &sent(&own, &engine(&head)))
        .expect(303);
    let all = shop.get(Who::Reader, "/v1/builds").expect(200);
    assert_eq!(all.items().len(), 1, "stored once");
    let (here, _) = first.header("location").split_once('?').expect("a query");
    (head, here.to_owned())
}

#[test]
fn a_build_is_stored_once_over_a_head_and_told_in_both_units() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let (head, here) = stored_build(&shop, &tuner);
    let shown = tuner.get(&here).expect(200).html;
    for said in [
        "522 kW (700 hp)",
        "Cormorant 54",
        "radio",
        "/section.svg\"",
        "&#60;i&#62;blown",
    ] {
        assert!(shown.contains(said), "{said} is missing from {shown}");
    }
    for list in [format!("/heads/{head}"), "/builds".to_owned()] {
        assert!(tuner.get(&list).expect(200).html.contains(&here), "{list}");
    }
    let own = hidden(&tuner.get("/builds/new").expect(200), "once");
    let typed = [&engine(&head)[..2], &[("reach_mm", "19")]].concat();
    let wrong = tuner
        .post("/builds/new", &sent(&own, &typed))
        .expect(400)
        .html;
    assert!(
        wrong.contains("id=\"cylinders-fault\"") && wrong.contains("&#60;i&#62;blown"),
        "{wrong}"
    );
    let reader = Visitor::signed_in(&shop, Who::Reader);
    assert!(
        !reader
            .get(&here)
            .expect(200)
            .html
            .contains("Remove this build")
    );
    reader.get("/builds/new").expect(403);
}

#[test]
fn a_build_is_changed_under_its_version_and_removed() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let (head, here) = stored_build(&shop, &tuner);
    let change = format!("{here}/change");
    let own = hidden(&tuner.get(&change).expect(200), "version");
    let typed = [&engine(&head)[..5], &[("electronics", "none")]].concat();
    tuner.post(&change, &sent(&own, &typed)).expect(303);
    let now = shop
        .get(Who::Reader, &format!("/v1{here}"))
        .expect(200)
        .json;
    assert_eq!(
        (&now["power_kw"], &now["electronics"]),
        (&json!(null), &json!([]))
    );
    let stale = tuner
        .post(&change, &sent(&own, &engine(&head)))
        .expect(409)
        .html;
    assert!(
        stale.contains("id=\"power_kw-fault\"") && stale.contains("value=\"700 hp\""),
        "{stale}"
    );
    let own = hidden(&tuner.get(&here).expect(200), "version");
    tuner
        .post(&format!("{here}/removal"), &sent(&own, &[]))
        .expect(303);
    tuner.get(&here).expect(404);
}

#[test]
fn a_build_that_brings_its_head_keeps_what_its_form_does_not_show() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let made = shop
        .post(Who::Tuner, "/v1/builds", &build())
        .expect(201)
        .text("id");
    let change = format!("/builds/{made}/change");
    let own = hidden(&tuner.get(&change).expect(200), "version");
    let typed = [
        ("name", "Heron"),
        ("thread", "M14x1.25"),
        ("reach_mm", "26.5"),
        ("seat", "gasket"),
        ("heat_index", "50"),
        ("cylinders", "8"),
        ("induction", "supercharged"),
        ("use", "track"),
    ];
    tuner.post(&change, &sent(&own, &typed)).expect(303);
    let now = shop
        .get(Who::Reader, &format!("/v1/builds/{made}"))
        .expect(200)
        .json;
    assert_eq!(now["head"]["reach_mm"], json!(26.5));
    assert_eq!(
        now["head"]["hex_max_mm"],
        json!(null),
        "what was emptied is cleared"
    );
    assert_eq!(
        now["head"]["name"],
        head()["name"],
        "what the form does not show stays"
    );
    assert_eq!(
        (&now["use"], &now["boost_kpa"]),
        (&json!("track"), &json!(null))
    );
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
    // A browser keeps the picture with the headers of the later answer.
    let path = format!("{}/builds/{made}/section.svg?plug_id={long}", shop.url());
    let again = reader.client.get(path).header("cookie", &reader.cookie);
    let again = again.header("if-none-match", drawn.header("etag")).send();
    let again = Seen::of(again.expect("an answer")).expect(304);
    let policy = again.header("content-security-policy");
    assert!(policy.contains("style-src 'sha256-"), "{policy}");
    assert_eq!(policy, drawn.header("content-security-policy"));
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
fn the_form_of_a_build_begins_with_what_the_address_says() {
    let shop = Shop::start(Engine::Sqlite);
    let tuner = Visitor::signed_in(&shop, Who::Tuner);
    let asked = "thread=M14x1.25&reach_mm=19&cylinders=6&induction=turbocharged";
    let form = tuner.get(&format!("/builds/new?{asked}")).expect(200).html;
    for said in [
        "name=\"cylinders\" value=\"6\"",
        "value=\"turbocharged\" selected",
        "name=\"reach_mm\" value=\"19\"",
    ] {
        assert!(form.contains(said), "{said} is missing from {form}");
    }
}
