//! Naming an unmarked plug: what its measurements say of thread, reach, hexagon and resistor, which
//! records it can be, and what to measure next.
//!
//! Works without a catalogue as well: [`Shell::of`] needs the readings only. Records are put to the
//! readings by [`Sought`], which judges anything that shows its attributes.

mod means;
mod next;
mod readings;
mod resistor;
mod shell;
mod sought;
mod thread;

pub use means::{Means, Span};
pub use next::{NextMeasurement, next_measurement};
pub(crate) use readings::{MOST_OHM, MOST_WRONG, outside};
pub use readings::{Measurement, Readings, Uncertainty};
pub use resistor::{ByOhmmeter, by_ohmmeter};
pub use shell::{HEXES, NamedHex, REACHES, Shell};
pub use sought::{Agreement, Crowd, Judged, Reading, Sought, Tally};
pub use thread::{NamedThread, ThreadLimit, ThreadVerdict};
