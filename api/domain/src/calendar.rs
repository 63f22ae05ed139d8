//! Days, weeks and months of UTC, without gaps.

use chrono::{DateTime, Datelike, NaiveDate, NaiveTime, TimeDelta, Utc};

use crate::decimal::Decimal;
use crate::words::closed_list;

/// Microseconds of a day.
pub const DAY_MICROS: i64 = 86_400_000_000;

/// A stretch of time: `from` belongs to it, `to` does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// Its first instant.
    pub from: DateTime<Utc>,
    /// The instant at which it has ended.
    pub to: DateTime<Utc>,
}

impl Span {
    /// How long it is, in microseconds; zero where it ends before it begins.
    pub fn micros(self) -> i64 {
        (self.to.timestamp_micros() - self.from.timestamp_micros()).max(0)
    }

    /// What two stretches have in common; empty where nothing.
    #[must_use]
    pub fn within(self, other: Self) -> Self {
        let from = self.from.max(other.from);
        Self {
            from,
            to: self.to.min(other.to).max(from),
        }
    }

    /// Whether an instant belongs to it.
    pub fn has(self, at: DateTime<Utc>) -> bool {
        self.from <= at && at < self.to
    }
}

closed_list! {
    /// Whole periods of the calendar that demand and reports are summed up by. All begin at midnight UTC.
    CalendarPeriod, "period of the calendar" {
        /// From Monday to Sunday (ISO 8601).
        Week = "week",
        /// From the first to the last.
        Month = "month",
    }
}

impl CalendarPeriod {
    /// Monday, 5 January 1970: the week with the number 0 begins.
    pub const FIRST_MONDAY: NaiveDate = NaiveDate::from_ymd_opt(1970, 1, 5).unwrap();

    /// The running number of the period that an instant lies in, so that a database counts alike: weeks
    /// since Monday, 5 January 1970, months since January of the year 0.
    pub fn number(self, at: DateTime<Utc>) -> i64 {
        let day = at.date_naive();
        match self {
            Self::Week => (day - Self::FIRST_MONDAY).num_days().div_euclid(7),
            Self::Month => i64::from(day.year()) * 12 + i64::from(day.month0()),
        }
    }

    /// The first day of the period with a number; the last day of the calendar where it has none.
    pub fn first_day(self, number: i64) -> NaiveDate {
        let day = match self {
            Self::Week => number
                .checked_mul(7)
                .and_then(TimeDelta::try_days)
                .and_then(|days| Self::FIRST_MONDAY.checked_add_signed(days)),
            Self::Month => i32::try_from(number.div_euclid(12))
                .ok()
                .zip(u32::try_from(number.rem_euclid(12)).ok())
                .and_then(|(year, month)| NaiveDate::from_ymd_opt(year, month + 1, 1)),
        };
        day.unwrap_or(NaiveDate::MAX)
    }

    /// When the period with a number begins.
    pub fn begins(self, number: i64) -> DateTime<Utc> {
        midnight(self.first_day(number))
    }

    /// The period with a number, whole.
    pub fn span(self, number: i64) -> Span {
        Span {
            from: self.begins(number),
            to: self.begins(number + 1),
        }
    }

    /// What the period with a number is called: `2026-W09` (ISO 8601) or `2026-03`.
    pub fn name(self, number: i64) -> String {
        let first = self.first_day(number);
        match self {
            Self::Week => {
                let week = first.iso_week();
                format!("{}-W{:02}", week.year(), week.week())
            }
            Self::Month => first.format("%Y-%m").to_string(),
        }
    }

    /// The numbers of all periods that a stretch of time touches, in order; an empty one touches none.
    pub fn touched(self, span: Span) -> impl Iterator<Item = i64> {
        let numbers = self.number(span.from)..=self.number(span.to);
        numbers.filter(move |number| span.from < span.to && self.begins(*number) < span.to)
    }

    /// Days in one; of months the mean of the Gregorian calendar, 365.2425 / 12.
    pub const fn days(self) -> f64 {
        match self {
            Self::Week => 7.0,
            Self::Month => 365.242_5 / 12.0,
        }
    }

    /// So many make a year, as shops count it: 52 weeks or 12 months (common practice, no source).
    pub const fn per_year(self) -> f64 {
        match self {
            Self::Week => 52.0,
            Self::Month => 12.0,
        }
    }
}

/// The first instant of a day.
pub fn midnight(day: NaiveDate) -> DateTime<Utc> {
    day.and_time(NaiveTime::MIN).and_utc()
}

/// The day of a number of days since 1970-01-01.
pub fn day_of(days: i64) -> NaiveDate {
    DateTime::from_timestamp(days.saturating_mul(86_400), 0)
        .map_or(NaiveDate::MAX, |at| at.date_naive())
}

/// A time in days, to a hundredth, half up.
pub fn in_days(micros: i64) -> Decimal<2> {
    let hundredth = i128::from(DAY_MICROS / 100);
    let rounded = (2 * i128::from(micros) + hundredth).div_euclid(2 * hundredth);
    Decimal(i64::try_from(rounded).unwrap_or(i64::MAX))
}
