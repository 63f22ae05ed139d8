//! Tuning days: plugs planned and kept for a day of readings.

use chrono::NaiveDate;
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::tuning_day::PlannedDay;
use uuid::Uuid;

use super::heads::body;
use super::outbox::MarkKind;
use super::stored::Stored;
use super::{Filtered, Session};
use crate::error::StoreError;
use crate::statement::binds;

const SELECT: &str = "SELECT id, version, created_at, updated_at, body FROM tuning_days";

/// What a list of tuning days is narrowed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct TuningDayFilter {
    /// The stored build.
    pub build_id: Option<Uuid>,
    /// On this day or later.
    pub from: Option<NaiveDate>,
    /// On this day or earlier.
    pub to: Option<NaiveDate>,
}

impl Session {
    /// A tuning day.
    pub fn tuning_day(&mut self, id: Uuid) -> Result<Option<Stored<PlannedDay>>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Tuning days that a filter leaves, in the order of their ids.
    pub fn list_tuning_days(
        &mut self,
        filter: &TuningDayFilter,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Stored<PlannedDay>>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("build_id = ?", filter.build_id);
        query.and_given("day >= ?", filter.from.map(written));
        query.and_given("day <= ?", filter.to.map(written));
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Stores a new tuning day and marks it.
    pub fn insert_tuning_day(&mut self, day: &Stored<PlannedDay>) -> Result<(), StoreError> {
        let data = &day.data;
        self.execute(
            "INSERT INTO tuning_days (id, build_id, plug_id, reservation_id, day, body, version, created_at, updated_at) \
             VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            binds![
                day.id,
                data.asked.build_id,
                data.plan.proposed.as_ref().map(|offer| offer.plug.id),
                data.reservation_id,
                written(data.asked.day),
                body(data)?,
                day.version,
                day.created_at,
                day.updated_at,
            ],
        )?;
        self.mark(MarkKind::TuningDay, day.id)?;
        self.tell(&Event::of(
            EventKind::TuningDayPlanned,
            day.id,
            day.version,
            day,
        ))
    }

    /// Stores a tuning day's new state, version already raised, over the one before it, and marks
    /// it. Day and part stay.
    pub fn update_tuning_day(&mut self, day: &Stored<PlannedDay>) -> Result<(), StoreError> {
        self.write_over(
            "UPDATE tuning_days SET reservation_id = ?, body = ?, version = ?, updated_at = ? WHERE id = ? AND version = ?",
            binds![
                day.data.reservation_id,
                body(&day.data)?,
                day.version,
                day.updated_at,
                day.id,
                day.version - 1
            ],
        )?;
        self.mark(MarkKind::TuningDay, day.id)?;
        self.tell(&Event::of(
            EventKind::TuningDayChanged,
            day.id,
            day.version,
            day,
        ))
    }
}

/// The date as ISO 8601 writes it: its order as text is that of time up to the year 9999.
fn written(day: NaiveDate) -> String {
    day.format("%Y-%m-%d").to_string()
}
