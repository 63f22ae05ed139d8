//! plugwell: parts cross-reference and inventory for spark plugs.
//!
//! This is the service: use cases, HTTP, pages and the command line over domain, store and indexer.

pub mod app;
pub mod cell;
pub mod cli;
pub mod config;
pub mod demo;
pub mod drawing;
pub mod http;
pub mod metrics;
pub mod outbox;
pub mod pages;
pub mod service;
pub mod shown;
pub mod telemetry;

pub use cli::run;

/// Stands here rather than beside `main`, so that the benchmarks measure what is shipped.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
