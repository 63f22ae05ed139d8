//! The trade's usual figures, for what a record leaves open or never holds. Label: **common practice, no
//! source**, unless a line says otherwise. They shape a drawing only; no verdict is made of them.

use crate::thread::Thread;
use crate::words::{Electrode, Seat, Terminal};

/// Reach, mm.
pub(super) fn reach(thread: Thread) -> f64 {
    match thread {
        Thread::M8x1 | Thread::M10x1 | Thread::M12x125 | Thread::M14x125 => 19.0,
        Thread::M18x15 | Thread::Npt12 => 12.7,
        Thread::Uns78 => 17.5,
    }
}

/// Across flats, mm.
pub(super) fn hex(thread: Thread) -> f64 {
    match thread {
        Thread::M8x1 => 13.0,
        Thread::M10x1 | Thread::M12x125 | Thread::M14x125 => 16.0,
        Thread::M18x15 => 20.8,
        Thread::Uns78 | Thread::Npt12 => 23.8,
    }
}

/// Projection, mm.
pub(super) const PROJECTION: f64 = 1.5;
/// Gap, mm.
pub(super) const GAP: f64 = 0.8;
/// Thickness of a ground strap, mm.
pub(super) const STRAP: f64 = 1.3;
/// Insulator above the shell, mm.
pub(super) const INSULATOR: f64 = 27.0;
/// Thickness of a washer that was never tightened, mm.
pub(super) const GASKET: f64 = 2.0;
/// Height of the spanner faces, mm.
pub(super) const HEX_HEIGHT: f64 = 8.0;
/// Height of the shell's turned-in rim above the spanner faces, mm.
pub(super) const RIM: f64 = 1.5;
/// Half of a conical seat's angle of 63°, in degrees: ISO 28741 family, from memory.
pub(super) const HALF_TAPER_DEG: f64 = 31.5;
/// How much wider than the thread a taper starts, in diameter, mm: 14.8 on 14, from memory.
pub(super) const TAPER_STARTS: f64 = 0.8;
/// How much wider than the thread it ends, mm.
pub(super) const TAPER_ENDS: f64 = 3.2;
/// How far the insulator's nose stands behind the tip, mm.
pub(super) const NOSE_BEHIND: f64 = 1.2;

/// Diameter of the washer, mm.
pub(super) fn gasket_diameter(major: f64) -> f64 {
    1.2 * major + 3.0
}

/// Shell above the seat, mm.
pub(super) fn shell(seat: Seat) -> f64 {
    match seat {
        Seat::Gasket => 18.0,
        Seat::Conical => 20.0,
    }
}

/// The least that washer or taper, flange, spanner faces and rim take, mm.
pub(super) fn least_shell(seat: Seat) -> f64 {
    let seated = match seat {
        Seat::Gasket => GASKET + 2.5,
        Seat::Conical => 3.5,
    };
    seated + HEX_HEIGHT + RIM
}

/// Height of the terminal, mm.
pub(super) fn terminal(terminal: Terminal) -> f64 {
    match terminal {
        Terminal::StudM4 => 8.5,
        Terminal::SolidNut | Terminal::RemovableNut => 9.5,
    }
}

/// Radius of the firing tip, mm.
pub(super) fn tip(metal: Electrode) -> f64 {
    match metal {
        Electrode::Nickel | Electrode::Silver | Electrode::Other => 1.25,
        Electrode::Platinum | Electrode::DoublePlatinum => 0.55,
        Electrode::GoldPalladium => 0.5,
        Electrode::Iridium | Electrode::Ruthenium => 0.3,
    }
}
