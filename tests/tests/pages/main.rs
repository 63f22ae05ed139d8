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
mod records_people;
mod records_policy;
mod records_stand_ins;
mod records_tables;
mod sessions;
mod steps;
mod visitor;
mod who_may;
