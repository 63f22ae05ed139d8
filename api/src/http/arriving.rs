//! Bodies as they come in: type and size are looked at before anything is read.

use std::io::Write;
use std::time::Duration;

use actix_web::HttpRequest;
use actix_web::dev::Payload;
use actix_web::http::header::{self, HeaderMap};
use actix_web::web::Bytes;
use futures_util::StreamExt;
use sha2::{Digest, Sha256};
use tempfile::SpooledTempFile;
use tokio::time::timeout;

use crate::http::problem::{PAYLOAD_TOO_LARGE, Problem, TOO_SLOW, UNSUPPORTED_MEDIA_TYPE};

/// Tables up to so many bytes are kept in memory.
const IN_MEMORY: usize = 1 << 20;

/// How long the next bytes of a body may take. A slow line brings some in this time; whoever has gone
/// without a word would hold a connection, and a place in its own line, for ever.
pub(super) const SILENCE: Duration = Duration::from_secs(30);

/// A body whose type and announced size are right.
pub(super) struct Arriving {
    payload: Payload,
    limit: usize,
    silence: Duration,
}

pub(super) fn arriving(
    request: &HttpRequest,
    payload: &mut Payload,
    media: &[&str],
    limit: usize,
) -> Result<Arriving, Problem> {
    let headers = request.headers();
    let given = headers
        .get(header::CONTENT_TYPE)
        .and_then(|v| v.to_str().ok())
        .unwrap_or_default();
    if !is_media(given, media) || is_encoded(headers) {
        let detail = format!("send {}, not compressed", media.join(" or "));
        return Err(
            Problem::new(&UNSUPPORTED_MEDIA_TYPE, detail).header(header::ACCEPT, &media.join(", "))
        );
    }
    let announced = headers
        .get(header::CONTENT_LENGTH)
        .and_then(|v| v.to_str().ok()?.parse::<usize>().ok());
    if announced.is_some_and(|length| length > limit) {
        return Err(too_large(limit));
    }
    Ok(Arriving::of(payload, limit))
}

fn too_large(limit: usize) -> Problem {
    Problem::new(
        &PAYLOAD_TOO_LARGE,
        format!("at most {limit} bytes are taken here"),
    )
}

/// Whether a content type is one of some, in UTF-8 or without saying.
fn is_media(given: &str, media: &[&str]) -> bool {
    let mut parts = given.split(';');
    let essence = parts.next().unwrap_or_default().trim();
    let foreign = parts
        .filter_map(|p| p.trim().split_once('='))
        .any(|(name, value)| {
            let value = value.trim_matches('"');
            name.eq_ignore_ascii_case("charset")
                && !["utf-8", "us-ascii"]
                    .iter()
                    .any(|known| value.eq_ignore_ascii_case(known))
        });
    media.iter().any(|m| essence.eq_ignore_ascii_case(m)) && !foreign
}

fn is_encoded(headers: &HeaderMap) -> bool {
    headers
        .get(header::CONTENT_ENCODING)
        .is_some_and(|v| !v.as_bytes().eq_ignore_ascii_case(b"identity"))
}

impl Arriving {
    /// The body of a request, whatever its type.
    pub(super) fn of(payload: &mut Payload, limit: usize) -> Self {
        Self {
            payload: payload.take(),
            limit,
            silence: SILENCE,
        }
    }

    /// The next bytes; none at the end.
    async fn next(&mut self) -> Result<Option<Bytes>, Problem> {
        match timeout(self.silence, self.payload.next()).await {
            Ok(chunk) => Ok(chunk.transpose()?),
            Err(_) => Err(Problem::new(&TOO_SLOW, TOO_SLOW.cause)),
        }
    }

    /// The whole body.
    pub(super) async fn whole(mut self) -> Result<Bytes, Problem> {
        let mut raw = actix_web::web::BytesMut::new();
        while let Some(chunk) = self.next().await? {
            if raw.len() + chunk.len() > self.limit {
                return Err(too_large(self.limit));
            }
            raw.extend_from_slice(&chunk);
        }
        Ok(raw.freeze())
    }

    /// The body without having it in memory.
    pub(super) async fn kept(mut self) -> Result<(SpooledTempFile, [u8; 32]), Problem> {
        let mut table = SpooledTempFile::new(IN_MEMORY);
        let (mut hash, mut length) = (Sha256::new(), 0);
        while let Some(chunk) = self.next().await? {
            length += chunk.len();
            if length > self.limit {
                return Err(too_large(self.limit));
            }
            hash.update(&chunk);
            table
                .write_all(&chunk)
                .map_err(|e| Problem::internal(format!("a table cannot be kept: {e}")))?;
        }
        Ok((table, hash.finalize().into()))
    }
}

#[cfg(test)]
mod tests {
    use actix_web::error::PayloadError;
    use futures_util::stream;

    use super::*;

    /// A body that begins and then says nothing more.
    fn stopped() -> Arriving {
        let begun = stream::iter([Ok::<_, PayloadError>(Bytes::from_static(b"{\"name\": "))]);
        Arriving {
            payload: Payload::Stream {
                payload: Box::pin(begun.chain(stream::pending())),
            },
            limit: 1024,
            silence: Duration::from_millis(20),
        }
    }

    #[actix_web::test]
    async fn a_body_that_stops_arriving_is_answered() {
        let whole = stopped().whole().await.map(drop);
        let kept = stopped().kept().await.map(drop);
        for refused in [whole, kept] {
            assert_eq!(refused.unwrap_err().code(), &TOO_SLOW);
        }
    }

    #[test]
    fn the_content_type_is_compared_without_its_trimmings() {
        let json = &["application/json"];
        for given in [
            "application/json",
            "Application/JSON; charset=UTF-8",
            "application/json;charset=\"utf-8\"",
        ] {
            assert!(is_media(given, json), "{given}");
        }
        for given in [
            "",
            "text/json",
            "application/json5",
            "application/json; charset=utf-16",
            "json",
        ] {
            assert!(!is_media(given, json), "{given}");
        }
    }
}
