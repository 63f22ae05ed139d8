//! What an equivalent of a part has to be, and what is said of a single plug that fits.

mod engine;

use engine::{asked, codes, mm, must, need, one_of, plug, range};
use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::fit::fits;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{
    BasisKind, Requirement, Strength, fit_cautions, of_part, set_gap_of, unconfirmed_of,
};
use serde_json::{Value, json};

/// A plug that the standard build takes, with some members replaced.
fn whole(changes: Value) -> Plug {
    let mut members = json!({
        "thread": "M14x1.25", "reach_mm": 19.0, "seat": "gasket", "hex_mm": 16.0, "heat_index": 70, "projection_mm": 3.0,
        "resistor": true, "electrode": "iridium", "ground": "single_strap", "gap_preset_mm": 0.8, "gap_min_mm": 0.6,
        "gap_max_mm": 1.1, "terminal": "solid_nut"
    });
    members
        .as_object_mut()
        .unwrap()
        .extend(changes.as_object().unwrap().clone());
    plug(members)
}

fn equal_to(changes: Value) -> Requirement {
    of_part(&whole(changes), &Policy::default()).unwrap()
}

fn fit_codes(plug: &Plug, need: &Requirement) -> Vec<CautionCode> {
    fit_cautions(&plug.data, need)
        .iter()
        .map(|c| c.code)
        .collect()
}

#[test]
fn an_equivalent_has_the_parts_own_attributes() {
    let need = equal_to(json!({}));
    assert_eq!(
        one_of(must(&need, Attr::Thread).unwrap()),
        json!(["M14x1.25"])
    );
    assert_eq!(one_of(must(&need, Attr::Seat).unwrap()), json!(["gasket"]));
    // ± 0.30 common practice, no source; hexagon + 0.2, ± 0.5, heat − 3 to + 10 own.
    assert_eq!(range(&need, Attr::Reach), Some((Some(18.7), Some(19.3))));
    assert_eq!(range(&need, Attr::Hex), Some((None, Some(16.2))));
    assert_eq!(range(&need, Attr::Projection), Some((Some(2.5), Some(3.5))));
    assert_eq!(range(&need, Attr::Heat), Some((Some(67.0), Some(80.0))));
    assert_eq!(
        one_of(must(&need, Attr::Terminal).unwrap()),
        json!(["solid_nut"])
    );
    assert_eq!(one_of(must(&need, Attr::Resistor).unwrap()), json!([true]));
    assert_eq!(range(&need, Attr::GapMin), Some((None, Some(0.8))));
    assert_eq!(range(&need, Attr::GapMax), Some((Some(0.8), None)));
    assert_eq!(
        one_of(need.demand(Attr::Electrode, Strength::Prefer).unwrap()),
        json!(["iridium"])
    );
    assert_eq!(
        (mm(need.gap.set_mm), need.quantity.total),
        (Some(0.8), Some(1))
    );
    assert_eq!(need.heat.target_index.map(|h| h.get()), Some(70.0));
    assert_eq!(need.context.projection_twice, Some(60_000));
    let basis = &must(&need, Attr::Reach).unwrap().basis;
    assert_eq!(
        (basis.kind, basis.source.as_deref()),
        (BasisKind::PlugMaker, Some("Ferrowick FW-3207"))
    );
    assert!(asked(&need).is_empty() && need.context.unconfirmed.is_empty());
    assert!(fits(&need, &whole(json!({}))), "a part is equal to itself");
}

#[test]
fn what_the_part_leaves_open_makes_no_must() {
    for (member, attr, caution) in [
        ("hex_mm", Attr::Hex, CautionCode::HexUnconfirmed),
        (
            "projection_mm",
            Attr::Projection,
            CautionCode::ProjectionUnconfirmed,
        ),
        ("terminal", Attr::Terminal, CautionCode::TerminalUnconfirmed),
        (
            "gap_preset_mm",
            Attr::GapPreset,
            CautionCode::GapRangeUnconfirmed,
        ),
    ] {
        let assumed = json!({ "provenance": { member: "assumed" } });
        for changes in [json!({ member: null }), assumed] {
            let need = equal_to(changes);
            assert!(must(&need, attr).is_none(), "{member}");
            assert_eq!(
                (&need.context.unconfirmed, asked(&need)),
                (&vec![attr], vec![member])
            );
            assert!(codes(&need).contains(&caution));
            assert_eq!(unconfirmed_of(&whole(json!({})), &need), [attr]);
        }
    }
    let no_gap = equal_to(json!({ "gap_preset_mm": null }));
    assert!(no_gap.gap.set_mm.is_none() && must(&no_gap, Attr::GapMin).is_none());
    assert_eq!(set_gap_of(&whole(json!({})), &no_gap), (None, None));
}

#[test]
fn a_resistor_is_asked_for_unless_the_part_is_known_to_have_none() {
    assert!(must(&equal_to(json!({ "resistor": null })), Attr::Resistor).is_some());
    assert!(must(&equal_to(json!({ "resistor": false })), Attr::Resistor).is_none());
    let guessed = json!({ "resistor": false, "provenance": { "resistor": "assumed" } });
    assert!(must(&equal_to(guessed), Attr::Resistor).is_some());
}

