//! Whether a plug fits, when one that does not is worth showing, and the order of those that do.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{Name, Standing, StockMode, Verdict, fits, judge, near_miss, rules_out};
use plugwell_domain::plug::{PlugData, Shows};
use plugwell_domain::requirement::{Demand, Requirement, Strength, WhenUnknown};
use plugwell_domain::words::Provenance;
use proptest::prelude::*;
use serde_json::{Map, Value, json};
use uuid::Uuid;

/// A requirement with a must of every kind; target 70, window 2 to 4 mm.
fn demanded() -> Value {
    let must = |attribute: &str, test: Value, unknown: &str| json!({"attribute": attribute, "strength": "must", "test": test, "unknown": unknown});
    let prefer = |attribute: &str, test: Value| json!({"attribute": attribute, "strength": "prefer", "test": test});
    json!({
        "demands": [
            must("thread", json!({"one_of": ["M14x1.25"]}), "fails"),
            must("seat", json!({"one_of": ["gasket"]}), "fails"),
            must("reach_mm", json!({"min": 18.7, "max": 19.3}), "fails"),
            must("hex_mm", json!({"min": null, "max": 16.2}), "fails"),
            must("heat_index", json!({"min": 67, "max": 75}), "fails"),
            must("projection_mm", json!({"min": 2.0, "max": 4.0}), "fails"),
            must("resistor", json!({"one_of": [true]}), "fails"),
            must("terminal", json!({"one_of": ["solid_nut"]}), "allowed"),
            must("gap_min_mm", json!({"min": null, "max": 0.81}), "allowed"),
            must("gap_max_mm", json!({"min": 0.81, "max": null}), "allowed"),
            prefer("electrode", json!({"one_of": ["iridium", "platinum"]})),
            prefer("ground", json!({"one_of": ["fine_wire"]})),
        ],
        "heat": {"target_index": 70},
        "gap": {"set_mm": 0.81},
        "quantity": {"total": 9},
    })
}

fn requirement() -> Requirement {
    Requirement::from_json(&demanded()).expect("a right requirement")
}

/// A plug that meets every demand, with some members changed.
fn plug(changed: Value) -> PlugData {
    let mut whole = json!({
        "maker": "Ferrowick", "part_number": "FW-3207",
        "thread": "M14x1.25", "seat": "gasket", "reach_mm": 19.0, "hex_mm": 16.0, "heat_index": 70,
        "projection_mm": 3.0, "resistor": true, "terminal": "solid_nut", "gap_min_mm": 0.6,
        "gap_max_mm": 1.1, "electrode": "iridium", "ground": "fine_wire",
    });
    for (name, value) in changed.as_object().expect("members") {
        whole[name] = value.clone();
    }
    let map: &Map<String, Value> = whole.as_object().expect("a record");
    PlugData::from_map(map).unwrap_or_else(|faults| panic!("{faults:?}"))
}

#[test]
fn a_value_meets_fails_or_is_unknown_and_the_ends_belong_to_the_range() {
    let requirement = requirement();
    let cases = [
        ("heat_index", json!(66.9), Verdict::Fails),
        ("heat_index", json!(67), Verdict::Meets),
        ("heat_index", json!(75), Verdict::Meets),
        ("heat_index", json!(75.1), Verdict::Fails),
        ("heat_index", json!(null), Verdict::Unknown),
        ("reach_mm", json!(18.6999), Verdict::Fails),
        ("reach_mm", json!(18.7), Verdict::Meets),
        ("reach_mm", json!(19.05), Verdict::Meets),
        ("reach_mm", json!(19.3001), Verdict::Fails),
        ("hex_mm", json!(8), Verdict::Meets),
        ("hex_mm", json!(16.2), Verdict::Meets),
        ("hex_mm", json!(16.2001), Verdict::Fails),
        ("resistor", json!(false), Verdict::Fails),
        ("resistor", json!(null), Verdict::Unknown),
        ("seat", json!("conical"), Verdict::Fails),
        ("gap_min_mm", json!(0.8101), Verdict::Fails),
        ("gap_max_mm", json!(0.81), Verdict::Meets),
    ];
    for (name, value, want) in cases {
        let attr: Attr = name.parse().expect("an attribute");
        let demand = requirement.demand(attr, Strength::Must).expect("a must");
        let shown = plug(json!({name: value})).shown(attr);
        assert_eq!(judge(demand, shown), want, "{name} {value}");
    }
}

