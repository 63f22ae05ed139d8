//! Forecasts against figures from outside, and what has to hold of them whatever the series.

#[path = "../table/mod.rs"]
mod table;

mod methods;
mod patterns;
mod periods;
