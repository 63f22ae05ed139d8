//! Every figure of a record stands where it belongs.

use plugwell_domain::outline::{Outline, Piece};
use serde_json::json;

use crate::{all, drawn, ends, near, only, plug, widest, with_gap};

/// Nominal diameter and pitch of the designations: ISO 261; 7/8 in and 18 to the inch; the taper pipe thread
/// has 0.840 in and 14 to the inch (from memory).
const THREADS: [(&str, f64, f64); 7] = [
    ("M8x1", 8.0, 1.0),
    ("M10x1", 10.0, 1.0),
    ("M12x1.25", 12.0, 1.25),
    ("M14x1.25", 14.0, 1.25),
    ("M18x1.5", 18.0, 1.5),
    ("7/8-18 UNS", 22.225, 25.4 / 18.0),
    ("1/2-14 NPT", 21.336, 25.4 / 14.0),
];

#[test]
fn crests_stand_at_the_true_diameter_and_pitch_up_to_the_reach() {
    for (thread, major, pitch) in THREADS {
        for seat in ["gasket", "conical"] {
            for reach in [9.5, 19.0, 26.5] {
                let outline = drawn(&json!({"thread": thread, "reach_mm": reach, "seat": seat}));
                let shape = only(&outline, Piece::Thread);
                let [from, to] = ends(&shape.points);
                near("seat", from, 0.0);
                near("reach", to, reach);
                // The two corners of each crest on the right, outermost of their neighbours.
                let right: Vec<_> = shape
                    .points
                    .iter()
                    .filter(|(x, along)| {
                        let tapered = if thread.ends_with("NPT") {
                            along / 32.0
                        } else {
                            0.0
                        };
                        (x + tapered - major / 2.0).abs() < 1e-6
                    })
                    .collect();
                assert!(right.len() > 6, "{thread}: {}", right.len());
                let middles: Vec<f64> = right
                    .chunks(2)
                    .map(|crest| f64::midpoint(crest[0].1, crest[1].1))
                    .collect();
                for pair in middles.windows(2) {
                    near("pitch", pair[1] - pair[0], pitch);
                }
                assert!(widest(&shape.points) <= major / 2.0 + 1e-9, "{thread}");
            }
        }
    }
}

#[test]
fn a_gasket_lies_on_its_face_and_a_taper_has_its_angle() {
    let ring = drawn(&json!({}));
    near("face", ends(&only(&ring, Piece::Seat).points)[1], 0.0);
    let cone = drawn(&json!({"seat": "conical", "thread": "M18x1.5"}));
    let points = &only(&cone, Piece::Seat).points;
    near("start of the taper", ends(points)[1], 0.0);
    let [(top, above), (bottom, below)] = [points[0], points[1]];
    // 63° over both sides: ISO 28741 family, from memory.
    let half = ((top - bottom) / (below - above)).atan().to_degrees();
    near("angle", 2.0 * half, 63.0);
}

#[test]
fn a_hexagon_is_seen_over_its_corners() {
    for flats in [14.0, 15.875, 16.0, 20.6375, 23.8125] {
        for kind in ["hex", "bi_hex"] {
            let outline = drawn(&json!({"hex_mm": flats, "hex_kind": kind}));
            let shape = only(&outline, Piece::Hexagon);
            near(
                "corners",
                2.0 * widest(&shape.points),
                flats * 2.0 / 3f64.sqrt(),
            );
            // Twelve points show seven edges, those at the rim left out five; six show the inner two.
            let [top, bottom] = ends(&shape.points);
            let upright = outline.edges.iter().filter(|[from, to]| {
                from.0 == to.0 && from.1 > top && to.1 < bottom && from.1 < to.1
            });
            assert_eq!(upright.count(), if kind == "hex" { 2 } else { 5 });
        }
    }
}

#[test]
fn tip_strap_and_gap_stand_at_the_figures_of_the_record() {
    for (projection, extent, gap) in [
        (3.0, 5.2, 0.9),
        (0.0, 2.0, 0.7),
        (-1.0, 1.2, 0.9),
        (-4.0, -1.5, 0.6),
        (9.0, 11.4, 1.1),
    ] {
        for ground in ["single_strap", "fine_wire"] {
            let outline = drawn(&json!({
                "projection_mm": projection, "strap_extent_mm": extent, "gap_preset_mm": gap, "ground": ground
            }));
            let tip = ends(&only(&outline, Piece::Centre).points)[1];
            near("tip", tip, 19.0 + projection);
            let strap = &only(&outline, Piece::Strap).points;
            near("strap", ends(strap)[1], 19.0 + extent);
            let [from, to] = outline.gap;
            near("gap", to.1 - from.1, gap);
            // The strap's face stands over the tip.
            let face = strap.iter().filter(|(x, _)| *x > 0.0);
            let face = face.map(|(_, along)| *along).fold(f64::INFINITY, f64::min);
            near("face", face, tip + gap);
            assert!(outline.remarks.is_empty(), "{:?}", outline.remarks);
        }
    }
}

