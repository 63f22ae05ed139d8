//! plugwell: parts cross-reference and inventory for spark plugs.
//!
//! This is the service: use cases, HTTP, pages and the command line over domain, store and indexer.

pub mod service;
