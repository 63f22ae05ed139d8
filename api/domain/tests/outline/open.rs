//! What nobody has established is drawn as usual, marked and listed; never silently.

use plugwell_domain::attribute::Attr;
use plugwell_domain::outline::{Outline, Piece};
use plugwell_domain::plug::PlugData;
use serde_json::{Value, json};

use crate::{all, drawn, ends, near, only};

fn open(outline: &Outline) -> Vec<Attr> {
    outline.open().map(|taken| taken.attr).collect()
}

#[test]
fn of_a_bare_name_everything_is_open() {
    let outline = Outline::of(&PlugData::named("Ferrowick", "FW-1"), None);
    assert_eq!(
        open(&outline),
        [
            Attr::Thread,
            Attr::Reach,
            Attr::Seat,
            Attr::Hex,
            Attr::HexKind,
            Attr::Projection,
            Attr::StrapExtent,
            Attr::Electrode,
            Attr::Ground,
            Attr::GapPreset,
            Attr::Terminal,
            Attr::Overall,
            Attr::Insulator,
        ]
    );
    assert!(outline.shapes.iter().all(|shape| !shape.known));
    assert!(outline.remarks.is_empty());
}

#[test]
fn each_unknown_marks_its_own_shapes() {
    let whole = drawn(&json!({}));
    assert!(open(&whole).is_empty() && whole.shapes.iter().all(|shape| shape.known));
    for (attr, pieces) in [
        (
            "thread",
            &[Piece::Thread, Piece::Seat, Piece::Nose, Piece::Strap][..],
        ),
        ("reach_mm", &[Piece::Thread, Piece::Centre, Piece::Strap]),
        ("seat", &[Piece::Seat, Piece::Body]),
        ("hex_mm", &[Piece::Hexagon, Piece::Body]),
        ("projection_mm", &[Piece::Nose, Piece::Centre, Piece::Strap]),
        ("strap_extent_mm", &[Piece::Strap]),
        ("gap_preset_mm", &[Piece::Strap]),
        ("overall_mm", &[Piece::Terminal]),
        ("insulator_mm", &[Piece::Insulator]),
        ("terminal", &[Piece::Terminal]),
        ("ground", &[Piece::Strap, Piece::Nose]),
        ("electrode", &[Piece::Centre, Piece::Nose]),
    ] {
        let outline = drawn(&json!({ attr: null }));
        let marked = open(&outline);
        assert_eq!(marked, [attr.parse::<Attr>().unwrap()], "{attr}");
        for piece in pieces {
            assert!(
                all(&outline, *piece).iter().any(|shape| !shape.known),
                "{attr}: {piece}"
            );
        }
        assert!(outline.shapes.iter().any(|shape| shape.known), "{attr}");
    }
}

#[test]
fn what_is_only_assumed_is_not_known() {
    let outline = drawn(&json!({"reach_mm": 26.5, "provenance": {"reach_mm": "assumed"}}));
    assert_eq!(open(&outline), [Attr::Reach]);
    near(
        "usual",
        ends(&only(&outline, Piece::Thread).points)[1],
        19.0,
    );
}

#[test]
fn figures_that_contradict_each_other_are_told() {
    let told = |changes: Value, said: &str| {
        let outline = drawn(&changes);
        assert_eq!(outline.remarks.len(), 1, "{changes}: {:?}", outline.remarks);
        assert!(outline.remarks[0].contains(said), "{:?}", outline.remarks);
        outline
    };
    let low = told(
        json!({"overall_mm": 40.0, "insulator_mm": 60.0}),
        "40 mm leaves no room",
    );
    assert_eq!(open(&low), [Attr::Overall]);
    assert!(!only(&low, Piece::Terminal).known);
    let thin = told(json!({"strap_extent_mm": 3.5}), "no thickness");
    near("strap", ends(&only(&thin, Piece::Strap).points)[1], 22.5);
}
