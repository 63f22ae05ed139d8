//! What the tests stand on: a shop that runs as a process of its own on either database, a caller
//! that shows answers raw, and bodies of invented parts, heads, builds and movements.

pub mod bodies;
pub mod call;
mod cluster;
mod described;
pub mod leash;
mod patience;
pub mod receiver;
pub mod shop;
mod typed;

pub use call::{Answer, Who};
pub use patience::until;
pub use shop::{Engine, Shop, engines, shared};
pub use typed::wait;
