//! The header `Idempotency-Key`: the same request sent twice is done once and answered alike.

use actix_web::http::StatusCode;
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::{HttpRequest, HttpResponse};
use plugwell_domain::fault::{Fault, FaultCode};
use serde::Serialize;
use sha2::{Digest, Sha256};

use crate::http::answer::POSITION;
use crate::http::etag::tag;
use crate::http::problem::{ONCE_KEY_MISSING, Problem};
use crate::service::once::{Once, OnceKey, Stored};
use crate::service::{Actor, Shop};

/// Says that the answer was given before.
pub const REPLAYED: HeaderName = HeaderName::from_static("once-only-replayed");
const KEY: HeaderName = HeaderName::from_static("idempotency-key");
/// Longest key, in characters.
const LONGEST: usize = 128;

/// A request's once-only key as it came, with what else makes it the same request.
#[derive(Debug, Clone)]
pub struct KeyHeader {
    method: String,
    path: String,
    lines: Vec<Vec<u8>>,
}

impl KeyHeader {
    /// Takes it from a request.
    pub fn of_request(request: &HttpRequest) -> Self {
        Self {
            method: request.method().to_string(),
            path: request.path().to_owned(),
            lines: request
                .headers()
                .get_all(KEY)
                .map(|v| v.as_bytes().to_vec())
                .collect(),
        }
    }

    /// The key where there is one; a request that needs none may leave it out.
    ///
    /// # Errors
    /// `once_key_missing` where there are several, or one in another form.
    pub fn given(&self) -> Result<Option<String>, Problem> {
        match self.lines.as_slice() {
            [] => Ok(None),
            [one] => plain(one).map(Some).ok_or_else(|| {
                let detail = "a key is 1 to 128 visible ASCII characters";
                missing(FaultCode::WrongForm, detail)
            }),
            _ => {
                let detail = "send one Idempotency-Key only";
                Err(missing(FaultCode::Duplicate, detail))
            }
        }
    }

    /// The key, whose it is and what the request was.
    ///
    /// # Errors
    /// `once_key_missing` where there is none, or none in the right form.
    pub fn of(&self, actor: &Actor, raw_body: &[u8]) -> Result<OnceKey, Problem> {
        let key = self.given()?.ok_or_else(|| {
            let detail = "send Idempotency-Key: a new one with each new request";
            missing(FaultCode::Missing, detail)
        })?;
        let mut hash = Sha256::new();
        hash.update(actor.token_id.as_bytes());
        for part in [self.method.as_bytes(), self.path.as_bytes(), raw_body] {
            // Each with its length, so that no two requests run together into one.
            hash.update((part.len() as u64).to_be_bytes());
            hash.update(part);
        }
        let fingerprint = hash
            .finalize()
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect();
        Ok(OnceKey {
            token_id: actor.token_id,
            key,
            fingerprint,
        })
    }
}

fn missing(code: FaultCode, detail: &str) -> Problem {
    let fault = Fault {
        pointer: "Idempotency-Key:".into(),
        code,
        detail: detail.into(),
    };
    let errors = serde_json::to_value([fault]).unwrap_or_default();
    Problem::new(&ONCE_KEY_MISSING, detail).member("errors", errors)
}

/// The key without its quotes, if it has any: the IETF draft writes a structured-field string.
fn plain(line: &[u8]) -> Option<String> {
    let text = std::str::from_utf8(line).ok()?.trim();
    let inner = text
        .strip_prefix('"')
        .and_then(|t| t.strip_suffix('"'))
        .unwrap_or(text);
    let visible = inner.bytes().all(|b| b.is_ascii_graphic());
    ((1..=LONGEST).contains(&inner.len()) && visible).then(|| inner.to_owned())
}

/// The answer that is kept under a key.
pub fn kept(status: u16, location: Option<String>, body: &impl Serialize) -> Stored {
    let mut headers = vec![("Content-Type".to_owned(), "application/json".to_owned())];
    headers.extend(location.map(|at| ("Location".to_owned(), at)));
    // What is answered are plain structures of our own: they always have a JSON form.
    Stored {
        status,
        headers,
        body: serde_json::to_vec(body).unwrap_or_default(),
        replayed: false,
    }
}

/// The same of a single record, under the tag of its version.
pub fn kept_record(
    status: u16,
    location: Option<String>,
    version: i64,
    body: &impl Serialize,
) -> Stored {
    let mut stored = kept(status, location, body);
    let tag = tag(version, &String::from_utf8_lossy(&stored.body));
    stored.headers.push(("ETag".to_owned(), tag));
    stored
}

