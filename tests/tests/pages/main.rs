//! The pages: as a browser uses them, and what their forms refuse.

mod as_typed;
mod browser;
mod clerk_and_tuner;
mod demo;
mod devtools;
mod every_page;
mod forms;
mod outlines;
mod pictures;
mod print;
mod steps;
mod visitor;
mod who_may;
mod workshop_browser;
mod workshop_days;
mod workshop_questions;
mod workshop_records;
