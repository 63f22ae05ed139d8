//! Heat scales and their calibration: seen without a browser.

use plugwell_tests::Who;
use plugwell_tests::bodies::heat_scale;
use plugwell_tests::shop::{Engine, Shop};

use crate::visitor::{Seen, Visitor};

const SCRIPT: &str = "<script>alert(1)</script>";

fn stored(shop: &Shop, maker: &str) -> String {
    let made = shop.post(Who::Clerk, "/v1/heat-scales", &heat_scale(maker, "steps"));
    made.expect(201).text("id")
}

fn sent(who: &Visitor<'_>, page: &Seen, path: &str, typed: &[(&str, &str)]) -> Seen {
    let (key, version) = (page.hidden("form_key"), page.hidden("version"));
    let mut fields = vec![("form_key", key.as_str()), ("version", version.as_str())];
    fields.extend(typed);
    who.post(path, &fields)
}

#[test]
fn a_scale_is_written_shown_and_changed() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let form = clerk.get("/heat-scales/new").expect(200);
    let typed = [
        ("maker", "Ostrevik"),
        ("name", SCRIPT),
        ("codes", "9 90\n8"),
    ];
    let wrong = sent(&clerk, &form, "/heat-scales/new", &typed).expect(400);
    for said in ["line 2", "9 90\n8", "&#60;script&#62;"] {
        assert!(wrong.html.contains(said), "{said}: {}", wrong.html);
    }
    assert!(!wrong.html.contains(SCRIPT));
    let typed = [
        ("maker", "Ostrevik"),
        ("name", "one"),
        ("codes", "9 90\n8 80,5"),
    ];
    let made = sent(&clerk, &form, "/heat-scales/new", &typed).expect(303);
    let page = made
        .header("location")
        .split('?')
        .next()
        .expect("a path")
        .to_owned();
    let shown = clerk.get(&page).expect(200);
    assert!(shown.html.contains("80.5") && shown.html.contains("No part carries a code of it"));
    let typed = [
        ("maker", "Ostrevik"),
        ("name", "one"),
        ("codes", "9 90\n8 81\n7 70"),
    ];
    sent(&clerk, &shown, &page, &typed).expect(303);
    // The same form once more is meant for a scale that has changed.
    let stale = sent(&clerk, &shown, &page, &typed).expect(409);
    assert!(
        stale.html.contains("changed while you typed"),
        "{}",
        stale.html
    );
    let list = clerk.get("/heat-scales").expect(200);
    assert!(list.html.contains("Ostrevik one") && list.html.contains("70 to 90"));
    let chart = clerk.get("/heat-scales/chart.svg").expect(200);
    assert!(chart.html.contains("<svg"));
    let reader = Visitor::signed_in(&shop, Who::Reader);
    assert!(
        !reader
            .get(&page)
            .expect(200)
            .html
            .contains("Write the scale")
    );
    reader.get("/heat-scales/new").expect(403);
}

#[test]
fn a_manager_applies_the_calibration_that_was_looked_at_and_no_other() {
    let shop = Shop::start(Engine::Sqlite);
    let (anchor, other) = (stored(&shop, "Ferrowick"), stored(&shop, "Ostrevik"));
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let key = manager
        .get("/heat-scales/calibration")
        .expect(200)
        .hidden("form_key");
    let path = "/heat-scales/calibration";
    let ask = |text: &str, fingerprint: &str| {
        let fields = [
            ("form_key", key.as_str()),
            ("anchor_scale", anchor.as_str()),
            ("statements", text),
            ("fingerprint", fingerprint),
        ];
        manager.post(path, &fields)
    };
    let wrong = ask("Ferrowick steps 9 = Nobody 3", "").expect(400);
    assert!(
        wrong.html.contains("line 1") && wrong.html.contains("= Nobody 3</textarea>"),
        "{}",
        wrong.html
    );
    let wrong = ask("Ferrowick steps 9 = Ostrevik steps 77", "").expect(400);
    assert!(wrong.html.contains("has no code"), "{}", wrong.html);
    // One code colder all along, and one statement that says much else.
    let text = "Ferrowick 8 = Ostrevik 9\nFerrowick 7 = Ostrevik 8\nFerrowick 6 = Ostrevik 7\nFerrowick 4 = Ostrevik 9";
    let found = ask(text, "").expect(200);
    for said in [
        "Line 4:",
        "breaks the rest",
        "statements reach the scale that stands",
        "Apply exactly this",
    ] {
        assert!(found.html.contains(said), "{said}: {}", found.html);
    }
    let text = "Ferrowick 8 = Ostrevik 9\nFerrowick 7 = Ostrevik 8\nFerrowick 6 = Ostrevik 7";
    let found = ask(text, "").expect(200);
    assert!(found.html.contains("No statement breaks the rest"));
    let seen = found.hidden("fingerprint");
    let changed = ask("Ferrowick 8 = Ostrevik 9", &seen).expect(409);
    assert!(
        changed.html.contains("Nothing was applied"),
        "{}",
        changed.html
    );
    let before = shop
        .get(Who::Reader, &format!("/v1/heat-scales/{other}"))
        .expect(200);
    assert_eq!(before.json["codes"][0]["heat_index"].as_f64(), Some(90.0));
    let applied = ask(text, &seen).expect(303);
    assert_eq!(applied.header("location"), "/heat-scales?applied=1");
    let after = shop
        .get(Who::Reader, &format!("/v1/heat-scales/{other}"))
        .expect(200);
    assert_eq!(after.json["codes"][0]["heat_index"].as_f64(), Some(80.0));
    ask(text, &seen).expect(409);
}

#[test]
fn a_clerk_looks_at_a_calibration_and_applies_none() {
    let shop = Shop::start(Engine::Sqlite);
    let (anchor, _) = (stored(&shop, "Ferrowick"), stored(&shop, "Ostrevik"));
    let path = "/heat-scales/calibration";
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let key = clerk.get(path).expect(200).hidden("form_key");
    let fields = [
        ("form_key", key.as_str()),
        ("anchor_scale", anchor.as_str()),
        ("statements", "Ferrowick 8 = Ostrevik 9"),
    ];
    let looked = clerk.post(path, &fields).expect(200);
    assert!(
        !looked.html.contains("Apply exactly this") && looked.html.contains("A manager applies it")
    );
    let mut applies = fields.to_vec();
    let seen = "0".repeat(64);
    applies.push(("fingerprint", &seen));
    clerk.post(path, &applies).expect(403);
}
