//! Settings as somebody may give them: by flag, by environment, or in a file of the same names.

use std::fmt;
use std::net::IpAddr;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde::Deserialize;

use super::BadConfig;
use crate::http::rate::ProxyHeader;

/// How the log is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LogFormat {
    /// Lines for people.
    Text,
    /// One JSON object to the line.
    Json,
}

/// Settings as somebody may give them: by flag, by environment, or in a file of the same names.
#[derive(Debug, Clone, Default, PartialEq, Eq, Args, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Given {
    /// TOML file with any of these settings, by their long names with _ for -
    #[arg(long, env = "PLUGWELL_CONFIG", value_name = "FILE")]
    #[serde(skip)]
    pub config: Option<PathBuf>,

    /// Database: postgres://USER@HOST/NAME or sqlite:FILE [default: sqlite, in the data folder]
    #[arg(
        long,
        env = "PLUGWELL_DATABASE_URL",
        value_name = "URL",
        hide_env_values = true
    )]
    pub database: Option<String>,

    /// Folder for the SQLite file and the search index; one process at a time uses it
    /// [default: ./plugwell-data, for the demo ./plugwell-demo]
    #[arg(long, env = "PLUGWELL_DATA", value_name = "DIR")]
    pub data: Option<PathBuf>,

    /// Address to listen on; anything but this machine's own wants TLS in front
    /// [default: 127.0.0.1]
    #[arg(long, env = "PLUGWELL_BIND", value_name = "ADDRESS")]
    pub bind: Option<IpAddr>,

    /// Port to listen on; 0 takes a free one [default: 8717]
    #[arg(long, env = "PLUGWELL_PORT")]
    pub port: Option<u16>,

    /// Threads that answer requests [default: one for each processor]
    #[arg(long, env = "PLUGWELL_WORKERS", value_name = "N")]
    pub workers: Option<usize>,

    /// Largest JSON body, in bytes [default: 1048576]
    #[arg(long, env = "PLUGWELL_MAX_BODY", value_name = "BYTES")]
    pub max_body: Option<usize>,

    /// Largest CSV import, in bytes [default: 536870912]
    #[arg(long, env = "PLUGWELL_MAX_IMPORT", value_name = "BYTES")]
    pub max_import: Option<usize>,

    /// Seconds that accepted requests get to finish when the service is stopped [default: 30]
    #[arg(long, env = "PLUGWELL_STOP_SECONDS", value_name = "SECONDS")]
    pub stop_seconds: Option<u64>,

    /// Minutes that a page may lie idle before its reader has to sign in again [default: 480]
    #[arg(long, env = "PLUGWELL_IDLE_MINUTES", value_name = "MINUTES")]
    pub idle_minutes: Option<usize>,

    /// Requests a minute that each token may send in the long run; 0 sets no limit
    /// [default: 1200]
    #[arg(long, env = "PLUGWELL_TOKEN_RATE", value_name = "N")]
    pub token_rate: Option<u32>,

    /// Requests that a token may send at once after a pause [default: 200]
    #[arg(long, env = "PLUGWELL_TOKEN_BURST", value_name = "N")]
    pub token_burst: Option<u32>,

    /// Requests a minute from each address, with and without tokens; 0 sets no limit
    /// [default: 2400]
    #[arg(long, env = "PLUGWELL_ADDRESS_RATE", value_name = "N")]
    pub address_rate: Option<u32>,

    /// Requests from an address at once after a pause [default: 400]
    #[arg(long, env = "PLUGWELL_ADDRESS_BURST", value_name = "N")]
    pub address_burst: Option<u32>,

    /// Wrong tokens a minute, and at once, from each address; 0 sets no limit [default: 30]
    #[arg(long, env = "PLUGWELL_WRONG_TOKEN_RATE", value_name = "N")]
    pub wrong_token_rate: Option<u32>,

    /// Requests of one token that are worked on at the same time; 0 sets no limit
    /// [default: one for each processor, and at least 2]
    #[arg(long, env = "PLUGWELL_AT_ONCE", value_name = "N")]
    pub at_once: Option<usize>,

    /// Requests of one token that wait for their turn [default: 32]
    #[arg(long, env = "PLUGWELL_WAITING", value_name = "N")]
    pub waiting: Option<usize>,

    /// Whether these limits hold for callers on this machine as well [default: false]
    #[arg(long, env = "PLUGWELL_LIMIT_LOOPBACK", value_name = "YES",
          num_args = 0..=1, default_missing_value = "true")]
    pub limit_loopback: Option<bool>,

    /// Proxies whose word on the caller's address is taken: addresses or networks, with commas
    #[arg(
        long,
        env = "PLUGWELL_TRUSTED_PROXIES",
        value_name = "NETWORKS",
        value_delimiter = ','
    )]
    pub trusted_proxies: Option<Vec<String>>,

    /// Header in which they give it; it has to be one that they overwrite or add to
    /// [default: x-forwarded-for]
    #[arg(long, env = "PLUGWELL_PROXY_HEADER", value_name = "HEADER")]
    pub proxy_header: Option<ProxyHeader>,

    /// Form of the log, which goes to standard error [default: text]
    #[arg(long, env = "PLUGWELL_LOG_FORMAT", value_name = "FORMAT")]
    pub log_format: Option<LogFormat>,

    /// What is logged: error, warn, info, debug or trace, also by part: info,plugwell_store=debug
    /// [default: info, for the demo warn]
    #[arg(long, env = "PLUGWELL_LOG_LEVEL", value_name = "LEVEL")]
    pub log_level: Option<String>,

    /// Days that events are kept for /v1/changes and deliveries to webhooks [default: 90]
    #[arg(long, env = "PLUGWELL_KEEP_EVENTS_DAYS", value_name = "DAYS")]
    pub keep_events_days: Option<usize>,

    /// Seconds from one look for parts at their reorder point to the next [default: 300]
    #[arg(long, env = "PLUGWELL_LOW_STOCK_SECONDS", value_name = "SECONDS")]
    pub low_stock_seconds: Option<usize>,

    /// Address, range or host that webhooks may be sent to though it is not public, also by http;
    /// several with commas between, or the flag several times [default: none]
    #[arg(
        long,
        env = "PLUGWELL_WEBHOOK_ALLOW",
        value_name = "CIDR|HOST",
        value_delimiter = ','
    )]
    pub webhook_allow: Option<Vec<String>>,

    /// Waits between the attempts of a delivery to a webhook
    /// [default: 5s,5m,30m,2h,5h,10h,14h,20h,24h]
    #[arg(long, env = "PLUGWELL_WEBHOOK_SCHEDULE", value_name = "WAITS")]
    pub webhook_schedule: Option<String>,

    /// Seconds that the receiver of a webhook gets to answer [default: 15]
    #[arg(long, env = "PLUGWELL_WEBHOOK_SECONDS", value_name = "SECONDS")]
    pub webhook_seconds: Option<usize>,

    /// File to write address and new tokens to, once requests are answered
    #[arg(long, env = "PLUGWELL_READY_FILE", value_name = "FILE")]
    pub ready_file: Option<PathBuf>,
}

