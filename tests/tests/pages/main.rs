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
mod forms;
mod pictures;
mod print;
mod steps;
mod visitor;
mod who_may;
