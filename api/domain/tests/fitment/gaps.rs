//! What the gap is put to, and what is said to do about it.

use plugwell_domain::decimal::Decimal;
use plugwell_domain::fitment::{FindingCode, Helps, Severity, Symptom};
use plugwell_domain::requirement::{BasisKind, Requirement};
use serde_json::{Value, json};

use crate::{codes, engine, finding, opinion, opinion_on};

fn gapped(mm: f64) -> Value {
    json!({ "treatment": { "gap_mm": mm } })
}

fn largest_right(need: &Requirement) -> f64 {
    let right = |hundredths: &u32| {
        let found = opinion(need, &gapped(f64::from(*hundredths) / 100.0), &[]);
        finding(&found, FindingCode::GapTooLarge).is_none()
    };
    f64::from((20..=250).rfind(right).unwrap()) / 100.0
}

#[test]
fn the_end_is_the_practice_bands_or_the_coils_whichever_is_smaller() {
    // 600 to 800 hp: 0.71 to 0.81 mm (common practice, no source).
    let practice = engine::need(json!({}));
    assert!(practice.gap.physical_max_mm > Some(Decimal(8_100)));
    assert_eq!(largest_right(&practice), 0.81);
    // Between what practice sets and what the coil fires, and above both.
    let fires = practice.gap.physical_max_mm.unwrap().get();
    for (mm, kind, coil) in [
        (
            0.9,
            BasisKind::CommonPractice,
            format!("by estimate the coil reaches {fires:.2} mm"),
        ),
        (
            1.1,
            BasisKind::Physics,
            format!("fires at most {fires:.2} mm"),
        ),
    ] {
        let found = opinion(&practice, &gapped(mm), &[]);
        let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
        assert_eq!(wide.basis.kind, kind, "{mm}");
        assert_eq!(wide.severity, Severity::Fix);
        assert_eq!(wide.needed, json!({ "min": null, "max": 0.81 }));
        assert!(
            wide.text.contains("0.81 mm") && wide.text.contains(&coil),
            "{}",
            wide.text
        );
    }
    let weak = engine::need(json!({ "coil_kv": 24 }));
    let limit = weak.gap.physical_max_mm.unwrap();
    assert!(limit < Decimal(8_100), "{limit}");
    assert_eq!(largest_right(&weak), limit.get());
    let found = opinion(&weak, &gapped(0.81), &[]);
    let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
    assert_eq!(wide.basis.kind, BasisKind::Physics);
    assert!(wide.text.contains("coil"), "{}", wide.text);
}

#[test]
fn a_callers_gap_stands_in_the_bands_place() {
    // Under the band's end: what was asked for is the end.
    let need = engine::need(json!({ "gap_mm": 0.6 }));
    assert_eq!(largest_right(&need), 0.6);
    let found = opinion(&need, &gapped(0.75), &[]);
    let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
    assert_eq!(
        (wide.severity, wide.basis.kind),
        (Severity::Fix, BasisKind::Caller)
    );
    assert!(wide.text.contains("was asked for"), "{}", wide.text);
}

#[test]
fn a_callers_gap_that_the_coil_does_not_fire_explains_a_misfire() {
    let need = engine::need(json!({ "gap_mm": 1.2 }));
    let fires = need.gap.physical_max_mm.unwrap();
    assert_eq!(largest_right(&need), fires.get());
    // It is as it was asked for: watched, and nobody is told to set it so again.
    let found = opinion(&need, &gapped(1.2), &[Symptom::MisfireUnderLoad]);
    let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
    assert_eq!(
        (wide.severity, wide.basis.kind),
        (Severity::Watch, BasisKind::Physics)
    );
    assert!(
        wide.remedy.contains("ask whoever gave it"),
        "{}",
        wide.remedy
    );
    assert!(found.unexplained.is_empty());
    let found = opinion(&need, &gapped(1.3), &[]);
    let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
    assert_eq!(wide.severity, Severity::Fix);
}

/// 0.032 in is 0.8128 mm: the band's end as the trade writes it, and as wire gauges are marked.
#[test]
fn a_gap_set_in_thousandths_is_no_wider_than_its_end() {
    let need = engine::need(json!({}));
    assert_eq!(codes(&opinion(&need, &gapped(0.8128), &[])), []);
}

