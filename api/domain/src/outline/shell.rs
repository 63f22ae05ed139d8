//! The shell: thread, seat, flange, spanner faces and rim.

use super::{Outline, Piece, Point, turned, usual};
use crate::attribute::Attr;
use crate::thread::Thread;
use crate::words::{Ground, HexKind, Seat};

/// Height of a thread's basic profile as a share of its pitch, 5/8 of that of the sharp triangle (ISO 68-1).
pub(super) const PROFILE: f64 = 0.541_265_877;
/// Flats of crest and root and the length of a flank along the axis, as shares of the pitch (ISO 68-1).
const CREST: f64 = 0.125;
const FLANK: f64 = 0.3125;

/// A thread between two places along, its right side from the top down.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cut {
    /// Radius over the crests, at the seat.
    pub major: f64,
    /// Pitch.
    pub pitch: f64,
    /// How much the radius falls with the way along: 1/32 on taper pipe threads, else 0.
    pub taper: f64,
    /// From where to where it is cut.
    pub between: [f64; 2],
}

impl Cut {
    /// The thread of a plug whose end stands at `end`.
    pub(super) fn of(thread: Thread, between: [f64; 2]) -> Self {
        Self {
            major: thread.major_mm() / 2.0,
            pitch: thread.pitch_mm(),
            taper: match thread {
                Thread::Npt12 => 1.0 / 32.0,
                _ => 0.0,
            },
            between,
        }
    }

    /// Radius of the crests at a place along.
    fn crest(&self, along: f64) -> f64 {
        self.major - along * self.taper
    }

    /// Radius of the roots at a place along.
    pub(super) fn root(&self, along: f64) -> f64 {
        self.crest(along) - PROFILE * self.pitch
    }

    /// Middles of the crests; a helix stands half a pitch lower on its other side.
    pub(super) fn crests(&self, shift: f64) -> Vec<f64> {
        let [from, to] = self.between;
        let half = (CREST / 2.0 + FLANK) * self.pitch;
        let first = from + half + shift * self.pitch;
        let room = to - half - first;
        if room < 0.0 {
            return Vec::new();
        }
        let count = (room / self.pitch + 1e-9).floor() as usize;
        (0..=count).map(|n| first + n as f64 * self.pitch).collect()
    }

    /// The profile of one side, from the top down.
    pub(super) fn profile(&self, shift: f64) -> Vec<Point> {
        let (flat, flank) = (CREST / 2.0 * self.pitch, FLANK * self.pitch);
        let tooth = |middle: f64| {
            let (over, under) = (middle - flat, middle + flat);
            [
                (self.root(over - flank), over - flank),
                (self.crest(over), over),
                (self.crest(under), under),
                (self.root(under + flank), under + flank),
            ]
        };
        self.crests(shift).into_iter().flat_map(tooth).collect()
    }
}

/// The threaded end, as everything else is placed by it.
#[derive(Debug, Clone, Copy)]
pub(super) struct End {
    /// The thread.
    pub cut: Cut,
    /// The end of the shell, along.
    pub reach: f64,
    /// Radius of the shell's end.
    pub rim: f64,
    /// Radius of the room around the insulator's nose.
    pub bore: f64,
}

impl End {
    pub(super) fn of(outline: &Outline) -> Self {
        let (thread, reach) = (outline.measures.thread, outline.measures.mm(Attr::Reach));
        let pitch = thread.pitch_mm();
        // A plain neck under the seat, a chamfer at the end.
        let cut = Cut::of(thread, [0.8 * pitch, reach - 0.5 * pitch]);
        let root = cut.root(reach);
        Self {
            cut,
            reach,
            rim: root - 0.15 * pitch,
            bore: root * 0.72,
        }
    }
}

/// Draws the shell over the firing end.
pub(super) fn draw(outline: &mut Outline) {
    threaded(outline);
    let (top, radius) = seat(outline);
    body(outline, top, radius);
}

