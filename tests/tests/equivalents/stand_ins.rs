//! Statements: entered, listed, withdrawn.

use plugwell_tests::bodies::{unique, with, without};
use plugwell_tests::{Shop, Who, shared};
use serde_json::{Value, json};

use crate::state;

/// A statement of two parts of a new maker.
fn fresh() -> (String, Value) {
    let maker = unique("Stander");
    let part = |number: &str| json!({ "maker": maker, "part_number": number });
    let body = json!({
        "part": part("S-1"), "stands_in_for": part("S-2"), "direction": "one_way", "who": "Odo",
        "source": "bench notes", "note": "for\nstreet use"
    });
    (maker, body)
}

#[test]
fn a_statement_is_made_read_and_withdrawn() {
    for shop in shared() {
        let (maker, body) = fresh();
        let made = shop.post(Who::Clerk, "/v1/stand-ins", &body).expect(201);
        let own = format!("/v1/stand-ins/{}", made.text("id"));
        assert_eq!(
            (made.header("location"), made.tagged_version()),
            (Some(own.as_str()), 1)
        );
        assert!(made.header("plugwell-position").is_some());
        let standing = ["id", "recorded_by", "version", "created_at"];
        assert_eq!(without(made.json.clone(), &standing), body);
        assert_eq!(
            (&made.json["recorded_by"], &made.json["version"]),
            (&json!("test clerk"), &json!(1))
        );
        assert!(made.text("created_at").ends_with('Z'));
        let read = shop.get(Who::Reader, &own).expect(200);
        assert_eq!(read.json, made.json);
        let known = [("if-none-match", &*made.etag())];
        assert_eq!(shop.send("GET", &own, Who::Reader, &known, "").status, 304);
        let delete = |tag: Option<&str>| {
            let header = tag.map(|tag| ("if-match", tag));
            shop.send("DELETE", &own, Who::Clerk, header.as_slice(), "")
        };
        delete(None).problem(428, "precondition_required");
        delete(Some("\"2\"")).problem(412, "stale");
        assert_eq!(delete(Some("\"1\"")).expect(204).body, b"");
        delete(Some("\"1\"")).problem(404, "not_found");
        shop.get(Who::Reader, &own).problem(404, "not_found");
        shop.send_json("PATCH", &own, Who::Clerk, &[("if-match", "*")], &json!({}))
            .problem(405, "method_not_allowed");
        assert_eq!(
            shop.all(Who::Reader, &format!("/v1/stand-ins?maker={maker}")),
            [json!(null); 0]
        );
        // Spaces around names are not part of them; source and note may be left out.
        let spaced = with(
            without(body, &["source", "note"]),
            json!({ "who": " Odo " }),
        );
        let made = shop.post(Who::Clerk, "/v1/stand-ins", &spaced).expect(201);
        assert_eq!(
            (made.text("who"), &made.json["source"]),
            ("Odo".to_owned(), &json!(null))
        );
    }
}

#[test]
fn one_says_it_once() {
    for shop in shared() {
        let (maker, body) = fresh();
        let first = state(shop, &body);
        let part = |maker: &str, number: &str| json!({ "maker": maker, "part_number": number });
        let again = |body: &Value| {
            shop.post(Who::Clerk, "/v1/stand-ins", body)
                .problem(409, "duplicate_record")
        };
        again(&body);
        again(&with(
            body.clone(),
            json!({ "who": "ODO ", "direction": "both", "source": null }),
        ));
        again(&with(
            body.clone(),
            json!({ "part": part(&maker.to_uppercase(), " s-1") }),
        ));
        let turned = with(
            body.clone(),
            json!({ "part": part(&maker, "S-2"), "stands_in_for": part(&maker, "S-1") }),
        );
        let refused = again(&turned);
        assert!(refused.text("detail").contains("withdraw"), "{refused:?}");
        state(shop, &with(turned.clone(), json!({ "who": "Sela" })));
        shop.delete(Who::Clerk, &format!("/v1/stand-ins/{first}"))
            .expect(204);
        state(shop, &turned);
    }
}