#[test]
fn within_the_tolerance_of_a_set_it_is_only_watched() {
    let need = engine::need(json!({}));
    for (mm, severity) in [
        (0.82, Severity::Watch),
        (0.83, Severity::Watch),
        (0.84, Severity::Fix),
    ] {
        let found = opinion(&need, &gapped(mm), &[]);
        let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
        assert_eq!(wide.severity, severity, "{mm}");
    }
}

#[test]
fn the_remedy_says_how_far_this_plug_may_be_bent() {
    let need = engine::need(json!({}));
    let remedy = |told: Value| {
        let found = opinion(&need, &told, &[]);
        let gap = finding(&found, FindingCode::GapTooLarge).unwrap();
        assert_eq!(gap.helps, Helps::NoPlug, "{gap:?}");
        gap.remedy.clone()
    };
    let known = remedy(gapped(1.1));
    for part in [
        "0.81 mm (0.032 in)",
        "from 0.60 mm (0.024 in) to 1.10 mm (0.043 in)",
    ] {
        assert!(known.contains(part), "{part} in {known}");
    }
    let unknown = remedy(json!({ "plug": { "gap_max_mm": null }, "treatment": { "gap_mm": 1.1 } }));
    assert!(unknown.contains("ask its maker"), "{unknown}");
    let replaced = remedy(json!({ "plug": { "resistor": false }, "treatment": { "gap_mm": 1.1 } }));
    assert!(replaced.contains("gap those to 0.81 mm"), "{replaced}");
}

/// Under 0.40 mm the coil is called too weak (common practice, no source): no plug cures that.
#[test]
fn a_weak_coil_is_not_cured_by_plugs() {
    let need = engine::need(json!({ "coil_kv": 14 }));
    assert_eq!(need.gap.set_mm, None);
    let found = opinion(&need, &gapped(0.6), &[]);
    let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
    assert_eq!(wide.helps, Helps::NoPlug);
    assert!(wide.remedy.contains("stronger coil"), "{}", wide.remedy);
    assert!(found.not_judged.iter().any(|n| n.attribute == "gap_mm"));
}

#[test]
fn without_power_the_coil_alone_says_what_is_too_wide() {
    let need = engine::need(json!({ "power_kw": null }));
    let limit = need.gap.physical_max_mm.unwrap();
    assert_eq!((need.gap.set_mm, largest_right(&need)), (None, limit.get()));
    let found = opinion(&need, &gapped(limit.get() + 0.2), &[]);
    let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
    assert!(wide.remedy.contains("open questions"), "{}", wide.remedy);
}

fn aspirated() -> Requirement {
    engine::need(json!({ "induction": "naturally_aspirated", "power_kw": null, "boost_kpa": null }))
}

#[test]
fn without_boost_a_plug_keeps_its_own_gap() {
    // The band is 0.90 to 1.10 (common practice, no source); a plug's own gap may lie above it.
    let need = aspirated();
    let told = |preset: f64, mm: f64| json!({ "plug": { "heat_index": 50, "gap_preset_mm": preset, "gap_max_mm": 1.5 }, "treatment": { "gap_mm": mm } });
    let found = |preset, mm| codes(&opinion_on(&need, false, &told(preset, mm), &[]));
    assert_eq!(found(1.3, 1.3), []);
    assert_eq!(found(1.3, 1.36), [FindingCode::GapTooLarge]);
    assert_eq!(found(1.3, 1.14), [FindingCode::GapTooSmall]);
    assert_eq!(found(0.8, 1.1), []);
    assert_eq!(found(0.8, 0.64), [FindingCode::GapTooSmall]);
}

#[test]
fn a_plug_that_may_not_be_bent_as_far_as_the_coil_fires_has_to_go() {
    let need = engine::need(json!({
        "induction": "naturally_aspirated", "power_kw": null, "boost_kpa": null, "coil_kv": 18, "compression_ratio": 13
    }));
    let limit = need.gap.physical_max_mm.unwrap();
    assert!(limit > Decimal(4_000) && limit < Decimal(9_000), "{limit}");
    let told = json!({
        "plug": { "heat_index": 50, "gap_preset_mm": 1.0, "gap_min_mm": 1.0, "gap_max_mm": 1.0, "ground": "surface_gap" },
        "treatment": { "gap_mm": 1.0 }
    });
    let found = opinion_on(&need, false, &told, &[]);
    let wide = finding(&found, FindingCode::GapTooLarge).unwrap();
    assert_eq!(wide.helps, Helps::ASet);
    assert!(
        wide.remedy.contains("fit a set that may"),
        "{}",
        wide.remedy
    );
}
