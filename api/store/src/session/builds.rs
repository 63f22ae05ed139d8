//! Engines as built.

use plugwell_domain::build::Build;
use plugwell_domain::event::{Event, EventKind};
use uuid::Uuid;

use super::heads::body;
use super::outbox::MarkKind;
use super::stored::Stored;
use super::{Filtered, Link, Session, listing};
use crate::error::StoreError;
use crate::statement::binds;

const SELECT: &str = "SELECT id, version, created_at, updated_at, body FROM builds";

/// What a list of builds is narrowed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct BuildFilter {
    /// The stored head that they stand on.
    pub head_id: Option<Uuid>,
    /// The plug that was in.
    pub base_plug_id: Option<Uuid>,
}

impl Session {
    /// A build.
    pub fn build(&mut self, id: Uuid) -> Result<Option<Stored<Build>>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Builds by their ids, in no order; those that there are not are left out.
    pub fn builds_by_id(&mut self, ids: &[Uuid]) -> Result<Vec<Stored<Build>>, StoreError> {
        let sql = format!("{SELECT} WHERE id IN {}", self.listed());
        self.load(&sql, &[listing(ids)])
    }

    /// Until the end of the transaction nobody else changes the build or takes this lock: whoever
    /// looks for a reading of it sees every one.
    pub fn lock_build(&mut self, id: Uuid) -> Result<(), StoreError> {
        if matches!(self.link, Link::Postgres(_)) {
            // Rows may still point to it meanwhile.
            let sql = "SELECT version FROM builds WHERE id = ? FOR NO KEY UPDATE";
            self.first::<i64>(sql, binds![id])?;
        }
        Ok(())
    }

    /// Builds in the order of their ids.
    pub fn list_builds(
        &mut self,
        filter: &BuildFilter,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Stored<Build>>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("head_id = ?", filter.head_id);
        query.and_given("base_plug_id = ?", filter.base_plug_id);
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Stores a new build and marks it.
    pub fn insert_build(&mut self, build: &Stored<Build>) -> Result<(), StoreError> {
        let data = &build.data;
        self.execute(
            "INSERT INTO builds (id, name, head_id, base_plug_id, body, version, created_at, updated_at) \
             VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            binds![
                build.id,
                data.name.as_deref(),
                data.head_id,
                data.engine.base_plug_id,
                body(data)?,
                build.version,
                build.created_at,
                build.updated_at,
            ],
        )?;
        self.mark(MarkKind::Build, build.id)?;
        self.tell(&Event::of(
            EventKind::BuildCreated,
            build.id,
            build.version,
            build,
        ))
    }

    /// Stores a build's new state, version already raised, over the one before it, and marks it.
    pub fn update_build(&mut self, build: &Stored<Build>) -> Result<(), StoreError> {
        let data = &build.data;
        self.write_over(
            "UPDATE builds SET name = ?, head_id = ?, base_plug_id = ?, body = ?, version = ?, updated_at = ? \
             WHERE id = ? AND version = ?",
            binds![
                data.name.as_deref(),
                data.head_id,
                data.engine.base_plug_id,
                body(data)?,
                build.version,
                build.updated_at,
                build.id,
                build.version - 1,
            ],
        )?;
        self.mark(MarkKind::Build, build.id)?;
        self.tell(&Event::of(
            EventKind::BuildChanged,
            build.id,
            build.version,
            build,
        ))
    }

    /// Deletes a build; whether there was one.
    pub fn delete_build(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let sql = "DELETE FROM builds WHERE id = ? RETURNING version";
        let Some(version) = self.first::<i64>(sql, binds![id])? else {
            return Ok(false);
        };
        self.mark(MarkKind::Build, id)?;
        self.tell(&Event::bare(EventKind::BuildRemoved, id, version + 1))?;
        Ok(true)
    }

    /// Whether a movement, a reservation, a tuning day or a reading names the build.
    pub fn build_in_use(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let sql = "SELECT CAST(1 AS bigint) WHERE EXISTS (SELECT 1 FROM movements WHERE build_id = ?) \
                   OR EXISTS (SELECT 1 FROM tuning_days WHERE build_id = ?) \
                   OR EXISTS (SELECT 1 FROM readings WHERE build_id = ?) \
                   OR EXISTS (SELECT 1 FROM reservations WHERE build_id = ?)";
        self.any(sql, binds![id, id, id, id])
    }
}
