//! A part by maker and number, which the catalogue may lack.

use plugwell_tests::bodies::{bin, receive};
use plugwell_tests::{Answer, Shop, Who};
use serde_json::{Value, json};

use crate::{equivalents, numbers, part, shops, state};

#[track_caller]
fn ask(shop: &Shop, query: &str) -> Answer {
    shop.get(Who::Reader, &format!("/v1/equivalents?{query}"))
}

/// Maker, part number, how near the number and the maker's name come.
fn near(answer: &Answer) -> Vec<(String, String, String, Option<String>)> {
    let text = |value: &Value| value.as_str().map(str::to_owned);
    let list = answer.json["near_spellings"].as_array().unwrap().iter();
    list.map(|near| {
        let (name, plug) = (&near["name"], &near["plug"]);
        for member in ["maker", "part_number"] {
            assert!(plug.is_null() || plug[member] == name[member], "{near}");
        }
        (
            text(&name["maker"]).unwrap(),
            text(&name["part_number"]).unwrap(),
            text(&near["spelling"]).unwrap(),
            text(&near["maker_spelling"]),
        )
    })
    .collect()
}

fn catalogue(shop: &Shop) {
    for (maker, number) in [
        ("Ferrowick", "FW-1007"),
        ("Ferrowick", "FW-1070"),
        ("Ferrowick", "FW-1999"),
        ("Tarnholt", "FW 1007"),
        ("Tarnholt", "FW-1008"),
        ("Quellmar", "FWI-OO7"),
    ] {
        part(shop, number, json!({ "maker": maker }));
    }
    let gone = part(shop, "FW-107", json!({}));
    shop.patch(
        Who::Clerk,
        &format!("/v1/plugs/{gone}"),
        &json!({ "retired": true }),
    )
    .expect(200);
}

#[test]
fn near_spellings_come_nearest_first() {
    for shop in shops() {
        catalogue(&shop);
        let found = |query: &str| {
            let answer = ask(&shop, query).expect(200);
            assert_eq!(
                (&answer.json["known"], &answer.json["equivalents"]),
                (&json!(null), &json!(null))
            );
            near(&answer)
        };
        let row = |maker: &str, number: &str, spelling: &str, maker_spelling: Option<&str>| {
            (
                maker.to_owned(),
                number.to_owned(),
                spelling.to_owned(),
                maker_spelling.map(str::to_owned),
            )
        };
        // Of another maker only the same number counts, or one that looks like it; FW-107 is retired.
        assert_eq!(
            found("maker=ferrowick&part_number=fw%201007"),
            [
                row("Ferrowick", "FW-1007", "same", Some("same")),
                row("Tarnholt", "FW 1007", "same", None),
                row("Quellmar", "FWI-OO7", "lookalike", None),
                row("Ferrowick", "FW-1070", "one_character", Some("same")),
            ]
        );
        assert_eq!(
            found("maker=Ferowick&part_number=FW-1OO7&limit=1"),
            [row(
                "Ferrowick",
                "FW-1007",
                "lookalike",
                Some("one_character")
            )]
        );
        assert_eq!(
            found("maker=Hollinbeck&part_number=FW-1999"),
            [row("Ferrowick", "FW-1999", "same", None)]
        );
        assert_eq!(found("maker=Hollinbeck&part_number=HB-1"), []);
    }
}

#[test]
fn a_known_part_is_said_to_be_known() {
    for shop in shops() {
        let own = part(&shop, "FW-1", json!({}));
        part(&shop, "FW-2", json!({ "electrode": "nickel" }));
        part(&shop, "FW-1", json!({ "maker": "Tarnholt" }));
        let answer = ask(&shop, "maker=%20FERROWICK&part_number=fw-1%20&limit=1")
            .expect(200)
            .json;
        assert_eq!(
            (&answer["known"], &answer["lacks"]),
            (&json!(own), &json!(null))
        );
        assert_eq!(
            answer["equivalents"],
            equivalents(&shop, &own, "?limit=1"),
            "the same answer"
        );
        assert_eq!(
            (&answer["near_spellings"], &answer["asserted"]),
            (&json!([]), &json!([]))
        );
    }
}

