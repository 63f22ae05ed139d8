//! The pages: as a browser uses them, and what their forms refuse.

mod as_typed;
mod browser;
mod clerk_and_tuner;
mod counter_counts;
mod counter_form;
mod counter_records;
mod counter_scanner;
mod counter_scans;
mod demo;
mod devtools;
mod every_page;
mod forms;
mod outlines;
mod parts_find;
mod parts_records;
mod parts_shown;
mod pictures;
mod print;
mod steps;
mod visitor;
mod who_may;
mod workshop_browser;
mod workshop_days;
mod workshop_questions;
mod workshop_records;
