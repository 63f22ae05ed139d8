//! The grade of an equivalent: each, and its neighbours.

use plugwell_domain::equivalent::Grade;
use serde_json::{Value, json};

use crate::graded;

use Grade::*;

/// What a part with these changes is to the whole one.
#[track_caller]
fn is(changes: Value, grade: Grade, words: &str) {
    let found = graded(json!({}), changes.clone());
    assert_eq!(
        (found.grade, found.words().as_str()),
        (grade, words),
        "{changes}"
    );
    assert_eq!(found.not_established, [], "{changes}");
}

/// Up to the policy's tolerances two values are one: reach 0.3 mm common practice, no source; hex
/// 0.2 mm own.
#[test]
fn inch_and_metric_sizes_are_one() {
    is(json!({}), SameInAll, "same in all");
    is(json!({ "reach_mm": 19.05 }), SameInAll, "same in all");
    is(json!({ "reach_mm": 18.7 }), SameInAll, "same in all");
    is(json!({ "hex_mm": 15.875 }), SameInAll, "same in all");
    is(json!({ "hex_mm": 15.8 }), SameInAll, "same in all");
    is(
        json!({ "hex_mm": 15.7999 }),
        SameButMore,
        "same but for hex",
    );
}

/// Three points are the same heat [own]; a step is ten points [own definition].
#[test]
fn colder_is_said_in_steps() {
    is(json!({ "heat_index": 73 }), SameInAll, "same in all");
    let colder = |index: f64, by: &str| {
        let words = format!("same but {by} colder");
        is(json!({ "heat_index": index }), SameButColder, &words);
    };
    colder(73.1, "about half a step");
    colder(75.0, "half a step");
    colder(77.4, "about half a step");
    colder(77.5, "about one step");
    colder(80.0, "one step");
}

/// Three points are the same heat [own]: the grade stays, and that it is hotter is said.
#[test]
fn hotter_within_the_tolerance_is_said() {
    for (index, difference, by) in [
        (67.0, -3.0, "3 points"),
        (69.0, -1.0, "1 point"),
        (69.9, -0.1, "0.1 points"),
    ] {
        let words = format!("same in all ({by} hotter, within what scales can tell)");
        is(json!({ "heat_index": index }), SameInAll, &words);
        let found = graded(json!({}), json!({ "heat_index": index }));
        assert_eq!(found.colder_by().get(), 0.0);
        assert_eq!(found.heat_difference().unwrap().get(), difference);
    }
    let metal = json!({ "heat_index": 67.5, "electrode": "nickel", "terminal": null });
    assert_eq!(
        graded(json!({}), metal).words(),
        "same but for metal (2.5 points hotter, within what scales can tell), as far as known: nobody has \
         established terminal"
    );
    for (index, by) in [(70, 0.0), (73, 3.0), (80, 10.0)] {
        let found = graded(json!({}), json!({ "heat_index": index }));
        assert_eq!(found.heat_difference().unwrap().get(), by);
    }
}

#[test]
fn a_strap_that_stands_further_out_is_a_caution() {
    let texts = |other: Value| {
        let cautions = graded(json!({}), other).cautions().into_iter();
        cautions
            .map(|caution| (caution.code.word(), caution.text))
            .collect::<Vec<_>>()
    };
    let found = texts(json!({ "strap_extent_mm": 6.0 }));
    assert_eq!((found.len(), found[0].0), (1, "strap_further_out"));
    let figures = "It stands 6 mm beyond the shell, the part's 5.5 mm.";
    assert!(found[0].1.ends_with(figures), "{found:?}");
    for harmless in [json!(5.5), json!(4.0), json!(null)] {
        assert_eq!(texts(json!({ "strap_extent_mm": harmless })), []);
    }
}

#[test]
fn metal_is_named_and_whatever_else_differs() {
    is(
        json!({ "electrode": "nickel" }),
        SameButMetal,
        "same but for metal",
    );
    is(
        json!({ "electrode": "nickel", "heat_index": 80 }),
        SameButMetalAndColder,
        "same but for metal and one step colder",
    );
    is(
        json!({ "electrode": "nickel", "ground": "fine_wire" }),
        SameButMore,
        "same but for metal and ground electrode",
    );
    is(
        json!({ "electrode": "nickel", "ground": "fine_wire", "heat_index": 75 }),
        SameButMore,
        "same but for metal and ground electrode, and half a step colder",
    );
    let one =
        |changes: Value, noun: &str| is(changes, SameButMore, &format!("same but for {noun}"));
    one(json!({ "projection_mm": 3.0001 }), "projection");
    one(json!({ "projection_mm": 2.5 }), "projection");
    one(json!({ "hex_kind": "bi_hex" }), "spanner faces");
    one(json!({ "ground": "fine_wire" }), "ground electrode");
    one(json!({ "gap_preset_mm": 0.7 }), "gap as delivered");
}

