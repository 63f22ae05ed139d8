//! The log: lines or JSON objects on standard error, every one in the span of its request.

use std::io::{self, IsTerminal};

use tracing::field::{Field, Visit};
use tracing::level_filters::LevelFilter;
use tracing::{Event, Subscriber};
use tracing_subscriber::EnvFilter;
use tracing_subscriber::layer::{Context, Layer, SubscriberExt};
use tracing_subscriber::util::SubscriberInitExt;

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
    let broken = BrokenHeads {
        are_told: filter.max_level_hint() >= Some(LevelFilter::DEBUG),
    };
    let lines = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(io::stderr);
    let started = match format {
        LogFormat::Text => lines
            .with_ansi(io::stderr().is_terminal())
            .with_target(false)
            .finish()
            .with(broken)
            .try_init(),
        LogFormat::Json => lines
            .json()
            .flatten_event(true)
            .with_span_list(false)
            .finish()
            .with(broken)
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

/// Leaves out what the framework calls an error of its own where a caller sent what is no HTTP, or too
/// slowly: the caller is at fault, and was answered. Whoever looks closer, at debug, is told.
#[derive(Debug, Clone, Copy)]
struct BrokenHeads {
    are_told: bool,
}

impl<S: Subscriber> Layer<S> for BrokenHeads {
    fn event_enabled(&self, event: &Event<'_>, _: Context<'_, S>) -> bool {
        if self.are_told || event.metadata().target() != "actix_http::h1::dispatcher" {
            return true;
        }
        let mut said = Said::default();
        event.record(&mut said);
        !said.0.starts_with("stream error: ")
    }
}

/// The message of an event.
#[derive(Debug, Default)]
struct Said(String);

impl Visit for Said {
    fn record_debug(&mut self, field: &Field, value: &dyn std::fmt::Debug) {
        if field.name() == "message" {
            self.0 = format!("{value:?}");
        }
    }
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
    use std::sync::{Arc, Mutex};

    use super::*;

    /// A log in memory.
    #[derive(Clone, Default)]
    struct Kept(Arc<Mutex<Vec<u8>>>);

    impl io::Write for Kept {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.lock().unwrap().extend_from_slice(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn what_a_caller_did_wrong_is_no_error_of_ours() {
        for are_told in [false, true] {
            let kept = Kept::default();
            let writer = kept.clone();
            let log = tracing_subscriber::fmt()
                .with_writer(move || writer.clone())
                .finish()
                .with(BrokenHeads { are_told });
            tracing::subscriber::with_default(log, || {
                tracing::error!(target: "actix_http::h1::dispatcher", "stream error: {}", "bad head");
                tracing::error!(target: "actix_http::h1::dispatcher", "Response payload stream error");
                tracing::error!("stream error: of ours");
            });
            let lines = String::from_utf8(kept.0.lock().unwrap().clone()).unwrap();
            assert_eq!(lines.contains("bad head"), are_told, "{lines}");
            for ours in ["Response payload", "of ours"] {
                assert!(lines.contains(ours), "{lines}");
            }
        }
    }

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
