//! Tuning days and readings over HTTP: planned, priced, kept, read, remembered.

mod at_once;
mod days;
mod engine;
mod floor;
mod history;
mod refusals;
mod short;
mod topping_up;
