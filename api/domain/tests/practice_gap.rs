//! The gap: practice by power, physics by the coil. Practice figures: common practice, no source; below 600 hp
//! from memory; between 800 and 1000 hp and for tight-gap heads from 800 hp own.

mod engine;

use engine::{KW_PER_HP, codes, mm, must, need, range};
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::conversion::psi_to_kpa;
use plugwell_domain::requirement::{BasisKind, Requirement};
use serde_json::{Value, json};

/// A build whose coil fires anything, so that practice alone decides.
fn at_power(kw: f64, tight: bool) -> Requirement {
    need(json!({ "power_kw": kw, "coil_kv": 120, "head": { "tight_gap": tight } }))
}

fn band(need: &Requirement) -> (Option<f64>, Option<f64>) {
    (mm(need.gap.practice_min_mm), mm(need.gap.practice_max_mm))
}

fn basis(need: &Requirement) -> BasisKind {
    must(need, Attr::GapMin).unwrap().basis.kind
}

#[test]
fn practice_goes_by_power_and_each_edge_belongs_to_what_begins_there() {
    let under = |hp: f64| hp * KW_PER_HP - 1e-6;
    let cases = [
        (100.0, (0.71, 0.89), BasisKind::FromMemory),
        (under(600.0), (0.71, 0.89), BasisKind::FromMemory),
        (447.419_922, (0.71, 0.81), BasisKind::CommonPractice),
        (600.0 * KW_PER_HP, (0.71, 0.81), BasisKind::CommonPractice),
        (under(800.0), (0.71, 0.81), BasisKind::CommonPractice),
        (800.0 * KW_PER_HP, (0.71, 0.81), BasisKind::Own),
        // Halfway both ends stand at 0.585 and 0.685: half up.
        (900.0 * KW_PER_HP, (0.59, 0.69), BasisKind::Own),
        (850.0 * KW_PER_HP, (0.65, 0.75), BasisKind::Own),
        (under(1000.0), (0.46, 0.56), BasisKind::Own),
        (1000.0 * KW_PER_HP, (0.46, 0.56), BasisKind::CommonPractice),
        (3000.0, (0.46, 0.56), BasisKind::CommonPractice),
    ];
    for (kw, (min, max), kind) in cases {
        let need = at_power(kw, false);
        assert_eq!(band(&need), (Some(min), Some(max)), "{kw} kW");
        assert_eq!(mm(need.gap.set_mm), Some(max), "{kw} kW");
        assert_eq!(basis(&need), kind, "{kw} kW");
    }
}

#[test]
fn a_tight_gap_head_has_the_tight_band_from_800_hp_on() {
    let under = 800.0 * KW_PER_HP - 1e-6;
    assert_eq!(band(&at_power(under, true)), (Some(0.71), Some(0.81)));
    let tight = at_power(800.0 * KW_PER_HP, true);
    assert_eq!(
        (band(&tight), basis(&tight)),
        ((Some(0.46), Some(0.56)), BasisKind::Own)
    );
    assert_eq!(
        basis(&at_power(1000.0 * KW_PER_HP, true)),
        BasisKind::CommonPractice
    );
    // A mark that nobody has made is no mark.
    let unmarked = need(json!({ "power_kw": 600, "coil_kv": 120, "head": { "tight_gap": null } }));
    assert_eq!(mm(unmarked.gap.practice_max_mm), Some(0.8));
}

/// Limits worked in the description of the trade: R 3.26, n 1.32, 34 kV, reserve 30 %, factor 0.85.
#[test]
fn the_worked_limits_come_out_as_printed() {
    let worked = |hp: f64, psi: f64, ratio: f64, extra: Value| {
        let mut changes = json!({
            "power_kw": hp * KW_PER_HP, "boost_kpa": psi_to_kpa(psi), "compression_ratio": ratio,
            "stroke_mm": 92, "rod_mm": 150
        });
        changes
            .as_object_mut()
            .unwrap()
            .extend(extra.as_object().unwrap().clone());
        need(changes)
    };
    // (printed bar, K, shown limit, set)
    let cases = [
        (worked(700.0, 8.0, 9.5, json!({})), 17.69, 590.8, 1.05, 0.81),
        (
            worked(1000.0, 20.0, 9.5, json!({})),
            27.05,
            590.8,
            0.69,
            0.56,
        ),
        (
            worked(
                400.0,
                24.0,
                9.0,
                json!({ "cylinders": 4, "displacement_cc": 1998 }),
            ),
            28.67,
            583.6,
            0.64,
            0.64,
        ),
    ];
    for (need, bar, kelvin, limit, set) in cases {
        let spark = need.gap.spark.as_ref().unwrap();
        assert!(
            (spark.pressure_kpa / 100.0 - bar).abs() < 0.01,
            "{} kPa",
            spark.pressure_kpa
        );
        assert!(
            (spark.temperature_k - kelvin).abs() < 0.1,
            "{} K",
            spark.temperature_k
        );
        assert_eq!(
            (mm(need.gap.physical_max_mm), mm(need.gap.set_mm)),
            (Some(limit), Some(set))
        );
        assert_eq!(spark.assumed, Vec::<String>::new());
        assert!(spark.needed_kv.unwrap() <= spark.available_kv);
    }
}

