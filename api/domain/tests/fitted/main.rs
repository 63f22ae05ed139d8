//! What is in which engine by its issues, and how far it is from the end of its life.

mod due;
mod odometer;
mod sets;
