//! One request, sent again where that is safe.

use std::fmt;
use std::io::{self, Read};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use bytes::Bytes;
use http_body::Frame;
use reqwest::header::{HeaderMap, HeaderName, RETRY_AFTER};
use reqwest::{Method, StatusCode, header};
use serde::Serialize;
use serde::de::DeserializeOwned;
use tokio::sync::mpsc;

use crate::client::Client;
use crate::error::Error;
use crate::problem::Problem;

/// Bytes of a table that are read at once.
const PART: usize = 64 * 1024;

/// Opens a table anew for each attempt.
type Opens = dyn Fn() -> io::Result<Box<dyn Read + Send>> + Send + Sync;

/// What a request carries.
#[derive(Clone)]
pub(crate) enum Content {
    /// Bytes of a type.
    Bytes(&'static str, Bytes),
    /// A table that is read as it is sent.
    Table(Arc<Opens>),
}

impl fmt::Debug for Content {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bytes(kind, bytes) => write!(f, "{} bytes of {kind}", bytes.len()),
            Self::Table(_) => f.write_str("a table"),
        }
    }
}

impl Content {
    pub(crate) fn json(body: &impl Serialize) -> Result<Self, Error> {
        let bytes = serde_json::to_vec(body)
            .map_err(|e| Error::NotSent(format!("the body cannot be written: {e}")))?;
        Ok(Self::Bytes("application/json", bytes.into()))
    }

    fn kind(&self) -> &'static str {
        match self {
            Self::Bytes(kind, _) => kind,
            Self::Table(_) => "text/csv",
        }
    }

    fn body(&self) -> Result<reqwest::Body, Error> {
        match self {
            Self::Bytes(_, bytes) => Ok(bytes.clone().into()),
            Self::Table(open) => {
                let table =
                    open().map_err(|e| Error::NotSent(format!("the table cannot be read: {e}")))?;
                Ok(reqwest::Body::wrap(Parts::of(table)))
            }
        }
    }
}

/// A table on its way: read part by part away from the event loop.
struct Parts(mpsc::Receiver<io::Result<Bytes>>);

impl Parts {
    fn of(mut table: Box<dyn Read + Send>) -> Self {
        let (send, receive) = mpsc::channel(4);
        tokio::task::spawn_blocking(move || {
            loop {
                let mut part = vec![0; PART];
                let read = match table.read(&mut part) {
                    Ok(0) => break,
                    Ok(read) => {
                        part.truncate(read);
                        Ok(part.into())
                    }
                    Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
                    Err(e) => Err(e),
                };
                let failed = read.is_err();
                // Nobody listens any more where the request has ended early.
                if send.blocking_send(read).is_err() || failed {
                    break;
                }
            }
        });
        Self(receive)
    }
}

impl http_body::Body for Parts {
    type Data = Bytes;
    type Error = io::Error;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<io::Result<Frame<Bytes>>>> {
        self.0
            .poll_recv(context)
            .map(|part| part.map(|read| read.map(Frame::data)))
    }
}

/// A request.
#[derive(Debug, Clone)]
pub(crate) struct Call {
    pub(crate) method: Method,
    pub(crate) path: String,
    pub(crate) content: Option<Content>,
    pub(crate) headers: Vec<(HeaderName, String)>,
    /// How long it may take, where that is not the client's usual time.
    pub(crate) timeout: Option<Duration>,
    /// Whether it may be sent again: it stores nothing, or what it says makes it happen once.
    pub(crate) again: bool,
}

impl Call {
    pub(crate) fn new(method: Method, path: impl Into<String>) -> Self {
        Self {
            method,
            path: path.into(),
            content: None,
            headers: Vec::new(),
            timeout: None,
            again: true,
        }
    }

    pub(crate) fn carrying(mut self, content: Content) -> Self {
        self.content = Some(content);
        self
    }

    pub(crate) fn with(mut self, name: HeaderName, value: impl Into<String>) -> Self {
        self.headers.push((name, value.into()));
        self
    }

