//! The client, and the calls that everything else stands on.

use std::time::Duration;

use reqwest::Method;
use serde::Serialize;
use serde::de::DeserializeOwned;
use uuid::Uuid;

use crate::error::Error;
use crate::sending::{Call, Content};
use crate::settings::{Builder, Repeating};

/// A client with the address of a service and a token. A clone shares its connections.
#[derive(Debug, Clone)]
pub struct Client {
    pub(crate) http: reqwest::Client,
    pub(crate) base: String,
    pub(crate) token: String,
    pub(crate) timeout: Duration,
    pub(crate) tables: Duration,
    pub(crate) repeating: Repeating,
    pub(crate) trace: Option<String>,
    key: Option<String>,
}

impl Client {
    /// A client of the service at `base`, such as `http://127.0.0.1:8717`, with the usual time-outs.
    ///
    /// # Errors
    /// [`Error::NotSent`] where no HTTP client can be set up on this machine.
    pub fn new(base: &str, token: &str) -> Result<Self, Error> {
        Self::builder(base, token).build()
    }

    /// A client that is set up otherwise.
    pub fn builder(base: &str, token: &str) -> Builder {
        Builder::new(base, token)
    }

    pub(crate) fn made(http: reqwest::Client, told: Builder) -> Self {
        Self {
            http,
            base: told.base,
            token: told.token,
            timeout: told.timeout,
            tables: told.tables,
            repeating: told.repeating,
            trace: None,
            key: None,
        }
    }

    /// The same client, whose requests belong to a trace of the caller's: a `traceparent` as the W3C
    /// Recommendation "Trace Context" writes it. The service logs under its trace id.
    #[must_use]
    pub fn in_trace(mut self, traceparent: &str) -> Self {
        self.trace = Some(traceparent.to_owned());
        self
    }

    /// The same client, whose commands carry this once-only key instead of a new one each: for a
    /// program that wants to give one command again after its own restart. It is good for one command;
    /// another under the same key is refused as [`Code::OnceKeyReused`](crate::Code::OnceKeyReused).
    ///
    /// # Errors
    /// [`Error::NotSent`] unless the key is 1 to 128 visible ASCII characters without `"` and `\`.
    pub fn under_key(mut self, key: &str) -> Result<Self, Error> {
        let right = |c: u8| c.is_ascii_graphic() && c != b'"' && c != b'\\';
        if !(1..=128).contains(&key.len()) || !key.bytes().all(right) {
            let told = format!("{key:?} is no once-only key: 1 to 128 visible ASCII characters");
            return Err(Error::NotSent(told));
        }
        self.key = Some(key.to_owned());
        Ok(self)
    }

    /// Asks for a resource by its path.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn get<T: DeserializeOwned>(&self, path: &str) -> Result<T, Error> {
        self.send(&Call::new(Method::GET, path)).await?.read()
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
        let call = Call::new(Method::POST, path).carrying(Content::json(body)?);
        self.send(&call).await?.read()
    }

    /// Stores a record, such as a token; sent once, whatever happens.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn create<T: DeserializeOwned>(
        &self,
        path: &str,
        body: &impl Serialize,
    ) -> Result<T, Error> {
        let call = Call::new(Method::POST, path).carrying(Content::json(body)?);
        self.send(&call.only_once()).await?.read()
    }

    /// Gives a command that moves or reserves stock, with a once-only key: however often it has to be
    /// sent, it is done once.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn command<T: DeserializeOwned>(
        &self,
        path: &str,
        body: &impl Serialize,
    ) -> Result<T, Error> {
        let call = Call::new(Method::POST, path).carrying(Content::json(body)?);
        self.send(&call.under(&self.once())).await?.read()
    }

    /// The key of the next command.
    pub(crate) fn once(&self) -> String {
        self.key
            .clone()
            .unwrap_or_else(|| Uuid::now_v7().to_string())
    }
}
