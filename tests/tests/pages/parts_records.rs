//! Records of parts made and changed by forms: faults by field, versions, roles, what cannot go.

use plugwell_tests::Who;
use plugwell_tests::bodies::{plug, stored_plug};
use plugwell_tests::shop::{Engine, Shop};
use serde_json::json;

use crate::forms::stocked;
use crate::visitor::{Seen, Visitor};

/// Sends a form of a page with its hidden fields.
fn send(who: &Visitor<'_>, form: &str, path: &str, fields: &[(&str, &str)]) -> Seen {
    let shown = who.get(form).expect(200);
    let key = shown.hidden("form_key");
    let version = shown
        .html
        .contains("name=\"version\"")
        .then(|| shown.hidden("version"));
    let mut all = vec![("form_key", key.as_str())];
    all.extend(version.as_deref().map(|version| ("version", version)));
    all.extend(fields);
    who.post(path, &all)
}

fn record(number: &str) -> Vec<(&str, &str)> {
    vec![
        ("maker", "Ferrowick"),
        ("part_number", number),
        ("thread", "M14x1.25"),
        ("reach_mm", "0.75 in"),
        ("seat", "gasket"),
        ("heat_index", "60"),
        ("resistor", "yes"),
        ("pack_size", "4"),
        ("reach_mm_from", "measured"),
    ]
}

#[test]
fn a_clerk_makes_a_part_whose_values_are_said_back_with_their_source() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let made = send(&clerk, "/parts/new", "/parts/new", &record("FW-7001")).expect(303);
    let page = clerk.get(made.header("location")).expect(200);
    // Exact by NIST SP 811: 0.75 in = 19.05 mm.
    for said in [
        "<h1>Ferrowick FW-7001</h1>",
        "19.05 mm (0.750 in)",
        "measured in the shop",
        "the maker&#39;s sheet",
        "caliper across two flats",
        "unknown",
    ] {
        assert!(page.html.contains(said), "{said} in {}", page.html);
    }
    let stored = &shop.all(Who::Reader, "/v1/plugs?q=FW-7001")[0];
    assert_eq!(stored["reach_mm"], 19.05);
    assert_eq!(stored["provenance"], json!({ "reach_mm": "measured" }));
    assert_eq!(
        stored["hex_mm"],
        json!(null),
        "what was left open is unknown"
    );

    // The same once more: nothing is stored, and what was typed stays.
    let again = send(&clerk, "/parts/new", "/parts/new", &record("fw-7001")).expect(409);
    assert!(again.html.contains("stands in the catalogue already"));
    assert!(again.html.contains("value=\"0.75 in\""), "{}", again.html);
    let mut wrong = record("FW-7002");
    wrong[3].1 = "19 psi";
    wrong.push(("gtin", "123"));
    let refused = send(&clerk, "/parts/new", "/parts/new", &wrong).expect(400);
    for said in [
        "id=\"reach_mm-fault\"",
        "id=\"gtin-fault\"",
        "value=\"19 psi\"",
    ] {
        assert!(refused.html.contains(said), "{said} in {}", refused.html);
    }
    assert_eq!(shop.all(Who::Reader, "/v1/plugs").len(), 1);
    Visitor::signed_in(&shop, Who::Tuner)
        .get("/parts/new")
        .expect(403);
}