    pub(crate) fn under(self, key: &str) -> Self {
        self.with(
            HeaderName::from_static("idempotency-key"),
            format!("\"{key}\""),
        )
    }

    pub(crate) fn within(mut self, timeout: Duration) -> Self {
        self.timeout = Some(timeout);
        self
    }

    pub(crate) fn only_once(mut self) -> Self {
        self.again = false;
        self
    }
}

/// An answer in full.
#[derive(Debug)]
pub(crate) struct Answered {
    pub(crate) headers: HeaderMap,
    bytes: Bytes,
}

impl Answered {
    pub(crate) fn read<T: DeserializeOwned>(&self) -> Result<T, Error> {
        let bytes: &[u8] = if self.bytes.is_empty() {
            b"null"
        } else {
            &self.bytes
        };
        serde_json::from_slice(bytes).map_err(|e| Error::NotUnderstood(e.to_string()))
    }
}

/// What the service asks to wait: seconds, or a date.
fn retry_after(headers: &HeaderMap) -> Option<Duration> {
    let text = headers.get(RETRY_AFTER)?.to_str().ok()?.trim();
    if let Ok(seconds) = text.parse() {
        return Some(Duration::from_secs(seconds));
    }
    let at = chrono::DateTime::parse_from_rfc2822(text).ok()?;
    let left = at.signed_duration_since(chrono::Utc::now());
    Some(left.to_std().unwrap_or_default())
}

/// What an answer without success means.
pub(crate) fn refused(status: StatusCode, headers: &HeaderMap, bytes: &[u8], sent: u32) -> Error {
    match serde_json::from_slice::<Problem>(bytes) {
        Ok(mut problem) => {
            problem.retry_after = retry_after(headers);
            problem.sent = sent;
            Error::Refused(Box::new(problem))
        }
        Err(_) => Error::Foreign(status.as_u16()),
    }
}

impl Client {
    /// Sends a request, again where it may be and what went wrong may pass.
    pub(crate) async fn send(&self, call: &Call) -> Result<Answered, Error> {
        let mut sent = 1;
        loop {
            let (failed, asked) = match self.attempt(call, sent).await {
                Ok(answer) => return Ok(answer),
                Err(failed) => failed,
            };
            let last = !call.again || sent >= self.repeating.attempts;
            let too_long = asked.is_some_and(|asked| asked > self.repeating.longest);
            if last || too_long || !failed.is_retryable() {
                return Err(failed);
            }
            let pause = asked.unwrap_or_else(|| self.repeating.pause_after(sent));
            tokio::time::sleep(pause).await;
            sent += 1;
        }
    }

    /// Sends a request once; with an error comes what the service asks to wait.
    async fn attempt(&self, call: &Call, sent: u32) -> Result<Answered, (Error, Option<Duration>)> {
        let without = |e: Error| (e, None);
        let request = self.request(call).map_err(without)?;
        let answer = request.send().await.map_err(|e| without(e.into()))?;
        let (status, headers) = (answer.status(), answer.headers().clone());
        let bytes = answer.bytes().await.map_err(|e| without(e.into()))?;
        if status.is_success() {
            return Ok(Answered { headers, bytes });
        }
        Err((
            refused(status, &headers, &bytes, sent),
            retry_after(&headers),
        ))
    }

    pub(crate) fn request(&self, call: &Call) -> Result<reqwest::RequestBuilder, Error> {
        let url = format!("{}{}", self.base, call.path);
        let mut request = self
            .http
            .request(call.method.clone(), url)
            .bearer_auth(&self.token);
        if let Some(content) = &call.content {
            request = request
                .header(header::CONTENT_TYPE, content.kind())
                .body(content.body()?);
        }
        if let Some(trace) = &self.trace {
            request = request.header("traceparent", trace);
        }
        if let Some(timeout) = call.timeout {
            request = request.timeout(timeout);
        }
        Ok(call.headers.iter().fold(request, |request, (name, value)| {
            request.header(name, value)
        }))
    }
}
