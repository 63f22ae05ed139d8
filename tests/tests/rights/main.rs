//! Rights: who may what, and that whoever may gets done what was asked for.

mod success;
mod who_may;
