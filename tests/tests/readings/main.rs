//! Tuning days and readings over HTTP: planned, priced, kept, read, remembered.

mod at_once;
mod days;
mod floor;
mod history;
mod refusals;
mod short;
