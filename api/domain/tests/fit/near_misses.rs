//! Which plugs that do not fit are worth showing: those that fail a single must, and not any must.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{fits, near_miss};
use plugwell_domain::requirement::Requirement;
use serde_json::{Value, json};

use crate::near_misses::Found::{Fits, NearMiss, Out};
use crate::{demanded, plug, requirement};

/// What a match makes of a plug.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Found {
    Fits,
    /// Worth showing, for the must that it alone fails.
    NearMiss(Attr),
    Out,
}

/// A plug that meets every demand, with some members changed.
#[track_caller]
fn assert_found(changed: Value, want: Found) {
    let (requirement, plug) = (requirement(), plug(changed.clone()));
    let (fit, near) = match want {
        Fits => (true, None),
        NearMiss(attr) => (false, Some(attr)),
        Out => (false, None),
    };
    assert_eq!(fits(&requirement, &plug), fit, "{changed}");
    assert_eq!(near_miss(&requirement, &plug), near, "{changed}");
}

#[test]
fn preferences_and_unknowns_that_are_allowed_rule_nothing_out() {
    assert_found(json!({}), Fits);
    assert_found(json!({"electrode": "nickel", "ground": null}), Fits);
    assert_found(
        json!({"terminal": null, "gap_min_mm": null, "gap_max_mm": null}),
        Fits,
    );
}

#[test]
fn thread_and_seat_are_never_worth_showing() {
    assert_found(json!({"thread": "M12x1.25"}), Out);
    assert_found(json!({"thread": null}), Out);
    assert_found(json!({"seat": "conical"}), Out);
    assert_found(json!({"seat": null}), Out);
}

#[test]
fn heat_is_worth_showing_on_the_cold_side_and_never_unknown() {
    assert_found(json!({"heat_index": 80}), NearMiss(Attr::Heat));
    assert_found(json!({"heat_index": 66.9}), Out);
    assert_found(json!({"heat_index": null}), Out);
}

#[test]
fn the_hot_side_is_known_in_every_form_of_a_heat_must() {
    let with = |test: Value| {
        let mut posted = demanded();
        posted["demands"][4]["test"] = test;
        Requirement::from_json(&posted).expect("a right requirement")
    };
    let cases = [
        (json!({"min": null, "max": 60}), 70.0, Some(Attr::Heat)),
        (json!({"min": 72, "max": null}), 70.0, None),
        (json!({"one_of": [50, 60]}), 70.0, Some(Attr::Heat)),
        (json!({"one_of": [60, 80]}), 70.0, None),
        (json!({"one_of": [80]}), 70.0, None),
    ];
    for (test, heat, want) in cases {
        let plug = plug(json!({"heat_index": heat}));
        assert_eq!(near_miss(&with(test.clone()), &plug), want, "{test}");
    }
}

#[test]
fn reach_is_worth_showing_on_both_sides_and_never_unknown() {
    assert_found(json!({"reach_mm": 17.5}), NearMiss(Attr::Reach));
    assert_found(json!({"reach_mm": 25.0}), NearMiss(Attr::Reach));
    assert_found(json!({"reach_mm": null}), Out);
}

#[test]
fn hex_projection_and_resistor_are_worth_showing_known_or_not() {
    assert_found(json!({"hex_mm": 20.8}), NearMiss(Attr::Hex));
    assert_found(json!({"hex_mm": null}), NearMiss(Attr::Hex));
    assert_found(json!({"projection_mm": 1.0}), NearMiss(Attr::Projection));
    assert_found(json!({"projection_mm": 4.5}), NearMiss(Attr::Projection));
    assert_found(json!({"projection_mm": null}), NearMiss(Attr::Projection));
    assert_found(json!({"resistor": false}), NearMiss(Attr::Resistor));
    assert_found(json!({"resistor": null}), NearMiss(Attr::Resistor));
}

#[test]
fn terminal_and_either_end_of_the_gap_range_are_worth_showing() {
    assert_found(json!({"terminal": "stud_m4"}), NearMiss(Attr::Terminal));
    assert_found(json!({"gap_min_mm": 0.9}), NearMiss(Attr::GapMin));
    assert_found(json!({"gap_max_mm": 0.7}), NearMiss(Attr::GapMax));
}

#[test]
fn the_two_gap_musts_count_as_one() {
    // A range of demands that no plug's range can hold at both ends, in either order.
    let mut posted = demanded();
    posted["demands"][8]["test"] = json!({"min": null, "max": 0.5});
    posted["demands"][9]["test"] = json!({"min": 1.2, "max": null});
    for first in [Attr::GapMin, Attr::GapMax] {
        let requirement = Requirement::from_json(&posted).expect("a right requirement");
        let missed = |changed| near_miss(&requirement, &plug(changed));
        assert_eq!(missed(json!({})), Some(first));
        assert_eq!(missed(json!({"terminal": "stud_m4"})), None);
        assert_eq!(missed(json!({"hex_mm": 20.8})), None);
        let demands = posted["demands"].as_array_mut().expect("a list");
        demands.reverse();
    }
}

#[test]
fn two_failed_musts_are_never_worth_showing() {
    assert_found(json!({"hex_mm": 20.8, "projection_mm": 1.0}), Out);
    assert_found(json!({"hex_mm": null, "resistor": null}), Out);
    assert_found(json!({"heat_index": 80, "terminal": "stud_m4"}), Out);
    assert_found(json!({"reach_mm": 25.0, "gap_min_mm": 0.9}), Out);
    assert_found(json!({"terminal": "stud_m4", "gap_max_mm": 0.7}), Out);
    // One worth showing and one that never is.
    assert_found(json!({"hex_mm": 20.8, "seat": "conical"}), Out);
    assert_found(json!({"heat_index": 60, "projection_mm": 1.0}), Out);
}

#[test]
fn an_assumed_value_is_unknown_however_well_it_would_do_or_fail() {
    assert_found(json!({"provenance": {"reach_mm": "assumed"}}), Out);
    assert_found(
        json!({"provenance": {"hex_mm": "assumed"}}),
        NearMiss(Attr::Hex),
    );
    assert_found(
        json!({"terminal": "stud_m4", "provenance": {"terminal": "assumed"}}),
        Fits,
    );
    let vouched_for =
        json!({"reach_mm": "measured", "hex_mm": "supplier_feed", "seat": "maker_sheet"});
    assert_found(json!({"provenance": vouched_for}), Fits);
}
