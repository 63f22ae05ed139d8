//! Weeks and months, numbered, so that a database and the domain count them alike.

use chrono::{DateTime, Datelike, Days, NaiveDate, Utc};

use crate::words::closed_list;

closed_list! {
    /// What demand is counted by. Both begin at midnight UTC.
    DemandPeriod, "period of demand" {
        /// From Monday (ISO 8601).
        Week = "week",
        /// Of the calendar.
        Month = "month",
    }
}

impl DemandPeriod {
    /// Monday, 5 January 1970: the week with the number 0 begins.
    pub const FIRST_MONDAY: NaiveDate = NaiveDate::from_ymd_opt(1970, 1, 5).unwrap();

    /// The running number of the period that an instant lies in: weeks since Monday, 5 January
    /// 1970, months since January of the year 0.
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
            Self::Week => u64::try_from(number)
                .ok()
                .and_then(|weeks| Self::FIRST_MONDAY.checked_add_days(Days::new(weeks * 7))),
            Self::Month => i32::try_from(number.div_euclid(12))
                .ok()
                .zip(u32::try_from(number.rem_euclid(12)).ok())
                .and_then(|(year, month)| NaiveDate::from_ymd_opt(year, month + 1, 1)),
        };
        day.unwrap_or(NaiveDate::MAX)
    }

    /// When the period with a number begins.
    pub fn begins(self, number: i64) -> DateTime<Utc> {
        self.first_day(number)
            .and_time(chrono::NaiveTime::MIN)
            .and_utc()
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
