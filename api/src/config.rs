//! Settings: flags stand above the environment, that above a TOML file, that above what is taken
//! where nobody says.

use std::fmt;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::TimeDelta;
use clap::{Args, ValueEnum};
use serde::Deserialize;

use crate::http::request::Limits;
use crate::service::access::IDLE;
use crate::service::changes::KEPT;
use crate::service::webhooks::Sending;
use crate::service::webhooks::allowed::Entry;

/// The port where nobody names another.
pub const PORT: u16 = 8717;

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

    /// Form of the log, which goes to standard error [default: text]
    #[arg(long, env = "PLUGWELL_LOG_FORMAT", value_name = "FORMAT")]
    pub log_format: Option<LogFormat>,

    /// What is logged: error, warn, info, debug or trace, also by part: info,plugwell_store=debug
    /// [default: info]
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

/// Settings that are complete.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Where the database is, if not in the data folder.
    pub database: Option<String>,
    /// The data folder, if one was named.
    pub data: Option<PathBuf>,
    /// Where to listen.
    pub listen: SocketAddr,
    /// Threads that answer requests; one for each processor where `None`.
    pub workers: Option<usize>,
    /// The largest bodies.
    pub limits: Limits,
    /// How long accepted requests get to finish.
    pub stop: Duration,
    /// How long a page may lie idle before its reader has to sign in again.
    pub idle: TimeDelta,
    /// How long events are kept.
    pub keep_events: TimeDelta,
    /// How often it is looked for parts at their reorder point.
    pub low_stock: Duration,
    /// How deliveries to webhooks are sent.
    pub sending: Sending,
    /// Form of the log.
    pub log_format: LogFormat,
    /// What is logged.
    pub log_level: String,
    /// Where to announce that requests are answered.
    pub ready_file: Option<PathBuf>,
}

/// A settings file that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum BadConfig {
    /// It cannot be read.
    #[error("the settings file {file} cannot be read: {cause}")]
    Unreadable {
        /// The file.
        file: PathBuf,
        /// What the system says.
        cause: std::io::Error,
    },
    /// It is no TOML, or holds a setting that there is not.
    #[error("the settings file {file} is not right: {cause}")]
    Wrong {
        /// The file.
        file: PathBuf,
        /// Line, column and what is wrong there.
        cause: toml::de::Error,
    },
    /// Words that make no sense.
    #[error("{setting}: {cause}")]
    NotUnderstood {
        /// The setting.
        setting: &'static str,
        /// A sentence.
        cause: String,
    },
    /// A number that makes no sense.
    #[error("{setting} is {value}: it has to be at least {least}")]
    TooSmall {
        /// The setting.
        setting: &'static str,
        /// What it was.
        value: usize,
        /// What it can be.
        least: usize,
    },
}

impl Given {
    /// Completes what flags and environment gave: from the file, then from what is taken where
    /// nobody says.
    ///
    /// # Errors
    /// A file that cannot be read or is not right; a number that makes no sense.
    pub fn complete(self) -> Result<Settings, BadConfig> {
        self.complete_or("info")
    }

    /// The same, with another log level where nobody says.
    ///
    /// # Errors
    /// As [`Given::complete`].
    pub fn complete_or(self, log_level: &str) -> Result<Settings, BadConfig> {
        let whole = match self.config.clone() {
            Some(file) => self.or(Self::from_file(&file)?),
            None => self,
        };
        let defaults = Limits::default();
        let sending = whole.sending()?;
        Ok(Settings {
            sending,
            keep_events: match whole.keep_events_days {
                Some(days) => days_of(at_least("keep_events_days", days, 1)?),
                None => KEPT,
            },
            low_stock: Duration::from_secs(at_least(
                "low_stock_seconds",
                whole.low_stock_seconds.unwrap_or(300),
                1,
            )? as u64),
            database: whole.database,
            data: whole.data,
            listen: SocketAddr::new(
                whole.bind.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST)),
                whole.port.unwrap_or(PORT),
            ),
            workers: whole
                .workers
                .map(|n| at_least("workers", n, 1))
                .transpose()?,
            limits: Limits {
                body: at_least("max_body", whole.max_body.unwrap_or(defaults.body), 1024)?,
                import: at_least(
                    "max_import",
                    whole.max_import.unwrap_or(defaults.import),
                    1024,
                )?,
            },
            stop: Duration::from_secs(whole.stop_seconds.unwrap_or(30)),
            idle: match whole.idle_minutes {
                Some(minutes) => minutes_of(at_least("idle_minutes", minutes, 1)?),
                None => IDLE,
            },
            log_format: whole.log_format.unwrap_or(LogFormat::Text),
            log_level: whole.log_level.unwrap_or_else(|| log_level.to_owned()),
            ready_file: whole.ready_file,
        })
    }

    fn sending(&self) -> Result<Sending, BadConfig> {
        let mut sending = Sending::default();
        if let Some(seconds) = self.webhook_seconds {
            let seconds = at_least("webhook_seconds", seconds, 1)?.min(300);
            sending.timeout = Duration::from_secs(seconds as u64);
        }
        if let Some(text) = &self.webhook_schedule {
            sending.schedule = understood("webhook_schedule", text.parse())?;
        }
        let entries = self.webhook_allow.iter().flatten();
        let entries = entries.map(|text| understood("webhook_allow", text.trim().parse::<Entry>()));
        Ok(sending.allowing(entries.collect::<Result<Vec<_>, _>>()?))
    }

    fn from_file(file: &Path) -> Result<Self, BadConfig> {
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
    fn or(self, other: Self) -> Self {
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

/// So many days; a hundred years where they are more.
fn days_of(days: usize) -> TimeDelta {
    TimeDelta::days(i64::try_from(days).unwrap_or(36_500).min(36_500))
}

fn understood<T>(setting: &'static str, read: Result<T, String>) -> Result<T, BadConfig> {
    read.map_err(|cause| BadConfig::NotUnderstood { setting, cause })
}

/// So many minutes; a year where they are more.
fn minutes_of(minutes: usize) -> TimeDelta {
    const YEAR: i64 = 365 * 24 * 60;
    TimeDelta::minutes(i64::try_from(minutes).unwrap_or(YEAR).min(YEAR))
}

fn at_least(setting: &'static str, value: usize, least: usize) -> Result<usize, BadConfig> {
    if value >= least {
        Ok(value)
    } else {
        Err(BadConfig::TooSmall {
            setting,
            value,
            least,
        })
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

#[cfg(test)]
mod tests;
