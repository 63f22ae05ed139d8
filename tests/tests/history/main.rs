//! Movement history and reports over HTTP: a small story checked by hand, and the demo's year worked
//! out once more from its movements.

mod demo;
mod life;
mod lists;
mod story;
mod year;
