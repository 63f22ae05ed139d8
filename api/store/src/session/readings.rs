//! Readings: kept, never changed.

use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::reading::KeptReading;
use uuid::Uuid;

use super::heads::body;
use super::outbox::MarkKind;
use super::stored::Stored;
use super::{Filtered, Session, listing};
use crate::error::StoreError;
use crate::statement::binds;

const SELECT: &str = "SELECT id, version, created_at, updated_at, body FROM readings";

/// What a list of readings is narrowed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ReadingFilter {
    /// The build.
    pub build_id: Option<Uuid>,
    /// The tuning day.
    pub tuning_day_id: Option<Uuid>,
    /// The issue that their plugs went out with.
    pub movement_id: Option<Uuid>,
    /// Whether they count as evidence.
    pub evidence: Option<bool>,
}

impl Session {
    /// A reading.
    pub fn reading(&mut self, id: Uuid) -> Result<Option<Stored<KeptReading>>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Readings that a filter leaves, the newest first; `before` is the last of the page before.
    pub fn list_readings(
        &mut self,
        filter: &ReadingFilter,
        before: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Stored<KeptReading>>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("build_id = ?", filter.build_id);
        query.and_given("tuning_day_id = ?", filter.tuning_day_id);
        query.and_given("movement_id = ?", filter.movement_id);
        query.and_given("evidence = ?", filter.evidence);
        query.and_given("id < ?", before);
        self.load_filtered(query.page("id DESC", limit))
    }

    /// Readings of plugs that went out with some issues, in the order of their ids.
    pub fn readings_of_issues(
        &mut self,
        movement_ids: &[Uuid],
    ) -> Result<Vec<Stored<KeptReading>>, StoreError> {
        let sql = format!(
            "{SELECT} WHERE movement_id IN {} ORDER BY id",
            self.listed()
        );
        self.load(&sql, &[listing(movement_ids)])
    }

    /// How many plugs of an issue have been read.
    pub fn readings_of(&mut self, movement_id: Uuid) -> Result<i64, StoreError> {
        self.one(
            "SELECT COUNT(*) FROM readings WHERE movement_id = ?",
            binds![movement_id],
        )
    }

    /// Stores a reading and marks it.
    pub fn insert_reading(&mut self, reading: &Stored<KeptReading>) -> Result<(), StoreError> {
        let data = &reading.data;
        self.execute(
            "INSERT INTO readings (id, build_id, plug_id, movement_id, tuning_day_id, evidence, body, version, created_at, \
             updated_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            binds![
                reading.id,
                data.reading.build_id,
                data.plug_id,
                data.reading.movement_id,
                data.reading.tuning_day_id,
                data.judgement.evidence,
                body(data)?,
                reading.version,
                reading.created_at,
                reading.updated_at,
            ],
        )?;
        self.mark(MarkKind::Reading, reading.id)?;
        self.tell(&Event::of(
            EventKind::ReadingRecorded,
            reading.id,
            reading.version,
            reading,
        ))
    }
}
