//! The trade, pure: what a plug is, what a build needs and why, whether a plug meets it, and the
//! rules of the stock.
//!
//! This room does no input or output, reads no clock, draws no random number and knows neither
//! HTTP nor SQL nor the index: time and identifiers come in as arguments. Its types are the
//! vocabulary of the wire; a value that exists is valid.

pub mod attribute;
pub mod build;
pub mod calendar;
pub mod calibration;
pub mod caution;
pub mod conversion;
pub mod decimal;
pub mod equivalent;
pub mod event;
pub mod fault;
pub mod fit;
pub mod fitment;
pub mod fitted;
pub mod fitting;
pub mod forecast;
pub mod gtin;
pub mod heat_scale;
pub mod identification;
pub mod incoming;
pub mod instant;
mod least;
pub mod ledger;
pub mod money;
pub mod named_part;
pub mod order;
pub mod outline;
pub mod plug;
pub mod policy;
pub mod reading;
pub mod reorder;
pub mod report;
pub mod requirement;
pub mod scan;
#[cfg(feature = "schema")]
mod schema;
pub mod spark;
pub mod spelling;
pub mod stand_in;
pub mod thread;
pub mod thread_limits;
pub mod torque;
pub mod tuning_day;
pub mod valuation;
pub mod waiting;
pub mod wording;
pub mod words;
