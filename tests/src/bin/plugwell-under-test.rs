//! The service as a program that tests start, stop and kill.

use std::process::ExitCode;

fn main() -> ExitCode {
    plugwell::run()
}
