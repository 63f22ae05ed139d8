//! The head in section, and a plug laid in.

use super::findings::{SectionFinding, found};
use super::shell::Cut;
use super::{Outline, Point, usual};
use crate::build::Head;
use crate::decimal::Length;
use crate::plug::PlugData;
use crate::requirement::Requirement;
use crate::thread::Thread;
use crate::words::Seat;

/// Room between the spanner's corners and the wall of the plug well, for the spanner itself, mm: common
/// practice, no source.
const SPANNER: f64 = 2.4;
/// Metal that is drawn around the well, mm.
const AROUND: f64 = 3.0;
/// How far above the seat the well is drawn, mm.
const WELL: f64 = 24.0;

/// What is drawn of a head.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeadMeasures {
    /// Thread of the plug hole.
    pub thread: Thread,
    /// Seat of the plug hole.
    pub seat: Seat,
    /// Depth of its thread.
    pub reach_mm: Length,
    /// How far a plug's reach may differ.
    pub tolerance_mm: Length,
    /// The largest hexagon that the well takes.
    pub hex_max_mm: Option<Length>,
    /// The window of projection, counted from the chamber's surface.
    pub window_mm: [Option<Length>; 2],
}

/// A head in section, with the plug that is laid in.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// The head.
    pub head: HeadMeasures,
    /// Its metal, right and left of the hole.
    pub metal: [Vec<Point>; 2],
    /// Half the width over the corners of the largest hexagon that enters.
    pub hex_room: Option<f64>,
    /// The plug.
    pub plug: Option<Outline>,
    /// How they go together, what rules the plug out first.
    pub findings: Vec<SectionFinding>,
}

impl HeadMeasures {
    /// What is drawn of a head; `tolerance` where it names none.
    pub fn of(head: &Head, tolerance: Length) -> Self {
        Self {
            thread: head.thread,
            seat: head.seat,
            reach_mm: head.reach_mm,
            tolerance_mm: head.reach_tolerance_mm.unwrap_or(tolerance),
            hex_max_mm: head.hex_max_mm,
            window_mm: [head.projection_min_mm, head.projection_max_mm],
        }
    }

    /// Where the window of projection begins and ends, along.
    pub fn window(&self) -> [Option<f64>; 2] {
        self.window_mm
            .map(|end| end.map(|mm| self.reach_mm.get() + mm.get()))
    }
}

/// Draws a head in section, a plug laid in; the verdicts are those of the requirement.
pub fn section(head: HeadMeasures, needed: &Requirement, plug: Option<&PlugData>) -> Section {
    let hex_room = head.hex_max_mm.map(|mm| mm.get() / 3f64.sqrt());
    let right = metal(&head, hex_room);
    let left = right.iter().map(|(x, along)| (-x, *along)).collect();
    let laid_in = plug.map(|plug| Outline::of(plug, None));
    let findings = found(&head, needed, plug);
    Section {
        head,
        metal: [right, left],
        hex_room,
        plug: laid_in,
        findings,
    }
}

/// The metal right of the hole, from the seat's inner edge down the thread and around.
fn metal(head: &HeadMeasures, hex_room: Option<f64>) -> Vec<Point> {
    let (major, pitch) = (head.thread.major_mm(), head.thread.pitch_mm());
    let reach = head.reach_mm.get();
    // In step with the plug's own thread, which begins under its neck.
    let cut = Cut::of(head.thread, [0.8 * pitch, reach]);
    let mut points = vec![(major / 2.0 + 0.2, 0.0), (cut.root(0.0), 0.2 + 0.5 * pitch)];
    points.extend(cut.profile(0.0));
    points.push((cut.root(reach), reach));
    let gasket = usual::gasket_diameter(major) / 2.0;
    let (seat_ends, floor) = match head.seat {
        Seat::Gasket => (gasket + 0.8, 0.0),
        Seat::Conical => {
            let to = (major + usual::TAPER_ENDS) / 2.0;
            let from = (major + usual::TAPER_STARTS) / 2.0;
            let high = (to - from) / usual::HALF_TAPER_DEG.to_radians().tan();
            points[0] = (from, 0.0);
            (to, -high)
        }
    };
    let well = hex_room.map(|room| (room + SPANNER).max(seat_ends + 0.8));
    let outer = well.unwrap_or(seat_ends + 3.0) + AROUND;
    points.extend([(outer, reach)]);
    match well {
        Some(well) => points.extend([
            (outer, -WELL),
            (well, -WELL),
            (well, floor - 0.6),
            (well - 0.6, floor),
        ]),
        None => points.push((outer, floor)),
    }
    if head.seat == Seat::Conical {
        points.push((seat_ends, floor));
    }
    points
}
