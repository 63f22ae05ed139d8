//! What a build leaves open is never taken for known: each null by itself.

mod engine;

use engine::{asked, codes, mm, must, need, need_over, one_of, plug, range};
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::fault::FaultCode;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{BasisKind, Strength, derive};
use serde_json::{Value, json};

fn assumed(changes: Value) -> Vec<String> {
    need(changes).gap.spark.unwrap().assumed
}

#[test]
fn a_build_that_says_everything_leaves_nothing_open() {
    let need = need(json!({}));
    assert_eq!(asked(&need), Vec::<&str>::new());
    assert!(need.context.unconfirmed.is_empty());
    assert_eq!(need.gap.spark.unwrap().assumed, Vec::<String>::new());
}

#[test]
fn a_member_that_is_missing_is_assumed_from_the_policy_and_listed() {
    // Own assumptions: coil 30 kV, closing 50°, spark 20°, charge 55 °C (40 without boost), R 3.3, sea level.
    for (member, stated) in [
        ("coil_kv", json!(30)),
        ("intake_close_deg_abdc", json!(50)),
        ("spark_advance_deg", json!(20)),
        ("charge_temp_c", json!(55)),
        ("altitude_m", json!(0)),
    ] {
        let (open, said) = (
            need(json!({ member: null })),
            need(json!({ member: stated })),
        );
        let (mut open, said) = (open.gap.spark.unwrap(), said.gap.spark.unwrap());
        assert_eq!(std::mem::take(&mut open.assumed), [member]);
        assert_eq!(open, said, "{member}");
    }
    let free =
        json!({ "induction": "naturally_aspirated", "charge_temp_c": null, "boost_kpa": null });
    let said = json!({ "induction": "naturally_aspirated", "charge_temp_c": 40, "boost_kpa": 0 });
    assert_eq!(assumed(free.clone()), ["charge_temp_c"]);
    assert_eq!(
        need(free).gap.spark.unwrap().pressure_kpa,
        need(said).gap.spark.unwrap().pressure_kpa
    );
}

#[test]
fn rod_over_crank_needs_both_its_members() {
    assert_eq!(assumed(json!({ "rod_mm": null })), ["rod_mm"]);
    assert_eq!(assumed(json!({ "stroke_mm": null })), ["stroke_mm"]);
    assert_eq!(
        assumed(json!({ "stroke_mm": null, "rod_mm": null })),
        ["stroke_mm", "rod_mm"]
    );
    let open = need(json!({ "rod_mm": null })).gap.spark.unwrap();
    let said = need(json!({ "stroke_mm": 100, "rod_mm": 165 }))
        .gap
        .spark
        .unwrap();
    assert_eq!(open.pressure_kpa, said.pressure_kpa);
}

#[test]
fn without_compression_or_boost_there_is_no_limit_and_the_lower_end_is_set() {
    for member in ["compression_ratio", "boost_kpa"] {
        let need = need(json!({ member: null }));
        assert_eq!((&need.gap.spark, need.gap.physical_max_mm), (&None, None));
        assert_eq!(mm(need.gap.set_mm), Some(0.71));
        assert_eq!(asked(&need), [member]);
    }
    assert_eq!(
        asked(&need(
            json!({ "compression_ratio": null, "boost_kpa": null })
        )),
        ["compression_ratio", "boost_kpa"]
    );
}

#[test]
fn nitrous_without_boost_counts_as_none_and_says_so() {
    let open = need(json!({ "induction": "nitrous", "boost_kpa": null }));
    let said = need(json!({ "induction": "nitrous", "boost_kpa": 0 }));
    assert_eq!(open.gap.spark.as_ref().unwrap().assumed, ["boost_kpa"]);
    assert_eq!(open.gap.physical_max_mm, said.gap.physical_max_mm);
    assert!(!asked(&open).contains(&"boost_kpa"));
    assert_eq!(mm(open.gap.set_mm), Some(0.81));
}

#[test]
fn an_engine_without_boost_leaves_each_plug_its_gap() {
    for boost in [json!(null), json!(0)] {
        let need = need(
            json!({ "induction": "naturally_aspirated", "boost_kpa": boost, "power_kw": null }),
        );
        // Common practice, no source.
        assert_eq!(
            (mm(need.gap.practice_min_mm), mm(need.gap.practice_max_mm)),
            (Some(0.9), Some(1.1))
        );
        assert_eq!(need.gap.set_mm, None);
        assert!(must(&need, Attr::GapMin).is_none() && must(&need, Attr::GapMax).is_none());
        let spark = need.gap.spark.as_ref().unwrap();
        assert_eq!((spark.needed_kv, spark.needed_kv_band), (None, None));
        assert_eq!(spark.assumed, Vec::<String>::new());
        assert!(need.context.own_gap.is_some() && asked(&need).is_empty());
    }
    let open = need(json!({ "induction": "naturally_aspirated", "compression_ratio": null }));
    assert_eq!(
        (asked(&open), open.gap.physical_max_mm),
        (vec!["compression_ratio"], None)
    );
}

