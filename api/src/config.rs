//! Settings: flags stand above the environment, that above a TOML file, that above what is taken
//! where nobody says.

mod given;
#[cfg(test)]
mod tests;

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::time::Duration;

use chrono::TimeDelta;
use ipnet::IpNet;

use crate::http::rate::{Allowance, Proxies, Rates};
use crate::http::request::Limits;
use crate::service::access::IDLE;
use crate::service::changes::KEPT;
use crate::service::webhooks::Sending;
use crate::service::webhooks::allowed::Entry;

pub use given::{Given, LogFormat};

/// The port where nobody names another.
pub const PORT: u16 = 8717;

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
    /// How much callers may ask.
    pub rates: Rates,
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
    /// A proxy that is neither an address nor a network.
    #[error("trusted_proxies: {0:?} is neither an address nor a network such as 10.0.0.0/8")]
    NoNetwork(String),
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
        let (rates, sending) = (whole.rates()?, whole.sending()?);
        Ok(Settings {
            rates,
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

    /// How much callers may ask.
    fn rates(&self) -> Result<Rates, BadConfig> {
        let usual = Rates::default();
        let allowance = |setting, usual: Allowance, rate: Option<u32>, burst: Option<u32>| {
            let burst = burst.unwrap_or(usual.burst);
            at_least(setting, burst as usize, 1)?;
            Ok(Allowance {
                per_minute: rate.unwrap_or(usual.per_minute),
                burst,
            })
        };
        // Of guesses there is one number: none at once is none at all.
        let guesses = self.wrong_token_rate.filter(|rate| *rate > 0);
        let proxies = self.trusted_proxies.iter().flatten();
        Ok(Rates {
            token: allowance(
                "token_burst",
                usual.token,
                self.token_rate,
                self.token_burst,
            )?,
            address: allowance(
                "address_burst",
                usual.address,
                self.address_rate,
                self.address_burst,
            )?,
            wrong_token: allowance(
                "wrong_token_rate",
                usual.wrong_token,
                self.wrong_token_rate,
                guesses,
            )?,
            at_once: self.at_once.unwrap_or(usual.at_once),
            waiting: self.waiting.unwrap_or(usual.waiting),
            loopback: self.limit_loopback.unwrap_or(usual.loopback),
            proxies: Proxies {
                trusted: proxies
                    .map(|text| network(text))
                    .collect::<Result<_, _>>()?,
                header: self.proxy_header.unwrap_or_default(),
            },
        })
    }

    /// How deliveries to webhooks are sent.
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

/// A network, or an address as the network of one.
fn network(text: &str) -> Result<IpNet, BadConfig> {
    let text = text.trim();
    let one = || text.parse::<IpAddr>().map(IpNet::from);
    text.parse::<IpNet>()
        .or_else(|_| one())
        .map_err(|_| BadConfig::NoNetwork(text.to_owned()))
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