#[test]
fn a_part_without_thread_seat_reach_or_heat_has_no_equivalents() {
    let policy = Policy::default();
    for (member, attr) in [
        ("thread", Attr::Thread),
        ("seat", Attr::Seat),
        ("reach_mm", Attr::Reach),
        ("heat_index", Attr::Heat),
    ] {
        assert_eq!(
            of_part(&whole(json!({ member: null })), &policy).unwrap_err(),
            [attr]
        );
        let guessed = json!({ "provenance": { member: "assumed" } });
        assert_eq!(of_part(&whole(guessed), &policy).unwrap_err(), [attr]);
    }
    let bare = of_part(&plug(json!({})), &policy).unwrap_err();
    assert_eq!(bare, [Attr::Thread, Attr::Seat, Attr::Reach, Attr::Heat]);
}

#[test]
fn without_boost_each_plug_keeps_its_gap_lowered_to_what_the_coil_fires() {
    let free = need(json!({ "induction": "naturally_aspirated", "boost_kpa": null }));
    let set = |changes, need: &Requirement| {
        let (gap, caution) = set_gap_of(&whole(changes), need);
        (mm(gap), caution)
    };
    assert_eq!(set(json!({}), &free), (Some(0.8), None));
    // 1.10 where the plug's own is unknown (common practice, no source).
    assert_eq!(
        set(json!({ "gap_preset_mm": null }), &free),
        (Some(1.1), None)
    );
    let narrow = json!({ "gap_preset_mm": null, "gap_max_mm": 1.0 });
    assert_eq!(set(narrow, &free), (None, Some(CautionCode::GapOutOfRange)));

    let weak =
        need(json!({ "induction": "naturally_aspirated", "boost_kpa": null, "coil_kv": 16 }));
    let limit = mm(weak.gap.physical_max_mm).unwrap();
    assert!(limit > 0.6 && limit < 0.8, "{limit}");
    assert_eq!(set(json!({}), &weak), (Some(limit), None));
    let stiff = json!({ "gap_min_mm": 0.8 });
    assert_eq!(
        set(stiff.clone(), &weak),
        (None, Some(CautionCode::GapOutOfRange))
    );
    assert!(fit_codes(&whole(stiff), &weak).contains(&CautionCode::GapOutOfRange));
    let unknown_range = json!({ "gap_min_mm": null, "gap_max_mm": null });
    assert_eq!(set(unknown_range, &weak), (Some(limit), None));
}

#[test]
fn only_an_engine_without_boost_leaves_a_plug_its_gap() {
    let own = whole(json!({}));
    assert_eq!(
        set_gap_of(&own, &need(json!({ "power_kw": null }))),
        (None, None)
    );
    assert_eq!(
        set_gap_of(&own, &need(json!({ "coil_kv": 12 }))),
        (None, None)
    );
    let boosted = need(json!({}));
    assert_eq!(set_gap_of(&own, &boosted), (boosted.gap.set_mm, None));
    let free = need(json!({ "induction": "naturally_aspirated", "boost_kpa": null }));
    let posted = Requirement::from_json(&serde_json::to_value(&free).unwrap()).unwrap();
    assert_eq!(set_gap_of(&own, &posted), (None, None));
}

#[test]
fn a_fit_says_what_nobody_could_answer_for() {
    let need = need(json!({ "head": { "terminal": "solid_nut" } }));
    assert_eq!(fit_codes(&whole(json!({})), &need), []);
    assert_eq!(unconfirmed_of(&whole(json!({})), &need), []);
    let open = whole(json!({ "terminal": null, "gap_min_mm": null, "gap_max_mm": null }));
    assert!(fits(&need, &open));
    assert_eq!(
        unconfirmed_of(&open, &need),
        [Attr::Terminal, Attr::GapMin, Attr::GapMax]
    );
    assert_eq!(
        fit_codes(&open, &need),
        [
            CautionCode::TerminalUnconfirmed,
            CautionCode::GapRangeUnconfirmed
        ]
    );
    let assumed = whole(json!({ "provenance": { "gap_max_mm": "assumed" } }));
    assert_eq!(unconfirmed_of(&assumed, &need), [Attr::GapMax]);
}

#[test]
fn old_stock_fits_with_a_caution() {
    let need = need(json!({}));
    let old = whole(json!({ "status": "discontinued", "superseded_by": uuid::Uuid::nil() }));
    assert!(fits(&need, &old));
    assert_eq!(
        fit_codes(&old, &need),
        [CautionCode::DiscontinuedPart, CautionCode::SupersededPart]
    );
}

#[test]
fn nitrous_warns_of_projected_and_fine_wire_tips() {
    let nitrous = need(json!({ "induction": "nitrous", "boost_kpa": null }));
    let warned = |changes| fit_codes(&whole(changes), &nitrous).contains(&CautionCode::NitrousTip);
    // Projected from 1 mm on [own].
    assert!(!warned(
        json!({ "projection_mm": 0.9, "electrode": "nickel" })
    ));
    assert!(warned(
        json!({ "projection_mm": 1.0, "electrode": "nickel" })
    ));
    assert!(warned(
        json!({ "projection_mm": 0.9, "electrode": "iridium" })
    ));
    assert!(warned(
        json!({ "projection_mm": 0.9, "electrode": "nickel", "ground": "fine_wire" })
    ));
    let blown = need(json!({}));
    assert!(!fit_codes(&whole(json!({})), &blown).contains(&CautionCode::NitrousTip));
}
