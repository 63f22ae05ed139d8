//! What the history and the quarantine tell of plugs that were moved by hand, put right, or made another lot.

use plugwell_tests::Who;
use plugwell_tests::bodies::{issue, place};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::{Value, json};

use crate::counter_form::Counter;
use crate::forms::{in_bins, stocked};
use crate::visitor::Visitor;

/// The only lot of a part.
fn lot(shop: &Shop, part: &str) -> Value {
    let path = format!("/v1/stock/lots?plug_id={part}");
    shop.get(Who::Reader, &path).expect(200).items()[0].clone()
}

/// The bin that is called as a part is.
fn bin_of(shop: &Shop, name: &str) -> String {
    let bins = shop
        .get(Who::Reader, "/v1/stock/places?kind=bin")
        .expect(200);
    let own = bins.items().iter().find(|bin| bin["name"] == name);
    own.expect("a bin")["id"]
        .as_str()
        .expect("an id")
        .to_owned()
}

#[test]
fn what_was_moved_into_quarantine_by_hand_is_listed_with_its_ways_out() {
    let shop = Shop::start(Engine::Sqlite);
    let (part, waiting) = (stocked(&shop, "FW-5400"), stocked(&shop, "FW-5401"));
    let (kept, checked) = (lot(&shop, &part), lot(&shop, &waiting));
    let cage = place(&shop, "quarantine", "Cage <1>");
    let manager = Visitor::signed_in(&shop, Who::Manager);
    let empty = manager.get("/quarantine").expect(200);
    assert!(empty.html.contains("Nothing lies there besides."));
    let body = json!({
        "lot_id": kept["id"], "from_place_id": bin_of(&shop, "FW-5400"), "to_place_id": cage,
        "quantity": 7
    });
    shop.once(Who::Clerk, "/v1/stock/transfers", &body)
        .expect(201);
    let body = json!({ "lot_id": checked["id"], "sample": 1, "reach_mm": [12.0] });
    shop.once(Who::Clerk, "/v1/stock/incoming-checks", &body)
        .expect(201);
    let page = manager.get("/quarantine").expect(200);
    let (waits, besides) = page
        .html
        .split_once("Lies there besides")
        .expect("two lists");
    let code = |lot: &Value| lot["code"].as_str().expect("a code").to_owned();
    let (kept_code, checked_code) = (code(&kept), code(&checked));
    assert!(waits.contains(&format!(">{checked_code}<")), "{waits}");
    assert!(!besides.contains(&format!(">{checked_code}<")), "{besides}");
    let id = kept["id"].as_str().expect("an id");
    for said in [
        format!("href=\"/lots/{id}\">{kept_code}<"),
        "Ferrowick FW-5400".into(),
        "Cage &#60;1&#62;".into(),
        format!("Move {kept_code}"),
        format!("Scrap {kept_code}"),
    ] {
        assert!(besides.contains(&said), "{said} in {besides}");
    }
    // Its links fill the forms in.
    let way = |form: &str| {
        let (_, rest) = besides.split_once(form).expect("a way");
        let query = rest.split('"').next().expect("its end");
        format!("{form}{}", query.replace("&#38;", "&"))
    };
    let mut manager = Counter::at(&shop, Who::Manager, &way("/move?"));
    assert_eq!(
        (
            manager.value("lot"),
            manager.value("from_place"),
            manager.value("quantity")
        ),
        (kept_code.clone(), "Cage <1>".into(), "7".into())
    );
    manager.send(&[("to_place", "FW-5400"), ("quantity", "3")]);
    assert_eq!(in_bins(&shop, &part), 16);
    manager.open(&way("/scrap?"));
    manager.send(&[("quantity", "4")]);
    let page = manager.open("/quarantine");
    assert!(page.html.contains("Nothing lies there besides."));
}

#[test]
fn nobody_but_a_manager_is_shown_the_way_back_out_of_quarantine() {
    let shop = Shop::start(Engine::Sqlite);
    let kept = lot(&shop, &stocked(&shop, "FW-5450"));
    let cage = place(&shop, "quarantine", "Cage");
    let (id, code) = (&kept["id"], kept["code"].as_str().expect("a code"));
    let body = json!({
        "lot_id": id, "from_place_id": bin_of(&shop, "FW-5450"), "to_place_id": cage, "quantity": 1
    });
    shop.once(Who::Clerk, "/v1/stock/transfers", &body)
        .expect(201);
    for (who, may_scrap) in [(Who::Clerk, true), (Who::Reader, false)] {
        let page = Visitor::signed_in(&shop, who).get("/quarantine");
        let page = page.expect(200).html;
        assert!(page.contains(&format!(">{code}<")), "{page}");
        assert!(!page.contains("/move?lot_id"), "{page}");
        assert_eq!(page.contains("/scrap?lot_id"), may_scrap, "{page}");
    }
}

