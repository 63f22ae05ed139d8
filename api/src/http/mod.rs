//! The HTTP interface: parses a request, asks one use case, gives the answer its form.
//!
//! `routes` has every route with the role that it takes; `guard` puts the token, the path and the
//! method to it before a handler is reached, `envelope` gives every answer its identifier and every
//! error its one form.

#![allow(
    unused_qualifications,
    reason = "`utoipa::path` writes types with their whole path"
)]

pub mod accept;
pub mod answer;
mod arriving;
pub mod barcodes;
pub mod between;
pub mod body;
pub mod builds;
pub mod changes;
pub mod count_reports;
pub mod counts;
pub mod csv_answer;
pub mod dead_stock;
pub mod envelope;
pub mod equivalent_answer;
pub mod equivalent_shapes;
pub mod equivalents;
pub mod etag;
pub mod exports;
pub mod fitment_checks;
pub mod fitted_sets;
pub mod guard;
pub mod heads;
pub mod health;
pub mod heat_scales;
pub mod identifications;
pub mod imports;
pub mod incoming_checks;
pub mod labels;
pub mod lot_life;
pub mod lots;
pub mod match_answer;
pub mod match_batches;
pub mod match_shapes;
pub mod matches;
pub mod movement_table;
pub mod movements;
pub mod once;
pub mod openapi;
pub mod orders;
pub mod outlines;
pub mod paging;
pub mod pick_lists;
pub mod pictures;
pub mod places;
pub mod plug_query;
pub mod plugs;
pub mod policy;
pub mod prefer;
pub mod problem;
pub mod query;
pub mod rate;
pub mod readings;
pub mod reorder;
pub mod reordering;
pub mod request;
pub mod reservations;
pub mod retiring;
pub mod routes;
pub mod scans;
pub mod scrap_report;
pub mod shapes;
pub mod stand_ins;
pub mod stock_outs;
pub mod strict_json;
pub mod suppliers;
pub mod tokens;
pub mod trace;
pub mod tuning_days;
pub mod turns;
pub mod usage;
pub mod value_report;
pub mod waiting_jobs;
pub mod webhook_shapes;
pub mod webhooks;
