//! How much a caller may ask, told in the headers of the IETF's draft-ietf-httpapi-ratelimit-headers-10.
//!
//! Three policies: `token` for whoever shows one (or is signed in with it), `address` for all that come
//! from one, and `wrong_token` for guesses. A right token passes also where the guesses of its address
//! are used up: a secret has 256 random bits, so what is held back is the noise, and one tablet whose
//! token was revoked does not lock the counter out that shares its address.
//!
//! Besides, `at_once` bounds how many requests of one caller are worked on at the same time
//! ([`away`]): a greedy one stands in its own line rather than in everybody's.

mod address;
mod bucket;
mod headers;
mod line;

use std::future::Future;
use std::net::IpAddr;
use std::sync::{Arc, Once};
use std::time::{Duration, Instant};

use actix_web::http::header::{HeaderName, RETRY_AFTER};
use actix_web::{HttpRequest, web};
use uuid::Uuid;

use crate::http::problem::{Problem, RATE_LIMITED};
use crate::metrics::Metrics;

use address::counted_as;
pub use address::{Proxies, ProxyHeader, is_forwarded};
pub use bucket::{Allowance, Left};
use bucket::{Buckets, Empty};
pub use headers::{POLICY, RATE};
use line::{Caller, Lines, Place};

/// A refused caller gets its answer after a moment: asking again at once then costs the service little.
const PAUSE: Duration = Duration::from_millis(100);

/// How much callers may ask.
#[derive(Debug, Clone)]
pub struct Rates {
    /// With one token.
    pub token: Allowance,
    /// From one address, with and without tokens.
    pub address: Allowance,
    /// Of wrong tokens from one address.
    pub wrong_token: Allowance,
    /// Requests of one caller that are worked on at the same time; 0 where there is no limit.
    pub at_once: usize,
    /// Requests of one caller that wait for their turn.
    pub waiting: usize,
    /// Callers on this machine are limited as well.
    pub loopback: bool,
    /// Proxies whose word on the caller's address is taken.
    pub proxies: Proxies,
}

impl Default for Rates {
    fn default() -> Self {
        let allowance = |per_minute, burst| Allowance { per_minute, burst };
        Self {
            token: allowance(1200, 200),
            address: allowance(2400, 400),
            wrong_token: allowance(30, 30),
            at_once: std::thread::available_parallelism().map_or(2, |n| n.get().max(2)),
            waiting: 32,
            loopback: false,
            proxies: Proxies::default(),
        }
    }
}

/// What callers have asked so far.
#[derive(Debug)]
pub struct Limiter {
    rates: Rates,
    tokens: Buckets<Uuid>,
    addresses: Buckets<IpAddr>,
    wrong: Buckets<IpAddr>,
    lines: Lines,
    metrics: Arc<Metrics>,
    warned: Once,
}

/// A policy with what it leaves to a caller.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    policy: &'static str,
    left: Left,
}

/// Who asks, as far as limits are concerned.
#[derive(Debug, Clone, Copy)]
pub struct Asker {
    /// The token that was shown, or with which the browser is signed in.
    pub token: Option<Uuid>,
    /// Where from.
    pub address: IpAddr,
}

impl Limiter {
    /// Begins with full buckets.
    pub fn of(rates: Rates, metrics: Arc<Metrics>) -> Self {
        Self {
            tokens: Buckets::of(rates.token),
            addresses: Buckets::of(rates.address),
            wrong: Buckets::of(rates.wrong_token),
            lines: Lines::of(rates.at_once, rates.waiting),
            metrics,
            warned: Once::new(),
            rates,
        }
    }

    /// The address that a request is counted for; `None` where it is not limited.
    pub fn address(&self, request: &HttpRequest) -> Option<IpAddr> {
        let peer = request.peer_addr()?.ip().to_canonical();
        let forwarded = is_forwarded(request.headers());
        if peer.is_loopback() && !forwarded && !self.rates.loopback {
            return None;
        }
        let caller = self.rates.proxies.caller(peer, request.headers());
        if forwarded && caller == peer && peer.is_loopback() {
            self.warned.call_once(|| {
                tracing::warn!(
                    "requests come through a proxy on this machine that is no trusted proxy in its header: all its \
                     callers count as one address"
                );
            });
        }
        Some(counted_as(caller))
    }

