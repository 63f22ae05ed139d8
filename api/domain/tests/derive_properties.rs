//! Whatever a build says within its bounds, the requirement is sound.

mod engine;

use std::sync::LazyLock;

use engine::must;
use plugwell_domain::attribute::Attr;
use plugwell_domain::build::{Engine, Head};
use plugwell_domain::decimal::{Decimal, HeatIndex, Length};
use plugwell_domain::fault::Check;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Requirement, Strength, Test, derive, set_gap_of};
use plugwell_domain::thread::Thread;
use plugwell_domain::words::*;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::{select, subsequence};
use serde_json::Value;

static POLICY: LazyLock<Policy> = LazyLock::new(Policy::default);

/// A length in 0.0001 mm between two of them.
fn length(min: i64, max: i64) -> impl Strategy<Value = Length> {
    (min..=max).prop_map(Decimal)
}

fn head() -> impl Strategy<Value = Head> {
    let window = (of(length(-50_000, 150_000)), of(length(-50_000, 150_000)));
    let first = (
        select(Thread::ALL),
        length(50_000, 600_000),
        of(length(0, 5000)),
        select(Seat::ALL),
        of(length(80_000, 300_000)),
    );
    let second = (
        window,
        0i64..=2000,
        of(select(Terminal::ALL)),
        of(select(Material::ALL)),
        of(any::<bool>()),
    );
    (first, second).prop_map(|(first, second)| {
        let (thread, reach_mm, reach_tolerance_mm, seat, hex_max_mm) = first;
        let ((start, end), heat, terminal, material, tight_gap) = second;
        let (projection_min_mm, projection_max_mm) = match (start, end) {
            (Some(start), Some(end)) => (Some(start.min(end)), Some(start.max(end))),
            open => open,
        };
        Head {
            name: None,
            thread,
            reach_mm,
            reach_tolerance_mm,
            seat,
            hex_max_mm,
            projection_min_mm,
            projection_max_mm,
            heat_index: Some(Decimal(heat)),
            terminal,
            material,
            tight_gap,
        }
    })
}

/// Stroke and rod that an engine can have, either of them perhaps unknown.
fn crank() -> impl Strategy<Value = (Option<f64>, Option<f64>)> {
    let both = (20.0..=250.0, 2.2..=8.0)
        .prop_map(|(stroke, ratio): (f64, f64)| (stroke, (stroke / 2.0 * ratio).clamp(40.0, 500.0)))
        .prop_filter("a rod that suits", |(stroke, rod)| {
            (2.2..=8.0).contains(&(rod / (stroke / 2.0)))
        });
    (both, any::<bool>(), any::<bool>()).prop_map(|((stroke, rod), has_stroke, has_rod)| {
        (has_stroke.then_some(stroke), has_rod.then_some(rod))
    })
}

fn engine() -> impl Strategy<Value = Engine> {
    let kind = (
        1u32..=16,
        of(1u32..=3),
        select(Induction::ALL),
        select(Use::ALL),
        of(select(Fuel::ALL)),
    );
    let gain = (
        of(1.0..=3000.0),
        of(1.0..=3000.0),
        of(-50.0..=600.0),
        of(-50.0..=600.0),
        of(50.0..=20_000.0),
    );
    let spark = (
        of(4.0..=25.0),
        of(0.0..=110.0),
        of(-10.0..=70.0),
        of(-40.0..=250.0),
        of(-500.0..=6000.0),
        of(5.0..=120.0),
    );
    let metals = subsequence(Electrode::ALL, 1..=Electrode::ALL.len());
    let electronics = subsequence(Electronics::ALL, 0..=Electronics::ALL.len());
    // A caller seldom has a word of their own.
    let word = (
        proptest::option::weighted(0.2, 0u32..=6),
        proptest::option::weighted(0.2, length(2000, 25_000)),
        of(metals),
        of(0u32..=100),
        of(electronics),
    );
    (kind, gain, spark, crank(), word).prop_map(|(kind, gain, spark, (stroke_mm, rod_mm), word)| {
        Engine {
            base_plug_id: None,
            cylinders: kind.0,
            plugs_per_cylinder: kind.1,
            induction: kind.2,
            purpose: kind.3,
            base_power_kw: gain.0,
            power_kw: gain.1,
            base_boost_kpa: gain.2,
            boost_kpa: gain.3,
            displacement_cc: gain.4,
            compression_ratio: spark.0,
            stroke_mm,
            rod_mm,
            intake_close_deg_abdc: spark.1,
            spark_advance_deg: spark.2,
            charge_temp_c: spark.3,
            altitude_m: spark.4,
            fuel: kind.4,
            electronics: word.4,
            coil_kv: spark.5,
            heat_steps: word.0,
            gap_mm: word.1,
            electrode: word.2,
            spares: word.3,
        }
    })
}

fn derived(engine: &Engine, head: &Head) -> Requirement {
    derive(engine, head, None, &POLICY).unwrap()
}

