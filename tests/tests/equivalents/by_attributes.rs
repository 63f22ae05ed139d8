//! By attributes: exactly the fits of the part's own requirement, graded.

use plugwell_tests::bodies::{bin, receive};
use plugwell_tests::{Shop, Who};
use serde_json::{Value, json};

use crate::{ask, equivalents, item, numbers, part, shops};

/// A part and others near it, on either side of every line.
fn neighbours(shop: &Shop) -> Vec<(String, String)> {
    let changes = [
        ("FW-100", json!({})),
        ("FW-101", json!({ "reach_mm": 19.05, "hex_mm": 15.875 })),
        ("FW-102", json!({ "electrode": "nickel" })),
        ("FW-103", json!({ "heat_index": 80 })),
        ("FW-104", json!({ "heat_index": 75, "electrode": "nickel" })),
        ("FW-105", json!({ "terminal": null })),
        ("FW-106", json!({ "heat_index": 67 })),
        ("FW-107", json!({ "heat_index": 66.9 })),
        ("FW-108", json!({ "heat_index": 80.1 })),
        ("FW-109", json!({ "reach_mm": 19.4 })),
        ("FW-110", json!({ "seat": "conical" })),
        ("FW-111", json!({ "thread": "M12x1.25" })),
        (
            "FW-112",
            json!({ "projection_mm": 3.5, "hex_mm": 14, "heat_index": 80 }),
        ),
        ("FW-113", json!({ "provenance": { "reach_mm": "assumed" } })),
        ("FW-114", json!({ "resistor": false, "resistance_ohm": 0 })),
        ("FW-115", json!({ "gap_preset_mm": 0.9, "gap_min_mm": 0.9 })),
        ("FW-116", json!({ "status": "discontinued" })),
    ];
    let store = |(number, changes): (&str, Value)| (number.to_owned(), part(shop, number, changes));
    changes.into_iter().map(store).collect()
}

#[test]
fn they_are_the_fits_of_a_match_without_the_part_itself() {
    for shop in shops() {
        let parts = neighbours(&shop);
        let place = bin(&shop, "A1");
        for (nth, (_, id)) in parts.iter().enumerate().filter(|(nth, _)| nth % 3 != 1) {
            receive(&shop, id, &place, 1 + nth as i64);
        }
        let mut compared = 0;
        for (_, id) in &parts {
            for (stock, quantity) in [("ignore", 1), ("some", 4), ("enough", 4)] {
                compared += same_as_matched(&shop, id, stock, quantity);
            }
        }
        assert!(compared > 100, "{compared}");
    }
}

/// Compares the equivalents of a part with a match for it; how many there are.
fn same_as_matched(shop: &Shop, id: &str, stock: &str, quantity: i64) -> usize {
    let matched = |stock: &str| {
        let body = json!({ "plug_id": id, "stock": stock, "quantity": quantity, "limit": 200 });
        shop.post(Who::Reader, "/v1/matches", &body)
    };
    let query = format!("?stock={stock}&quantity={quantity}&limit=200");
    let found = ask(shop, id, &query);
    if matched(stock).status == 409 {
        found.problem(409, "requirement_incomplete");
        return 0;
    }
    let (matched, all) = (matched(stock).expect(200).json, matched("ignore").json);
    let found = found.expect(200).json;
    let is_own = |fit: &&Value| fit["plug"]["id"] == *id;
    let fits = |matched: &Value| matched["fits"].as_array().unwrap().clone();
    let own = fits(&all).iter().find(is_own).cloned();
    let own_enough = own
        .as_ref()
        .is_some_and(|own| own["available"].as_i64() >= Some(quantity));
    let mut others = fits(&matched);
    others.retain(|fit| !is_own(&fit));
    let items = found["items"].as_array().unwrap();
    assert_eq!(others.len(), items.len(), "{id} {query}");
    for (fit, item) in others.iter().zip(items) {
        for (member, value) in fit.as_object().unwrap() {
            // A match judges demand by demand; here the differences tell.
            assert!(
                member == "verdicts" || item[member] == *value,
                "{id} {query} {member}"
            );
        }
    }
    assert_eq!(found["requirement"], matched["requirement"]);
    let total = |name: &str| matched["totals"][name].as_u64().unwrap();
    let in_catalogue = total("fits_in_catalogue") - u64::from(own.is_some());
    let in_stock = total("fits_in_stock") - u64::from(own_enough);
    let totals =
        json!({ "equivalents_in_catalogue": in_catalogue, "equivalents_in_stock": in_stock });
    assert_eq!(found["totals"], totals, "{id} {query}");
    items.len()
}