#[test]
fn only_a_must_rules_out_and_the_unknown_only_where_it_fails() {
    use Verdict::{Fails, Meets, Unknown};
    let of = |strength, unknown| Demand {
        strength,
        unknown,
        ..requirement().demands[0].clone()
    };
    let cases = [
        (
            Strength::Must,
            Some(WhenUnknown::Fails),
            [(Meets, false), (Fails, true), (Unknown, true)],
        ),
        (
            Strength::Must,
            Some(WhenUnknown::Allowed),
            [(Meets, false), (Fails, true), (Unknown, false)],
        ),
        // A must that does not say takes the unknown for no fit.
        (
            Strength::Must,
            None,
            [(Meets, false), (Fails, true), (Unknown, true)],
        ),
        (
            Strength::Prefer,
            None,
            [(Meets, false), (Fails, false), (Unknown, false)],
        ),
    ];
    for (strength, unknown, verdicts) in cases {
        for (verdict, want) in verdicts {
            let demand = of(strength, unknown);
            assert_eq!(
                rules_out(&demand, verdict),
                want,
                "{strength} {unknown:?} {verdict}"
            );
        }
    }
}

/// Changes to a plug that meets all; whether it still fits; the must that it alone fails, where
/// it is worth showing.
fn cases() -> Vec<(Value, bool, Option<Attr>)> {
    vec![
        (json!({}), true, None),
        // Preferences rule nothing out.
        (json!({"electrode": "nickel", "ground": null}), true, None),
        // Unknown terminal and gap range are allowed, alone and together.
        (
            json!({"terminal": null, "gap_min_mm": null, "gap_max_mm": null}),
            true,
            None,
        ),
        // Never thread or seat, known or not.
        (json!({"thread": "M12x1.25"}), false, None),
        (json!({"thread": null}), false, None),
        (json!({"seat": "conical"}), false, None),
        (json!({"seat": null}), false, None),
        // Heat: only on the cold side, never unknown.
        (json!({"heat_index": 80}), false, Some(Attr::Heat)),
        (json!({"heat_index": 66.9}), false, None),
        (json!({"heat_index": null}), false, None),
        // Reach: both sides, never unknown.
        (json!({"reach_mm": 17.5}), false, Some(Attr::Reach)),
        (json!({"reach_mm": 25.0}), false, Some(Attr::Reach)),
        (json!({"reach_mm": null}), false, None),
        // Hex, projection and resistor: known or not.
        (json!({"hex_mm": 20.8}), false, Some(Attr::Hex)),
        (json!({"hex_mm": null}), false, Some(Attr::Hex)),
        (json!({"projection_mm": 1.0}), false, Some(Attr::Projection)),
        (json!({"projection_mm": 4.5}), false, Some(Attr::Projection)),
        (
            json!({"projection_mm": null}),
            false,
            Some(Attr::Projection),
        ),
        (json!({"resistor": false}), false, Some(Attr::Resistor)),
        (json!({"resistor": null}), false, Some(Attr::Resistor)),
        (json!({"terminal": "stud_m4"}), false, Some(Attr::Terminal)),
        // The gap range, at either end.
        (json!({"gap_min_mm": 0.9}), false, Some(Attr::GapMin)),
        (json!({"gap_max_mm": 0.7}), false, Some(Attr::GapMax)),
        // Two musts: never.
        (json!({"hex_mm": 20.8, "projection_mm": 1.0}), false, None),
        (json!({"hex_mm": null, "resistor": null}), false, None),
        (
            json!({"heat_index": 80, "terminal": "stud_m4"}),
            false,
            None,
        ),
        (json!({"reach_mm": 25.0, "gap_min_mm": 0.9}), false, None),
        (
            json!({"terminal": "stud_m4", "gap_max_mm": 0.7}),
            false,
            None,
        ),
        // One worth showing and one that never is.
        (json!({"hex_mm": 20.8, "seat": "conical"}), false, None),
        (json!({"heat_index": 60, "projection_mm": 1.0}), false, None),
        // An assumed value is unknown, however well it would do or fail.
        (json!({"provenance": {"reach_mm": "assumed"}}), false, None),
        (
            json!({"provenance": {"hex_mm": "assumed"}}),
            false,
            Some(Attr::Hex),
        ),
        (
            json!({"terminal": "stud_m4", "provenance": {"terminal": "assumed"}}),
            true,
            None,
        ),
        (
            json!({"provenance": {"reach_mm": "measured", "hex_mm": "supplier_feed", "seat": "maker_sheet"}}),
            true,
            None,
        ),
    ]
}

