//! What is known of a part when its line is made.

use super::{LeadDays, Reordering, Start, UseFirst};
use crate::plug::Plug;

/// How many plugs a part can count on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Position {
    /// In bins, all lots.
    pub on_hand: i64,
    /// Reserved and not yet issued.
    pub reserved: i64,
    /// Ordered and not yet in: also in drafts, so that nothing is proposed twice.
    pub on_order: i64,
}

impl Position {
    /// On hand − reserved + on order.
    pub const fn total(self) -> i64 {
        self.on_hand - self.reserved + self.on_order
    }
}

/// All that a line is made of.
#[derive(Debug, Clone)]
pub struct Known<'a> {
    /// The part.
    pub plug: &'a Plug,
    /// The number of the last period that is over; series end with it.
    pub last_period: i64,
    /// Its own demand by whole period since its first receipt, as far as it is looked back at.
    pub history: &'a [i64],
    /// What it begins with where that is too little.
    pub start: Option<Start>,
    /// What the shop gives by hand.
    pub hand: &'a Reordering,
    /// Who it is ordered from.
    pub supplier: Option<String>,
    /// How long that takes.
    pub lead: LeadDays,
    /// Cost of a plug in minor units, where anybody has said it.
    pub unit_cost: Option<i64>,
    /// Plugs in a box, where anybody has said it.
    pub pack_size: Option<i64>,
    /// What there is.
    pub position: Position,
    /// What should be used up first.
    pub use_first: Vec<UseFirst>,
}
