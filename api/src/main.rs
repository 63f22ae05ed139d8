//! The one binary; everything is in the library, where tests can reach it.

use std::process::ExitCode;

fn main() -> ExitCode {
    plugwell::run()
}
