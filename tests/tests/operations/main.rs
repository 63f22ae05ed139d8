//! What whoever runs the service sees of it: metrics that move, traces in the log.

mod metrics;
mod reader;
mod traces;
