//! By statements: followed through chains, confirmed, left open or contradicted by the attributes.

use plugwell_tests::bodies::{bin, receive};
use plugwell_tests::{Shop, Who};
use serde_json::{Value, json};

use crate::{ask, equivalents, item, name, numbers, part, shops, state, statement};

/// The part numbers of a path, with whether the catalogue has each.
fn path(item: &Value) -> Vec<(&str, bool)> {
    let steps = item["path"].as_array().unwrap().iter();
    steps
        .map(|step| {
            (
                step["part_number"].as_str().unwrap(),
                step["plug_id"].is_string(),
            )
        })
        .collect()
}

#[test]
fn a_part_found_by_both_ways_carries_both() {
    for shop in shops() {
        let own = part(&shop, "FW-1", json!({}));
        part(&shop, "FW-2", json!({ "heat_index": 75 }));
        part(&shop, "FW-3", json!({ "heat_index": 80 }));
        let first = state(&shop, &statement("FW-2", "FW-1", "both", "Odo"));
        // Over a part that the catalogue lacks, written in another case.
        state(&shop, &statement("XY-9", "fw-2", "one_way", "Sela"));
        state(&shop, &statement("FW-3", "xy-9", "one_way", "Odo"));
        let found = equivalents(&shop, &own, "");
        assert_eq!(numbers(&found["items"]), ["FW-2", "FW-3"]);
        let beyond = &found["asserted_elsewhere"][0];
        assert_eq!(
            (&beyond["name"], &beyond["asserted_by"], path(beyond)),
            (
                &name("XY-9"),
                &json!(["Odo", "Sela"]),
                vec![("FW-2", true), ("XY-9", false)]
            ),
            "what is passed through is told for itself too"
        );
        let two = item(&found["items"], "FW-2");
        assert_eq!(
            (&two["asserted_by"], path(two)),
            (&json!(["Odo"]), vec![("FW-2", true)])
        );
        assert_eq!(two["grade"], "same but half a step colder");
        let said = &two["path"][0]["statements"][0];
        let stored = shop
            .get(Who::Reader, &format!("/v1/stand-ins/{first}"))
            .expect(200)
            .json;
        assert_eq!(
            *said, stored,
            "the statement stands in the path as it is stored"
        );
        let three = item(&found["items"], "FW-3");
        assert_eq!(three["asserted_by"], json!(["Odo", "Sela"]));
        assert_eq!(
            path(three),
            [("FW-2", true), ("XY-9", false), ("FW-3", true)]
        );
        assert_eq!(found["disagreements"], json!([]));
        // The other way round only the first holds, and there it is hotter.
        let back = equivalents(&shop, part_id(&found, "FW-2"), "");
        assert_eq!(numbers(&back["items"]), ["FW-3"]);
        let hotter = item(&back["disagreements"], "FW-1");
        assert_eq!(
            (&hotter["finding"], path(hotter)),
            (&json!("contradicted"), vec![("FW-1", true)])
        );
        // A withdrawn statement leads nowhere.
        shop.delete(Who::Clerk, &format!("/v1/stand-ins/{first}"))
            .expect(204);
        let found = equivalents(&shop, &own, "");
        assert_eq!(numbers(&found["items"]), ["FW-2", "FW-3"]);
        assert!(
            found["items"]
                .as_array()
                .unwrap()
                .iter()
                .all(|item| item["path"] == json!([]))
        );
    }
}

fn part_id<'a>(found: &'a Value, number: &str) -> &'a str {
    item(&found["items"], number)["plug"]["id"]
        .as_str()
        .unwrap()
}

/// Part number, what differs from the whole part, the musts that it fails, words that say why.
const WRONG: [(&str, &str, &[&str], &str); 5] = [
    (
        "FW-2",
        r#"{ "heat_index": 60 }"#,
        &["heat_index"],
        "one step hotter than the part's 70",
    ),
    (
        "FW-3",
        r#"{ "reach_mm": 26.5 }"#,
        &["reach_mm"],
        "never to be fitted",
    ),
    (
        "FW-4",
        r#"{ "seat": "conical", "reach_mm": 17.5 }"#,
        &["seat", "reach_mm"],
        "never interchangeable",
    ),
    (
        "FW-5",
        r#"{ "thread": "M12x1.25" }"#,
        &["thread"],
        "Its thread is M12x1.25",
    ),
    (
        "FW-6",
        r#"{ "heat_index": 90 }"#,
        &["heat_index"],
        "two steps colder",
    ),
];

