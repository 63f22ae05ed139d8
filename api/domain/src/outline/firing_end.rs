//! The firing end: nose, centre electrode, ground strap and gap.

use super::shell::{End, open_depth};
use super::{Outline, Piece, Point, turned, usual};
use crate::attribute::Attr;
use crate::words::Ground;

/// What all of it is placed by.
const PLACED: [Attr; 3] = [Attr::Thread, Attr::Reach, Attr::Projection];

/// Draws the firing end, before the shell is drawn over it.
pub(super) fn draw(outline: &mut Outline) {
    let end = End::of(outline);
    let tip = outline.measures.tip_mm();
    let radius = tip_radius(outline, &end);
    let gap = outline.measures.mm(Attr::GapPreset);
    outline.gap = match outline.measures.ground {
        Ground::SurfaceGap | Ground::MultiStrap => {
            let side = |x| (x, tip - 0.3);
            match outline.measures.ground {
                Ground::SurfaceGap => [(radius, end.reach), (radius + gap, end.reach)],
                _ => [side(radius), side(radius + gap)],
            }
        }
        _ => [(0.0, tip), (0.0, outline.measures.strap_inside_mm)],
    };
    nose(outline, &end, radius);
    match outline.measures.ground {
        Ground::SurfaceGap => {}
        Ground::MultiStrap => beside_the_tip(outline, &end),
        Ground::SingleStrap | Ground::FineWire | Ground::Other => before_the_tip(outline, &end),
    }
}

/// Small threads have no room for a thick tip.
fn tip_radius(outline: &Outline, end: &End) -> f64 {
    usual::tip(outline.measures.electrode).min(end.bore * 0.4)
}

fn nose(outline: &mut Outline, end: &End, radius: f64) {
    let tip = outline.measures.tip_mm();
    let from = end.reach - open_depth(outline);
    let surface = outline.measures.ground == Ground::SurfaceGap;
    let room = super::shell::bore(outline, end);
    let (at_end, wide, narrow) = if surface {
        (end.reach, room, room)
    } else {
        let behind = (tip - usual::NOSE_BEHIND).max(from + 0.6);
        let narrow = (radius + 0.9).min(end.bore * 0.75);
        (behind, end.bore * 0.92, narrow)
    };
    let right = [
        (wide, from),
        (wide, from + 0.2 * (at_end - from)),
        (narrow, at_end - 0.3),
        (narrow - 0.3, at_end),
    ];
    let from_attrs = [PLACED.as_slice(), &[Attr::Electrode, Attr::Ground]].concat();
    outline.add(Piece::Nose, turned(&right), &from_attrs);
    let start = (at_end - 0.5).min(tip - 0.8);
    let wire = turned(&[(radius, start), (radius, tip)]);
    outline.add(Piece::Centre, wire, &from_attrs[..4]);
}

/// One strap, bent before the tip.
fn before_the_tip(outline: &mut Outline, end: &End) {
    let inside = outline.measures.strap_inside_mm;
    let outside = end.reach + outline.measures.mm(Attr::StrapExtent);
    let wall = end.rim - end.bore;
    let thick = (outside - inside).clamp(0.4, wall.max(0.5));
    let fine = outline.measures.ground == Ground::FineWire;
    let arm = if fine { 0.5 } else { tip_radius(outline, end) };
    let bend = (thick * 1.2).min((outside - inside) * 0.9);
    let welded = end.reach.min(inside);
    let mut points: Vec<Point> = vec![(-end.rim, welded)];
    points.extend((0..=4u8).map(|step| {
        let angle = f64::from(step) / 4.0 * std::f64::consts::FRAC_PI_2;
        (
            -end.rim + bend * (1.0 - angle.cos()),
            outside - bend * (1.0 - angle.sin()),
        )
    }));
    points.extend([
        (arm, outside),
        (arm, inside),
        (-end.rim + thick, inside),
        (-end.rim + thick, welded),
    ]);
    let from = [
        PLACED.as_slice(),
        &[Attr::StrapExtent, Attr::GapPreset, Attr::Ground],
    ]
    .concat();
    outline.add(Piece::Strap, points, &from);
}

/// Two straps at the sides of the tip.
fn beside_the_tip(outline: &mut Outline, end: &End) {
    let inside = outline.gap[1].0;
    let outside = end.reach + outline.measures.mm(Attr::StrapExtent);
    let leg = end.rim.max(inside + 1.0);
    let thick = usual::STRAP.min(leg - inside);
    let under = outside - usual::STRAP;
    let welded = end.reach.min(under);
    let right = [
        (leg, welded),
        (leg, outside - 0.5),
        (leg - 0.5, outside),
        (inside, outside),
        (inside, under),
        (leg - thick, under),
        (leg - thick, welded),
    ];
    let from = [
        PLACED.as_slice(),
        &[Attr::StrapExtent, Attr::GapPreset, Attr::Ground],
    ]
    .concat();
    let left = right.map(|(x, along)| (-x, along));
    outline.add(Piece::Strap, left.to_vec(), &from);
    outline.add(Piece::Strap, right.to_vec(), &from);
}
