//! One request to a receiver: to an address that was checked after its name was looked up, without
//! following a redirect, bounded in time and in what is read of the answer.

use std::error::Error;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};

use reqwest::dns::{Addrs, Name, Resolve, Resolving};
use reqwest::{Response, Url, redirect};

use crate::service::now;
use crate::service::webhooks::allowed::Allowed;
use crate::service::webhooks::deliveries::{Parcel, Tried};
use crate::service::webhooks::{Sending, host, refused, target};

/// Why a name leads nowhere.
type Cause = Box<dyn Error + Send + Sync>;

/// What is read of an answer.
const ANSWER: usize = 64 << 10;
/// How long a connection may take to be made.
const CONNECT: Duration = Duration::from_secs(5);

/// Sends deliveries.
#[derive(Debug)]
pub struct Client {
    /// For https.
    sealed: reqwest::Client,
    /// For http, which goes to listed addresses only.
    open: reqwest::Client,
    allowed: Allowed,
    timeout: Duration,
}

/// Looks a name up and leaves only addresses that may be sent to: the connection is made to one of
/// them, and to no other.
#[derive(Debug)]
struct Checked {
    allowed: Allowed,
    encrypted: bool,
}

impl Resolve for Checked {
    fn resolve(&self, name: Name) -> Resolving {
        Box::pin(checked(name, self.allowed.clone(), self.encrypted))
    }
}

async fn checked(name: Name, allowed: Allowed, encrypted: bool) -> Result<Addrs, Cause> {
    let name = name.as_str();
    let found: Vec<SocketAddr> = tokio::net::lookup_host((name, 0)).await?.collect();
    let first = found.first().map(SocketAddr::ip);
    let taken: Vec<SocketAddr> = found
        .into_iter()
        .filter(|address| allowed.takes(name, address.ip(), encrypted))
        .collect();
    match first {
        Some(first) if taken.is_empty() => Err(refused(name, first, encrypted).into()),
        Some(_) => Ok(Box::new(taken.into_iter())),
        None => Err(format!("{name} has no address").into()),
    }
}

impl Client {
    /// A client for what the operator's settings say.
    ///
    /// # Errors
    /// Where no encryption can be set up.
    pub fn new(sending: &Sending) -> Result<Self, reqwest::Error> {
        // Somebody may have installed it already.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let client = |encrypted| {
            let checked = Checked {
                allowed: sending.allowed.clone(),
                encrypted,
            };
            reqwest::Client::builder()
                .dns_resolver(Arc::new(checked))
                .redirect(redirect::Policy::none())
                .no_proxy()
                .no_gzip()
                .connect_timeout(CONNECT)
                .timeout(sending.timeout)
                .user_agent(concat!("plugwell/", env!("CARGO_PKG_VERSION")))
                .build()
        };
        Ok(Self {
            sealed: client(true)?,
            open: client(false)?,
            allowed: sending.allowed.clone(),
            timeout: sending.timeout,
        })
    }

    /// Makes one attempt.
    pub async fn send(&self, parcel: &Parcel) -> Tried {
        let (at, begun) = (now(), Instant::now());
        let answer = match self.checked(&parcel.url) {
            Ok((client, url)) => {
                let request = client
                    .post(url)
                    .header(
                        "content-type",
                        "application/cloudevents+json; charset=utf-8",
                    )
                    .header("webhook-id", &parcel.message_id)
                    .header("webhook-timestamp", at.timestamp().to_string())
                    .header("webhook-signature", parcel.signatures(at))
                    .body(parcel.payload.clone());
                request.send().await.map_err(|e| self.said(&e))
            }
            Err(failure) => Err(failure),
        };
        let mut tried = Tried {
            at,
            took_ms: 0,
            status: None,
            failure: None,
            retry_after: None,
        };
        match answer {
            Ok(answer) => {
                let status = answer.status();
                tried.status = Some(status.as_u16());
                let header = answer.headers().get("retry-after");
                tried.retry_after = header.and_then(|v| v.to_str().ok()).map(str::to_owned);
                tried.failure = match status.as_u16() {
                    200..300 => None,
                    300..400 => Some(format!(
                        "the answer was {status}: redirects are not followed"
                    )),
                    _ => Some(format!("the answer was {status}")),
                };
                read_some(answer).await;
            }
            Err(failure) => tried.failure = Some(failure),
        }
        tried.took_ms = i64::try_from(begun.elapsed().as_millis()).unwrap_or(i64::MAX);
        tried
    }

    /// The client for a URL; one that names an address is checked here, since nothing is looked up.
    fn checked(&self, url: &str) -> Result<(&reqwest::Client, Url), String> {
        let url = target(url)?;
        let encrypted = url.scheme() == "https";
        if let (name, Some(address)) = host(&url)
            && !self.allowed.takes(&name, address, encrypted)
        {
            return Err(refused(&name, address, encrypted));
        }
        let client = if encrypted { &self.sealed } else { &self.open };
        Ok((client, url))
    }

    /// What went wrong, in the words of its cause.
    fn said(&self, error: &reqwest::Error) -> String {
        if error.is_timeout() {
            return format!(
                "there was no answer within {} s",
                self.timeout.as_secs_f32()
            );
        }
        let mut cause: &dyn Error = error;
        while let Some(inner) = cause.source() {
            cause = inner;
        }
        let told: String = cause.to_string().chars().take(300).collect();
        match error.is_connect() {
            true => format!("no connection: {told}"),
            false => told,
        }
    }
}

/// Reads an answer as far as its bounds: a short one leaves its connection for the next delivery, of a
/// long one the rest is never fetched.
async fn read_some(mut answer: Response) {
    let mut read = 0;
    while let Ok(Some(chunk)) = answer.chunk().await {
        read += chunk.len();
        if read > ANSWER {
            break;
        }
    }
}
