//! The pages: as a browser uses them, and what their forms refuse.

mod as_typed;
mod browser;
mod buying_browser;
mod buying_orders;
mod buying_scales;
mod clerk_and_tuner;
mod demo;
mod devtools;
mod every_page;
mod forms;
mod outlines;
mod pictures;
mod print;
mod reports_pages;
mod steps;
mod visitor;
mod who_may;