impl Given {
    /// Settings of a file.
    ///
    /// # Errors
    /// Where it cannot be read, or says what is no setting.
    pub(super) fn from_file(file: &Path) -> Result<Self, BadConfig> {
        let text = std::fs::read_to_string(file).map_err(|cause| BadConfig::Unreadable {
            file: file.to_owned(),
            cause,
        })?;
        toml::from_str(&text).map_err(|cause| BadConfig::Wrong {
            file: file.to_owned(),
            cause,
        })
    }

    /// What is given here, else there.
    pub(super) fn or(self, other: Self) -> Self {
        Self {
            config: self.config,
            database: self.database.or(other.database),
            data: self.data.or(other.data),
            bind: self.bind.or(other.bind),
            port: self.port.or(other.port),
            workers: self.workers.or(other.workers),
            max_body: self.max_body.or(other.max_body),
            max_import: self.max_import.or(other.max_import),
            stop_seconds: self.stop_seconds.or(other.stop_seconds),
            idle_minutes: self.idle_minutes.or(other.idle_minutes),
            token_rate: self.token_rate.or(other.token_rate),
            token_burst: self.token_burst.or(other.token_burst),
            address_rate: self.address_rate.or(other.address_rate),
            address_burst: self.address_burst.or(other.address_burst),
            wrong_token_rate: self.wrong_token_rate.or(other.wrong_token_rate),
            at_once: self.at_once.or(other.at_once),
            waiting: self.waiting.or(other.waiting),
            limit_loopback: self.limit_loopback.or(other.limit_loopback),
            trusted_proxies: self.trusted_proxies.or(other.trusted_proxies),
            proxy_header: self.proxy_header.or(other.proxy_header),
            log_format: self.log_format.or(other.log_format),
            log_level: self.log_level.or(other.log_level),
            ready_file: self.ready_file.or(other.ready_file),
            keep_events_days: self.keep_events_days.or(other.keep_events_days),
            low_stock_seconds: self.low_stock_seconds.or(other.low_stock_seconds),
            webhook_allow: self.webhook_allow.or(other.webhook_allow),
            webhook_schedule: self.webhook_schedule.or(other.webhook_schedule),
            webhook_seconds: self.webhook_seconds.or(other.webhook_seconds),
        }
    }
}

impl fmt::Display for LogFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Text => "text",
            Self::Json => "json",
        })
    }
}
