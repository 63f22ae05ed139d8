//! The client against a server that misbehaves: what is sent again, under which key, and what never is.

mod answers;
mod commands;
mod feed;
mod lists;
mod misbehaving;
mod records;
mod tables;