    /// Counts a request that costs so much; what is left to its caller under each policy.
    ///
    /// # Errors
    /// `rate_limited`.
    pub fn admit(&self, asker: Asker, cost: u32) -> Result<Vec<Standing>, Problem> {
        let now = Instant::now();
        let mut standings = Vec::with_capacity(2);
        // The token first: what it is refused does not weigh on the address that others share.
        if let Some(token) = asker.token.filter(|_| self.rates.token.limits()) {
            let left = self.tokens.take(token, cost, now);
            standings.push(self.standing("token", left)?);
        }
        if self.rates.address.limits() {
            let left = self.addresses.take(asker.address, cost, now);
            standings.push(self.standing("address", left)?);
        }
        Ok(standings)
    }

    /// Counts a wrong token.
    ///
    /// # Errors
    /// `rate_limited`.
    pub fn wrong_token(&self, address: IpAddr) -> Result<(), Problem> {
        if !self.rates.wrong_token.limits() {
            return Ok(());
        }
        let left = self.wrong.take(address, 1, Instant::now());
        self.standing("wrong_token", left).map(drop)
    }

    fn standing(
        &self,
        policy: &'static str,
        left: Result<Left, Empty>,
    ) -> Result<Standing, Problem> {
        match left {
            Ok(left) => Ok(Standing { policy, left }),
            Err(Empty { left, wait }) => Err(self.refused(Standing { policy, left }, wait)),
        }
    }

    fn refused(&self, standing: Standing, wait: Duration) -> Problem {
        self.metrics.limited(standing.policy);
        let seconds = whole_seconds(wait).max(1);
        let detail = match standing.policy {
            "at_once" => format!(
                "{} of your requests are being worked on and {} wait already",
                self.rates.at_once, self.rates.waiting
            ),
            "wrong_token" => format!(
                "too many wrong tokens came from your address; wait {seconds} s before the next, or send a right one"
            ),
            policy => {
                let (whose, allowed) = match policy {
                    "token" => ("one token", self.rates.token),
                    _ => ("one address", self.rates.address),
                };
                let Allowance { per_minute, burst } = allowed;
                format!(
                    "{whose} may send {burst} requests at once and then {per_minute} a minute; wait {seconds} s"
                )
            }
        };
        let problem = Problem::new(&RATE_LIMITED, detail)
            .member("policy", standing.policy)
            .header(RETRY_AFTER, &seconds.to_string());
        self.told(&[standing])
            .fold(problem, |problem, (name, value)| {
                problem.header(name, &value)
            })
    }

    /// The headers that tell what is left under some policies, and what all of them allow.
    pub fn told(&self, standings: &[Standing]) -> impl Iterator<Item = (HeaderName, String)> {
        let lines = [
            (RATE, headers::rate(standings)),
            (POLICY, headers::policies(&self.rates, standings)),
        ];
        // Where nothing is limited by a rate, nothing is left to be told.
        lines.into_iter().filter(|(_, line)| !line.is_empty())
    }

    async fn place(&self, caller: Caller) -> Result<Place, Problem> {
        self.lines.place(caller).await.map_err(|_| {
            let left = Left {
                requests: 0,
                full_in: Duration::from_secs(1),
            };
            let policy = "at_once";
            self.refused(Standing { policy, left }, Duration::from_secs(1))
        })
    }
}

fn whole_seconds(time: Duration) -> u64 {
    time.as_secs() + u64::from(time.subsec_nanos() > 0)
}

/// Holds the answer of a refused caller back for a moment.
pub async fn pause() {
    actix_web::rt::time::sleep(PAUSE).await;
}

/// Whose request is being answered, for the line that its work stands in.
#[derive(Debug, Clone)]
struct Queued {
    limiter: Arc<Limiter>,
    caller: Caller,
}

tokio::task_local! {
    static QUEUED: Queued;
}

/// Answers a request in the line of whoever asks.
pub async fn in_line<T>(limiter: Arc<Limiter>, asker: Asker, answer: impl Future<Output = T>) -> T {
    if limiter.rates.at_once == 0 {
        return answer.await;
    }
    let caller = match asker.token {
        Some(token) => Caller::Token(token),
        None => Caller::Address(asker.address),
    };
    QUEUED.scope(Queued { limiter, caller }, answer).await
}

/// Does work that may take long away from the event loop, in the request's span, once it is its
/// caller's turn.
///
/// # Errors
/// `rate_limited` where the caller's line is full; `internal` where the work panics.
pub async fn away<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, Problem> {
    let place = match QUEUED.try_with(Clone::clone) {
        Ok(queued) => match queued.limiter.place(queued.caller).await {
            Ok(place) => Some(place),
            Err(full) => {
                pause().await;
                return Err(full);
            }
        },
        Err(_) => None,
    };
    let span = tracing::Span::current();
    let done = web::block(move || {
        // Its place is taken until the work is done, also where the caller goes away meanwhile.
        let _place = place;
        span.in_scope(work)
    });
    Ok(done.await?)
}
