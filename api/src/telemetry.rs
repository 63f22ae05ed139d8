//! The log: lines or JSON objects on standard error, every one in the span of its request.

use std::io::{self, IsTerminal};

use tracing_subscriber::EnvFilter;

use crate::config::LogFormat;

/// A log level that cannot be read.
#[derive(Debug, thiserror::Error)]
#[error(
    "{level:?} is no log level; take error, warn, info, debug or trace, also by part: info,plugwell_store=debug"
)]
pub struct BadLevel {
    /// As it was given.
    pub level: String,
}

/// Starts logging. A second start changes nothing, so that a process can hold several services.
///
/// # Errors
/// Where the level cannot be read.
pub fn start(format: LogFormat, level: &str) -> Result<(), BadLevel> {
    let filter = filter(level)?;
    let lines = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(io::stderr);
    let started = match format {
        LogFormat::Text => lines
            .with_ansi(io::stderr().is_terminal())
            .with_target(false)
            .try_init(),
        LogFormat::Json => lines
            .json()
            .flatten_event(true)
            .with_span_list(false)
            .try_init(),
    };
    if started.is_ok() {
        log_panics();
    }
    Ok(())
}

fn filter(level: &str) -> Result<EnvFilter, BadLevel> {
    let bad = || BadLevel {
        level: level.to_owned(),
    };
    if level.trim().is_empty() {
        return Err(bad());
    }
    // Bare words would be taken for names of parts, and silence everything.
    let known = ["off", "error", "warn", "info", "debug", "trace"];
    for directive in level.split(',') {
        let said = directive.rsplit('=').next().unwrap_or_default().trim();
        if !known.iter().any(|k| said.eq_ignore_ascii_case(k)) {
            return Err(bad());
        }
    }
    EnvFilter::try_new(level).map_err(|_| bad())
}

/// Writes panics into the log, in the span of the request that they happen in.
fn log_panics() {
    std::panic::set_hook(Box::new(|panic| {
        let message = panic.payload_as_str().unwrap_or("no message");
        let place = panic
            .location()
            .map(ToString::to_string)
            .unwrap_or_default();
        tracing::error!(message, place, "panic");
    }));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mistyped_level_is_refused_rather_than_silent() {
        for level in ["info", "WARN", "info,plugwell_store=debug", "off"] {
            assert!(filter(level).is_ok(), "{level}");
        }
        for level in ["", "infos", "verbose", "plugwell=loud", "info,"] {
            assert!(filter(level).is_err(), "{level}");
        }
    }
}
