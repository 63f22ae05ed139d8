//! The demands as a whole: order, head's figures, caller's word, quantity, torque, cautions, the wire.

mod engine;

use engine::{codes, must, need, one_of, range};
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::requirement::{BasisKind, Strength, WhenUnknown};
use serde_json::json;

#[test]
fn demands_stand_in_their_order_and_say_what_an_unknown_value_does() {
    let need = need(json!({ "head": { "terminal": "solid_nut" } }));
    let found: Vec<_> = need
        .demands
        .iter()
        .map(|d| (d.attribute.word(), d.strength, d.unknown))
        .collect();
    let must = |attr, unknown| (attr, Strength::Must, Some(unknown));
    let expected = [
        must("thread", WhenUnknown::Fails),
        must("seat", WhenUnknown::Fails),
        must("reach_mm", WhenUnknown::Fails),
        must("hex_mm", WhenUnknown::Fails),
        must("projection_mm", WhenUnknown::Fails),
        must("terminal", WhenUnknown::Allowed),
        must("resistor", WhenUnknown::Fails),
        must("heat_index", WhenUnknown::Fails),
        must("gap_min_mm", WhenUnknown::Allowed),
        must("gap_max_mm", WhenUnknown::Allowed),
        ("electrode", Strength::Prefer, None),
    ];
    assert_eq!(found, expected);
    for demand in &need.demands {
        assert!(
            demand.reason.ends_with('.') && demand.reason.len() > 30,
            "{}",
            demand.reason
        );
    }
}

#[test]
fn the_heads_own_figures_are_its_musts() {
    let own = need(json!({ "head": { "reach_tolerance_mm": 0.1, "hex_max_mm": 20.6375 } }));
    assert_eq!(range(&own, Attr::Reach), Some((Some(18.9), Some(19.1))));
    // A 13/16 in well takes the 20.8 mm hexagon: tolerance 0.2 [own].
    assert_eq!(range(&own, Attr::Hex), Some((None, Some(20.8375))));
    assert_eq!(range(&own, Attr::Projection), Some((Some(2.0), Some(4.0))));
    for attr in [
        Attr::Thread,
        Attr::Seat,
        Attr::Reach,
        Attr::Hex,
        Attr::Projection,
    ] {
        assert_eq!(must(&own, attr).unwrap().basis.kind, BasisKind::Head);
    }
    assert_eq!(
        one_of(must(&own, Attr::Thread).unwrap()),
        json!(["M14x1.25"])
    );
    assert_eq!(one_of(must(&own, Attr::Seat).unwrap()), json!(["gasket"]));
    // The policy's ± 0.30 where the head says nothing (common practice, no source); no limit, no must.
    let silent = need(json!({ "head": { "reach_tolerance_mm": null, "hex_max_mm": null } }));
    assert_eq!(range(&silent, Attr::Reach), Some((Some(18.7), Some(19.3))));
    assert!(must(&silent, Attr::Hex).is_none());
    let exact = need(json!({ "head": { "reach_tolerance_mm": 0 } }));
    assert_eq!(range(&exact, Attr::Reach), Some((Some(19.0), Some(19.0))));
}

#[test]
fn reasons_name_both_units() {
    let need = need(json!({}));
    let reason = |attr| must(&need, attr).unwrap().reason.clone();
    assert!(
        reason(Attr::Reach).contains("19 mm (0.748 in)"),
        "{}",
        reason(Attr::Reach)
    );
    assert!(
        reason(Attr::GapMin).contains("0.81 mm (0.032 in)"),
        "{}",
        reason(Attr::GapMin)
    );
    assert!(
        reason(Attr::Heat).contains("500 kW (671 hp)"),
        "{}",
        reason(Attr::Heat)
    );
}

#[test]
fn metal_is_a_must_only_by_the_callers_word() {
    let street = need(json!({}));
    let preferred = street.demand(Attr::Electrode, Strength::Prefer).unwrap();
    assert_eq!(
        one_of(preferred),
        json!(["platinum", "double_platinum", "iridium"])
    );
    let asked = need(json!({ "electrode": ["nickel", "silver", "nickel"] }));
    let demanded = must(&asked, Attr::Electrode).unwrap();
    assert_eq!(one_of(demanded), json!(["nickel", "silver"]));
    assert_eq!(
        (demanded.unknown, demanded.basis.kind),
        (Some(WhenUnknown::Fails), BasisKind::Caller)
    );
    assert!(asked.demand(Attr::Electrode, Strength::Prefer).is_none());
    for purpose in ["track", "strip"] {
        let elsewhere = need(json!({ "use": purpose }));
        assert!(
            elsewhere
                .demands
                .iter()
                .all(|d| d.attribute != Attr::Electrode)
        );
    }
}

