//! Instants as they are written: RFC 3339, UTC with `Z`, always six places of a second.

use chrono::{DateTime, SecondsFormat, Utc};
use serde::Serializer;

/// The text of an instant.
pub fn text(instant: &DateTime<Utc>) -> String {
    instant.to_rfc3339_opts(SecondsFormat::Micros, true)
}

/// For `#[serde(serialize_with)]`.
///
/// # Errors
/// Those of the serializer.
pub fn serialize<S: Serializer>(instant: &DateTime<Utc>, s: S) -> Result<S::Ok, S::Error> {
    s.serialize_str(&text(instant))
}

/// For `#[serde(serialize_with)]` where there may be none.
///
/// # Errors
/// Those of the serializer.
pub fn serialize_option<S: Serializer>(
    instant: &Option<DateTime<Utc>>,
    s: S,
) -> Result<S::Ok, S::Error> {
    match instant {
        Some(instant) => serialize(instant, s),
        None => s.serialize_none(),
    }
}

/// A stretch of time, its beginning within it, its end not; without an end it is open there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Period {
    /// The first instant of it; null: from the beginning.
    pub from: Option<DateTime<Utc>>,
    /// The first instant behind it; null: up to now and beyond.
    pub to: Option<DateTime<Utc>>,
}

impl Period {
    /// Whether an instant lies before the period.
    pub fn is_after(&self, at: DateTime<Utc>) -> bool {
        self.from.is_some_and(|from| at < from)
    }

    /// Whether an instant lies behind the period.
    pub fn is_before(&self, at: DateTime<Utc>) -> bool {
        self.to.is_some_and(|to| at >= to)
    }

    /// Whether an instant lies within it.
    pub fn holds(&self, at: DateTime<Utc>) -> bool {
        !self.is_after(at) && !self.is_before(at)
    }
}
