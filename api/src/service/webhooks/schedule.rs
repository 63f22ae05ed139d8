//! When a delivery is tried again.

use std::str::FromStr;
use std::time::Duration;

use chrono::{DateTime, TimeDelta, Utc};

/// How far the waits are spread, as a share of them: receivers that failed together are not asked
/// together again.
const JITTER: f64 = 0.1;
/// The longest that a receiver's Retry-After is waited for.
const LONGEST: TimeDelta = TimeDelta::hours(24);

/// The waits between attempts; the first attempt is made at once, and after the last one nothing more
/// is tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule(Vec<Duration>);

impl Default for Schedule {
    /// That of the Standard Webhooks specification: ten attempts over some three days.
    fn default() -> Self {
        const HOUR: u64 = 3600;
        let seconds = [
            5,
            300,
            1800,
            2 * HOUR,
            5 * HOUR,
            10 * HOUR,
            14 * HOUR,
            20 * HOUR,
            24 * HOUR,
        ];
        Self(seconds.into_iter().map(Duration::from_secs).collect())
    }
}

impl FromStr for Schedule {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let waits = text.split(',').map(|wait| parsed(wait.trim()));
        Ok(Self(waits.collect::<Result<_, _>>()?))
    }
}

/// A wait such as `500ms`, `5s`, `30m` or `2h`.
fn parsed(text: &str) -> Result<Duration, String> {
    let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let unit = match &text[digits.len()..] {
        "ms" => 1,
        "s" => 1_000,
        "m" => 60_000,
        "h" => 3_600_000,
        _ => 0,
    };
    let number: u64 = digits.parse().unwrap_or(0);
    match number.checked_mul(unit) {
        Some(millis) if (1..=30 * 24 * 3_600_000).contains(&millis) => {
            Ok(Duration::from_millis(millis))
        }
        _ => Err(format!(
            "{text:?} is no wait: give numbers with ms, s, m or h and commas between, such as 5s,5m,2h"
        )),
    }
}

impl Schedule {
    /// When to try again after so many attempts that failed, the last of them at an instant; `None` where
    /// nothing more is tried. `spread` is drawn from 0 to 1, `asked` is the receiver's Retry-After.
    pub fn next(
        &self,
        tries: usize,
        at: DateTime<Utc>,
        spread: f64,
        asked: Option<DateTime<Utc>>,
    ) -> Option<DateTime<Utc>> {
        let wait = self.0.get(tries.checked_sub(1)?)?;
        let spread = wait.mul_f64(1.0 - JITTER + 2.0 * JITTER * spread.clamp(0.0, 1.0));
        let own = at + TimeDelta::from_std(spread).unwrap_or(LONGEST);
        Some(own.max(asked.map_or(own, |asked| asked.min(at + LONGEST))))
    }
}

/// The instant that a header Retry-After names: seconds from now, or a date.
pub fn retry_after(text: &str, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let text = text.trim();
    match text.parse::<u32>() {
        Ok(seconds) => Some(now + TimeDelta::seconds(seconds.into())),
        Err(_) => DateTime::parse_from_rfc2822(text).ok().map(Into::into),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(seconds: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(seconds, 0).unwrap()
    }

    #[test]
    fn waits_are_spread_and_end() {
        let schedule: Schedule = "10s, 5m".parse().unwrap();
        assert_eq!(schedule.next(1, at(0), 0.5, None), Some(at(10)));
        assert_eq!(schedule.next(1, at(0), 0.0, None), Some(at(9)));
        assert_eq!(schedule.next(1, at(0), 1.0, None), Some(at(11)));
        assert_eq!(schedule.next(2, at(0), 0.5, None), Some(at(300)));
        assert_eq!(schedule.next(3, at(0), 0.5, None), None);
        assert_eq!(Schedule::default().0.len(), 9);
    }

    #[test]
    fn a_receiver_that_asks_for_time_gets_it_within_bounds() {
        let schedule: Schedule = "10s".parse().unwrap();
        let next = |asked| schedule.next(1, at(0), 0.5, retry_after(asked, at(0)));
        assert_eq!(next("60"), Some(at(60)));
        assert_eq!(next("2"), Some(at(10)), "never earlier than the schedule");
        assert_eq!(next("Thu, 01 Jan 1970 00:02:00 GMT"), Some(at(120)));
        assert_eq!(next("99999999"), Some(at(24 * 3600)));
        assert_eq!(next("soon"), Some(at(10)));
    }

    #[test]
    fn what_is_no_schedule_is_told() {
        for wrong in ["", "5", "5x", "0s", "5s,", "-5s", "5s 5m", "99999999999h"] {
            assert!(wrong.parse::<Schedule>().is_err(), "{wrong}");
        }
        let right: Schedule = "500ms".parse().unwrap();
        assert_eq!(right.0, [Duration::from_millis(500)]);
    }
}