#[test]
fn what_does_no_harm_is_listed_and_not_counted() {
    // A piston meets a strap that stands further out, not one that stands less far.
    is(
        json!({ "strap_extent_mm": 5.5001 }),
        SameButMore,
        "same but for strap extent",
    );
    is(json!({ "strap_extent_mm": 4.0 }), SameInAll, "same in all");
    // Both ranges hold the part's gap, else it were no equivalent.
    is(
        json!({ "gap_min_mm": 0.8, "gap_max_mm": 0.8 }),
        SameInAll,
        "same in all",
    );
    let informs = json!({
        "resistance_ohm": 4000, "overall_mm": 72, "insulator_mm": 30, "service_life_km": 9000, "torque_nm": 20,
        "pack_size": 6
    });
    is(informs, SameInAll, "same in all");
    let found = graded(
        json!({ "pack_size": 4 }),
        json!({ "pack_size": 6, "strap_extent_mm": 4.0 }),
    );
    let listed: Vec<_> = found
        .differences
        .iter()
        .map(|d| d.attribute.word())
        .collect();
    assert_eq!(listed, ["strap_extent_mm", "pack_size"]);
}

#[test]
fn what_is_not_known_is_named() {
    let cases = [
        (json!({}), json!({ "terminal": null }), "terminal"),
        (json!({ "terminal": null }), json!({}), "terminal"),
        (
            json!({ "terminal": null }),
            json!({ "terminal": null }),
            "terminal",
        ),
        (
            json!({}),
            json!({ "provenance": { "terminal": "assumed" } }),
            "terminal",
        ),
        (json!({}), json!({ "electrode": null }), "metal"),
        (
            json!({}),
            json!({ "gap_min_mm": null, "gap_max_mm": null }),
            "gap range",
        ),
        (
            json!({ "hex_mm": null, "projection_mm": null }),
            json!({}),
            "hex or projection",
        ),
    ];
    for (part, other, named) in cases {
        let found = graded(part.clone(), other.clone());
        let words = format!("same in all, as far as known: nobody has established {named}");
        assert_eq!(found.words(), words, "{part} {other}");
        assert!(
            found.differences.iter().all(|d| !d.counts),
            "the unknown counts for nothing"
        );
        let open = found.not_established.iter();
        let listed = open.filter(|attr| found.differences.iter().any(|d| d.attribute == **attr));
        // Unknown of both is no difference.
        let both = part == other;
        assert_eq!(listed.count() == 0, both, "{found:?}");
    }
    // What only informs is not missed, and a surface gap has no strap.
    assert_eq!(
        graded(json!({ "pack_size": 4 }), json!({})).words(),
        "same in all"
    );
    let surface = json!({ "ground": "surface_gap", "strap_extent_mm": null, "gap_min_mm": 0.8, "gap_max_mm": 0.8 });
    assert_eq!(graded(surface.clone(), surface).words(), "same in all");
}

#[test]
fn differences_stand_in_the_order_of_attributes_with_both_values() {
    let found = graded(
        json!({}),
        json!({ "reach_mm": 19.05, "electrode": "nickel", "heat_index": 80, "terminal": null }),
    );
    let shown = serde_json::to_value(&found.differences).unwrap();
    assert_eq!(
        shown,
        json!([
            { "attribute": "reach_mm", "own": 19.0, "other": 19.05, "counts": false },
            { "attribute": "heat_index", "own": 70.0, "other": 80.0, "counts": true },
            { "attribute": "electrode", "own": "iridium", "other": "nickel", "counts": true },
            { "attribute": "terminal", "own": "solid_nut", "other": null, "counts": false },
        ])
    );
    assert_eq!(found.colder_by().get(), 10.0);
    assert_eq!(
        graded(json!({}), json!({ "heat_index": 73 }))
            .colder_by()
            .get(),
        0.0
    );
}
