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