#[test]
fn what_the_attributes_contradict_is_never_among_the_equivalents() {
    for shop in shops() {
        let own = part(&shop, "FW-1", json!({}));
        let place = bin(&shop, "A1");
        for (number, changes, ..) in WRONG {
            let id = part(&shop, number, serde_json::from_str(changes).unwrap());
            receive(&shop, &id, &place, 3);
            state(&shop, &statement(number, "FW-1", "one_way", "Odo"));
        }
        for query in ["", "?stock=enough&quantity=99"] {
            let found = equivalents(&shop, &own, query);
            assert_eq!(found["items"], json!([]), "{query}");
            assert_eq!(
                found["disagreements"].as_array().map(Vec::len),
                Some(WRONG.len())
            );
            for (number, _, fails, words) in WRONG {
                let one = item(&found["disagreements"], number);
                assert_eq!(one["finding"], "contradicted");
                let text = one["text"].as_str().unwrap();
                let begins = format!(
                    "By the word of Odo, Ferrowick {number} stands in for Ferrowick FW-1, but its attributes contradict it: "
                );
                assert!(text.starts_with(&begins) && text.contains(words), "{text}");
                let failed = one["fails"].as_array().unwrap().iter();
                let failed: Vec<&str> = failed
                    .filter(|fail| fail["verdict"] == "fails")
                    .filter_map(|fail| fail["attribute"].as_str())
                    .collect();
                assert_eq!(failed, fails, "{number}");
                assert_eq!((&one["available"], &one["on_hand"]), (&json!(3), &json!(3)));
            }
        }
    }
}

#[test]
fn what_nobody_has_established_is_no_fit_and_no_contradiction() {
    for shop in shops() {
        let own = part(&shop, "FW-1", json!({}));
        part(&shop, "FW-2", json!({ "heat_index": null }));
        part(
            &shop,
            "FW-3",
            json!({ "provenance": { "hex_mm": "assumed" } }),
        );
        for number in ["FW-2", "FW-3"] {
            state(&shop, &statement(number, "FW-1", "both", "Odo"));
        }
        let found = equivalents(&shop, &own, "");
        assert_eq!(found["items"], json!([]));
        for (number, attribute, words) in [
            ("FW-2", "heat_index", "heat index"),
            ("FW-3", "hex_mm", "hex"),
        ] {
            let one = item(&found["disagreements"], number);
            assert_eq!(one["finding"], "unconfirmed");
            let text = one["text"].as_str().unwrap();
            let ends = format!(
                "but its attributes do not confirm it: Nobody has established its {words}."
            );
            assert!(text.ends_with(&ends), "{text}");
            let fail = &one["fails"][0];
            assert_eq!(
                (&fail["attribute"], &fail["has"], &fail["verdict"]),
                (&json!(attribute), &json!(null), &json!("unknown"))
            );
        }
    }
}

#[test]
fn what_statements_name_is_shown_behind_the_limit_but_not_without_stock() {
    for shop in shops() {
        let own = part(&shop, "FW-1", json!({}));
        let last = part(
            &shop,
            "FW-9",
            json!({ "heat_index": 80, "electrode": "nickel" }),
        );
        for number in ["FW-2", "FW-3", "FW-4"] {
            part(&shop, number, json!({}));
        }
        state(&shop, &statement("FW-9", "FW-1", "one_way", "Odo"));
        let found = equivalents(&shop, &own, "?limit=2");
        assert_eq!(numbers(&found["items"]), ["FW-2", "FW-3", "FW-9"]);
        let whole = equivalents(&shop, &own, "?limit=50");
        assert_eq!(numbers(&whole["items"]), ["FW-2", "FW-3", "FW-4", "FW-9"]);
        assert_eq!(found["items"][2], whole["items"][3], "shown alike");
        assert_eq!(
            numbers(&equivalents(&shop, &own, "?limit=2&stock=some")["items"]),
            [""; 0]
        );
        receive(&shop, &last, &bin(&shop, "A1"), 5);
        let few = equivalents(&shop, &own, "?limit=2&stock=enough&quantity=5");
        assert_eq!(numbers(&few["items"]), ["FW-9"]);
        assert_eq!(few["items"][0]["picks"][0]["quantity"], 5);
        let found = equivalents(&shop, &own, "?limit=2");
        assert_eq!(
            found["items"][2],
            equivalents(&shop, &own, "?limit=50")["items"][3]
        );
    }
}