#[test]
fn other_grounds_have_their_gap_at_the_side() {
    let fixed = json!({
        "ground": "multi_strap", "gap_preset_mm": 1.0, "gap_min_mm": null, "gap_max_mm": null,
        "strap_extent_mm": 3.0
    });
    let several = drawn(&fixed);
    let tip = widest(&only(&several, Piece::Centre).points);
    let straps = all(&several, Piece::Strap);
    assert_eq!(straps.len(), 2);
    for strap in straps {
        near("strap", ends(&strap.points)[1], 22.0);
        let nearest = strap.points.iter().map(|(x, _)| x.abs());
        near("gap", nearest.fold(f64::INFINITY, f64::min) - tip, 1.0);
    }
    let surface = drawn(&json!({
        "ground": "surface_gap", "gap_preset_mm": 1.3, "gap_min_mm": null, "gap_max_mm": null
    }));
    assert!(all(&surface, Piece::Strap).is_empty());
    let tip = widest(&only(&surface, Piece::Centre).points);
    near("gap", surface.gap[1].0 - tip, 1.3);
}

#[test]
fn heights_stand_above_the_seat() {
    for (overall, insulator, terminal) in [
        (55.0, 28.0, "solid_nut"),
        (72.0, 33.0, "removable_nut"),
        (60.0, 29.5, "stud_m4"),
    ] {
        let outline = drawn(&json!({
            "overall_mm": overall, "insulator_mm": insulator, "terminal": terminal
        }));
        let [top, _] = ends(&only(&outline, Piece::Terminal).points);
        near("overall", top, -overall);
        let [top, bottom] = ends(&only(&outline, Piece::Insulator).points);
        near("insulator", bottom - top, insulator);
        near("shell", bottom, -outline.measures.shell_mm);
    }
}

#[test]
fn a_gap_that_is_set_bends_the_strap_along() {
    let closed = with_gap(&json!({}), 0.7);
    near(
        "strap",
        ends(&only(&closed, Piece::Strap).points)[1],
        19.0 + 5.0,
    );
    near("gap", closed.gap[1].1 - closed.gap[0].1, 0.7);
    assert!(closed.remarks.is_empty());
    let wide = with_gap(&json!({}), 1.5);
    assert!(
        wide.remarks[0].contains("1.5 mm") && wide.remarks[0].contains("least 0.6 mm"),
        "{:?}",
        wide.remarks
    );
    let fixed = json!({
        "ground": "multi_strap", "gap_min_mm": null, "gap_max_mm": null, "strap_extent_mm": 3.0
    });
    let kept = with_gap(&fixed, 0.5);
    near("gap", kept.gap[1].0 - kept.gap[0].0, 0.9);
    assert!(kept.remarks[0].contains("fixed"), "{:?}", kept.remarks);
}

/// Every combination of far ends gives shapes that can be drawn.
#[test]
fn no_record_breaks_the_drawing() {
    let mut count = 0;
    for (thread, ..) in THREADS {
        for ground in [
            "single_strap",
            "multi_strap",
            "fine_wire",
            "surface_gap",
            "other",
        ] {
            for reach in [5.0, 60.0] {
                for projection in [-5.0, 0.0, 15.0] {
                    for (hex, overall, insulator) in
                        [(8.0, 20.0, 150.0), (30.0, 200.0, 5.0), (16.0, 20.0, 5.0)]
                    {
                        let body = json!({
                            "thread": thread, "ground": ground, "reach_mm": reach, "projection_mm": projection,
                            "strap_extent_mm": projection + 3.0, "hex_mm": hex, "overall_mm": overall,
                            "insulator_mm": insulator, "gap_min_mm": null, "gap_max_mm": null,
                            "terminal": if hex > 20.0 { "stud_m4" } else { "solid_nut" }
                        });
                        let outline = Outline::of(&plug(&body), None);
                        for shape in &outline.shapes {
                            assert!(shape.points.len() >= 3, "{body}");
                            let sound =
                                |(x, along): &(f64, f64)| x.is_finite() && along.is_finite();
                            assert!(shape.points.iter().all(sound), "{body}: {shape:?}");
                        }
                        near(
                            "reach",
                            ends(&only(&outline, Piece::Thread).points)[1],
                            reach,
                        );
                        let tip = ends(&only(&outline, Piece::Centre).points)[1];
                        near("tip", tip, reach + projection);
                        count += 1;
                    }
                }
            }
        }
    }
    assert_eq!(count, 7 * 5 * 2 * 3 * 3);
}
