//! What people type: the fields of a form, in the order they came.

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use actix_web::{FromRequest, HttpRequest, HttpResponse, web};
use futures_util::StreamExt;
use futures_util::future::LocalBoxFuture;

pub(super) use crate::pages::amounts::{count, day, minor_units, one_of_several, quantity};
use crate::pages::answer::{Frame, Message, page};
use crate::pages::words::say;

/// The largest form that is taken, in bytes: many times the longest that can be filled in.
const LARGEST: usize = 64 << 10;

/// The fields of a form or a query, in the order they came.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Typed(Vec<(String, String)>);

impl Typed {
    /// Those of a query, or of a form's body.
    pub fn of_query(query: &str) -> Self {
        Self(
            web::Query::from_query(query)
                .map(web::Query::into_inner)
                .unwrap_or_default(),
        )
    }

    /// The value of a field; empty where it is not there.
    pub fn one(&self, name: &str) -> &str {
        self.all(name).next().unwrap_or_default()
    }

    /// Every value of a field, empty ones left out.
    pub fn all<'a>(&'a self, name: &str) -> impl Iterator<Item = &'a str> {
        let own = self.0.iter().filter(move |(n, _)| n == name);
        own.map(|(_, value)| value.trim())
            .filter(|value| !value.is_empty())
            .collect::<Vec<_>>()
            .into_iter()
    }

    /// Every field that was filled in, with its value, in the order they came.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        let pairs = self
            .0
            .iter()
            .map(|(name, value)| (name.as_str(), value.trim()));
        pairs.filter(|(_, value)| !value.is_empty())
    }

    /// Adds a value.
    pub fn put(&mut self, name: &str, value: impl Into<String>) {
        self.0.push((name.to_owned(), value.into()));
    }

    /// Puts a value in the place of whatever was there.
    pub fn set(&mut self, name: &str, value: impl Into<String>) {
        self.0.retain(|(own, _)| own != name);
        self.put(name, value);
    }

    /// The same without some fields.
    pub fn without(&self, names: &[&str]) -> Self {
        let kept = self.0.iter().filter(|(name, _)| !names.contains(&&**name));
        Self(kept.cloned().collect())
    }

    /// The same as a query, what was left open left out.
    pub fn query(&self) -> String {
        let pairs = self
            .pairs()
            .map(|(name, value)| format!("{}={}", encoded(name), encoded(value)));
        pairs.collect::<Vec<_>>().join("&")
    }

    /// Adds what another form says.
    pub fn extend(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// What else was typed, whoever typed it and with whatever key: all that makes it the same form.
    pub fn content(&self) -> String {
        let said = self
            .0
            .iter()
            .filter(|(name, _)| name != "form_key" && name != "once");
        // Each with its length, so that no two forms run together into one.
        said.map(|(name, value)| format!("{}:{name}={}:{value};", name.len(), value.len()))
            .collect()
    }
}

/// A text as it stands in a query: everything but letters and digits as percent and two digits.
pub(super) fn encoded(text: &str) -> String {
    let one = |b: u8| {
        if b.is_ascii_alphanumeric() {
            char::from(b).to_string()
        } else {
            format!("%{b:02X}")
        }
    };
    text.bytes().map(one).collect()
}

/// A form as it was sent; read once it is known how its sender sees pages.
#[derive(Debug)]
pub(super) struct Posted(Result<Typed, StatusCode>);

impl Posted {
    /// The fields.
    ///
    /// # Errors
    /// The page that says why it is none.
    pub fn typed(self, frame: &Frame) -> Result<Typed, Box<HttpResponse>> {
        self.0.map_err(|status| not_whole(frame, status))
    }
}

/// The page that says why a form could not be read.
pub(super) fn not_whole(frame: &Frame, status: StatusCode) -> Box<HttpResponse> {
    let text = match status {
        StatusCode::PAYLOAD_TOO_LARGE => say("pages-form-larger-any-can-filled"),
        StatusCode::UNSUPPORTED_MEDIA_TYPE => say("pages-form-these-pages-comes-another"),
        _ => say("pages-form-did-not-arrive-whole"),
    };
    let message = Message {
        frame: frame.clone(),
        heading: say("pages-not-understood"),
        text: text.into(),
    };
    page(status, &message).into()
}

impl FromRequest for Posted {
    type Error = std::convert::Infallible;
    type Future = LocalBoxFuture<'static, Result<Self, Self::Error>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let form = request
            .headers()
            .get(CONTENT_TYPE)
            .and_then(|value| value.to_str().ok())
            .is_some_and(|media| {
                media
                    .split(';')
                    .next()
                    .unwrap_or_default()
                    .trim()
                    .eq_ignore_ascii_case("application/x-www-form-urlencoded")
            });
        let payload = payload.take();
        Box::pin(async move {
            Ok(Self(if form {
                read(payload).await
            } else {
                Err(StatusCode::UNSUPPORTED_MEDIA_TYPE)
            }))
        })
    }
}

async fn read(mut payload: Payload) -> Result<Typed, StatusCode> {
    let mut raw = Vec::new();
    while let Some(piece) = payload.next().await {
        let piece = piece.map_err(|_| StatusCode::BAD_REQUEST)?;
        if raw.len() + piece.len() > LARGEST {
            return Err(StatusCode::PAYLOAD_TOO_LARGE);
        }
        raw.extend_from_slice(&piece);
    }
    let text = String::from_utf8(raw).map_err(|_| StatusCode::BAD_REQUEST)?;
    Ok(Typed::of_query(&text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_the_same_whatever_its_keys() {
        let typed = |text: &str| Typed::of_query(text).content();
        assert_eq!(
            typed("quantity=2&once=a&form_key=b"),
            typed("quantity=2&once=c")
        );
        assert_ne!(typed("quantity=2"), typed("quantity=3"));
        assert_ne!(typed("a=b&c=d"), typed("a=b%26c%3Dd"));
        let several = Typed::of_query("a=+x+&a=&a=y%2B");
        assert_eq!(several.all("a").collect::<Vec<_>>(), ["x", "y+"]);
        assert_eq!((several.one("a"), several.one("b")), ("x", ""));
    }
}