#[test]
fn fits_and_near_misses() {
    let requirement = requirement();
    for (changed, fit, near) in cases() {
        let plug = plug(changed.clone());
        assert_eq!(fits(&requirement, &plug), fit, "{changed}");
        assert_eq!(near_miss(&requirement, &plug), near, "{changed}");
    }
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
fn how_many_have_to_be_available() {
    let least = StockMode::ALL
        .iter()
        .map(|mode| (mode.word(), mode.least(9)));
    let want = [("enough", 9), ("some", 1), ("ignore", 0)];
    assert_eq!(least.collect::<Vec<_>>(), want);
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

/// Only what it shows.
#[derive(Debug, Clone, Default)]
struct Shown(BTreeMap<Attr, i64>);

impl Shows for Shown {
    fn shown(&self, attr: Attr) -> Option<i64> {
        self.0.get(&attr).copied()
    }
}

/// Values in and around what is demanded, or nothing.
fn shown() -> impl Strategy<Value = Shown> {
    let near = |attr: Attr, values: Vec<i64>| {
        (
            Just(attr),
            prop_oneof![5 => proptest::sample::select(values).prop_map(Some), 1 => Just(None)],
        )
    };
    let values = (
        near(Attr::Thread, vec![3, 3, 3, 2]),
        near(Attr::Seat, vec![0, 0, 0, 1]),
        near(Attr::Reach, vec![190_000, 187_000, 193_000, 193_001]),
        near(Attr::Hex, vec![160_000, 140_000, 208_000]),
        near(Attr::Heat, vec![700, 670, 750, 669, 751]),
        near(Attr::Projection, vec![30_000, 20_000, 40_000, 19_999]),
        near(Attr::Resistor, vec![1, 1, 0]),
        near(Attr::Terminal, vec![1, 1, 0, 2]),
        near(Attr::GapMin, vec![6_000, 8_100, 8_101]),
        near(Attr::GapMax, vec![11_000, 8_100, 8_099]),
    );
    values.prop_map(|(a, b, c, d, e, f, g, h, i, j)| {
        let all = [a, b, c, d, e, f, g, h, i, j];
        Shown(
            all.into_iter()
                .filter_map(|(attr, raw)| raw.map(|r| (attr, r)))
                .collect(),
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// A near miss is ruled out, and would fit if only the must that it names were left out.
    #[test]
    fn a_near_miss_fails_one_must_alone(plug in shown()) {
        let requirement = requirement();
        let Some(missed) = near_miss(&requirement, &plug) else { return Ok(()) };
        prop_assert!(!fits(&requirement, &plug));
        let gap = |attr| matches!(attr, Attr::GapMin | Attr::GapMax);
        let mut without = requirement.clone();
        without.demands.retain(|d| d.attribute != missed && !(gap(missed) && gap(d.attribute)));
        prop_assert!(fits(&without, &plug));
    }

    /// What fits shows a value for every must that an unknown one fails, and passes its test.
    #[test]
    fn a_fit_passes_every_must(plug in shown()) {
        let requirement = requirement();
        let passes = |d: &Demand| match plug.shown(d.attribute) {
            Some(raw) => d.test.passes(raw),
            None => d.unknown == Some(WhenUnknown::Allowed),
        };
        prop_assert_eq!(fits(&requirement, &plug), requirement.musts().all(passes));
    }
}

#[test]
fn provenance_is_looked_at_one_attribute_at_a_time() {
    let mut record = plug(json!({}));
    record.provenance.insert(Attr::Reach, Provenance::Assumed);
    assert_eq!(record.shown(Attr::Reach), None);
    assert_eq!(record.shown(Attr::Hex), Some(160_000));
    assert_eq!(record.facts.get(Attr::Reach), Some(190_000));
}