#[test]
fn boosted_with_unknown_power_has_no_band_and_no_gap() {
    let need = need(json!({ "power_kw": null }));
    assert_eq!(
        (
            need.gap.practice_min_mm,
            need.gap.practice_max_mm,
            need.gap.set_mm
        ),
        (None, None, None)
    );
    assert!(need.gap.physical_max_mm.is_some());
    assert!(must(&need, Attr::GapMin).is_none() && need.context.own_gap.is_none());
    assert_eq!(asked(&need), ["power_kw"]);
    assert_eq!(need.gap.spark.unwrap().needed_kv, None);
}

#[test]
fn a_window_with_one_end_is_a_must_at_that_end_and_stays_open() {
    for (head, window, from) in [
        (
            json!({ "projection_max_mm": null }),
            (Some(2.0), None),
            40_000,
        ),
        (
            json!({ "projection_min_mm": null }),
            (None, Some(4.0)),
            80_000,
        ),
    ] {
        let need = need(json!({ "head": head }));
        assert_eq!(range(&need, Attr::Projection), Some(window));
        assert_eq!(need.context.projection_twice, Some(from));
        assert!(need.projection_unconfirmed() && asked(&need) == ["projection_mm"]);
        assert!(codes(&need).contains(&CautionCode::ProjectionUnconfirmed));
    }
    let whole = need(json!({}));
    assert_eq!(whole.context.projection_twice, Some(60_000));
    assert!(
        !whole.projection_unconfirmed()
            && !codes(&whole).contains(&CautionCode::ProjectionUnconfirmed)
    );
}

#[test]
fn without_a_window_the_plug_that_was_in_only_lends_the_order() {
    let open = json!({ "head": { "projection_min_mm": null, "projection_max_mm": null } });
    let base = plug(json!({ "projection_mm": 1.5 }));
    let need = need_over(open.clone(), Some(&base));
    assert!(must(&need, Attr::Projection).is_none() && need.projection_unconfirmed());
    assert_eq!(need.context.projection_twice, Some(30_000));
    let guessed =
        plug(json!({ "projection_mm": 1.5, "provenance": { "projection_mm": "assumed" } }));
    assert_eq!(
        need_over(open, Some(&guessed)).context.projection_twice,
        None
    );
    assert_eq!(
        need_over(json!({}), Some(&base)).context.projection_twice,
        Some(60_000)
    );
}

#[test]
fn a_resistor_is_asked_for_unless_nothing_electronic_is_on_board() {
    let with = need(json!({ "electronics": ["radio"] }));
    assert_eq!(one_of(must(&with, Attr::Resistor).unwrap()), json!([true]));
    assert_eq!(
        must(&with, Attr::Resistor).unwrap().basis.kind,
        BasisKind::CommonPractice
    );
    let open = need(json!({ "electronics": null }));
    assert!(must(&open, Attr::Resistor).is_some() && asked(&open) == ["resistor"]);
    let without = need(json!({ "electronics": [] }));
    assert!(must(&without, Attr::Resistor).is_none());
    assert_eq!(
        one_of(without.demand(Attr::Resistor, Strength::Prefer).unwrap()),
        json!([true])
    );
    assert!(asked(&without).is_empty());
}

#[test]
fn the_plug_that_was_in_lends_heat_and_terminal_where_the_head_gives_none() {
    let base = plug(json!({ "heat_index": 62.5, "terminal": "stud_m4" }));
    let lent = need_over(
        json!({ "head": { "heat_index": null }, "base_plug_id": uuid::Uuid::nil() }),
        Some(&base),
    );
    assert_eq!(lent.heat.base_index.map(|h| h.get()), Some(62.5));
    assert_eq!(
        one_of(must(&lent, Attr::Terminal).unwrap()),
        json!(["stud_m4"])
    );
    let own = need_over(json!({ "head": { "terminal": "solid_nut" } }), Some(&base));
    assert_eq!(own.heat.base_index.map(|h| h.get()), Some(50.0));
    assert_eq!(
        one_of(must(&own, Attr::Terminal).unwrap()),
        json!(["solid_nut"])
    );
    let guessed = plug(json!({ "terminal": "stud_m4", "provenance": { "terminal": "assumed" } }));
    assert!(must(&need_over(json!({}), Some(&guessed)), Attr::Terminal).is_none());
}

#[test]
fn without_any_heat_there_is_no_requirement() {
    let changes = json!({ "head": { "heat_index": null }, "base_plug_id": uuid::Uuid::nil() });
    let (engine, head) = engine::build(&changes);
    for base in [
        None,
        Some(plug(json!({}))),
        Some(plug(
            json!({ "heat_index": 60, "provenance": { "heat_index": "assumed" } }),
        )),
    ] {
        let fault = derive(&engine, &head, base.as_ref(), &Policy::default()).unwrap_err();
        assert_eq!(
            (fault.pointer.as_str(), fault.code),
            ("#/head/heat_index", FaultCode::Missing)
        );
    }
}
