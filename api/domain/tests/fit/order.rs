//! The order of plugs that fit, and how close a plug is.

use std::cmp::Reverse;

use plugwell_domain::fit::{Name, Standing};
use plugwell_domain::requirement::Requirement;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::{demanded, plug, requirement};

/// Where a plug stands, with what it has on the shelf.
fn standing(requirement: &Requirement, changed: Value, available: i64, one_lot: bool) -> Standing {
    Standing::of(requirement, &plug(changed), available, one_lot)
}

#[test]
fn the_order_of_fits_is_a_fixed_tuple() {
    let requirement = requirement();
    let at = |changed, available, one_lot| standing(&requirement, changed, available, one_lot);
    // Best first; each is worse than the one before it in one member and better in all later ones.
    let in_order = [
        at(json!({}), 24, true),
        at(json!({}), 9, true),
        at(json!({}), 90, false),
        at(json!({"electrode": "nickel"}), 99, true),
        at(json!({"electrode": "nickel", "ground": null}), 99, true),
        at(json!({"projection_mm": 3.0001}), 99, true),
        at(json!({"projection_mm": 2.5}), 99, true),
        at(json!({"projection_mm": null}), 99, true),
        at(json!({"heat_index": 70.1}), 99, true),
        at(json!({"heat_index": 68}), 99, true),
        at(json!({"heat_index": 75}), 99, true),
        at(json!({"heat_index": null}), 99, true),
    ];
    for (place, pair) in in_order.windows(2).enumerate() {
        assert!(pair[0] < pair[1], "{place}: {pair:?}");
    }
    // Colder and hotter by as much, in front of the window's middle and behind it: alike.
    assert_eq!(
        at(json!({"heat_index": 68}), 9, true),
        at(json!({"heat_index": 72}), 9, true)
    );
    assert_eq!(
        at(json!({"projection_mm": 2.25}), 9, true),
        at(json!({"projection_mm": 3.75}), 9, true)
    );
    let whole = at(
        json!({"heat_index": 67.4, "projection_mm": 3.25, "electrode": null}),
        9,
        false,
    );
    let want = Standing {
        heat_distance: 26,
        projection_distance: 5_000,
        preferences_missed: 1,
        several_lots: true,
        available: Reverse(9),
    };
    assert_eq!(whole, want);
}

#[test]
fn what_nobody_asks_for_makes_no_distance() {
    let mut posted = demanded();
    posted["heat"] = json!({"target_index": null});
    let demands = posted["demands"].as_array_mut().expect("a list");
    demands.retain(|d| d["attribute"] != "projection_mm");
    let open = Requirement::from_json(&posted).expect("a right requirement");
    for changed in [
        json!({}),
        json!({"heat_index": null, "projection_mm": null}),
        json!({"heat_index": 0, "projection_mm": -5}),
    ] {
        let got = standing(&open, changed.clone(), 9, true);
        assert_eq!(
            (got.heat_distance, got.projection_distance),
            (0, 0),
            "{changed}"
        );
    }
}

#[test]
fn a_window_with_one_known_end_is_counted_from_that_end() {
    for (test, away) in [
        (json!({"min": 2.5, "max": null}), 5_000),
        (json!({"min": null, "max": 4.0}), 10_000),
    ] {
        let mut posted = demanded();
        posted["demands"][5]["test"] = test.clone();
        let requirement = Requirement::from_json(&posted).expect("a right requirement");
        let got = standing(&requirement, json!({"projection_mm": 3.0}), 9, true);
        assert_eq!(got.projection_distance, 2 * away, "{test}");
    }
}

#[test]
fn alike_in_all_else_part_number_and_id_decide() {
    let name = |part_number: &str, id| Name {
        part_number: part_number.into(),
        id: Uuid::from_u128(id),
    };
    let in_order = [
        name("FW-10", 9),
        name("FW-9", 1),
        name("FW-9", 2),
        name("fw-1", 0),
    ];
    for pair in in_order.windows(2) {
        assert!(pair[0] < pair[1], "{pair:?}");
    }
}

#[test]
fn closeness_falls_from_one_with_every_distance() {
    let of = |heat_distance, projection_distance, preferences_missed| Standing {
        heat_distance,
        projection_distance,
        preferences_missed,
        several_lots: false,
        available: Reverse(0),
    };
    assert!((of(0, 0, 0).closeness() - 1.0).abs() < 1e-12);
    for (better, worse) in [
        (of(0, 0, 0), of(1, 0, 0)),
        (of(10, 0, 0), of(50, 0, 0)),
        (of(0, 0, 0), of(0, 100, 0)),
        (of(0, 10_000, 0), of(0, 20_000, 0)),
        (of(0, 0, 0), of(0, 0, 1)),
        (of(5, 5, 1), of(5, 5, 2)),
        (of(0, 100, 0), of(0, i64::MAX, 0)),
        (of(100, 0, 0), of(i64::MAX, 0, 0)),
    ] {
        assert!(
            better.closeness() > worse.closeness(),
            "{better:?} {worse:?}"
        );
    }
    let last = of(i64::MAX, i64::MAX, u32::MAX).closeness();
    assert!((0.0..0.1).contains(&last), "{last}");
}
