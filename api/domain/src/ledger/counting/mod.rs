//! Counting: what lies in bins is counted blind, compared with the books of that instant, and what
//! does not agree is booked once a manager has approved it.
//!
//! Nothing is frozen. A line is held against its level at the instant it is counted, read under the
//! part's lock; its difference is what was counted less that, whatever moves before or after.

mod accuracy;
mod commands;
mod settling;
mod shown;
mod tallying;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::Money;
use crate::words::closed_list;

pub use accuracy::{AccuracyFigures, AccuracyMonth, ApprovedCount, CountAccuracy, accuracy};
pub use commands::{CountApproval, CountChoice, CountedLine, Counting, NewCount, PLACES_MAX};
pub use settling::{Overtaken, Settled, overtaken, settle};
pub use shown::{CountSide, CountTotals, ShownCount, ShownCountLine};
pub use tallying::{LevelAt, LotCost, RecountLimits};

closed_list! {
    /// Where a count stands.
    CountState, "state of a count" {
        /// Being counted: what is expected is not shown.
        Open = "open",
        /// Every line has a number: the differences are shown.
        Counted = "counted",
        /// Approved by a manager, and its differences booked.
        Approved = "approved",
        /// Called off: nothing of it was booked.
        Withdrawn = "withdrawn",
    }
}

impl CountState {
    /// Whether nothing more can be done with it.
    pub fn is_closed(self) -> bool {
        matches!(self, Self::Approved | Self::Withdrawn)
    }
}

/// One counting of a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Tally {
    /// Plugs that were counted.
    pub counted: i64,
    /// Plugs that the books had there at that instant.
    pub expected: i64,
    /// Running number of the last movement that `expected` holds: the sum of the lot's movements into
    /// and out of the bin up to it; 0 where there was none.
    pub level_version: i64,
    /// Name of the token that counted.
    pub counted_by: String,
    /// When.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub counted_at: DateTime<Utc>,
}

impl Tally {
    /// Plugs too many, or below zero those that are missing.
    pub fn difference(&self) -> i64 {
        self.counted - self.expected
    }
}

/// A lot in a bin, to be counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountLine {
    /// The bin.
    pub place_id: Uuid,
    /// The bin's running number: the order of the sheet.
    pub place_number: i64,
    /// The lot.
    pub lot_id: Uuid,
    /// The lot's running number.
    pub lot_number: i64,
    /// The part.
    pub plug_id: Uuid,
    /// Whether the sheet had it; if not, somebody found it.
    pub on_sheet: bool,
    /// The last counting; `None` where nobody has counted it.
    pub tally: Option<Tally>,
    /// Those before it.
    pub earlier: Vec<Tally>,
    /// Whether it is to be counted once more.
    pub recount: bool,
    /// What its difference costs, whichever way it goes; `None` where that is unknown.
    pub cost: Option<Money>,
    /// The movement that booked its difference.
    pub movement_id: Option<Uuid>,
}

impl CountLine {
    /// What does not agree; zero where it was not counted.
    pub fn difference(&self) -> i64 {
        self.tally.as_ref().map_or(0, Tally::difference)
    }

    /// Which line it is.
    pub fn key(&self) -> (Uuid, Uuid) {
        (self.lot_id, self.place_id)
    }
}

/// A count as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Count {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Where it stands.
    pub state: CountState,
    /// The bins, in the order of their running numbers.
    pub places: Vec<Uuid>,
    /// Its lines, in the order of bins and lots.
    pub lines: Vec<CountLine>,
    /// Name of the token that began it.
    pub made_by: String,
    /// Name of the token that approved it.
    pub approved_by: Option<String>,
    /// When it was approved.
    pub approved_at: Option<DateTime<Utc>>,
    /// Why it was approved over lines that were to be counted again.
    pub reason: Option<String>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was begun.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub updated_at: DateTime<Utc>,
}

impl Count {
    /// Whether every line of the sheet has a number.
    pub fn is_complete(&self) -> bool {
        self.uncounted().next().is_none()
    }

    /// Lines of the sheet that nobody has counted. One that was found, and whose number was taken
    /// back, was not there after all.
    pub fn uncounted(&self) -> impl Iterator<Item = &CountLine> {
        self.lines
            .iter()
            .filter(|line| line.on_sheet && line.tally.is_none())
    }

    /// Lines that are to be counted once more.
    pub fn to_recount(&self) -> impl Iterator<Item = &CountLine> {
        self.lines.iter().filter(|line| line.recount)
    }

    /// When a bin of it was counted last; when it last changed, where the bin was empty.
    pub fn counted_at(&self, place_id: Uuid) -> DateTime<Utc> {
        let here = self.lines.iter().filter(|line| line.place_id == place_id);
        let tallies = here.filter_map(|line| line.tally.as_ref());
        tallies
            .map(|tally| tally.counted_at)
            .max()
            .unwrap_or(self.updated_at)
    }
}

/// A count as lists show it: without its lines.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CountHead {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Where it stands.
    pub state: CountState,
    /// The bins, in the order of their running numbers.
    pub places: Vec<Uuid>,
    /// Lines on the sheet, with those that were found.
    pub line_count: i64,
    /// Lines that have a number.
    pub counted_lines: i64,
    /// Lines that are to be counted once more; null while open.
    pub recount_lines: Option<i64>,
    /// Name of the token that began it.
    pub made_by: String,
    /// Name of the token that approved it.
    pub approved_by: Option<String>,
    /// When it was approved.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub approved_at: Option<DateTime<Utc>>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was begun.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub updated_at: DateTime<Utc>,
}
