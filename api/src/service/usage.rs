//! What was used in a stretch of time, by month, week, part or job.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use plugwell_domain::calendar::{CalendarPeriod, Span, day_of};
use plugwell_domain::instant::{self, Period};
use plugwell_domain::report::usage::{UsageBy, Used, by_key, by_period};
use plugwell_domain::stand_in::PartName;
use plugwell_store::Session;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::{Refusal, Shop, now};

/// How usage counts.
const DEFINITION: &str = "Used: issued from bins to jobs, less what came back into bins, plus what was scrapped out \
    of bins. A reversal takes back what it puts right, at the time at which it was booked; what a job scraps was \
    used when it was issued.";

/// A line of the report.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct UsageLine {
    /// The month (`2026-03`), the week (`2026-W09`), the part's identifier or the job; null for what no
    /// job used.
    pub key: Option<String>,
    /// The same as people read it.
    pub label: String,
    /// Plugs.
    #[serde(flatten)]
    pub used: Used,
}

/// What was used.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct UsageReport {
    /// From when, before when, and up to when there are data.
    #[serde(flatten)]
    pub stretch: Stretch,
    /// By what the lines sum up.
    pub by: UsageBy,
    /// How it counts, in words.
    pub text: String,
    /// The lines: months and weeks in their order, those without use among them; anything else the
    /// most used first.
    pub items: Vec<UsageLine>,
    /// All of it.
    pub total: Used,
}

/// The stretch of time that a report is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct Stretch {
    /// From when: as asked, else the first movement.
    #[serde(serialize_with = "instant::serialize")]
    pub from: DateTime<Utc>,
    /// Before when: as asked, else now.
    #[serde(serialize_with = "instant::serialize")]
    pub to: DateTime<Utc>,
    /// Up to when there are data: `to`, or the instant of the answer where that comes first.
    #[serde(serialize_with = "instant::serialize")]
    pub data_to: DateTime<Utc>,
}

impl Stretch {
    /// What was asked for, from the first movement where nothing else is said and to now.
    ///
    /// # Errors
    /// Where the database fails.
    pub fn of(session: &mut Session, period: Period) -> Result<Self, Refusal> {
        let now = now();
        let to = period.to.unwrap_or(now);
        let from = match period.from {
            Some(from) => from,
            None => session.first_movement_at()?.unwrap_or(to).min(to),
        };
        // Without an end it may begin beyond now; it ends there.
        Ok(Self {
            from,
            to: to.max(from),
            data_to: to.min(now),
        })
    }

    /// The part of it of which there are data; it never reaches beyond now.
    pub fn known(self) -> Span {
        Span {
            from: self.from.min(self.data_to),
            to: self.data_to,
        }
    }
}

/// The part of a stretch of time in which there are movements: calendars begin there.
///
/// # Errors
/// Where the database fails.
pub fn begun(session: &mut Session, span: Span) -> Result<Span, Refusal> {
    let first = session.first_movement_at()?.unwrap_or(span.to);
    let from = span.from.max(first).min(span.to);
    Ok(Span { from, ..span })
}

/// The report.
///
/// # Errors
/// Where the database fails.
pub fn report(shop: &Shop, period: Period, by: UsageBy) -> Result<UsageReport, Refusal> {
    shop.store.read(|session| {
        let stretch = Stretch::of(session, period)?;
        let span = stretch.known();
        let items = match by {
            UsageBy::Month => periods(session, span, CalendarPeriod::Month)?,
            UsageBy::Week => periods(session, span, CalendarPeriod::Week)?,
            UsageBy::Part => parts(session, span)?,
            UsageBy::Job => jobs(session, span)?,
        };
        let mut total = Used::default();
        items.iter().for_each(|line| total.add(line.used));
        Ok(UsageReport {
            stretch,
            by,
            text: DEFINITION.to_owned(),
            items,
            total,
        })
    })
}

/// The stretch of time as the database is asked for it.
pub fn period(span: Span) -> Period {
    Period {
        from: Some(span.from),
        to: Some(span.to),
    }
}

fn periods(
    session: &mut Session,
    span: Span,
    by: CalendarPeriod,
) -> Result<Vec<UsageLine>, Refusal> {
    let flows = session.flows_by_day(period(span))?;
    let flows = flows.into_iter().map(|(day, flow)| (day_of(day), flow));
    let begun = begun(session, span)?;
    let lines = by_period(by, begun, flows).into_iter();
    let line = |(number, used)| {
        let name = by.name(number);
        UsageLine {
            key: Some(name.clone()),
            label: name,
            used,
        }
    };
    Ok(lines.map(line).collect())
}

fn parts(session: &mut Session, span: Span) -> Result<Vec<UsageLine>, Refusal> {
    let sums = by_key(session.flows_by_part(period(span))?);
    let ids: Vec<Uuid> = sums.iter().map(|(id, _)| *id).collect();
    let names = session.part_names(&ids)?;
    let line = |(id, used): (Uuid, Used)| UsageLine {
        key: Some(id.to_string()),
        label: label(&names, id),
        used,
    };
    Ok(sums.into_iter().map(line).collect())
}

/// What a part is called.
pub fn label(names: &HashMap<Uuid, PartName>, id: Uuid) -> String {
    names
        .get(&id)
        .map_or_else(|| id.to_string(), PartName::to_string)
}

fn jobs(session: &mut Session, span: Span) -> Result<Vec<UsageLine>, Refusal> {
    let sums = by_key(session.flows_by_job(period(span))?);
    let line = |(job, used): (Option<String>, Used)| UsageLine {
        label: job.clone().unwrap_or_else(|| "no job".to_owned()),
        key: job,
        used,
    };
    Ok(sums.into_iter().map(line).collect())
}
