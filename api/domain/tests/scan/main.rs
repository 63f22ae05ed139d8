//! What a scanned text is: worked examples and the way there and back.
//!
//! Numbers are of the ranges that GS1 keeps for use inside a shop (General Specifications, 1.4 and 2.1,
//! from memory); their check digits were worked out with another program.

mod bins;
mod examples;
mod property;