/// The answer to a command, byte for byte as it was given the first time.
pub fn booked<T>(shop: &Shop, done: Once<T>) -> HttpResponse {
    let mut answer = answer(done.stored);
    let position = done.position.unwrap_or_default().max(shop.position());
    answer
        .headers_mut()
        .insert(POSITION, HeaderValue::from(position));
    answer
}

fn answer(stored: Stored) -> HttpResponse {
    let status = StatusCode::from_u16(stored.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let mut answer = HttpResponse::build(status);
    for (name, value) in &stored.headers {
        answer.append_header((name.as_str(), value.as_str()));
    }
    if stored.replayed {
        answer.insert_header((REPLAYED, HeaderValue::from_static("true")));
    }
    answer.body(stored.body)
}

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::test::TestRequest;
    use plugwell_domain::words::Role;
    use uuid::Uuid;

    fn actor() -> Actor {
        Actor {
            token_id: Uuid::from_u128(1),
            name: "counter".into(),
            role: Role::Clerk,
        }
    }

    fn header(key: &str) -> KeyHeader {
        let request = TestRequest::post()
            .uri("/v1/stock/issues?x=1")
            .insert_header((KEY, key));
        KeyHeader::of_request(&request.to_http_request())
    }

    #[test]
    fn a_key_is_visible_ascii_quoted_or_not() {
        let key = |text: &str| header(text).of(&actor(), b"{}").map(|k| k.key).ok();
        assert_eq!(key("a-1"), Some("a-1".into()));
        assert_eq!(key("\"a-1\""), Some("a-1".into()), "the same key");
        assert_eq!(key(&"k".repeat(128)), Some("k".repeat(128)));
        for wrong in ["", "\"\"", "a b", "\"a b\"", &"k".repeat(129)] {
            assert_eq!(key(wrong), None, "{wrong:?}");
            assert!(
                header(wrong).given().is_err(),
                "a dry run refuses it too: {wrong:?}"
            );
        }
        let without = KeyHeader::of_request(&TestRequest::post().to_http_request());
        assert_eq!(without.given().ok(), Some(None));
    }

    #[test]
    fn a_missing_key_is_a_fault_of_the_header() {
        let bare = KeyHeader::of_request(
            &TestRequest::post()
                .uri("/v1/stock/issues")
                .to_http_request(),
        );
        let body = bare.of(&actor(), b"{}").unwrap_err().to_json();
        assert_eq!(body["type"], "urn:plugwell:problem:once_key_missing");
        assert_eq!(body["status"], 400);
        assert_eq!(body["errors"][0]["pointer"], "Idempotency-Key:");
        assert_eq!(body["errors"][0]["code"], "missing");
    }

    #[test]
    fn the_fingerprint_covers_owner_method_path_and_body() {
        let print = |header: &KeyHeader, actor: &Actor, raw: &[u8]| {
            header.of(actor, raw).unwrap().fingerprint
        };
        let first = print(&header("a"), &actor(), b"{\"quantity\": 1}");
        assert_eq!(first.len(), 64);
        assert_eq!(
            first,
            print(&header("other"), &actor(), b"{\"quantity\": 1}"),
            "not the key itself"
        );
        assert_ne!(
            first,
            print(&header("a"), &actor(), b"{\"quantity\":1}"),
            "raw, not parsed"
        );
        assert_ne!(
            first,
            print(
                &header("a"),
                &Actor {
                    token_id: Uuid::from_u128(2),
                    ..actor()
                },
                b"{\"quantity\": 1}"
            )
        );
        let elsewhere = KeyHeader {
            path: "/v1/stock/returns".into(),
            ..header("a")
        };
        assert_ne!(first, print(&elsewhere, &actor(), b"{\"quantity\": 1}"));
    }

    #[test]
    fn a_replay_says_so_and_is_otherwise_the_same() {
        let stored = |replayed| Stored {
            status: 201,
            headers: vec![("Location".into(), "/v1/stock/movements/1".into())],
            body: b"{}".to_vec(),
            replayed,
        };
        let (first, again) = (answer(stored(false)), answer(stored(true)));
        assert_eq!(first.status(), again.status());
        assert_eq!(
            first.headers().get("location"),
            again.headers().get("location")
        );
        assert!(first.headers().get(REPLAYED).is_none());
        assert_eq!(again.headers().get(REPLAYED).unwrap(), "true");
    }
}
