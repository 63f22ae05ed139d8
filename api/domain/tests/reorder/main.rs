//! What to order: the formulas against figures from outside, lines recomputed from their own
//! members, and a simulation of what the service level is worth.

#[path = "../engine/mod.rs"]
mod engine;
#[path = "../table/mod.rs"]
mod table;

mod choices;
mod first;
mod formulas;
mod lines;
mod settings;
mod simulation;