/// JSON has no infinity and no NaN: serde writes them as null, so each number is looked at itself.
fn numbers(need: &Requirement) -> Vec<f64> {
    let spark = need.gap.spark.iter().flat_map(|s| {
        let band = s.needed_kv_band.into_iter().flatten();
        [s.pressure_kpa, s.temperature_k, s.available_kv]
            .into_iter()
            .chain(s.needed_kv)
            .chain(band)
    });
    let gap = [
        need.gap.practice_min_mm,
        need.gap.practice_max_mm,
        need.gap.physical_max_mm,
        need.gap.set_mm,
    ];
    let gap = gap.into_iter().flatten().map(Decimal::get);
    spark.chain(gap).chain(need.heat.steps_asked).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn builds_within_their_bounds_have_no_faults(engine in engine(), head in head()) {
        prop_assert_eq!(engine.faults(), vec![]);
        prop_assert_eq!(head.faults(), vec![]);
    }

    #[test]
    fn every_figure_is_finite(engine in engine(), head in head()) {
        let need = derived(&engine, &head);
        for number in numbers(&need) {
            prop_assert!(number.is_finite(), "{number}");
        }
        if let Some(spark) = &need.gap.spark {
            prop_assert!(spark.pressure_kpa > 0.0 && spark.temperature_k > 0.0 && spark.available_kv > 0.0);
        }
    }

    #[test]
    fn the_set_gap_is_never_above_what_the_coil_fires_but_by_the_callers_word(engine in engine(), head in head()) {
        let need = derived(&engine, &head);
        if let Some(asked) = engine.gap_mm {
            prop_assert_eq!(need.gap.set_mm, Some(asked));
        } else if let Some(set) = need.gap.set_mm {
            prop_assert!(set >= POLICY.values.gap_least_mm.value);
            prop_assert!(need.gap.practice_max_mm.is_some_and(|max| set <= max));
            prop_assert!(need.gap.physical_max_mm.is_none_or(|limit| set <= limit));
            if let Some(spark) = &need.gap.spark {
                prop_assert!(spark.needed_kv.unwrap() <= spark.available_kv * (1.0 + 1e-9));
            }
        }
        // A plug that keeps its own gap is lowered to the same limit.
        let (own, _) = set_gap_of(&engine::plug(serde_json::json!({ "gap_preset_mm": 1.1 })), &need);
        if engine.gap_mm.is_none() && let (Some(own), Some(limit)) = (own, need.gap.physical_max_mm) {
            prop_assert!(own <= limit);
        }
    }

    #[test]
    fn gap_musts_stand_exactly_where_a_gap_is_set(engine in engine(), head in head()) {
        let need = derived(&engine, &head);
        let ends = (must(&need, Attr::GapMin).map(|d| d.test.clone()), must(&need, Attr::GapMax).map(|d| d.test.clone()));
        let expected = need.gap.set_mm.map(|set| {
            (Test::Range { min: None, max: Some(set.0) }, Test::Range { min: Some(set.0), max: None })
        });
        prop_assert_eq!(ends, expected.map_or((None, None), |(min, max)| (Some(min), Some(max))));
        if let Some(spark) = &need.gap.spark {
            prop_assert_eq!(spark.needed_kv.is_some(), need.gap.set_mm.is_some());
            prop_assert_eq!(spark.needed_kv_band.is_some(), need.gap.set_mm.is_some());
        }
    }

    #[test]
    fn the_heat_window_holds_its_target_which_is_never_hotter_than_the_base(engine in engine(), head in head()) {
        let need = derived(&engine, &head);
        let (base, target) = (need.heat.base_index.unwrap(), need.heat.target_index.unwrap());
        prop_assert!(target >= base);
        prop_assert_eq!(target.0 - base.0, i64::from(need.heat.steps.unwrap()) * 100);
        let Test::Range { min: Some(min), max: Some(max) } = must(&need, Attr::Heat).unwrap().test else {
            return Err(TestCaseError::fail("the heat window has both its ends"));
        };
        let half_a_step: HeatIndex = Decimal(50);
        prop_assert!(min == target.0 - 30 && target.0 + half_a_step.0 <= max && max <= target.0 + 100);
    }

    #[test]
    fn the_musts_of_the_head_are_always_there(engine in engine(), head in head()) {
        let need = derived(&engine, &head);
        for attr in [Attr::Thread, Attr::Seat, Attr::Reach, Attr::Heat] {
            prop_assert!(must(&need, attr).is_some(), "{attr}");
        }
        prop_assert_eq!(must(&need, Attr::Hex).is_some(), head.hex_max_mm.is_some());
        let ends = head.projection_min_mm.is_some() || head.projection_max_mm.is_some();
        prop_assert_eq!(must(&need, Attr::Projection).is_some(), ends);
        prop_assert_eq!(must(&need, Attr::Terminal).is_some(), head.terminal.is_some());
        prop_assert_eq!(must(&need, Attr::Electrode).is_some(), engine.electrode.is_some());
        let nothing = engine.electronics.as_ref().is_some_and(Vec::is_empty);
        prop_assert_eq!(must(&need, Attr::Resistor).is_none(), nothing);
        for demand in &need.demands {
            prop_assert_eq!(demand.unknown.is_some(), demand.strength == Strength::Must);
        }
    }

    #[test]
    fn a_requirement_that_is_posted_back_asks_the_same(engine in engine(), head in head()) {
        let need = derived(&engine, &head);
        let text = serde_json::to_string(&need).unwrap();
        let value: Value = serde_json::from_str(&text).unwrap();
        let posted = Requirement::from_json(&value).unwrap();
        prop_assert_eq!(&posted.demands, &need.demands);
        prop_assert_eq!(posted.heat.target_index, need.heat.target_index);
        prop_assert_eq!(posted.gap.set_mm, need.gap.set_mm);
        prop_assert_eq!(posted.quantity.total, need.quantity.total);
        prop_assert_eq!(posted.context.projection_twice, need.context.projection_twice);
        prop_assert_eq!(posted.context.unconfirmed, need.context.unconfirmed);
    }
}