/// The threaded end; its right half is cut open, so that the nose is seen.
fn threaded(outline: &mut Outline) {
    let end = End::of(outline);
    let (cut, reach) = (end.cut, end.reach);
    let neck = cut.root(0.0);
    let open = reach - open_depth(outline);
    let bore = bore(outline, &end);
    let mut points = vec![(neck, 0.0)];
    points.extend(cut.profile(0.0));
    points.extend([
        (cut.root(reach), reach - 0.15 * cut.pitch),
        (end.rim, reach),
        (bore, reach),
        (bore, open),
        (0.0, open),
        (0.0, reach),
        (-end.rim, reach),
        (-cut.root(reach), reach - 0.15 * cut.pitch),
    ]);
    let left = cut.profile(0.5).into_iter().rev();
    points.extend(left.map(|(x, along)| (-x, along)));
    points.push((-neck, 0.0));
    outline.add(Piece::Thread, points, &[Attr::Thread, Attr::Reach]);
    // Thread lines of the half that is not cut open: from crest to axis a quarter of a pitch.
    for middle in cut.crests(0.5) {
        let to = (0.0, middle - cut.pitch / 4.0);
        outline
            .edges
            .push([(-(cut.major - middle * cut.taper), middle), to]);
    }
}

/// How far the shell's end is cut open.
pub(super) fn open_depth(outline: &Outline) -> f64 {
    let reach = outline.measures.mm(Attr::Reach);
    let recessed = (-outline.measures.mm(Attr::Projection)).max(0.0);
    (reach * 0.55)
        .min(11.0)
        .max(recessed + 2.0)
        .min(reach - 0.5)
}

/// Radius of the room around the nose: a surface gap is the room itself.
pub(super) fn bore(outline: &Outline, end: &End) -> f64 {
    match outline.measures.ground {
        Ground::SurfaceGap => outline.gap[1].0,
        _ => end.bore,
    }
}

/// Gasket or taper; where it ends above, and its radius there.
fn seat(outline: &mut Outline) -> (f64, f64) {
    let major = outline.measures.thread.major_mm();
    match outline.measures.seat {
        Seat::Gasket => {
            let (radius, high) = (usual::gasket_diameter(major) / 2.0, usual::GASKET);
            let ring = turned(&[
                (radius - 0.4, -high),
                (radius, 0.4 - high),
                (radius, -0.4),
                (radius - 0.4, 0.0),
            ]);
            outline.add(Piece::Seat, ring, &[Attr::Seat, Attr::Thread]);
            (-high, radius - 0.3)
        }
        Seat::Conical => {
            let from = (major + usual::TAPER_STARTS) / 2.0;
            let to = (major + usual::TAPER_ENDS) / 2.0;
            let high = (to - from) / usual::HALF_TAPER_DEG.to_radians().tan();
            let cone = turned(&[(to, -high), (from, 0.0)]);
            outline.add(Piece::Seat, cone, &[Attr::Seat, Attr::Thread]);
            (-high, to)
        }
    }
}

/// Flange, spanner faces and rim.
fn body(outline: &mut Outline, seat: f64, radius: f64) {
    let flats = outline.measures.mm(Attr::Hex) / 2.0;
    let top = -outline.measures.shell_mm;
    let hex_top = top + usual::RIM;
    let hex_bottom = hex_top + usual::HEX_HEIGHT;
    let shaft = (flats * 0.95).min(radius);
    let flange = (seat - 2.5).max(hex_bottom);
    let mut right = vec![(shaft, hex_bottom)];
    if flange > hex_bottom + 0.6 {
        right.extend([(shaft, flange - 0.5), (radius, flange)]);
    } else {
        right[0].0 = radius;
    }
    right.push((radius, seat));
    let from = [Attr::Hex, Attr::Seat, Attr::Thread];
    outline.add(Piece::Body, turned(&right), &from);
    hexagon(outline, flats, [hex_top, hex_bottom]);
    let rim = turned(&[(flats * 0.78, top), (flats * 0.92, hex_top)]);
    outline.add(Piece::Body, rim, &[Attr::Hex]);
}

/// The spanner faces from the side, three of them seen: over the corners they are flats × 2/√3 wide.
fn hexagon(outline: &mut Outline, flats: f64, [top, bottom]: [f64; 2]) {
    let corners = flats * 2.0 / 3f64.sqrt();
    let shape = turned(&[
        (corners - 0.5, top),
        (corners, top + 0.5),
        (corners, bottom - 0.5),
        (corners - 0.5, bottom),
    ]);
    outline.add(Piece::Hexagon, shape, &[Attr::Hex, Attr::HexKind]);
    let ends = [top + 0.3, bottom - 0.3];
    outline.edge_both(corners / 2.0, ends);
    if outline.measures.hex_kind == HexKind::BiHex {
        outline.edge_both(flats, ends);
        outline.edges.push([(0.0, ends[0]), (0.0, ends[1])]);
    }
}
