//! Jobs that wait for plugs: what makes them possible, whose turn it is, and that each is told once.

mod asked;
mod bench;
mod judged;
mod made_possible;
mod nodes;
mod refusals;
mod taking_turns;
mod turns;
