//! A client of plugwell's HTTP API, for other shop software in Rust, the command line and the tests.
//!
//! It carries the token, gives every command a once-only key, repeats what is safe to repeat, and
//! turns problem documents (RFC 9457) into typed errors.

mod problem;

use std::time::Duration;

pub use problem::{Fault, Problem};
use reqwest::{Method, StatusCode, header};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use uuid::Uuid;

/// How often a request that is safe to repeat is sent at the most.
const ATTEMPTS: u32 = 3;

/// How long a large table may take, in or out.
const TABLES: Duration = Duration::from_secs(3600);

/// Why a call brought no answer.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The service refused, and says why.
    #[error("{0}")]
    Refused(Box<Problem>),
    /// The service could not be reached, or what came back was no answer of plugwell's.
    #[error("no answer: {0}")]
    NoAnswer(String),
}

impl From<reqwest::Error> for Error {
    fn from(error: reqwest::Error) -> Self {
        // The library's own sentence leaves the cause out.
        let mut text = error.to_string();
        let mut cause = std::error::Error::source(&error);
        while let Some(inner) = cause {
            text = format!("{text}: {inner}");
            cause = inner.source();
        }
        Self::NoAnswer(text)
    }
}

/// A client with the address of a service and a token.
#[derive(Debug, Clone)]
pub struct Client {
    http: reqwest::Client,
    base: String,
    token: String,
    traceparent: Option<String>,
}

impl Client {
    /// A client of the service at `base`, such as `http://127.0.0.1:8717`.
    ///
    /// # Errors
    /// [`Error::NoAnswer`] where no HTTP client can be set up on this machine.
    pub fn new(base: &str, token: &str) -> Result<Self, Error> {
        // Another part of the process may have installed one already: that one serves.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let http = reqwest::Client::builder()
            .timeout(Duration::from_secs(60))
            .build()?;
        Ok(Self {
            http,
            base: base.trim_end_matches('/').to_owned(),
            token: token.to_owned(),
            traceparent: None,
        })
    }

    /// The same client, whose requests belong to a trace of the caller's: a `traceparent` as the W3C
    /// Recommendation "Trace Context" writes it. The service logs under its trace id.
    #[must_use]
    pub fn in_trace(mut self, traceparent: &str) -> Self {
        self.traceparent = Some(traceparent.to_owned());
        self
    }

    /// Asks for a resource; repeated where the service is out of reach for a moment.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn get<T: DeserializeOwned>(&self, path: &str) -> Result<T, Error> {
        self.send(Method::GET, path, None, None).await
    }

    /// Puts a question that stores nothing, such as `/v1/matches`.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn ask<T: DeserializeOwned>(
        &self,
        path: &str,
        body: &impl Serialize,
    ) -> Result<T, Error> {
        self.send(Method::POST, path, Some(Body::json(body)?), None)
            .await
    }

    /// Stores a record, such as a plug; never repeated.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn create<T: DeserializeOwned>(
        &self,
        path: &str,
        body: &impl Serialize,
    ) -> Result<T, Error> {
        let request = self.request(Method::POST, path, Some(&Body::json(body)?), None);
        read(request.send().await?).await
    }

    /// Gives a command that moves or reserves stock, with a once-only key of its own: however often
    /// it has to be sent, it is done once.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn command<T: DeserializeOwned>(
        &self,
        path: &str,
        body: &impl Serialize,
    ) -> Result<T, Error> {
        self.send(
            Method::POST,
            path,
            Some(Body::json(body)?),
            Some(Uuid::now_v7().to_string()),
        )
        .await
    }

    /// Sends a table of a kind, such as `plugs`.
    ///
    /// # Errors
    /// [`Error`]; a table with faults names them all in [`Problem::errors`].
    pub async fn import(&self, kind: &str, csv: Vec<u8>, dry_run: bool) -> Result<Value, Error> {
        let body = Body {
            kind: "text/csv",
            bytes: csv.into(),
        };
        let path = format!("/v1/imports/{kind}");
        let (path, key) = if dry_run {
            (format!("{path}?dry_run=true"), None)
        } else {
            (path, Some(Uuid::now_v7().to_string()))
        };
        self.send(Method::POST, &path, Some(body), key).await
    }

    /// Gets a table of a kind, such as `plugs`, part by part.
    ///
    /// # Errors
    /// [`Error`]; what `to` cannot take is one too.
    pub async fn export(&self, kind: &str, to: &mut dyn std::io::Write) -> Result<(), Error> {
        let path = format!("/v1/exports/{kind}");
        let request = self.request(Method::GET, &path, None, None);
        let mut answer = request.timeout(TABLES).send().await?;
        if !answer.status().is_success() {
            return read(answer).await;
        }
        while let Some(part) = answer.chunk().await? {
            to.write_all(&part)
                .map_err(|e| Error::NoAnswer(format!("the table cannot be written: {e}")))?;
        }
        Ok(())
    }

    fn request(
        &self,
        method: Method,
        path: &str,
        body: Option<&Body>,
        key: Option<&str>,
    ) -> reqwest::RequestBuilder {
        let mut request = self
            .http
            .request(method, format!("{}{path}", self.base))
            .bearer_auth(&self.token);
        if let Some(body) = body {
            request = request
                .header(header::CONTENT_TYPE, body.kind)
                .body(body.bytes.clone());
            if body.kind == "text/csv" {
                request = request.timeout(TABLES);
            }
        }
        if let Some(traceparent) = &self.traceparent {
            request = request.header("traceparent", traceparent);
        }
        if let Some(key) = key {
            request = request.header("Idempotency-Key", format!("\"{key}\""));
        }
        request
    }

    /// Sends what is safe to send again: nothing is stored, or a key makes it once only.
    async fn send<T: DeserializeOwned>(
        &self,
        method: Method,
        path: &str,
        body: Option<Body>,
        key: Option<String>,
    ) -> Result<T, Error> {
        let mut attempt = 1;
        loop {
            let answer = self
                .request(method.clone(), path, body.as_ref(), key.as_deref())
                .send()
                .await;
            let passing = match &answer {
                Ok(answer) => matches!(
                    answer.status(),
                    StatusCode::BAD_GATEWAY
                        | StatusCode::SERVICE_UNAVAILABLE
                        | StatusCode::GATEWAY_TIMEOUT
                ),
                Err(error) => error.is_connect() || error.is_timeout(),
            };
            if !passing || attempt == ATTEMPTS {
                return read(answer?).await;
            }
            tokio::time::sleep(Duration::from_millis(200 * u64::from(attempt))).await;
            attempt += 1;
        }
    }
}

struct Body {
    kind: &'static str,
    bytes: bytes::Bytes,
}

impl Body {
    fn json(body: &impl Serialize) -> Result<Self, Error> {
        let bytes = serde_json::to_vec(body)
            .map_err(|e| Error::NoAnswer(format!("the body cannot be written: {e}")))?;
        Ok(Self {
            kind: "application/json",
            bytes: bytes.into(),
        })
    }
}

async fn read<T: DeserializeOwned>(answer: reqwest::Response) -> Result<T, Error> {
    let status = answer.status();
    let bytes = answer.bytes().await?;
    if status.is_success() {
        let bytes: &[u8] = if bytes.is_empty() { b"null" } else { &bytes };
        return serde_json::from_slice(bytes)
            .map_err(|e| Error::NoAnswer(format!("not understood: {e}")));
    }
    match serde_json::from_slice::<Problem>(&bytes) {
        Ok(problem) => Err(Error::Refused(Box::new(problem))),
        Err(_) => Err(Error::NoAnswer(format!(
            "status {status} without a problem document"
        ))),
    }
}
