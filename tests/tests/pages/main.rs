//! The pages: as a browser uses them, and what their forms refuse.

mod browser;
mod clerk_and_tuner;
mod forms;
