//! The curves of the spark picture: the requirement's own figures at the set gap, and three boosts.

mod engine;

use engine::{build, need};
use plugwell_domain::caution::CautionCode;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{SparkCurves, spark_curves};
use plugwell_domain::spark::uniform_breakdown_kv;
use proptest::prelude::*;
use serde_json::{Value, json};

fn curves(changes: &Value) -> SparkCurves {
    let (engine, head) = build(changes);
    spark_curves(&engine, &head, &Policy::default().values)
}

#[test]
fn at_the_set_gap_the_curve_gives_what_the_requirement_says() {
    for changes in [
        json!({}),
        json!({ "power_kw": 750, "boost_kpa": 138, "coil_kv": 34 }),
        json!({ "boost_kpa": 165, "cylinders": 4, "power_kw": 298 }),
        json!({ "gap_mm": 0.55, "coil_kv": null }),
        json!({ "induction": "nitrous", "boost_kpa": null }),
    ] {
        let (drawn, told) = (curves(&changes), need(changes.clone()));
        assert_eq!(drawn.gap, told.gap, "{changes}");
        let spark = told.gap.spark.as_ref().expect("a spark");
        let set = told.gap.set_mm.expect("a gap to set");
        let need = drawn.curves[0].need(set.get());
        assert_eq!(Some(need.needed_kv), spark.needed_kv, "{changes}");
        assert_eq!(Some(need.band_kv), spark.needed_kv_band, "{changes}");
        assert_eq!(drawn.coil.available_kv, spark.available_kv);
        assert_eq!(drawn.curves[0].at.pressure_kpa, spark.pressure_kpa);
    }
}

#[test]
fn less_and_more_boost_are_the_same_build_at_other_boosts() {
    let own = curves(&json!({ "boost_kpa": 80 }));
    let boosts: Vec<f64> = own.curves.iter().map(|c| c.boost_kpa).collect();
    assert_eq!(boosts, [80.0, 60.0, 100.0], "own: a quarter either way");
    for (curve, boost) in own.curves.iter().zip([80, 60, 100]) {
        let alone = curves(&json!({ "boost_kpa": boost }));
        assert_eq!(curve.at, alone.curves[0].at);
        assert_eq!(curve.need(0.7), alone.curves[0].need(0.7));
    }
}

#[test]
fn without_boost_there_is_one_curve() {
    for changes in [
        json!({ "induction": "naturally_aspirated", "boost_kpa": null }),
        json!({ "boost_kpa": 0 }),
        json!({ "boost_kpa": -10 }),
        json!({ "induction": "nitrous", "boost_kpa": null }),
    ] {
        assert_eq!(curves(&changes).curves.len(), 1, "{changes}");
    }
}

#[test]
fn what_is_unknown_is_not_drawn_but_asked_for() {
    for member in ["compression_ratio", "boost_kpa"] {
        let drawn = curves(&json!({ member: null }));
        assert!(drawn.curves.is_empty(), "{member}");
        assert!(
            drawn.unanswered.iter().any(|u| u.attribute == member),
            "{:?}",
            drawn.unanswered
        );
        assert!(
            drawn.gap.practice_max_mm.is_some() && drawn.coil.kv > 0.0,
            "the rest is there"
        );
    }
    assert!(curves(&json!({})).unanswered.is_empty());
}

#[test]
fn the_cautions_of_the_gap_come_with_the_curves() {
    use CautionCode::{AbovePhysicalLimit, BelowPracticeBand, CoilTooWeak, MayMisfireAtTheHighEnd};
    let all = [
        CoilTooWeak,
        BelowPracticeBand,
        AbovePhysicalLimit,
        MayMisfireAtTheHighEnd,
    ];
    let mut seen = Vec::new();
    for changes in [
        json!({ "coil_kv": 60 }),
        json!({ "coil_kv": 5 }),
        json!({ "coil_kv": 16 }),
        json!({ "coil_kv": 20, "gap_mm": 1.2 }),
    ] {
        let (drawn, told) = (curves(&changes), need(changes.clone()));
        let of_the_gap = told.cautions.iter().filter(|c| all.contains(&c.code));
        assert_eq!(
            drawn.cautions,
            of_the_gap.cloned().collect::<Vec<_>>(),
            "{changes}"
        );
        seen.push(
            drawn
                .cautions
                .into_iter()
                .map(|c| c.code)
                .collect::<Vec<_>>(),
        );
    }
    assert!(seen[0].is_empty() && seen[1] == [CoilTooWeak], "{seen:?}");
    assert!(seen[2].contains(&BelowPracticeBand), "{seen:?}");
    assert_eq!(seen[3], [AbovePhysicalLimit, MayMisfireAtTheHighEnd]);
}

/// A gap that the coil just fires as built is beyond it with more boost; one with room to spare is not.
#[test]
fn more_boost_can_ask_more_of_the_set_gap_than_the_coil_has() {
    let ample = curves(&json!({ "coil_kv": 60 }));
    assert!(ample.beyond_the_coil().is_none());
    let limited = curves(&json!({ "coil_kv": 20 }));
    assert_eq!(limited.gap.set_mm, limited.gap.physical_max_mm);
    let (curve, kv) = limited.beyond_the_coil().expect("the coil at its end");
    assert!(curve.more > 0.0 && kv > limited.coil.available_kv);
    assert_eq!(
        kv,
        limited.curves[2]
            .need(limited.gap.set_mm.unwrap().get())
            .needed_kv
    );
    for none in [
        json!({ "coil_kv": 5 }),
        json!({ "coil_kv": 20, "boost_kpa": null }),
    ] {
        assert!(curves(&none).beyond_the_coil().is_none(), "{none}");
    }
}

proptest! {
    /// Every point of every curve is a share of the uniform-field voltage (trade figures: factor 0.85, band 0.6
    /// to 1.1, own), more boost needs more, a wider gap needs more.
    #[test]
    fn every_point_is_a_share_of_the_uniform_field(boost in 1.0..300.0f64, ratio in 6.0..13.0f64, gap in 0.2..2.0f64) {
        let drawn = curves(&json!({ "boost_kpa": boost, "compression_ratio": ratio }));
        for curve in &drawn.curves {
            let uniform = uniform_breakdown_kv(gap, curve.at.pressure_kpa, curve.at.temperature_k);
            let need = curve.need(gap);
            for (kv, share) in [(need.needed_kv, 0.85), (need.band_kv[0], 0.6), (need.band_kv[1], 1.1)] {
                prop_assert!((kv - share * uniform).abs() < 1e-9);
            }
            prop_assert!(curve.need(gap + 0.01).needed_kv > need.needed_kv);
        }
        let at = |place: usize| drawn.curves[place].need(gap).needed_kv;
        prop_assert!(at(1) < at(0) && at(0) < at(2));
    }
}
