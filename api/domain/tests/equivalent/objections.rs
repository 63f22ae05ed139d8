//! Why a part is no equivalent: every must, with a value that fails it.

use plugwell_domain::equivalent::{Finding, Opinion};
use serde_json::{Value, json};

use crate::{graded, opinion};

#[track_caller]
fn contradicted(other: Value, text: &str) {
    let said = opinion(json!({}), other.clone());
    let found = (said.finding(), said.words());
    assert_eq!(found, (Finding::Contradicted, text.to_owned()), "{other}");
}

#[test]
fn another_thread_seat_or_reach() {
    contradicted(
        json!({ "thread": "M12x1.25" }),
        "Its thread is M12x1.25, the part's M14x1.25.",
    );
    contradicted(
        json!({ "seat": "conical" }),
        "Its seat is conical, the part's gasket: seats are never interchangeable.",
    );
    contradicted(
        json!({ "reach_mm": 26.5 }),
        "Its reach is 26.5 mm, the part's 19 mm: never to be fitted.",
    );
    contradicted(
        json!({ "seat": "conical", "reach_mm": 17.5 }),
        "Its seat is conical, the part's gasket: seats are never interchangeable. \
         Its reach is 17.5 mm, the part's 19 mm: never to be fitted.",
    );
}

#[test]
fn hotter_and_much_colder() {
    contradicted(
        json!({ "heat_index": 60 }),
        "Its heat index is 60, one step hotter than the part's 70: a hotter plug is never offered for a colder one.",
    );
    contradicted(
        json!({ "heat_index": 66.9 }),
        "Its heat index is 66.9, about half a step hotter than the part's 70: a hotter plug is never offered for a colder one.",
    );
    contradicted(
        json!({ "heat_index": 90 }),
        "Its heat index is 90, two steps colder than the part's 70: beyond 80 it is likely to foul.",
    );
}

#[test]
fn what_does_not_go_into_this_engine() {
    contradicted(
        json!({ "hex_mm": 20.8 }),
        "Its hex is 20.8 mm, the part's 16 mm: it may not enter the plug well.",
    );
    contradicted(
        json!({ "projection_mm": 5 }),
        "Its projection is 5 mm, the part's 3 mm: a tip further back fouls, one further out can be hit.",
    );
    contradicted(
        json!({ "terminal": "stud_m4" }),
        "Its terminal is stud m4, the part's solid nut: lead or coil boot would not hold.",
    );
    contradicted(
        json!({ "gap_min_mm": 0.9, "gap_preset_mm": 0.9 }),
        "The part's gap is 0.8 mm: this one cannot be closed below 0.9 mm.",
    );
    contradicted(
        json!({ "gap_max_mm": 0.7, "gap_preset_mm": 0.7 }),
        "The part's gap is 0.8 mm: this one cannot be opened beyond 0.7 mm.",
    );
}

#[test]
fn a_resistor_more_is_named_and_one_less_rules_out() {
    let none = json!({ "resistor": false });
    assert_eq!(
        graded(none.clone(), json!({})).words(),
        "same but for resistor"
    );
    let Opinion::Contradicted(objections) = opinion(json!({}), none) else {
        panic!("a part with resistor, one without");
    };
    assert_eq!(objections[0].text, "It has no resistor, the part has one.");
}

#[test]
fn the_unknown_confirms_nothing_and_contradicts_nothing() {
    for (member, text) in [
        ("heat_index", "Nobody has established its heat index."),
        ("reach_mm", "Nobody has established its reach."),
        ("hex_mm", "Nobody has established its hex."),
        (
            "resistor",
            "Nobody has established whether it has a resistor.",
        ),
    ] {
        let assumed = json!({ "provenance": { member: "assumed" } });
        for other in [json!({ member: null }), assumed] {
            let said = opinion(json!({}), other.clone());
            assert_eq!(
                (said.finding(), said.words().as_str()),
                (Finding::Unconfirmed, text),
                "{other}"
            );
        }
        let hotter_too = json!({ member: null, "projection_mm": 9 });
        assert_eq!(
            opinion(json!({}), hotter_too).finding(),
            Finding::Contradicted,
            "{member}"
        );
    }
    let open = opinion(json!({ "resistor": null }), json!({ "resistor": false }));
    assert_eq!(
        (open.finding(), open.words().as_str()),
        (
            Finding::Contradicted,
            "It has no resistor, and of the part nobody has established whether it has one."
        )
    );
}
