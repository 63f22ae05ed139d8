//! How a client is set up.

use std::time::Duration;

use crate::client::Client;
use crate::error::Error;

/// What a client is told before its first call; what is not told is as [`Client::new`] has it.
#[derive(Debug, Clone)]
#[must_use]
pub struct Builder {
    pub(crate) base: String,
    pub(crate) token: String,
    pub(crate) timeout: Duration,
    pub(crate) tables: Duration,
    pub(crate) connecting: Duration,
    pub(crate) repeating: Repeating,
}

/// How what is safe to repeat is repeated.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Repeating {
    /// How often a request is sent at the most.
    pub(crate) attempts: u32,
    /// The first pause; each further one is twice as long.
    pub(crate) pause: Duration,
    /// The longest pause, also where the service asks for a longer one.
    pub(crate) longest: Duration,
}

impl Repeating {
    /// The pause after so many attempts: doubled each time, bounded, then cut by up to a half by
    /// chance, so that many clients do not come back at once.
    pub(crate) fn pause_after(&self, sent: u32) -> Duration {
        let doubled = self
            .pause
            .saturating_mul(2u32.saturating_pow(sent.saturating_sub(1)));
        doubled
            .min(self.longest)
            .mul_f64(rand::random_range(0.5..=1.0))
    }
}

impl Builder {
    pub(crate) fn new(base: &str, token: &str) -> Self {
        Self {
            base: base.trim_end_matches('/').to_owned(),
            token: token.to_owned(),
            timeout: Duration::from_secs(60),
            tables: Duration::from_secs(3600),
            connecting: Duration::from_secs(10),
            repeating: Repeating {
                attempts: 3,
                pause: Duration::from_millis(200),
                longest: Duration::from_secs(30),
            },
        }
    }

    /// How long one attempt may take, from the first byte sent to the last one read: 60 s if not told.
    pub fn timeout(mut self, timeout: Duration) -> Self {
        self.timeout = timeout;
        self
    }

    /// How long a table may take, in or out: an hour if not told.
    pub fn table_timeout(mut self, timeout: Duration) -> Self {
        self.tables = timeout;
        self
    }

    /// How long it may take to be connected: 10 s if not told.
    pub fn connect_timeout(mut self, timeout: Duration) -> Self {
        self.connecting = timeout;
        self
    }

    /// How often what is safe to repeat is sent at the most: 3 times if not told; 1 never repeats.
    pub fn attempts(mut self, attempts: u32) -> Self {
        self.repeating.attempts = attempts.max(1);
        self
    }

    /// The pause before the first repetition: 200 ms if not told. Each further one is twice as long, all
    /// are cut by up to a half by chance.
    pub fn pause(mut self, pause: Duration) -> Self {
        self.repeating.pause = pause;
        self
    }

    /// The longest pause, 30 s if not told. Where the service asks for a longer one by `Retry-After`, the
    /// call ends and [`Problem::retry_after`](crate::Problem::retry_after) says how long.
    pub fn longest_pause(mut self, longest: Duration) -> Self {
        self.repeating.longest = longest;
        self
    }

    /// The client.
    ///
    /// # Errors
    /// [`Error::NotSent`] where no HTTP client can be set up on this machine.
    pub fn build(self) -> Result<Client, Error> {
        // Another part of the process may have installed one already: that one serves.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let http = reqwest::Client::builder()
            .timeout(self.timeout)
            .connect_timeout(self.connecting)
            .build()?;
        Ok(Client::made(http, self))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_double_up_to_the_longest_and_are_cut_by_chance() {
        let repeating = Repeating {
            attempts: 9,
            pause: Duration::from_millis(100),
            longest: Duration::from_millis(300),
        };
        for (sent, whole) in [(1, 100), (2, 200), (3, 300), (40, 300)] {
            for _ in 0..50 {
                let pause = repeating.pause_after(sent);
                let within = Duration::from_millis(whole / 2)..=Duration::from_millis(whole);
                assert!(within.contains(&pause), "{sent}: {pause:?}");
            }
        }
    }
}