#[test]
fn the_history_tells_what_was_put_right_and_goes_out_as_file_and_sheet() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-5500");
    stocked(&shop, "FW-5501");
    let body = json!({
        "plug_id": part, "place_id": bin_of(&shop, "FW-5500"), "quantity": 2, "reason": "dropped"
    });
    let made = shop.once(Who::Clerk, "/v1/stock/scrappings", &body);
    let made = made.expect(201);
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let path = "/movements?part=FW-5500";
    let before = reader.get(path).expect(200).html;
    assert!(before.contains("Scrapped for good") && !before.contains("put right since"));
    let body = json!({ "movement_id": made.json["movements"][0]["id"], "reason": "<u>slip" });
    shop.once(Who::Manager, "/v1/stock/reversals", &body)
        .expect(201);
    let page = reader.get(path).expect(200).html;
    assert!(!page.contains("Scrapped for good"), "{page}");
    assert!(page.contains("dropped, put right since"), "{page}");
    for way in [
        "/movements.csv?part=FW%2D5500",
        "/movements/print?part=FW%2D5500",
    ] {
        assert!(page.contains(way), "{way} in {page}");
    }
    let file = reader.get("/movements.csv?part=FW-5500").expect(200);
    assert!(file.header("content-type").starts_with("text/csv"));
    // Header, reversal, scrapping, receipt; nothing of another part.
    assert_eq!(file.html.lines().count(), 4, "{}", file.html);
    let sheet = reader.get("/movements/print?part=FW-5500").expect(200).html;
    for said in [
        "Part: FW-5500.",
        "Scrapped (dropped, put right since)",
        "Received",
    ] {
        assert!(sheet.contains(said), "{said} in {sheet}");
    }
    assert!(!sheet.contains("FW-5501"), "{sheet}");
    // What is not understood leads to the page that says so.
    for form in ["/movements.csv", "/movements/print"] {
        let seen = reader.get(&format!("{form}?kind=theft")).expect(303);
        assert_eq!(seen.header("location"), "/movements?kind=theft");
        Visitor::nobody(&shop).get(form).expect(401);
    }
}

#[test]
fn gapped_plugs_that_come_back_became_another_lot() {
    let shop = Shop::start(Engine::Sqlite);
    let part = stocked(&shop, "FW-5600");
    let issued = shop
        .once(Who::Tuner, "/v1/stock/issues", &issue(&part, "J-560", 4))
        .expect(201);
    let body = json!({
        "movement_id": issued.json["movements"][0]["id"], "quantity": 2, "condition": "gapped",
        "gap_mm": 0.7, "place_id": bin_of(&shop, "FW-5600")
    });
    let back = shop
        .once(Who::Clerk, "/v1/stock/returns", &body)
        .expect(201);
    let code = back.json["lots"][0]["code"].as_str().expect("a code");
    let old = lot(&shop, &part);
    let old = old["code"].as_str().expect("a code");
    let job = issued.json["movements"][0]["to_place_id"]
        .as_str()
        .expect("an id");
    let reader = Visitor::signed_in(&shop, Who::Reader);
    let became = format!("J-560 → became lot {code}, set to 0.7 mm (28 thou)");
    for path in [format!("/jobs/{job}"), "/movements".into()] {
        let page = reader.get(&path).expect(200).html;
        assert!(page.contains(&became), "{path}: {page}");
        let then = format!("before of lot {old} → FW-5600");
        assert!(page.contains(&then), "{path}: {page}");
        assert!(!page.contains("Count difference →"), "{path}: {page}");
        assert!(!page.contains("→ Count difference"), "{path}: {page}");
    }
    // The bin tells it from the sealed ones, and so does the life of the lot.
    let bin = bin_of(&shop, "FW-5600");
    let page = reader.get(&format!("/places/{bin}")).expect(200).html;
    assert!(page.contains("gapped to 0.7 mm"), "{page}");
    let id = back.json["lots"][0]["id"].as_str().expect("an id");
    let page = reader.get(&format!("/lots/{id}")).expect(200).html;
    assert!(
        page.contains(&format!("became lot {code}, set to 0.7 mm")),
        "{page}"
    );
    assert!(
        page.contains("Of the whole family, now in bins: 18 plugs"),
        "{page}"
    );
}
