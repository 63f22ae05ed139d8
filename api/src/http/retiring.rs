//! An operation that will go: said beforehand in the document and with every answer, by the headers
//! `Deprecation` (RFC 9745) and `Sunset` (RFC 8594).

use actix_web::http::header::{HeaderMap, HeaderName, HeaderValue, LINK};
use chrono::{NaiveDate, NaiveTime};
use serde_json::Value;

/// From when on nobody should begin to use it.
pub const DEPRECATION: HeaderName = HeaderName::from_static("deprecation");
/// From when on it may be gone.
pub const SUNSET: HeaderName = HeaderName::from_static("sunset");

/// When an operation goes, and what takes its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Retiring {
    /// From this day on, in UTC, nobody should begin to use it.
    pub since: NaiveDate,
    /// From this day on it may be gone.
    pub until: NaiveDate,
    /// The path of what takes its place.
    pub instead: &'static str,
}

impl Retiring {
    /// Puts the headers to an answer.
    pub fn tell(&self, headers: &mut HeaderMap) {
        let since = self.since.and_time(NaiveTime::MIN).and_utc().timestamp();
        let until = self.until.format("%a, %d %b %Y 00:00:00 GMT");
        let told = [
            (DEPRECATION, format!("@{since}")),
            (SUNSET, until.to_string()),
            (
                LINK,
                format!("<{}>; rel=\"successor-version\"", self.instead),
            ),
        ];
        for (name, value) in told {
            if let Ok(value) = HeaderValue::from_str(&value) {
                headers.append(name, value);
            }
        }
    }

    /// Marks the operation of the document.
    pub fn describe(&self, operation: &mut Value) {
        let Self {
            since,
            until,
            instead,
        } = self;
        operation["deprecated"] = true.into();
        let said = operation["description"].as_str().unwrap_or_default();
        operation["description"] = format!(
            "{said}\n\nDeprecated since {since}, and gone from {until} on: use `{instead}`. Its answers \
             say so with `Deprecation` (RFC 9745) and `Sunset` (RFC 8594)."
        )
        .into();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headers_have_the_forms_of_their_standards() {
        let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
        let retiring = Retiring {
            since: day(2027, 1, 1),
            until: day(2027, 7, 4),
            instead: "/v1/plugs",
        };
        let mut headers = HeaderMap::new();
        headers.append(LINK, HeaderValue::from_static("</v1/x>; rel=\"next\""));
        retiring.tell(&mut headers);
        // 2027-01-01T00:00:00Z, counted by hand: 57 years of 365 days and 14 leap days.
        let seconds = (57 * 365 + 14) * 86_400;
        assert_eq!(headers.get(DEPRECATION).unwrap(), &format!("@{seconds}"));
        assert_eq!(
            headers.get(SUNSET).unwrap(),
            "Sun, 04 Jul 2027 00:00:00 GMT"
        );
        assert_eq!(headers.get_all(LINK).count(), 2, "what leads on stays");
    }
}
