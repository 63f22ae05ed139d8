//! Stock that nobody wants any more.

use chrono::{DateTime, TimeDelta, Utc};
use uuid::Uuid;

/// A part that lies in bins, and since when nothing of it was wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InStock {
    /// The part.
    pub plug_id: Uuid,
    /// Plugs in bins.
    pub on_hand: i64,
    /// When the oldest lot of those came.
    pub received_at: DateTime<Utc>,
    /// The last issue that stands; `None` where there is none.
    pub last_issue_at: Option<DateTime<Utc>>,
}

impl InStock {
    /// Since when it lies there without an issue: since the last one, but no longer than what is there
    /// has been there.
    pub fn idle_since(&self) -> DateTime<Utc> {
        self.last_issue_at
            .map_or(self.received_at, |issued| issued.max(self.received_at))
    }

    /// Whole days of that, up to an instant.
    pub fn idle_days(&self, now: DateTime<Utc>) -> i64 {
        (now - self.idle_since()).num_days().max(0)
    }

    /// Whether it has lain there for so many days.
    pub fn is_dead(&self, days: u32, now: DateTime<Utc>) -> bool {
        self.on_hand > 0 && now - self.idle_since() >= TimeDelta::days(days.into())
    }
}