#[test]
fn every_fault_is_told_at_once() {
    for shop in shared() {
        let post = |body: &Value| shop.post(Who::Clerk, "/v1/stand-ins", body);
        post(&json!({})).refused_for(&[
            "#/part missing",
            "#/stands_in_for missing",
            "#/direction missing",
            "#/who missing",
        ]);
        post(&json!({
            "part": { "maker": 7, "colour": "red" }, "stands_in_for": "FW-1", "direction": "either", "who": "x".repeat(81),
            "source": "", "note": "x".repeat(501), "when": "today", "id": null
        }))
        .refused_for(&[
            "#/part/maker wrong_type",
            "#/part/part_number missing",
            "#/part/colour unknown_member",
            "#/stands_in_for wrong_type",
            "#/direction not_in_list",
            "#/who out_of_range",
            "#/source out_of_range",
            "#/note out_of_range",
            "#/when unknown_member",
            "#/id unknown_member",
        ]);
        let (_, body) = fresh();
        post(&with(
            body.clone(),
            json!({ "part": { "maker": " ", "part_number": "a\u{7}" }, "who": "\t" }),
        ))
        .refused_for(&[
            "#/part/maker out_of_range",
            "#/part/part_number wrong_form",
            "#/who out_of_range",
        ]);
        let itself = with(body.clone(), json!({ "stands_in_for": body["part"] }));
        post(&itself).refused_for(&["#/stands_in_for contradiction"]);
        post(&with(body, json!({ "who": null, "direction": null })))
            .refused_for(&["#/who missing", "#/direction missing"]);
        for query in ["colour=red", "q=x", "direction=both"] {
            let name = query.split('=').next().unwrap();
            shop.get(Who::Reader, &format!("/v1/stand-ins?{query}"))
                .refused_for(&[&format!("?{name} unknown_member")]);
        }
        shop.get(Who::Reader, "/v1/stand-ins/7")
            .refused_for(&["/id wrong_form"]);
    }
}

/// Statements of a new maker: A for B by Odo, B for C by Sela, and one that names another maker's C.
fn some(shop: &Shop) -> (String, Vec<String>) {
    let maker = unique("Lister");
    let part = |maker: &str, number: &str| json!({ "maker": maker, "part_number": number });
    let say = |one: Value, other: Value, who: &str| {
        let body = json!({ "part": one, "stands_in_for": other, "direction": "both", "who": format!("{who} {maker}") });
        state(shop, &body)
    };
    let ids = vec![
        say(part(&maker, "A"), part(&maker, "B"), "Odo"),
        say(part(&maker, "B"), part(&maker, "C"), "Sela"),
        say(part(&maker, "D"), part(&format!("{maker}x"), "C"), "Odo"),
    ];
    (maker, ids)
}

#[test]
fn a_list_is_narrowed_by_a_part_on_either_side_and_by_who() {
    for shop in shared() {
        let (maker, ids) = some(shop);
        let listed = |query: &str| -> Vec<usize> {
            let items = shop.all(Who::Reader, &format!("/v1/stand-ins?limit=1&{query}"));
            let place = |item: &Value| ids.iter().position(|id| item["id"] == **id).unwrap();
            items.iter().map(place).collect()
        };
        assert_eq!(listed(&format!("maker={maker}")), [0, 1, 2]);
        assert_eq!(
            listed(&format!("maker={}&part_number=b", maker.to_uppercase())),
            [0, 1]
        );
        assert_eq!(
            listed(&format!("maker={maker}&part_number=C")),
            [1],
            "the other C is not this maker's"
        );
        assert_eq!(listed(&format!("maker={maker}x")), [2]);
        assert_eq!(listed(&format!("who=odo%20{maker}")), [0, 2]);
        assert_eq!(
            listed(&format!("maker={maker}&part_number=A&who=sela%20{maker}")),
            [0; 0]
        );
    }
}
