//! Parts, lots, places, suppliers, the comparison and the catalogue as pages show them.

use plugwell_tests::Who;
use plugwell_tests::bodies::{bin, build, issue, plug, receive, stored_plug, with};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::{Value, json};

use crate::browser::visit;
use crate::forms::stocked;
use crate::visitor::Visitor;

#[track_caller]
fn says(html: &str, all: &[&str]) {
    for said in all {
        assert!(html.contains(said), "{said} in {html}");
    }
}

#[test]
fn a_part_shows_where_it_lies_what_is_kept_and_what_is_equal() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-7501");
    let colder = with(plug("FW-7502"), json!({ "heat_index": 80 }));
    let hotter = with(plug("FW-7503"), json!({ "heat_index": 50 }));
    let (colder, hotter) = (stored_plug(&shop, &colder), stored_plug(&shop, &hotter));
    let kept = json!({ "plug_id": part, "quantity": 3, "job": "J-75" });
    shop.once(Who::Tuner, "/v1/stock/reservations", &kept)
        .expect(201);
    shop.once(Who::Tuner, "/v1/stock/issues", &issue(&part, "J-76", 2))
        .expect(201);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let page = reader.get(&format!("/parts/{part}")).expect(200);
    says(
        &page.html,
        &[
            "<b>18</b> in bins, <b>3</b> of them kept for jobs",
            "J-75",
            "FW-7501 → J-76",
            "same but one step colder",
            "Side by side",
            "outline.svg?dimensions=true",
        ],
    );
    assert!(page.html.contains(&format!("/parts/{colder}")));
    assert!(
        !page.html.contains(&format!("/parts/{hotter}")),
        "hotter is never offered for colder"
    );
    assert!(!page.html.contains("/issue?"), "a reader issues nothing");
    let over = reader
        .get(&format!("/parts/{part}?over=FW-7502"))
        .expect(200);
    assert!(
        over.html.contains(&format!("over={colder}")),
        "{}",
        over.html
    );
    let unknown = reader
        .get(&format!("/parts/{part}?over=nothing-like-it"))
        .expect(400);
    says(
        &unknown.html,
        &["id=\"over-fault\"", "value=\"nothing-like-it\""],
    );
    reader.get("/parts/7").expect(404);
}

#[test]
fn lots_places_and_suppliers_tell_what_they_hold_and_did() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-7601"));
    let drawer = bin(&shop, "Drawer 76");
    let moved = receive(&shop, &part, &drawer, 12);
    shop.once(Who::Tuner, "/v1/stock/issues", &issue(&part, "J-77", 4))
        .expect(201);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let lot = format!("/lots/{}", moved["lot_id"].as_str().expect("a lot"));
    let page = clerk.get(&lot).expect(200);
    // 12 plugs came for 108.00, of which 8 are left.
    says(
        &page.html,
        &[
            "Ferrowick FW-7601",
            "Drawer 76",
            "J-77",
            "108.00 USD",
            "Quayside Parts",
        ],
    );
    assert_eq!(
        clerk
            .get(&format!("{lot}/life.svg"))
            .expect(200)
            .header("content-type"),
        "image/svg+xml"
    );
    let place = format!("/places/{drawer}");
    says(
        &clerk.get(&place).expect(200).html,
        &["Ferrowick FW-7601", "8 plugs, which cost 72.00 USD."],
    );
    let supplier = format!(
        "/suppliers/{}",
        moved["from_place_id"].as_str().expect("a place")
    );
    says(
        &clerk.get(&supplier).expect(200).html,
        &["Quayside Parts", "no order tells yet", "FW-7601"],
    );
}

