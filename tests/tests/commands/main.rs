//! The command line: what each command prints, refuses and leaves behind.

mod asking;
mod demo;
mod help;
mod keeping;
mod owning;
mod serving;
mod terminal;