#[test]
fn each_is_graded_in_words() {
    for shop in shops() {
        let parts = neighbours(&shop);
        let found = equivalents(&shop, &parts[0].1, "");
        let graded = |item: &Value| {
            let text = |member: &str| item[member].as_str().unwrap().to_owned();
            (
                item["plug"]["part_number"].as_str().unwrap().to_owned(),
                text("grade"),
                text("grade_code"),
            )
        };
        let graded: Vec<_> = found["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(graded)
            .collect();
        // In the order of fits: heat, then projection, then metal, then part number.
        let expected = [
            ("FW-101", "same in all", "same_in_all"),
            (
                "FW-105",
                "same in all, as far as known: nobody has established terminal",
                "same_in_all",
            ),
            ("FW-116", "same in all", "same_in_all"),
            ("FW-102", "same but for metal", "same_but_for_metal"),
            (
                "FW-106",
                "same in all (3 points hotter, within what scales can tell)",
                "same_in_all",
            ),
            (
                "FW-104",
                "same but for metal and half a step colder",
                "same_but_for_metal_and_colder",
            ),
            ("FW-103", "same but one step colder", "same_but_colder"),
            (
                "FW-112",
                "same but for hex and projection, and one step colder",
                "same_but_for_more",
            ),
        ];
        let expected = expected
            .map(|(number, grade, code)| (number.to_owned(), grade.to_owned(), code.to_owned()));
        assert_eq!(graded, expected);
    }
}

#[test]
fn each_says_in_what_it_differs() {
    for shop in shops() {
        let parts = neighbours(&shop);
        let found = equivalents(&shop, &parts[0].1, "");
        let item = |number: &str| item(&found["items"], number);
        assert_eq!(
            item("FW-104")["differences"],
            json!([
                { "attribute": "heat_index", "own": 70.0, "other": 75.0, "counts": true },
                { "attribute": "electrode", "own": "iridium", "other": "nickel", "counts": true },
            ])
        );
        assert_eq!(item("FW-104")["colder_by"], 5.0);
        assert_eq!(item("FW-104")["heat_difference"], 5.0);
        assert_eq!(item("FW-106")["colder_by"], 0.0);
        assert_eq!(item("FW-106")["heat_difference"], -3.0);
        assert_eq!(item("FW-105")["heat_difference"], 0.0);
        assert_eq!(item("FW-105")["not_established"], json!(["terminal"]));
        assert_eq!(item("FW-116")["cautions"][0]["code"], "discontinued_part");
        assert_eq!(item("FW-101")["asserted_by"], json!([]));
        assert_eq!(item("FW-101")["path"], json!([]));
        assert_eq!(found["disagreements"], json!([]));
        let mut cautions = found["cautions"].as_array().unwrap().iter();
        assert!(
            cautions.any(|c| c["code"] == "makers_stand_above"),
            "{found}"
        );
    }
}

#[test]
fn the_limit_and_the_stock_condition_hold() {
    for shop in shops() {
        let parts = neighbours(&shop);
        let own = &parts[0].1;
        receive(&shop, own, &bin(&shop, "A1"), 50);
        receive(&shop, &parts[3].1, &bin(&shop, "A2"), 6);
        assert_eq!(
            numbers(&equivalents(&shop, own, "?limit=1")["items"]),
            ["FW-101"]
        );
        assert_eq!(
            numbers(&equivalents(&shop, own, "?stock=some")["items"]),
            ["FW-103"]
        );
        assert_eq!(
            numbers(&equivalents(&shop, own, "?stock=enough&quantity=6")["items"]),
            ["FW-103"]
        );
        let none = equivalents(&shop, own, "?stock=enough&quantity=7");
        assert_eq!(numbers(&none["items"]), [""; 0]);
        assert_eq!(
            none["totals"],
            json!({ "equivalents_in_catalogue": 8, "equivalents_in_stock": 0 })
        );
        assert_eq!(none["quantity"], 7);
        // A retired part is no equivalent; of one its equivalents are told all the same.
        let path = format!("/v1/plugs/{}", parts[1].1);
        shop.patch(Who::Clerk, &path, &json!({ "retired": true }))
            .expect(200);
        let found = equivalents(&shop, own, "?limit=1");
        assert_eq!(numbers(&found["items"]), ["FW-105"]);
        assert_eq!(found["totals"]["equivalents_in_catalogue"], 7);
        let of_retired = equivalents(&shop, &parts[1].1, "?stock=some");
        assert_eq!(numbers(&of_retired["items"]), ["FW-100", "FW-103"]);
    }
}

#[test]
fn a_wrong_question_is_refused_with_every_fault() {
    for shop in shops() {
        let own = part(&shop, "FW-1", json!({}));
        ask(
            &shop,
            &own,
            "?stock=plenty&quantity=0&limit=201&colour=red&limit=3",
        )
        .refused_for(&[
            "?stock not_in_list",
            "?quantity out_of_range",
            "?limit duplicate",
            "?limit out_of_range",
            "?colour unknown_member",
        ]);
        ask(&shop, &own, "?quantity=two&limit=")
            .refused_for(&["?quantity wrong_form", "?limit wrong_form"]);
        ask(&shop, "7", "").refused_for(&["/id wrong_form"]);
        let nowhere = uuid::Uuid::now_v7().to_string();
        ask(&shop, &nowhere, "").problem(404, "not_found");
        // What is not there is told before what is wrong with the question.
        ask(&shop, &nowhere, "?stock=plenty").problem(404, "not_found");
    }
}

#[test]
fn a_strap_that_stands_further_out_is_cautioned() {
    for shop in shops() {
        let own = part(&shop, "FW-1", json!({ "strap_extent_mm": 5.5 }));
        for (number, strap) in [("FW-2", 6.0), ("FW-3", 5.0)] {
            part(&shop, number, json!({ "strap_extent_mm": strap }));
        }
        let found = equivalents(&shop, &own, "");
        let codes = |number: &str| {
            let cautions = item(&found["items"], number)["cautions"]
                .as_array()
                .unwrap();
            cautions
                .iter()
                .map(|c| c["code"].clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(codes("FW-2"), ["strap_further_out"]);
        assert_eq!(codes("FW-3"), [""; 0]);
    }
}
