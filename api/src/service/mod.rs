//! Use cases: what can be asked of the shop, without a word of HTTP.
//!
//! Each is an ordinary function that returns a value or a [`Refusal`]. It may use domain, store and
//! indexer; it never sees a request, a row or a page.

pub mod access;
pub mod barcodes;
pub mod bell;
pub mod builds;
pub mod catalogue;
pub mod changes;
pub mod conflict;
pub mod counts;
pub mod dead_stock;
pub mod equivalents;
pub mod exchange;
pub mod fitment;
pub mod fitted_sets;
pub mod fitting;
pub mod heads;
pub mod identification;
pub mod judged;
pub mod judgement;
pub mod labels;
pub mod lot_life;
pub mod lying;
pub mod matching;
pub mod once;
pub mod orders;
pub mod outlines;
pub mod pick_list;
pub mod readings;
pub mod refusal;
pub mod reordering;
pub mod scales;
pub mod scanning;
pub mod scrap;
pub mod shop;
pub mod spark;
pub mod stand_ins;
pub mod stock;
pub mod stock_lists;
pub mod stock_outs;
mod supersession;
pub mod suppliers;
pub mod tuning_days;
pub mod turns;
pub mod usage;
pub mod value;
pub mod webhooks;

pub use refusal::Refusal;
pub use shop::Shop;

use chrono::{DateTime, SubsecRound, Utc};
use plugwell_domain::words::Role;
use uuid::Uuid;

/// Who asks: the token that was shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Actor {
    /// The token.
    pub token_id: Uuid,
    /// What the shop calls it; written into movements.
    pub name: String,
    /// What it may do.
    pub role: Role,
}

/// The present instant, to the microsecond that is stored.
pub fn now() -> DateTime<Utc> {
    Utc::now().trunc_subsecs(6)
}

/// A new identifier, ordered by time.
pub fn new_id() -> Uuid {
    Uuid::now_v7()
}