#[test]
fn quantity_counts_the_spares() {
    let total = |changes| {
        let quantity = need(changes).quantity;
        (quantity.fitted, quantity.spares, quantity.total)
    };
    // One spare: common practice, no source.
    assert_eq!(total(json!({})), (Some(8), Some(1), Some(9)));
    assert_eq!(
        total(json!({ "plugs_per_cylinder": null, "cylinders": 4 })),
        (Some(4), Some(1), Some(5))
    );
    assert_eq!(
        total(json!({ "plugs_per_cylinder": 2, "spares": 0 })),
        (Some(16), Some(0), Some(16))
    );
}

#[test]
fn torque_is_from_memory_and_null_where_no_row_says() {
    let torque = need(json!({})).torque_nm.unwrap();
    assert_eq!(
        (torque.min, torque.max, torque.source.as_str()),
        (20.0, 30.0, "from memory")
    );
    assert!(
        need(json!({ "head": { "material": null } }))
            .torque_nm
            .is_none()
    );
}

#[test]
fn cautions_that_always_apply_stand_in_every_answer_once() {
    for changes in [
        json!({}),
        json!({ "induction": "naturally_aspirated" }),
        json!({ "gap_mm": 2.0, "fuel": "e85" }),
    ] {
        let found = codes(&need(changes));
        for code in [
            CautionCode::ConfirmWithHeadMaker,
            CautionCode::MakersStandAbove,
            CautionCode::HighVoltage,
            CautionCode::ColdEngine,
            CautionCode::LubricatedThreads,
            CautionCode::HowToGap,
            CautionCode::LicensedPractice,
        ] {
            assert_eq!(found.iter().filter(|c| **c == code).count(), 1, "{code}");
        }
    }
}

#[test]
fn fuel_nitrous_and_slips_of_unit_are_warned_of() {
    let has = |changes, code| codes(&need(changes)).contains(&code);
    for (fuel, warned) in [
        ("pump_petrol", false),
        ("race_petrol", false),
        ("e85", true),
        ("methanol", true),
    ] {
        assert_eq!(
            has(json!({ "fuel": fuel }), CautionCode::AlcoholFuel),
            warned,
            "{fuel}"
        );
    }
    assert!(has(
        json!({ "induction": "nitrous" }),
        CautionCode::NitrousTip
    ));
    assert!(!has(json!({}), CautionCode::NitrousTip));
    // Own limits: 20 kPa, 200 kW to the litre.
    let psi = CautionCode::BoostLooksLikePsi;
    for (induction, kpa, warned) in [
        ("supercharged", 8.0, true),
        ("turbocharged", 19.9, true),
        ("turbocharged", 20.0, false),
        ("nitrous", 8.0, false),
    ] {
        assert_eq!(
            has(json!({ "induction": induction, "boost_kpa": kpa }), psi),
            warned,
            "{induction} {kpa}"
        );
    }
    assert!(!has(json!({ "boost_kpa": null }), psi));
    let hp = CautionCode::PowerLooksLikeHp;
    for (cc, warned) in [
        (json!(2400), true),
        (json!(2500), false),
        (json!(null), false),
    ] {
        assert_eq!(has(json!({ "displacement_cc": cc }), hp), warned, "{cc}");
    }
}

#[test]
fn every_code_has_a_sentence_of_its_own() {
    let mut sentences: Vec<_> = CautionCode::ALL
        .iter()
        .map(|code| code.sentence())
        .collect();
    assert!(
        sentences
            .iter()
            .all(|s| s.len() > 30 && s.ends_with(['.', '?']) && !s.contains("  "))
    );
    sentences.sort_unstable();
    sentences.dedup();
    assert_eq!(sentences.len(), CautionCode::ALL.len());
    let caution = Caution::of(CautionCode::HighVoltage).with("Mind the coil.");
    assert!(
        caution.text.ends_with("Mind the coil.")
            && caution.text.starts_with(caution.code.sentence())
    );
}

#[test]
fn the_wire_has_the_shape_of_the_contract() {
    let answer = serde_json::to_value(need(json!({}))).unwrap();
    let members: Vec<_> = answer
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    let expected = [
        "policy_version",
        "demands",
        "heat",
        "gap",
        "quantity",
        "torque_nm",
        "cautions",
        "unanswered",
    ];
    assert_eq!(members, expected);
    assert_eq!(answer["policy_version"], 1);
    assert_eq!(
        answer["demands"][2]["test"],
        json!({ "min": 18.7, "max": 19.3 })
    );
    assert_eq!(
        answer["demands"][2]["basis"],
        json!({ "kind": "head", "source": null })
    );
    assert_eq!(answer["heat"]["target_index"], 70.0);
    assert_eq!(
        answer["quantity"],
        json!({ "fitted": 8, "spares": 1, "total": 9 })
    );
}
