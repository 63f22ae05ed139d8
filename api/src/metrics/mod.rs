//! What the service counts while it runs: OpenMetrics 1.0, names and units by its conventions.
//!
//! What a request, a match or a refusal leaves is counted where it happens; what can be read off the
//! shop at any time is read when somebody asks (`figures`). Labels are words of closed lists: no path,
//! no address, no token stands in one.

mod figures;

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use prometheus_client::encoding::{EncodeLabelSet, text};
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::ConstGauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::metrics::info::Info;
use prometheus_client::registry::{Registry, Unit};

use crate::service::Shop;
use figures::Figures;

/// The media type of the exposition.
pub const MEDIA_TYPE: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// Upper ends of the classes of time, in seconds: a match of a small catalogue to an import.
const SECONDS: [f64; 12] = [
    0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 5.0, 30.0,
];
/// Upper ends of the classes of candidates.
const CANDIDATES: [f64; 9] = [
    0.0,
    10.0,
    100.0,
    1_000.0,
    5_000.0,
    10_000.0,
    50_000.0,
    100_000.0,
    1_000_000.0,
];

/// The policies of limits.
const POLICIES: [&str; 4] = ["token", "address", "wrong_token", "at_once"];

/// An operation, by its method and the pattern of its path.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
pub struct Operation {
    /// The method; `other` for what HTTP does not name.
    pub method: &'static str,
    /// The pattern, or `page`, or `unknown`.
    pub route: &'static str,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Answered {
    method: &'static str,
    route: &'static str,
    status: u16,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Refused {
    policy: &'static str,
}

/// The counters of a running service.
#[derive(Debug)]
pub struct Metrics {
    registry: Registry,
    requests: Family<Answered, Counter>,
    took: Family<Operation, Histogram, fn() -> Histogram>,
    panics: Counter,
    refused: Family<Refused, Counter>,
    matched: Histogram,
    candidates: Histogram,
}

impl Default for Metrics {
    fn default() -> Self {
        let mut metrics = Self {
            registry: Registry::default(),
            requests: Family::default(),
            took: Family::new_with_constructor(|| Histogram::new(SECONDS)),
            panics: Counter::default(),
            refused: Family::default(),
            matched: Histogram::new(SECONDS),
            candidates: Histogram::new(CANDIDATES),
        };
        // Nothing refused yet is a count as well.
        for policy in POLICIES {
            let refused = Refused { policy };
            drop(metrics.refused.get_or_create(&refused));
        }
        metrics.register();
        metrics
    }
}

impl Metrics {
    fn register(&mut self) {
        let started = SystemTime::now().duration_since(UNIX_EPOCH);
        let started = started.unwrap_or_default().as_secs_f64();
        self.registry.register_with_unit(
            "process_start_time",
            "When the process began, since 1970",
            Unit::Seconds,
            ConstGauge::new(started),
        );
        let own = self.registry.sub_registry_with_prefix("plugwell");
        own.register(
            "build",
            "Which program this is",
            Info::new([("version", env!("CARGO_PKG_VERSION"))]),
        );
        own.register(
            "requests",
            "Requests that were answered",
            self.requests.clone(),
        );
        own.register_with_unit(
            "request_duration",
            "Time from the head of a request to the head of its answer",
            Unit::Seconds,
            self.took.clone(),
        );
        own.register(
            "panics",
            "Requests that ended in a panic",
            self.panics.clone(),
        );
        own.register(
            "limited",
            "Requests that a limit refused, by the policy",
            self.refused.clone(),
        );
        own.register_with_unit(
            "match_duration",
            "Time from a requirement to the plugs that meet it",
            Unit::Seconds,
            self.matched.clone(),
        );
        own.register(
            "match_candidates",
            "Records that the index looked for fits among, for each match",
            self.candidates.clone(),
        );
    }

    /// A request was answered.
    pub fn answered(&self, operation: &Operation, status: u16, took: Duration) {
        let answered = Answered {
            method: operation.method,
            route: operation.route,
            status,
        };
        self.requests.get_or_create(&answered).inc();
        let took_so_far = self.took.get_or_create(operation);
        took_so_far.observe(took.as_secs_f64());
    }

    /// A request ended in a panic.
    pub fn panicked(&self) {
        self.panics.inc();
    }

    /// A limit refused a request.
    pub fn limited(&self, policy: &'static str) {
        self.refused.get_or_create(&Refused { policy }).inc();
    }

    /// A match was made.
    pub fn matched(&self, took: Duration, candidates: u64) {
        self.matched.observe(took.as_secs_f64());
        self.candidates.observe(candidates as f64);
    }

    /// What was counted of requests and matches, as text that goes on.
    pub fn exposition_of_requests(&self) -> String {
        let mut out = String::new();
        // Writing to a string does not fail.
        let _ = text::encode_registry(&mut out, &self.registry);
        out
    }

    /// Everything that was counted and that can be read off the shop, as text. Where the database does
    /// not answer, what would have to be asked of it is left out.
    pub fn exposition(&self, shop: &Shop) -> String {
        let mut now = Registry::with_prefix("plugwell");
        now.register_collector(Box::new(Figures::of(shop)));
        let mut out = self.exposition_of_requests();
        let _ = text::encode_registry(&mut out, &now).and_then(|()| text::encode_eof(&mut out));
        out
    }
}
