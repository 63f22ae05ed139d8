//! What a caller would rather have: the header `Prefer` (RFC 7240).

use actix_web::http::header::{HeaderMap, HeaderName};

const PREFER: HeaderName = HeaderName::from_static("prefer");

/// The value of the first preference of a name, in one line with others or alone; empty where it
/// has none. Its parameters are passed over.
pub fn preference<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    let lines = headers
        .get_all(PREFER)
        .filter_map(|line| line.to_str().ok());
    let mut preferences = lines.flat_map(|line| line.split(','));
    preferences.find_map(|preference| {
        let whole = preference.split(';').next().unwrap_or_default();
        let (own, value) = whole.split_once('=').unwrap_or((whole, ""));
        let same = own.trim().eq_ignore_ascii_case(name);
        same.then(|| value.trim().trim_matches('"'))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_preference_is_found_among_others() {
        let mut headers = HeaderMap::new();
        for line in [
            "return=minimal, Wait = \"7\"; x=y",
            "handling=lenient,alone",
            "wait=9",
        ] {
            headers.append(PREFER, line.parse().unwrap());
        }
        let asked = |name| preference(&headers, name);
        assert_eq!(asked("wait"), Some("7"), "the first of two");
        assert_eq!(asked("return"), Some("minimal"));
        assert_eq!(asked("HANDLING"), Some("lenient"));
        assert_eq!(asked("alone"), Some(""));
        assert_eq!((asked("x"), asked("hand")), (None, None));
    }
}
