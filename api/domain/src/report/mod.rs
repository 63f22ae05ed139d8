//! What the movements add up to over time: usage, stock-outs, what lies dead, how often the stock
//! turns over, and the whole life of a lot.
//!
//! Every report has one definition, and it stands here: the store only sums up and hands over what
//! the books say.

pub mod dead_stock;
pub mod life;
pub mod stock_outs;
pub mod turns;
pub mod usage;