#[test]
fn loops_and_retired_parts_do_no_harm() {
    for shop in shops() {
        let own = part(&shop, "FW-1", json!({}));
        let middle = part(&shop, "FW-2", json!({}));
        part(&shop, "FW-3", json!({}));
        for (one, other) in [("FW-2", "FW-1"), ("FW-3", "FW-2"), ("FW-1", "FW-3")] {
            state(&shop, &statement(one, other, "one_way", "Odo"));
        }
        shop.patch(
            Who::Clerk,
            &format!("/v1/plugs/{middle}"),
            &json!({ "retired": true }),
        )
        .expect(200);
        let found = equivalents(&shop, &own, "");
        assert_eq!(
            numbers(&found["items"]),
            ["FW-3"],
            "the retired one is a step and no offer"
        );
        assert_eq!(path(&found["items"][0]), [("FW-2", true), ("FW-3", true)]);
        assert_eq!(found["disagreements"], json!([]));
    }
}

#[test]
fn of_a_part_that_lacks_something_statements_are_told_with_the_refusal() {
    for shop in shops() {
        let own = incomplete(&shop);
        let refused = ask(&shop, &own, "").problem(409, "requirement_incomplete");
        assert!(refused.text("detail").contains("reach_mm"), "{refused:?}");
        assert_eq!(refused.json["lacks"], json!(["reach_mm"]));
        assert_eq!(numbers(&refused.json["asserted"]), ["FW-2"]);
        assert_eq!(refused.json["asserted"][0]["asserted_by"], json!(["Odo"]));
        assert!(
            refused.json["asserted"][0]["grade"].is_null(),
            "nothing is claimed"
        );
        let next = &refused.json["superseded_by"][0];
        assert_eq!(
            (&next["part_number"], &next["finding"]),
            (&json!("FW-2"), &json!(null))
        );
        let beyond = &refused.json["asserted_elsewhere"];
        assert_eq!(beyond[0]["name"], name("XY-9"));
        // By name it is no error: the question is what is known of it.
        let named = shop
            .get(
                Who::Reader,
                "/v1/equivalents?maker=ferrowick&part_number=FW-1",
            )
            .expect(200)
            .json;
        assert_eq!(
            (&named["known"], &named["lacks"]),
            (&json!(own), &json!(["reach_mm"]))
        );
        assert_eq!(
            (&named["equivalents"], &named["name"]),
            (&json!(null), &with_case(name("FW-1")))
        );
        assert_eq!(named["asserted"], refused.json["asserted"]);
        assert_eq!(named["asserted_elsewhere"], *beyond);
        assert_eq!(named["stands_in_for"][0]["part_number"], "FW-7");
        assert_eq!(named["superseded_by"], refused.json["superseded_by"]);
    }
}

/// The name as it was asked for.
fn with_case(mut name: Value) -> Value {
    name["maker"] = json!("ferrowick");
    name
}

/// A part without reach, with a successor that a statement names as well; another names a part that
/// the catalogue lacks, and a third what the part itself stands in for.
fn incomplete(shop: &Shop) -> String {
    let next = part(shop, "FW-2", json!({}));
    let own = part(
        shop,
        "FW-1",
        json!({ "reach_mm": null, "superseded_by": next }),
    );
    for (one, other) in [("FW-2", "FW-1"), ("XY-9", "FW-1"), ("FW-1", "FW-7")] {
        state(shop, &statement(one, other, "one_way", "Odo"));
    }
    own
}
