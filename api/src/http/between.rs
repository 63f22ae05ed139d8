//! The time that a report is about: `from` and `to` of a query, each an instant or a day.

use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use plugwell_domain::fault::FaultCode;
use plugwell_domain::instant::Period;
use utoipa::IntoParams;

use crate::http::query::{FromQuery, Members};

/// From when to when; both ends may be left open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Between(pub Period);

impl FromQuery for Between {
    fn take(members: &mut Members) -> Self {
        let from = moment(members, "from").map(Moment::begins);
        let to = moment(members, "to").map(|moment| match moment {
            Moment::Day(_) => moment.ends(),
            // An instant is itself the end, so that periods follow one another without a gap.
            Moment::Instant(at) => at,
        });
        if let (Some(from), Some(to)) = (from, to)
            && to <= from
        {
            let detail = "the period has to end after it begins";
            members.fault("to", FaultCode::OutOfRange, detail);
        }
        Self(Period { from, to })
    }
}

/// The query members of a period.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "describes the query; read by `Between`")]
pub struct BetweenQuery {
    /// Where the period begins: a day in UTC (`2026-03-01`, from its midnight) or an instant (RFC 3339);
    /// from the beginning where it is not said.
    #[param(
        pattern = "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])(T([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]([.][0-9]{1,9})?(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9]))?$"
    )]
    from: Option<String>,
    /// Where it ends: a day in UTC, which is still within it, or an instant, which is not; now where it
    /// is not said.
    #[param(
        pattern = "^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])(T([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]([.][0-9]{1,9})?(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9]))?$"
    )]
    to: Option<String>,
}

/// A day or an instant of a query.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moment {
    /// A day in UTC.
    Day(NaiveDate),
    /// An instant.
    Instant(DateTime<Utc>),
}

impl Moment {
    /// The first instant of it.
    pub fn begins(self) -> DateTime<Utc> {
        match self {
            Self::Day(day) => day.and_time(NaiveTime::MIN).and_utc(),
            Self::Instant(at) => at,
        }
    }

    /// The first instant behind it, to the microsecond that is kept.
    pub fn ends(self) -> DateTime<Utc> {
        let begins = self.begins();
        match self {
            Self::Day(_) => begins.checked_add_days(Days::new(1)),
            Self::Instant(_) => begins.checked_add_signed(chrono::TimeDelta::microseconds(1)),
        }
        .unwrap_or(begins)
    }
}

/// Takes a day or an instant.
pub fn moment(members: &mut Members, name: &str) -> Option<Moment> {
    let text = members.text(name)?;
    let day = || text.parse().ok().map(Moment::Day);
    let instant = || {
        DateTime::parse_from_rfc3339(&text)
            .ok()
            .map(|at| at.to_utc())
    };
    let read = day().or_else(|| instant().map(Moment::Instant));
    // Years of four digits, as RFC 3339 has them: the database counts microseconds in 64 bits.
    let in_years = |at: DateTime<Utc>| (0..=9999).contains(&chrono::Datelike::year(&at));
    let read = read.filter(|moment| in_years(moment.begins()) && in_years(moment.ends()));
    if read.is_none() {
        let detail = format!(
            "{text:?} is neither a day (2026-03-01) nor an instant (2026-03-01T08:00:00Z); a + in it \
             is written %2B in a query"
        );
        members.fault(name, FaultCode::WrongForm, detail);
    }
    read
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(query: &str) -> (Between, Vec<String>) {
        let mut members = Members::of("/", query);
        let between = Between::take(&mut members);
        let faults = match members.finish() {
            Ok(()) => Vec::new(),
            Err(problem) => {
                let told = problem.to_json()["errors"].clone();
                let told = told.as_array().cloned().unwrap_or_default();
                told.iter()
                    .map(|e| format!("{} {}", e["pointer"], e["code"]).replace('"', ""))
                    .collect()
            }
        };
        (between, faults)
    }

    fn at(text: &str) -> Option<DateTime<Utc>> {
        Some(text.parse().expect("an instant"))
    }

    #[test]
    fn days_are_whole_and_instants_are_ends() {
        let (Between(period), faults) = asked("from=2026-01-01&to=2026-01-31");
        assert!(faults.is_empty());
        assert_eq!(period.from, at("2026-01-01T00:00:00Z"));
        assert_eq!(period.to, at("2026-02-01T00:00:00Z"));
        let (Between(period), _) =
            asked("from=2026-01-01T10:00:00%2B02:00&to=2026-01-01T09:00:00.5Z");
        assert_eq!(period.from, at("2026-01-01T08:00:00Z"));
        assert_eq!(period.to, at("2026-01-01T09:00:00.5Z"));
        assert_eq!(asked("").0, Between(Period::default()));
        // One day alone is a period.
        assert!(asked("from=2026-01-01&to=2026-01-01").1.is_empty());
    }

    #[test]
    fn every_fault_is_named() {
        for (query, told) in [
            (
                "from=soon&to=2026-13-01",
                vec!["?from wrong_form", "?to wrong_form"],
            ),
            ("from=2026-02-01&to=2026-01-31", vec!["?to out_of_range"]),
            ("to=2026-02-30", vec!["?to wrong_form"]),
            ("to=%2B12026-02-20", vec!["?to wrong_form"]),
            // An unescaped plus is a space.
            ("from=2026-01-01T10:00:00+02:00", vec!["?from wrong_form"]),
            ("from=2026-01-01&from=2026-01-02", vec!["?from duplicate"]),
        ] {
            assert_eq!(asked(query).1, told, "{query}");
        }
    }

    #[test]
    fn a_moment_ends_behind_itself() {
        let day = Moment::Day("2026-12-31".parse().expect("a day"));
        assert_eq!(Some(day.ends()), at("2027-01-01T00:00:00Z"));
        let instant = Moment::Instant(at("2026-12-31T00:00:00Z").expect("an instant"));
        assert_eq!(Some(instant.ends()), at("2026-12-31T00:00:00.000001Z"));
    }
}
