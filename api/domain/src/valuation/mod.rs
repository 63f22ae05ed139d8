//! What the stock is worth, and what became of it: books of value beside those of quantity.
//!
//! Inside are bins and quarantine. Value crosses that border with a movement and never otherwise:
//! what goes out takes its cost along to the job, the drum or the difference account, what comes
//! back brings it home again. So the books close to the cent, whatever is done in whatever order:
//! see [`Books`]. [`flows`] sums a period up, [`scrap`] says what was thrown away.
//!
//! FIFO takes what was received first, whichever lot was picked; the moving average takes all
//! plugs at one cost [IAS 2.25 allows both]. A plug of which nobody knows what it cost has no
//! part in either: it is counted apart, and never taken for free.

mod books;
mod parcel;
mod period;
pub mod scrap;

use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub};

use chrono::{DateTime, Utc};
use uuid::Uuid;

use crate::ledger::{MovementKind, PlaceKind};
use crate::words::closed_list;

pub use books::{Booked, Books, Border};
pub use period::{Flows, flows};

closed_list! {
    /// How plugs that leave are valued.
    Method, "method of valuation" {
        /// What was received first leaves first, whichever lot was picked.
        Fifo = "fifo",
        /// Every plug costs the average of all that lie there.
        MovingAverage = "moving_average",
    }
}

/// What a lot cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LotCost {
    /// The lot.
    pub id: Uuid,
    /// The lot that it descends from: its plugs cost what they cost there.
    pub from_lot_id: Option<Uuid>,
    /// Plugs received.
    pub quantity_received: i64,
    /// Cost of all of them in minor units of the shop's currency; null where nobody said.
    pub minor: Option<i64>,
}

/// One end of a movement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct End {
    /// The place.
    pub id: Uuid,
    /// What it is.
    pub kind: PlaceKind,
}

impl End {
    /// Whether what lies there belongs to the value of the stock.
    pub fn is_inside(self) -> bool {
        matches!(self.kind, PlaceKind::Bin | PlaceKind::Quarantine)
    }
}

/// A movement, as far as it matters to value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry {
    /// The movement.
    pub id: Uuid,
    /// Its running number.
    pub sequence: i64,
    /// What it did.
    pub kind: MovementKind,
    /// The lot.
    pub lot_id: Uuid,
    /// Where from.
    pub from: End,
    /// Where to.
    pub to: End,
    /// How many plugs.
    pub quantity: i64,
    /// The movement that it puts right.
    pub reverses: Option<Uuid>,
    /// The issue that it answers.
    pub answers: Option<Uuid>,
    /// The act that it is one movement of.
    pub pair_id: Option<Uuid>,
    /// When.
    pub at: DateTime<Utc>,
}

/// Plugs and what they cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Amount {
    /// Plugs.
    pub quantity: i64,
    /// What those cost of which that is known, in minor units.
    pub minor: i64,
    /// Plugs of which nobody knows it.
    pub without_cost: i64,
}

impl Add for Amount {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            quantity: self.quantity + other.quantity,
            minor: self.minor + other.minor,
            without_cost: self.without_cost + other.without_cost,
        }
    }
}

impl AddAssign for Amount {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl Neg for Amount {
    type Output = Self;
    fn neg(self) -> Self {
        Self {
            quantity: -self.quantity,
            minor: -self.minor,
            without_cost: -self.without_cost,
        }
    }
}

impl Sub for Amount {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self + -other
    }
}

impl Sum for Amount {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::default(), Self::add)
    }
}
