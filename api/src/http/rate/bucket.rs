//! How much has been asked: a bucket for each key that refills evenly, by the generic cell rate
//! algorithm (ITU-T I.371): all that is kept of a bucket is the instant at which it will be full.

use std::collections::HashMap;
use std::hash::Hash;
use std::time::{Duration, Instant};

use parking_lot::Mutex;

/// Buckets that are kept; whoever comes when there are as many shares one with all that follow.
const MOST: usize = 100_000;
/// How long full buckets are left lying.
const SWEEP: Duration = Duration::from_secs(30);
/// The same where there are too many.
const SWEEP_IN_NEED: Duration = Duration::from_secs(1);

/// What every key may ask.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Allowance {
    /// Requests a minute in the long run; 0 where there is no limit.
    pub per_minute: u32,
    /// Requests at once after a pause.
    pub burst: u32,
}

impl Allowance {
    /// Whether there is a limit.
    pub fn limits(&self) -> bool {
        self.per_minute > 0
    }

    /// The time in which one request comes back.
    fn step(&self) -> Duration {
        Duration::from_secs(60) / self.per_minute.max(1)
    }

    /// The time in which an empty bucket is full again.
    pub fn window(&self) -> Duration {
        self.step() * self.burst
    }
}

/// What is left of a bucket.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Left {
    /// Requests that may come at once.
    pub requests: u32,
    /// Until it is full.
    pub full_in: Duration,
}

/// The bucket holds less than was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Empty {
    /// What it does hold.
    pub left: Left,
    /// Until it holds enough.
    pub wait: Duration,
}

/// The buckets of all keys of one kind.
#[derive(Debug)]
pub(super) struct Buckets<K> {
    allowance: Allowance,
    kept: Mutex<Kept<K>>,
}

#[derive(Debug)]
struct Kept<K> {
    /// When the bucket of a key will be full; under `None` all those beyond the most.
    full_at: HashMap<Option<K>, Instant>,
    swept: Option<Instant>,
}

impl<K: Hash + Eq> Buckets<K> {
    pub(super) fn of(allowance: Allowance) -> Self {
        Self {
            allowance,
            kept: Mutex::new(Kept {
                full_at: HashMap::new(),
                swept: None,
            }),
        }
    }

    /// Takes so many requests out of a bucket at an instant; nothing where it holds less. More than it
    /// can ever hold counts as all of it.
    pub(super) fn take(&self, key: K, requests: u32, now: Instant) -> Result<Left, Empty> {
        let mut kept = self.kept.lock();
        kept.sweep(now);
        let key = kept.place(key);
        let full_at = kept.full_at.get(&key).copied().unwrap_or(now).max(now);
        let cost = self.allowance.step() * requests.min(self.allowance.burst);
        let (after, latest) = (full_at + cost, now + self.allowance.window());
        if after > latest {
            return Err(Empty {
                left: self.left(full_at, now),
                wait: after - latest,
            });
        }
        kept.full_at.insert(key, after);
        Ok(self.left(after, now))
    }

    fn left(&self, full_at: Instant, now: Instant) -> Left {
        let full_in = full_at - now;
        let open = self.allowance.window().saturating_sub(full_in);
        let requests = open.as_nanos() / self.allowance.step().as_nanos().max(1);
        Left {
            requests: u32::try_from(requests).unwrap_or(u32::MAX),
            full_in,
        }
    }
}

impl<K: Hash + Eq> Kept<K> {
    /// Throws full buckets away: a key without one has a full one.
    fn sweep(&mut self, now: Instant) {
        let every = if self.full_at.len() < MOST {
            SWEEP
        } else {
            SWEEP_IN_NEED
        };
        if self.swept.is_none_or(|swept| now >= swept + every) {
            self.swept = Some(now);
            self.full_at.retain(|_, full_at| *full_at > now);
            self.full_at.shrink_to(1024);
        }
    }

    fn place(&self, key: K) -> Option<K> {
        let key = Some(key);
        if self.full_at.len() < MOST || self.full_at.contains_key(&key) {
            key
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FEW: Allowance = Allowance {
        per_minute: 60,
        burst: 3,
    };

    fn after(start: Instant, millis: u64) -> Instant {
        start + Duration::from_millis(millis)
    }

    #[test]
    fn a_bucket_gives_its_burst_then_one_at_a_time() {
        let (buckets, start) = (Buckets::of(FEW), Instant::now());
        let left = |n: u32, millis: u64| {
            let left = buckets.take("a", n, after(start, millis));
            left.map(|left| (left.requests, left.full_in.as_millis() as u64))
                .map_err(|empty| empty.wait.as_millis() as u64)
        };
        assert_eq!(left(1, 0), Ok((2, 1000)));
        assert_eq!(left(2, 0), Ok((0, 3000)));
        assert_eq!(left(1, 0), Err(1000), "the next comes in a second");
        assert_eq!(left(2, 0), Err(2000));
        assert_eq!(left(1, 999), Err(1), "a refusal costs nothing");
        assert_eq!(left(1, 1000), Ok((0, 3000)));
        assert_eq!(left(3, 60_000), Ok((0, 3000)), "it never holds more");
        assert_eq!(left(99, 63_000), Ok((0, 3000)), "all of it is the most");
        assert!(buckets.take("b", 3, start).is_ok(), "each key has its own");
    }

    #[test]
    fn what_is_kept_stays_bounded() {
        let (buckets, start) = (Buckets::of(FEW), Instant::now());
        for key in 0..MOST + 500 {
            let shared = buckets.take(key, 1, start).is_err();
            // Three go into the bucket of all that came too late.
            assert_eq!(shared, key >= MOST + 3, "{key}");
        }
        assert_eq!(buckets.kept.lock().full_at.len(), MOST + 1);
        assert!(
            buckets.take(7, 1, start).is_ok(),
            "who was there has their own"
        );
        let later = start + Duration::from_secs(10);
        buckets.take(MOST + 9, 1, later).unwrap();
        assert_eq!(
            buckets.kept.lock().full_at.len(),
            1,
            "full ones are thrown away"
        );
    }
}