#[test]
fn the_coil_sets_the_gap_where_it_fires_less_than_practice() {
    let small = need(json!({ "power_kw": 298, "boost_kpa": 165.47, "compression_ratio": 9.0 }));
    assert_eq!(mm(small.gap.set_mm), mm(small.gap.physical_max_mm));
    assert!(codes(&small).contains(&CautionCode::BelowPracticeBand));
    assert_eq!(basis(&small), BasisKind::Physics);
    // Within the band the limit is set without a word.
    let strip = need(
        json!({ "power_kw": 1491, "boost_kpa": 275.8, "compression_ratio": 9.0, "coil_kv": 36 }),
    );
    assert_eq!(mm(strip.gap.set_mm), Some(0.48));
    assert!(!codes(&strip).contains(&CautionCode::BelowPracticeBand));
}

#[test]
fn the_musts_hold_the_set_gap_and_the_voltage_stands_beside_it() {
    let need = need(json!({}));
    let set = mm(need.gap.set_mm).unwrap();
    assert_eq!(range(&need, Attr::GapMin), Some((None, Some(set))));
    assert_eq!(range(&need, Attr::GapMax), Some((Some(set), None)));
    let spark = need.gap.spark.unwrap();
    let [least, most] = spark.needed_kv_band.unwrap();
    // Own estimates: factor 0.85, band 0.6 to 1.1 of the uniform-field voltage.
    let uniform = spark.needed_kv.unwrap() / 0.85;
    assert!((least - 0.6 * uniform).abs() < 1e-9 && (most - 1.1 * uniform).abs() < 1e-9);
    assert!((spark.available_kv - 34.0 * 0.7).abs() < 1e-12);
    assert_eq!(mm(Some(need.gap.tolerance_mm)), Some(0.025));
}

#[test]
fn a_coil_that_fires_less_than_0_40_is_too_weak() {
    let weak = need(json!({ "coil_kv": 12 }));
    assert!(mm(weak.gap.physical_max_mm).unwrap() < 0.4);
    assert_eq!(weak.gap.set_mm, None);
    assert!(must(&weak, Attr::GapMin).is_none() && must(&weak, Attr::GapMax).is_none());
    assert!(codes(&weak).contains(&CautionCode::CoilTooWeak));
    assert!(!codes(&weak).contains(&CautionCode::BelowPracticeBand));
    let spark = weak.gap.spark.unwrap();
    assert_eq!((spark.needed_kv, spark.needed_kv_band), (None, None));
    // Exactly 0.40 still serves.
    let kv = (120..340).map(|tenth| f64::from(tenth) / 10.0);
    let edge = kv
        .map(|kv| need(json!({ "coil_kv": kv })))
        .find(|n| mm(n.gap.physical_max_mm) == Some(0.4))
        .unwrap();
    assert_eq!(mm(edge.gap.set_mm), Some(0.4));
    assert!(!codes(&edge).contains(&CautionCode::CoilTooWeak));
}

#[test]
fn a_gap_of_the_callers_stands_above_all() {
    let over = need(json!({ "gap_mm": 1.2 }));
    assert_eq!(mm(over.gap.set_mm), Some(1.2));
    assert!(codes(&over).contains(&CautionCode::AbovePhysicalLimit));
    assert_eq!(basis(&over), BasisKind::Caller);
    assert_eq!(mm(over.gap.practice_max_mm), Some(0.81));
    // Also under 0.40, with a weak coil, without boost and without power.
    let weak = need(json!({ "gap_mm": 0.3, "coil_kv": 12 }));
    assert_eq!(mm(weak.gap.set_mm), Some(0.3));
    assert!(!codes(&weak).contains(&CautionCode::CoilTooWeak));
    let free =
        need(json!({ "gap_mm": 0.95, "induction": "naturally_aspirated", "boost_kpa": null }));
    assert_eq!(range(&free, Attr::GapMin), Some((None, Some(0.95))));
    let unknown = need(json!({ "gap_mm": 0.7, "power_kw": null }));
    assert_eq!(
        (mm(unknown.gap.set_mm), unknown.gap.practice_min_mm),
        (Some(0.7), None)
    );
    assert!(!engine::asked(&unknown).contains(&"power_kw"));
    // At the shown limit it is not above it.
    let limit = mm(need(json!({})).gap.physical_max_mm).unwrap();
    assert!(!codes(&need(json!({ "gap_mm": limit }))).contains(&CautionCode::AbovePhysicalLimit));
}

#[test]
fn a_gap_that_uses_up_the_reserve_may_misfire_at_the_high_end() {
    let far = need(json!({ "gap_mm": 1.8 }));
    let most = far.gap.spark.as_ref().unwrap().needed_kv_band.unwrap()[1];
    assert!(
        most > 34.0 && codes(&far).contains(&CautionCode::MayMisfireAtTheHighEnd),
        "{most} kV"
    );
    let near = need(json!({ "gap_mm": 1.0 }));
    let most = near.gap.spark.as_ref().unwrap().needed_kv_band.unwrap()[1];
    assert!(
        most <= 34.0 && !codes(&near).contains(&CautionCode::MayMisfireAtTheHighEnd),
        "{most} kV"
    );
}
