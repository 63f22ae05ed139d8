//! Versions of records as entity tags (RFC 9110): lost updates refused, unchanged records not sent
//! again.

use actix_web::dev::Payload;
use actix_web::http::header::{self, HeaderMap, HeaderName};
use actix_web::{FromRequest, HttpRequest};
use futures_util::future::{Ready, ok};

use crate::http::problem::Problem;
use crate::service::Refusal;

/// The strong entity tag of a version.
pub fn tag(version: i64) -> String {
    format!("\"{version}\"")
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
        let own = tag(version);
        if tags.iter().any(|t| t == "*" || *t == own) {
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

/// Which versions of a record the caller has already: the header `If-None-Match`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IfNoneMatch(Option<Vec<String>>);

impl IfNoneMatch {
    /// Whether the caller has the present version, so that 304 tells all.
    pub fn has(&self, version: i64) -> bool {
        self.has_tag(&tag(version))
    }

    /// The same of an answer with a tag of its own.
    pub fn has_tag(&self, own: &str) -> bool {
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
        ] {
            assert!(given(right).is_ok(), "{right:?}");
        }
        for stale in [&["\"2\""][..], &["3"], &["W/\"3\""], &[""], &["\"33\""]] {
            assert!(matches!(given(stale), Err(Refusal::Stale)), "{stale:?}");
        }
    }

    #[test]
    fn what_the_caller_has_is_not_sent_again() {
        let given = |lines: &[&str]| IfNoneMatch(read(header::IF_NONE_MATCH, lines)).has(3);
        for same in [&["\"3\""][..], &["W/\"3\""], &["*"], &["\"1\", \"3\""]] {
            assert!(given(same), "{same:?}");
        }
        for other in [&[][..], &["\"2\""], &["3"]] {
            assert!(!given(other), "{other:?}");
        }
    }
}
