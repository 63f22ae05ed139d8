//! Days, weeks and months of UTC, without gaps.

use chrono::{DateTime, Datelike, Days, Months, NaiveDate, NaiveTime, Utc};

use crate::decimal::Decimal;

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

/// A page of the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leaf {
    /// From Monday to Sunday (ISO 8601).
    Week,
    /// From the first to the last.
    Month,
}

impl Leaf {
    /// The first day of the leaf that a day lies on.
    pub fn first_day(self, day: NaiveDate) -> NaiveDate {
        let back = match self {
            Self::Week => day.weekday().num_days_from_monday(),
            Self::Month => day.day0(),
        };
        day.checked_sub_days(Days::new(back.into())).unwrap_or(day)
    }

    /// The first day of the next leaf.
    pub fn next(self, first: NaiveDate) -> NaiveDate {
        let next = match self {
            Self::Week => first.checked_add_days(Days::new(7)),
            Self::Month => first.checked_add_months(Months::new(1)),
        };
        next.unwrap_or(NaiveDate::MAX)
    }

    /// What it is called: `2026-W09` (ISO 8601) or `2026-03`.
    pub fn name(self, first: NaiveDate) -> String {
        match self {
            Self::Week => {
                let week = first.iso_week();
                format!("{}-W{:02}", week.year(), week.week())
            }
            Self::Month => first.format("%Y-%m").to_string(),
        }
    }

    /// First days of all leaves that a stretch of time touches, in order; an empty one touches none.
    pub fn of(self, span: Span) -> Vec<NaiveDate> {
        let mut leaves = Vec::new();
        if span.micros() == 0 {
            return leaves;
        }
        let mut first = self.first_day(span.from.date_naive());
        while midnight(first) < span.to {
            leaves.push(first);
            let next = self.next(first);
            if next <= first {
                break;
            }
            first = next;
        }
        leaves
    }

    /// The whole leaf that begins on a day.
    pub fn span(self, first: NaiveDate) -> Span {
        Span {
            from: midnight(first),
            to: midnight(self.next(first)),
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
