//! Answers have the members that the document says, all of them and no others.

use plugwell_tests::bodies::{bin, receive};
use plugwell_tests::{Shop, Who};
use serde_json::{Value, json};

use crate::{equivalents, part, shops, state, statement};

/// Every object in a value against the schema of that place.
fn check(document: &Value, schema: &Value, value: &Value, at: &str) {
    if let Some(target) = schema["$ref"].as_str() {
        let found = document.pointer(target.trim_start_matches('#')).unwrap();
        return check(document, found, value, at);
    }
    if let Some(choices) = schema["oneOf"].as_array() {
        let mut real = choices.iter().filter(|choice| choice["type"] != "null");
        if value.is_null() {
            return;
        }
        // Of several forms, such as those of a test, the match's own tests tell.
        if let (Some(only), None) = (real.next(), real.next()) {
            check(document, only, value, at);
        }
        return;
    }
    if let Some(items) = value.as_array() {
        items
            .iter()
            .enumerate()
            .for_each(|(n, item)| check(document, &schema["items"], item, &format!("{at}/{n}")));
        return;
    }
    let (Some(properties), Some(members)) = (schema["properties"].as_object(), value.as_object())
    else {
        return;
    };
    for (name, member) in members {
        let own = properties
            .get(name)
            .unwrap_or_else(|| panic!("{at}/{name} is in no schema"));
        check(document, own, member, &format!("{at}/{name}"));
    }
    let required = schema["required"].as_array().into_iter().flatten();
    for name in required {
        assert!(
            members.contains_key(name.as_str().unwrap()),
            "{at} lacks {name}"
        );
    }
}

/// A part with everything that an answer can hold.
fn busy(shop: &Shop) -> String {
    let next = part(shop, "FW-5", json!({ "heat_index": 60 }));
    let own = part(shop, "FW-1", json!({ "superseded_by": next }));
    let two = part(
        shop,
        "FW-2",
        json!({ "electrode": "nickel", "terminal": null, "superseded_by": next }),
    );
    part(shop, "FW-3", json!({ "heat_index": null }));
    receive(shop, &two, &bin(shop, "A1"), 9);
    for (number, other) in [
        ("FW-2", "FW-1"),
        ("FW-3", "FW-1"),
        ("FW-5", "FW-1"),
        ("FW-2", "FW-x1"),
        ("FW-x1", "FW-1"),
        ("FW-x2", "FW-x1"),
    ] {
        state(shop, &statement(number, other, "one_way", "Odo"));
    }
    own
}

#[test]
fn every_member_is_described_and_every_described_one_is_there() {
    for shop in shops() {
        let own = busy(&shop);
        let document = shop.get(Who::Nobody, "/openapi.json").expect(200).json;
        let schema = |name: &str| &document["components"]["schemas"][name];
        let found = equivalents(&shop, &own, "");
        for filled in [
            "/items/0/path/0/statements/0",
            "/items/0/superseded_by/0",
            "/items/0/picks/0",
            "/items/0/differences/0",
            "/items/0/not_established/0",
            "/disagreements/1/fails/0",
            "/asserted_elsewhere/0/path/0/statements/0",
            "/superseded_by/0",
        ] {
            assert!(found.pointer(filled).is_some(), "{filled}: {found}");
        }
        check(&document, schema("EquivalentsAnswer"), &found, "");
        for name in ["FW-1", "FW-x1", "FW%202", "FWX1"] {
            let path = format!("/v1/equivalents?maker=Ferrowick&part_number={name}");
            let found = shop.get(Who::Reader, &path).expect(200).json;
            let filled = ["equivalents", "asserted", "near_spellings"]
                .map(|m| found[m].is_object() || found[m][0].is_object());
            assert!(filled.contains(&true), "{found}");
            if name == "FW-x1" {
                for beside in ["/asserted_elsewhere/0/name", "/stands_in_for/0/text"] {
                    assert!(found.pointer(beside).is_some(), "{beside}: {found}");
                }
            }
            check(&document, schema("NamedAnswer"), &found, "");
        }
        let statement = shop.get(Who::Reader, "/v1/stand-ins").expect(200);
        check(&document, schema("StandIn"), &statement.items()[0], "");
    }
}
