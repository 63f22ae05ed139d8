//! Traces across services: the header `traceparent` of the W3C Recommendation "Trace Context"
//! (level 1, 23 November 2021).
//!
//! A request that brings a valid one belongs to the trace that it names; without one, or with one that
//! is malformed, a trace begins here, as the Recommendation asks of a receiver ("restart the trace").
//! Every line of the log carries `trace_id` and `span_id`. It defines no header for answers, so none
//! is sent.

use actix_web::http::header::HeaderMap;

/// Where a request stands in its trace.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trace {
    /// 16 bytes in lower-case hexadecimal digits.
    pub trace_id: String,
    /// The caller's span; `None` where the trace begins here.
    pub parent_id: Option<String>,
    /// Our own span.
    pub span_id: String,
}

impl Trace {
    /// The trace of a request; a new one where it names none.
    pub fn of(headers: &HeaderMap) -> Self {
        // All zeros is the one value that an identifier must not have.
        let span_id = format!("{:016x}", rand::random::<u64>().max(1));
        match named(headers) {
            Some((trace_id, parent_id)) => Self {
                trace_id,
                parent_id: Some(parent_id),
                span_id,
            },
            None => Self {
                trace_id: format!("{:032x}", rand::random::<u128>().max(1)),
                parent_id: None,
                span_id,
            },
        }
    }
}

fn named(headers: &HeaderMap) -> Option<(String, String)> {
    let mut lines = headers.get_all("traceparent");
    let line = lines.next()?;
    // Two lines name two traces, and so none.
    if lines.next().is_some() {
        return None;
    }
    parsed(line.to_str().ok()?)
}

/// Trace and parent of a `version-trace_id-parent_id-flags`. A version above 00 is read as far as 00
/// goes, and may have more behind it.
fn parsed(line: &str) -> Option<(String, String)> {
    let line = line.trim_matches([' ', '\t']);
    let mut fields = line.splitn(5, '-');
    let version = hex(fields.next()?, 2)?;
    let trace_id = hex(fields.next()?, 32)?;
    let parent_id = hex(fields.next()?, 16)?;
    hex(fields.next()?, 2)?;
    let more = fields.next().is_some();
    let zero = |digits: &str| digits.bytes().all(|digit| digit == b'0');
    if version == "ff" || (version == "00" && more) || zero(trace_id) || zero(parent_id) {
        return None;
    }
    Some((trace_id.to_owned(), parent_id.to_owned()))
}

/// A field of so many lower-case hexadecimal digits.
fn hex(field: &str, digits: usize) -> Option<&str> {
    let all = field
        .bytes()
        .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
    (field.len() == digits && all).then_some(field)
}

#[cfg(test)]
mod tests {
    use actix_web::http::header::{HeaderName, HeaderValue};

    use super::*;

    const TRACE: &str = "0af7651916cd43dd8448eb211c80319c";
    const PARENT: &str = "b7ad6b7169203331";

    /// Cases of the Recommendation, 3.2 "Traceparent Header" (from memory; its example values).
    #[test]
    fn a_header_is_taken_or_ignored_as_the_recommendation_says() {
        let own = format!("00-{TRACE}-{PARENT}-01");
        let taken = Some((TRACE.to_owned(), PARENT.to_owned()));
        for good in [
            own.clone(),
            format!(" {own}\t"),
            format!("00-{TRACE}-{PARENT}-00"),
            // Flags that 00 does not know are no fault.
            format!("00-{TRACE}-{PARENT}-ff"),
            // A later version: read as far as it is known.
            format!("01-{TRACE}-{PARENT}-01"),
            format!("cc-{TRACE}-{PARENT}-01-what-the-future-will-be-like"),
        ] {
            assert_eq!(parsed(&good), taken, "{good:?}");
        }
        for bad in [
            String::new(),
            format!("ff-{TRACE}-{PARENT}-01"),
            format!("0-{TRACE}-{PARENT}-01"),
            format!("00-{TRACE}-{PARENT}-01-more"),
            format!("00-{TRACE}-{PARENT}-01-"),
            format!("cc-{TRACE}-{PARENT}-01.what-the-future-will-not-be-like"),
            format!("00-{}-{PARENT}-01", TRACE.to_uppercase()),
            format!("00-{TRACE}-{}-01", PARENT.to_uppercase()),
            format!("00-{}-{PARENT}-01", "0".repeat(32)),
            format!("00-{TRACE}-{}-01", "0".repeat(16)),
            format!("00-{}-{PARENT}-01", &TRACE[1..]),
            format!("00-{TRACE}0-{PARENT}-01"),
            format!("00-{TRACE}-{}-01", &PARENT[1..]),
            format!("00-{TRACE}-{PARENT}-0"),
            format!("00-{TRACE}-{PARENT}-0x"),
            format!("00-{TRACE}-{PARENT}"),
            format!("00_{TRACE}_{PARENT}_01"),
        ] {
            assert_eq!(parsed(&bad), None, "{bad:?}");
        }
    }

    #[test]
    fn a_request_goes_on_with_its_trace_under_a_span_of_its_own() {
        let mut headers = HeaderMap::new();
        let begun = Trace::of(&headers);
        assert_eq!(begun.parent_id, None);
        assert_eq!((begun.trace_id.len(), begun.span_id.len()), (32, 16));
        assert_ne!(begun.trace_id, Trace::of(&headers).trace_id);
        let name = HeaderName::from_static("traceparent");
        let line = HeaderValue::from_str(&format!("00-{TRACE}-{PARENT}-01")).unwrap();
        headers.append(name.clone(), line.clone());
        let (one, other) = (Trace::of(&headers), Trace::of(&headers));
        assert_eq!(one.trace_id, TRACE);
        assert_eq!(one.parent_id.as_deref(), Some(PARENT));
        assert!(one.span_id != PARENT && one.span_id != other.span_id);
        headers.append(name, line);
        assert_eq!(Trace::of(&headers).parent_id, None, "two lines are none");
    }
}
