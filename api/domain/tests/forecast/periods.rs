//! Weeks and months.

use chrono::{DateTime, Datelike, NaiveDate, TimeDelta, Utc, Weekday};
use plugwell_domain::calendar::CalendarPeriod::{Month, Week};
use proptest::prelude::*;

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

#[test]
fn periods_begin_at_midnight() {
    // 30 November 2026 is a Monday.
    assert_eq!(
        Week.number(at("2026-11-29T23:59:59.999999Z")) + 1,
        Week.number(at("2026-11-30T00:00:00Z"))
    );
    assert_eq!(
        Week.first_day(Week.number(at("2026-12-06T23:59:59Z"))),
        NaiveDate::from_ymd_opt(2026, 11, 30).unwrap()
    );
    assert_eq!(
        Month.number(at("2026-12-31T23:59:59.999999Z")) + 1,
        Month.number(at("2027-01-01T00:00:00Z"))
    );
    assert_eq!(
        Month.first_day(Month.number(at("2028-02-29T12:00:00Z"))),
        NaiveDate::from_ymd_opt(2028, 2, 1).unwrap()
    );
}

proptest! {
    #[test]
    fn every_instant_lies_in_its_period_and_in_no_other(seconds in 400_000_i64..8_000_000_000) {
        let instant = DateTime::from_timestamp(seconds, 0).unwrap();
        for period in [Week, Month] {
            let number = period.number(instant);
            prop_assert!(period.begins(number) <= instant && instant < period.begins(number + 1));
            prop_assert_eq!(period.number(period.begins(number)), number);
        }
        prop_assert_eq!(Week.first_day(Week.number(instant)).weekday(), Weekday::Mon);
        prop_assert_eq!(Week.begins(8) - Week.begins(7), TimeDelta::days(7));
        prop_assert_eq!(Month.first_day(Month.number(instant)).day(), 1);
    }
}
