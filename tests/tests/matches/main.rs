//! `POST /v1/matches`: the shapes of the answer, its order, and that it is what a plain scan of
//! all records with the answered demands finds.

mod batches;
mod cases;
mod property;
mod records;
mod scan;
mod shapes;
mod shelf;
mod stirring;
mod stock_modes;
mod subjects;