#[test]
fn a_change_that_comes_late_is_refused_and_tells_what_stands_there() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let part = stored_plug(&shop, &plug("FW-7101"));
    let form = format!("/parts/{part}/change");
    let shown = clerk.get(&form).expect(200);
    let (key, version) = (shown.hidden("form_key"), shown.hidden("version"));
    shop.patch(
        Who::Clerk,
        &format!("/v1/plugs/{part}"),
        &json!({ "heat_index": 75 }),
    )
    .expect(200);
    let mut fields = record("FW-7101");
    fields.extend([("form_key", key.as_str()), ("version", version.as_str())]);
    let late = clerk.post(&form, &fields).expect(409);
    assert!(
        late.html.contains("the record says 75 now"),
        "{}",
        late.html
    );
    assert!(
        late.html.contains("value=\"0.75 in\""),
        "what was typed stays"
    );
    // Sent again it is meant.
    let version = late.hidden("version");
    fields.retain(|(name, _)| *name != "version");
    fields.push(("version", &version));
    clerk.post(&form, &fields).expect(303);
    let stored = shop
        .get(Who::Reader, &format!("/v1/plugs/{part}"))
        .expect(200);
    assert_eq!(
        (&stored.json["heat_index"], &stored.json["hex_mm"]),
        (&json!(60.0), &json!(null))
    );
    Visitor::signed_in(&shop, Who::Tuner).get(&form).expect(403);
}

#[test]
fn only_what_nothing_has_used_can_be_deleted() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let (unused, used) = (
        stored_plug(&shop, &plug("FW-7201")),
        stocked(&shop, "FW-7202"),
    );
    let delete = |part: &str| {
        let form = format!("/parts/{part}/change");
        send(&clerk, &form, &format!("/parts/{part}/delete"), &[])
    };
    let kept = delete(&used).expect(409);
    assert!(kept.html.contains("retire it instead"), "{}", kept.html);
    delete(&unused).expect(303);
    clerk.get(&format!("/parts/{unused}")).expect(404);
    clerk.get(&format!("/parts/{used}")).expect(200);
}

#[test]
fn a_barcode_is_attached_once_and_taken_off() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let part = stored_plug(&shop, &plug("FW-7301"));
    let page = format!("/parts/{part}");
    let attach = |code: &str| {
        let path = format!("/parts/{part}/barcodes");
        send(&clerk, &page, &path, &[("code", code), ("plugs", "4")])
    };
    attach("BOX-7301").expect(303);
    let again = attach("BOX-7301").expect(409);
    assert!(again.html.contains("FW-7301 already"), "{}", again.html);
    assert!(
        again.html.contains("value=\"BOX-7301\""),
        "what was typed stays"
    );
    attach("two\u{1}lines").expect(400);
    let codes = shop.all(Who::Reader, &format!("/v1/plugs/{part}/barcodes"));
    assert_eq!(codes.len(), 1);
    let remove = format!(
        "/barcodes/{}/remove",
        codes[0]["id"].as_str().expect("an id")
    );
    send(&clerk, &page, &remove, &[]).expect(303);
    assert!(
        shop.all(Who::Reader, &format!("/v1/plugs/{part}/barcodes"))
            .is_empty()
    );
    let seen = Visitor::signed_in(&shop, Who::Reader)
        .get(&page)
        .expect(200);
    for button in ["Attach it", "Change the record", "Receive", "href=\"/scrap"] {
        assert!(!seen.html.contains(button), "{button} is not for a reader");
    }
}

#[test]
fn what_is_given_for_reordering_changes_and_is_shown() {
    let shop = Shop::start(Engine::Sqlite);
    let clerk = Visitor::signed_in(&shop, Who::Clerk);
    let part = stored_plug(&shop, &plug("FW-7401"));
    let form = format!("/parts/{part}/reordering");
    let given = [
        ("min_quantity", "8"),
        ("max_quantity", "24"),
        ("supplier", "Quayside Parts"),
    ];
    send(&clerk, &form, &form, &given).expect(303);
    let page = clerk.get(&format!("/parts/{part}")).expect(200);
    for said in ["8 plugs", "24 plugs", "Quayside Parts"] {
        assert!(page.html.contains(said), "{said} in {}", page.html);
    }
    let refused = send(&clerk, &form, &form, &[("min_quantity", "many")]).expect(400);
    assert!(refused.html.contains("value=\"many\""), "{}", refused.html);
    let alone = send(&clerk, &form, &form, &[("min_quantity", "8")]).expect(400);
    assert!(alone.html.contains("Nothing has been changed."));
    Visitor::signed_in(&shop, Who::Tuner).get(&form).expect(403);
}
