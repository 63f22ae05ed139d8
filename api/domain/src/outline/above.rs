//! Insulator and terminal, above the shell.

use super::{Outline, Piece, Point, turned};
use crate::attribute::Attr;
use crate::words::Terminal;

/// Ribs of an insulator that is long enough for them.
const RIBS: u32 = 5;
/// Over the crests of the M4 stud, and its pitch (ISO 261), mm.
const STUD: f64 = 2.0;
const STUD_PITCH: f64 = 0.7;

/// Draws what stands above the shell.
pub(super) fn draw(outline: &mut Outline) {
    let bottom = -outline.measures.shell_mm;
    let top = bottom - outline.measures.mm(Attr::Insulator);
    let wide = (outline.measures.mm(Attr::Hex) * 0.31).min(6.6);
    let narrow = (wide * 0.74).max(3.0).min(wide);
    terminal(outline, top, narrow);
    insulator(outline, [top, bottom], [narrow, wide]);
}

fn insulator(outline: &mut Outline, [top, bottom]: [f64; 2], [narrow, wide]: [f64; 2]) {
    let height = bottom - top;
    let mut right: Vec<Point> = vec![(narrow - 0.4, top), (narrow, top + 0.4)];
    if height > 14.0 {
        let step = height * 0.42 / f64::from(RIBS);
        let deep = (step * 0.45).min(0.9);
        for rib in 0..RIBS {
            let at = top + 0.06 * height + f64::from(rib) * step;
            right.extend([
                (narrow, at),
                (narrow - deep, at + 0.25 * step),
                (narrow - deep, at + 0.55 * step),
                (narrow, at + 0.8 * step),
            ]);
        }
        let shoulder = top + 0.62 * height;
        right.extend([
            (narrow, shoulder - 0.05 * height),
            (wide, shoulder + 0.05 * height),
        ]);
    } else {
        right.push((wide, top + 0.5 * height));
    }
    right.push((wide, bottom));
    let from = [Attr::Insulator, Attr::Overall, Attr::Seat, Attr::Terminal];
    // Where it stands is open as long as one of both heights is; how long it is says its own.
    let from = if outline.measures.known(&[Attr::Insulator]) {
        &from[..1]
    } else {
        &from[..]
    };
    outline.add(Piece::Insulator, turned(&right), from);
}

fn terminal(outline: &mut Outline, bottom: f64, room: f64) {
    let top = -outline.measures.mm(Attr::Overall);
    let height = bottom - top;
    let nut = 3.2f64.min(room + 0.4);
    let at = |share: f64| bottom - share * height;
    let right: Vec<Point> = match outline.measures.terminal {
        Terminal::StudM4 => stud([top, bottom]),
        Terminal::SolidNut => vec![
            (nut - 1.0, top),
            (nut - 0.2, at(0.88)),
            (nut, at(0.78)),
            (nut, at(0.62)),
            (nut - 0.9, at(0.52)),
            (nut - 0.9, at(0.42)),
            (nut, at(0.32)),
            (nut, at(0.1)),
            (nut - 0.4, bottom),
        ],
        Terminal::RemovableNut => vec![
            (STUD - 0.3, top),
            (STUD, at(0.95)),
            (STUD, at(0.85)),
            (nut - 0.4, at(0.85)),
            (nut, at(0.8)),
            (nut, at(0.1)),
            (nut - 0.4, bottom),
        ],
    };
    if outline.measures.terminal == Terminal::RemovableNut {
        for x in [0.0, nut * 0.5, nut * 0.85] {
            outline.edge_both(x, [at(0.78), at(0.12)]);
        }
    }
    let from = [Attr::Terminal, Attr::Overall];
    outline.add(Piece::Terminal, turned(&right), &from);
}

/// A bare stud, its thread seen.
fn stud([top, bottom]: [f64; 2]) -> Vec<Point> {
    let cut = super::shell::Cut {
        major: STUD,
        pitch: STUD_PITCH,
        taper: 0.0,
        between: [top + 0.4, bottom],
    };
    let root = cut.root(0.0);
    let mut right = vec![(root, top)];
    right.extend(cut.profile(0.0));
    right.push((root, bottom));
    right
}
