//! Tuning days: how many plugs, what they cost, which part, what is short.

#[path = "../engine/mod.rs"]
mod engine;

mod costs;
mod plans;
mod shelf;
mod standing;