#[test]
fn places_and_suppliers_are_changed_under_their_version() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stored_plug(&shop, &plug("FW-7651"));
    let drawer = bin(&shop, "Drawer 765");
    let moved = receive(&shop, &part, &drawer, 12);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let place = format!("/places/{drawer}");
    let supplier = moved["from_place_id"].as_str().expect("a place");
    let supplier = format!("/suppliers/{supplier}");
    for (path, fields, said) in [
        (
            &place,
            [("name", "Drawer 77"), ("retired", "no")],
            "Drawer 77",
        ),
        (
            &supplier,
            [("name", "Quayside"), ("lead_time_days", "9")],
            "9 days",
        ),
    ] {
        let form = format!("{path}/change");
        let shown = clerk.get(&form).expect(200);
        let (key, version) = (shown.hidden("form_key"), shown.hidden("version"));
        let mut all = vec![("form_key", key.as_str()), ("version", &version)];
        all.extend(fields);
        clerk.post(&form, &all).expect(303);
        says(&clerk.get(path).expect(200).html, &[said]);
        let late = clerk.post(&form, &all).expect(409);
        says(
            &late.html,
            &[
                "Somebody changed this meanwhile",
                &format!("value=\"{}\"", fields[0].1),
            ],
        );
        all[2].1 = "";
        clerk.post(&form, &all).expect(400);
        Visitor::signed_in(&shop, Who::Tuner).get(&form).expect(403);
    }
}

#[test]
fn parts_stand_side_by_side_and_what_differs_is_marked() {
    let shop = Shop::start(Engine::Sqlite);
    let one = stored_plug(&shop, &plug("FW-7701"));
    let other = with(plug("FW-7702"), json!({ "reach_mm": 26.5, "hex_mm": null }));
    let other = stored_plug(&shop, &other);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    says(
        &reader.get("/compare").expect(200).html,
        &["Two to four parts"],
    );
    let page = reader
        .get(&format!("/compare?part={one}&part=FW-7702"))
        .expect(200);
    says(
        &page.html,
        &[
            "≠ differs",
            "26.5 mm (1.043 in)",
            "100 000 km (62 100 mi)",
            &format!("over={other}"),
            "unknown",
        ],
    );
    assert_eq!(page.html.matches("≠ differs").count(), 1, "reach alone");
    says(
        &reader
            .get(&format!("/compare?part={one}&part=nobody"))
            .expect(400)
            .html,
        &["id=\"part-fault\"", "value=\"nobody\"", "FW-7701"],
    );
    let five: String = (0..4)
        .map(|n| format!("&part={}", stored_plug(&shop, &plug(&format!("FW-771{n}")))))
        .collect();
    says(
        &reader
            .get(&format!("/compare?part={one}{five}"))
            .expect(400)
            .html,
        &["At most four"],
    );
}

#[test]
fn the_catalogue_is_narrowed_page_by_page_and_goes_out_as_a_table() {
    for engine in plugwell_tests::shop::engines() {
        let shop = Shop::start(engine);
        stocked(&shop, "FW-7801");
        for n in 0..51 {
            let colder = json!({ "heat_index": 90, "resistor": false, "resistance_ohm": null });
            stored_plug(&shop, &with(plug(&format!("FW-79{n:02}")), colder));
        }
        let reader = Visitor::signed_in(&shop, Who::Reader);
        let asked = |query: &str| reader.get(&format!("/catalogue?{query}")).expect(200).html;
        says(&asked("in_bins=yes"), &["1 part.", "FW-7801"]);
        says(
            &asked("in_bins=no&heat_from=80&heat_to=100"),
            &["The first 50 parts.", "FW-7900"],
        );
        says(
            &asked("resistor=no&reach_mm=0.75+in&seat=gasket&thread=M14x1.25"),
            &["The first 50"],
        );
        says(&asked("heat_to=80"), &["1 part."]);
        says(&asked("q=FW-7801"), &["FW-7801"]);
        says(&asked("electrode=silver"), &["No part is like that."]);
        let first = asked("heat_from=80");
        let (_, rest) = first.split_once("<p><a href=\"").expect("more");
        let more = rest
            .split('"')
            .next()
            .expect("an address")
            .replace("&#38;", "&");
        says(
            &reader.get(&more).expect(200).html,
            &["1 parts more.", "FW-7950"],
        );
        let wrong = reader
            .get("/catalogue?reach_mm=long&heat_from=9999")
            .expect(400);
        says(
            &wrong.html,
            &[
                "id=\"reach_mm-fault\"",
                "id=\"heat_from-fault\"",
                "value=\"long\"",
            ],
        );
        let table = reader.get("/catalogue.csv").expect(200);
        assert!(table.header("content-type").starts_with("text/csv"));
        assert_eq!(table.html.lines().count(), 53, "a header and 52 parts");
        Visitor::nobody(&shop).get("/catalogue.csv").expect(401);
    }
}