#[test]
fn of_a_part_that_the_catalogue_lacks_statements_are_told() {
    for shop in shops() {
        let lacked = json!({ "maker": "Hollinbeck", "part_number": "HB 20" });
        let at = |number: &str| json!({ "maker": "Ferrowick", "part_number": number });
        let say = |part: Value, other: Value| {
            state(
                &shop,
                &json!({ "part": part, "stands_in_for": other, "direction": "one_way", "who": "Odo" }),
            )
        };
        part(&shop, "FW-1", json!({}));
        let two = part(&shop, "FW-2", json!({ "heat_index": null }));
        say(at("FW-1"), lacked.clone());
        say(at("FW-2"), at("FW-1"));
        say(at("FW-9"), lacked.clone());
        say(lacked, at("FW-8"));
        let found = ask(&shop, "maker=hollinbeck&part_number=hb%2020")
            .expect(200)
            .json;
        assert_eq!(
            found["name"],
            json!({ "maker": "hollinbeck", "part_number": "hb 20" })
        );
        assert_eq!(
            numbers(&found["asserted"]),
            ["FW-1", "FW-2"],
            "FW-9 is not in the catalogue"
        );
        let beyond = &found["asserted_elsewhere"];
        assert_eq!(beyond.as_array().map(Vec::len), Some(1));
        assert_eq!(
            (&beyond[0]["name"], &beyond[0]["asserted_by"]),
            (&at("FW-9"), &json!(["Odo"]))
        );
        assert_eq!(found["stands_in_for"][0]["part_number"], "FW-8");
        assert_eq!(found["asserted"][1]["path"][0]["part_number"], "FW-1");
        assert_eq!(
            found["asserted"][1]["plug"]["heat_index"],
            json!(null),
            "its attributes are shown"
        );
        for claim in ["grade", "grade_code", "finding", "cautions"] {
            assert!(
                found["asserted"][0].get(claim).is_none(),
                "nothing is claimed of fit: {claim}"
            );
        }
        receive(&shop, &two, &bin(&shop, "A1"), 4);
        let query = "maker=Hollinbeck&part_number=HB+20&stock=enough&quantity=";
        let stocked = ask(&shop, &format!("{query}4")).expect(200).json;
        assert_eq!(numbers(&stocked["asserted"]), ["FW-2"]);
        assert_eq!(stocked["asserted"][0]["available"], 4);
        assert_eq!(
            ask(&shop, &format!("{query}5")).expect(200).json["asserted"],
            json!([])
        );
        let one = ask(&shop, "maker=Hollinbeck&part_number=HB%2020&limit=1")
            .expect(200)
            .json;
        assert_eq!(numbers(&one["asserted"]), ["FW-1"]);
    }
}

#[test]
fn names_that_only_statements_know_are_near_spellings_too() {
    for shop in shops() {
        let named = |maker: &str, number: &str| json!({ "maker": maker, "part_number": number });
        let known = named("Ferrowick", "HB-20-471");
        part(&shop, "HB-20-471", json!({}));
        for (one, other) in [
            (named("Hollinbeck", "HB 20-471"), known),
            (named("Tarnholt", "T1"), named("hollinbeck", "hb 20-471")),
            (named("Quellmar", "HB.2O-47I"), named("Tarnholt", "T1")),
            (named("Hollinbeck", "HB 20-472"), named("Tarnholt", "T1")),
        ] {
            state(
                &shop,
                &json!({ "part": one, "stands_in_for": other, "direction": "one_way", "who": "Odo" }),
            );
        }
        let answer = ask(&shop, "maker=hollinbeck&part_number=hb20471").expect(200);
        let row = |maker: &str, number: &str, spelling: &str, maker_spelling: Option<&str>| {
            (
                maker.to_owned(),
                number.to_owned(),
                spelling.to_owned(),
                maker_spelling.map(str::to_owned),
            )
        };
        // Each once, as it was first written, the catalogue's own as a record; a slip is none here.
        assert_eq!(
            near(&answer),
            [
                row("Hollinbeck", "HB 20-471", "same", Some("same")),
                row("Ferrowick", "HB-20-471", "same", None),
                row("Quellmar", "HB.2O-47I", "lookalike", None),
            ]
        );
        let list = &answer.json["near_spellings"];
        for member in ["plug", "available", "on_hand"] {
            assert_eq!(list[0][member], json!(null), "{member}");
        }
        assert_eq!(list[1]["available"], 0);
        // The name itself is not near itself.
        let exact = ask(&shop, "maker=HOLLINBECK&part_number=HB+20-471").expect(200);
        assert_eq!(near(&exact).len(), 2);
        assert_eq!(exact.json["stands_in_for"][0]["part_number"], "HB-20-471");
        let first = ask(&shop, "maker=hollinbeck&part_number=hb20471&limit=1").expect(200);
        assert_eq!(near(&first), near(&answer)[..1]);
    }
}

