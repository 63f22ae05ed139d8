//! Versions of records as entity tags (RFC 9110): lost updates refused, unchanged records not sent
//! again.

use actix_web::dev::Payload;
use actix_web::http::header::{self, HeaderMap, HeaderName};
use actix_web::{FromRequest, HttpRequest};
use futures_util::future::{Ready, ok};

use crate::http::problem::Problem;
use crate::service::Refusal;
use crate::service::access::hashed;

/// Characters of the content's hash that stand in the tag of a version.
const OF_CONTENT: usize = 16;

/// The strong entity tag of a version as it is shown: what stands beside the record, such as the name of an
/// order's supplier, changes without its version.
pub fn tag(version: i64, shown: &str) -> String {
    format!("\"{version}-{}\"", &hashed(shown)[..OF_CONTENT])
}

/// The strong entity tag of what has no version: made of what is shown.
pub fn content_tag(shown: &str) -> String {
    format!("\"{}\"", &hashed(shown)[..2 * OF_CONTENT])
}

/// Whether a strong tag is of a version, whatever was shown with it.
fn is_of(tag: &str, version: i64) -> bool {
    let inner = tag.strip_prefix('"').and_then(|t| t.strip_suffix('"'));
    let own = inner.and_then(|t| t.split('-').next());
    own.is_some_and(|own| own == version.to_string())
}

/// Which version of a record a change is meant for: the header `If-Match`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IfMatch(Option<Vec<String>>);

impl IfMatch {
    /// Whether the change is meant for the present version.
    ///
    /// # Errors
    /// `NeedsVersion` without the header, `Stale` where it names only others. A weak tag never
    /// matches, as RFC 9110 has it; `*` always does.
    pub fn check(&self, version: i64) -> Result<(), Refusal> {
        let Some(tags) = &self.0 else {
            return Err(Refusal::NeedsVersion);
        };
        if tags.iter().any(|t| t == "*" || is_of(t, version)) {
            Ok(())
        } else {
            Err(Refusal::Stale)
        }
    }
}

impl IfMatch {
    /// The same of an operation that need not say which version it is meant for.
    ///
    /// # Errors
    /// `Stale` where the header is there and names only others.
    pub fn check_given(&self, version: i64) -> Result<(), Refusal> {
        match self.0 {
            None => Ok(()),
            Some(_) => self.check(version),
        }
    }
}

impl FromRequest for IfMatch {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ok(Self(tags(request.headers(), &header::IF_MATCH)))
    }
}

/// What of a record the caller has already: the header `If-None-Match`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IfNoneMatch(Option<Vec<String>>);

impl IfNoneMatch {
    /// Whether the caller has what would be shown, so that 304 tells all.
    pub fn has(&self, own: &str) -> bool {
        let strong = |t: &String| t == "*" || t.strip_prefix("W/").unwrap_or(t) == own;
        self.0.as_ref().is_some_and(|tags| tags.iter().any(strong))
    }
}

impl FromRequest for IfNoneMatch {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ok(Self(tags(request.headers(), &header::IF_NONE_MATCH)))
    }
}

/// The tags of a header, over all its lines; a comma stands in none of ours.
fn tags(headers: &HeaderMap, name: &HeaderName) -> Option<Vec<String>> {
    let mut lines = headers.get_all(name).peekable();
    lines.peek()?;
    let values = lines.filter_map(|line| line.to_str().ok());
    Some(
        values
            .flat_map(|line| line.split(','))
            .map(|t| t.trim().to_owned())
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(name: HeaderName, lines: &[&str]) -> Option<Vec<String>> {
        let mut headers = HeaderMap::new();
        for line in lines {
            headers.append(name.clone(), line.parse().unwrap());
        }
        tags(&headers, &name)
    }

    #[test]
    fn a_change_has_to_name_the_present_version() {
        let given = |lines: &[&str]| IfMatch(read(header::IF_MATCH, lines)).check(3);
        assert!(matches!(given(&[]), Err(Refusal::NeedsVersion)));
        for right in [
            &["\"3\""][..],
            &["*"],
            &["\"2\", \"3\""],
            &["\"2\"", "\"3\""],
            &[tag(3, "{}").as_str()],
        ] {
            assert!(given(right).is_ok(), "{right:?}");
        }
        for stale in [
            &["\"2\""][..],
            &["3"],
            &["W/\"3\""],
            &[""],
            &["\"33\""],
            &[tag(2, "{}").as_str()],
        ] {
            assert!(matches!(given(stale), Err(Refusal::Stale)), "{stale:?}");
        }
    }

    #[test]
    fn what_the_caller_has_is_not_sent_again() {
        let own = tag(3, "{\"dead\": 0}");
        let given = |lines: &[&str]| IfNoneMatch(read(header::IF_NONE_MATCH, lines)).has(&own);
        let (weak, among) = (format!("W/{own}"), format!("\"1\", {own}"));
        for same in [&[own.as_str()][..], &[&weak], &["*"], &[&among]] {
            assert!(given(same), "{same:?}");
        }
        let beside = tag(3, "{\"dead\": 1}");
        for other in [&[][..], &["\"2\""], &["\"3\""], &["3"], &[&beside]] {
            assert!(!given(other), "{other:?}");
        }
    }
}
