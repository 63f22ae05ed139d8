//! What to order: expected demand in the lead time and safety stock make the reorder point, cost of
//! ordering and of holding make the quantity; every line shows its arithmetic.
//!
//! [`ReorderLine::of`] makes a line of what is known of a part, [`arithmetic`] has the formulas,
//! [`use_first`] finds what should be used up before, [`starts`] what a part without history begins with.

mod alike;
pub mod arithmetic;
mod choice;
mod expected;
mod first;
mod known;
mod lead_time;
mod line;
mod settings;
mod start;
mod words;

pub use alike::Alike;
pub use arithmetic::is_due;
pub use choice::{ChosenQuantity, LeftOut, LeftOutCode, OrderChoice};
pub use first::{CountedOn, Lying, UseFirst, use_first};
pub use known::{Known, Position};
pub use lead_time::{LeadDays, LeadSource, LeadTimePeriods};
pub use line::{MinMax, ReorderLine, ReorderNote, ReorderNoteCode};
pub use settings::Reordering;
pub use start::{Start, booked_series, share, starts};