#[test]
fn the_one_statement_about_a_part_is_told_from_both_sides() {
    for shop in shops() {
        let (nowhere, own_name) = (
            json!({ "maker": "Nowhere", "part_number": "N1" }),
            json!({ "maker": "Ferrowick", "part_number": "FW-5044" }),
        );
        let own = part(&shop, "FW-5044", json!({}));
        state(
            &shop,
            &json!({ "part": nowhere, "stands_in_for": own_name, "direction": "one_way", "who": "Odo" }),
        );
        let found = equivalents(&shop, &own, "?stock=enough&quantity=9");
        let beyond = &found["asserted_elsewhere"];
        assert_eq!(beyond.as_array().map(Vec::len), Some(1), "{beyond}");
        assert_eq!(
            (&beyond[0]["name"], &beyond[0]["asserted_by"]),
            (&nowhere, &json!(["Odo"]))
        );
        assert_eq!(beyond[0]["path"][0]["plug_id"], json!(null));
        assert!(beyond[0].get("plug").is_none(), "nothing is known of it");
        let lacked = ask(&shop, "maker=nowhere&part_number=n1").expect(200).json;
        for empty in ["asserted", "asserted_elsewhere"] {
            assert_eq!(lacked[empty], json!([]), "nothing stands in for it");
        }
        let served = &lacked["stands_in_for"][0];
        assert_eq!(
            (&served["part_number"], &served["plug_id"]),
            (&json!("FW-5044"), &json!(own))
        );
        assert_eq!(
            served["text"],
            "By the word of Odo, nowhere n1 stands in for Ferrowick FW-5044; that does not say that \
             Ferrowick FW-5044 may be taken for nowhere n1."
        );
        assert_eq!(served["statements"][0]["part"], nowhere);
        // The known part is asked for by name: it stands in for nothing.
        let known = ask(&shop, "maker=Ferrowick&part_number=FW-5044")
            .expect(200)
            .json;
        assert_eq!(known["equivalents"]["asserted_elsewhere"], *beyond);
        assert_eq!(
            (&known["asserted_elsewhere"], &known["stands_in_for"]),
            (&json!([]), &json!([]))
        );
    }
}

#[test]
fn a_name_has_two_members() {
    for shop in shops() {
        ask(&shop, "").refused_for(&["?maker missing", "?part_number missing"]);
        let long = "x".repeat(81);
        ask(
            &shop,
            &format!("maker=%20&part_number={long}&stock=all&q=x"),
        )
        .refused_for(&[
            "?maker out_of_range",
            "?part_number out_of_range",
            "?stock not_in_list",
            "?q unknown_member",
        ]);
        ask(&shop, "maker=A&maker=B&part_number=C").refused_for(&["?maker duplicate"]);
        // What has no letter and no figure is like nothing.
        let odd = ask(&shop, "maker=-&part_number=--").expect(200);
        assert_eq!(near(&odd), []);
    }
}