/// At most eighty characters, as names are.
const SCRIPT: &str = "<img src=x onerror=\"document.title='taken'\"><script>taken</script>";

/// A part, a build, a head, a job and a place whose every text is a script; the pages that show them.
fn scripted(shop: &Shop) -> Vec<String> {
    let named = json!({ "maker": SCRIPT, "part_number": SCRIPT, "description": SCRIPT });
    let part = stored_plug(shop, &with(plug("FW-7951"), named));
    let place = bin(shop, SCRIPT);
    let moved = receive(shop, &part, &place, 20);
    let kept = json!({ "plug_id": part, "quantity": 1, "job": SCRIPT });
    shop.once(Who::Tuner, "/v1/stock/reservations", &kept)
        .expect(201);
    shop.once(Who::Tuner, "/v1/stock/issues", &issue(&part, SCRIPT, 1))
        .expect(201);
    let scrapped = json!({ "plug_id": part, "place_id": place, "quantity": 1, "reason": "other", "note": SCRIPT });
    shop.once(Who::Clerk, "/v1/stock/scrappings", &scrapped)
        .expect(201);
    let why = json!({ "supplier": SCRIPT, "note": SCRIPT });
    shop.patch(Who::Clerk, &format!("/v1/plugs/{part}/reordering"), &why)
        .expect(200);
    let mut engine = with(build(), json!({ "name": SCRIPT }));
    engine["head"]["name"] = SCRIPT.into();
    let stored: Value = shop
        .post(Who::Tuner, "/v1/builds", &engine)
        .expect(201)
        .json;
    shop.post(Who::Tuner, "/v1/heads", &engine["head"])
        .expect(201);
    let id = |value: &Value| value.as_str().expect("an id").to_owned();
    vec![
        format!("/parts/{part}"),
        format!("/parts/{part}/change"),
        format!("/parts/{part}/reordering"),
        format!("/?build={}", id(&stored["id"])),
        format!("/lots/{}", id(&moved["lot_id"])),
        format!("/places/{place}"),
        format!("/places/{place}/change"),
        format!("/compare?part={part}"),
        "/catalogue".to_owned(),
    ]
}

#[test]
fn script_in_every_text_of_a_record_comes_out_as_text() {
    let shop = Shop::start(Engine::Sqlite);
    let paths = scripted(&shop);
    let token = shop.token(Who::Clerk).expect("a token");
    visit(async |page| {
        page.open(shop.url()).await;
        page.fill("token", token).await;
        page.follow("main button").await;
        for path in &paths {
            page.open(&format!("{}{path}", shop.url())).await;
            assert!(!page.title().await.starts_with("taken"), "{path}");
            assert_eq!(
                page.count("main script, main img[src=x]").await,
                0,
                "{path}"
            );
            let shown = "return document.querySelector('main').innerHTML.includes('&lt;script') || \
                         [...document.querySelectorAll('main input')].some(i => i.value.includes('<script'))";
            assert_eq!(page.run(shown).await, true, "{path} shows it as text");
        }
        page.widen(360).await;
        for path in &paths {
            page.open(&format!("{}{path}", shop.url())).await;
            let over = "return document.documentElement.scrollWidth > window.innerWidth";
            assert_eq!(page.run(over).await, false, "{path} sticks out");
        }
    });
}
