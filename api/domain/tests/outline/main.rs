//! Plugs drawn to scale, and the head in section.

#[path = "../engine/mod.rs"]
mod engine;
mod open;
mod sections;
mod shapes;

use plugwell_domain::decimal::Decimal;
use plugwell_domain::outline::{Outline, Piece, Point, Shape};
use plugwell_domain::plug::PlugData;
use serde_json::{Value, json};

/// A plug of which everything is known, with some members replaced.
fn plug(changes: &Value) -> PlugData {
    let mut body = json!({
        "maker": "Ferrowick", "part_number": "FW-3207", "thread": "M14x1.25", "reach_mm": 19.0,
        "seat": "gasket", "hex_mm": 16.0, "hex_kind": "hex", "heat_index": 60.0, "projection_mm": 3.0,
        "strap_extent_mm": 5.2, "resistor": true, "electrode": "nickel", "ground": "single_strap",
        "gap_preset_mm": 0.9, "gap_min_mm": 0.6, "gap_max_mm": 1.1, "terminal": "solid_nut",
        "overall_mm": 55.0, "insulator_mm": 28.0
    });
    for (name, value) in changes.as_object().expect("members") {
        body[name] = value.clone();
    }
    PlugData::from_map(body.as_object().expect("an object"))
        .unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn drawn(changes: &Value) -> Outline {
    Outline::of(&plug(changes), None)
}

fn with_gap(changes: &Value, mm: f64) -> Outline {
    let gap = Decimal::exact(mm).expect("a gap");
    Outline::of(&plug(changes), Some(gap))
}

fn all(outline: &Outline, piece: Piece) -> Vec<&Shape> {
    let own = outline.shapes.iter().filter(|shape| shape.piece == piece);
    own.collect()
}

/// The only shape of a piece.
#[track_caller]
fn only(outline: &Outline, piece: Piece) -> &Shape {
    let own = all(outline, piece);
    assert_eq!(own.len(), 1, "{piece}");
    own[0]
}

/// The first and the last place of points along.
fn ends(points: &[Point]) -> [f64; 2] {
    let along = || points.iter().map(|(_, along)| *along);
    [
        along().fold(f64::INFINITY, f64::min),
        along().fold(f64::NEG_INFINITY, f64::max),
    ]
}

/// The widest place on the right.
fn widest(points: &[Point]) -> f64 {
    points.iter().map(|(x, _)| *x).fold(0.0, f64::max)
}

#[track_caller]
fn near(what: &str, got: f64, wanted: f64) {
    assert!((got - wanted).abs() < 1e-6, "{what}: {got}, not {wanted}");
}
