//! What the shop gives by hand for the reordering of single parts.

use std::collections::{HashMap, HashSet};

use chrono::{DateTime, Utc};
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::reorder::Reordering;
use serde_json::Value;
use uuid::Uuid;

use super::demand::Parts;
use super::heads::body;
use super::outbox::MarkKind;
use super::stored::Stored;
use super::{Link, Session, listing};
use crate::error::StoreError;
use crate::statement::binds;

const SELECT: &str = "SELECT plug_id, version, created_at, updated_at, body FROM reordering";
/// Taken by whoever makes orders of the proposal; any number that nobody else takes.
const PROPOSAL: i64 = 0x7265_6f72;

impl Session {
    /// What is given for a part that was stored at an instant; at version 1 and empty where nobody
    /// has given anything.
    pub fn reordering(
        &mut self,
        plug_id: Uuid,
        stored_at: DateTime<Utc>,
    ) -> Result<Stored<Reordering>, StoreError> {
        let found = self.first(&format!("{SELECT} WHERE plug_id = ?"), binds![plug_id])?;
        Ok(found.unwrap_or_else(|| Stored {
            id: plug_id,
            version: 1,
            created_at: stored_at,
            updated_at: stored_at,
            data: Reordering::default(),
        }))
    }

    /// What is given for some parts, or for all.
    pub fn all_reordering(
        &mut self,
        parts: Parts<'_>,
    ) -> Result<HashMap<Uuid, Reordering>, StoreError> {
        let (only, binds) = self.only("plug_id", parts);
        let found: Vec<Stored<Reordering>> =
            self.load(&format!("{SELECT} WHERE 1 = 1{only}"), &binds)?;
        Ok(found
            .into_iter()
            .map(|given| (given.id, given.data))
            .collect())
    }

    /// Stores what is given for a part, version already raised, over the one before it, and marks
    /// it.
    pub fn put_reordering(&mut self, given: &Stored<Reordering>) -> Result<(), StoreError> {
        self.write_over(
            "INSERT INTO reordering (plug_id, body, version, created_at, updated_at) VALUES (?, ?, ?, ?, ?) \
             ON CONFLICT (plug_id) DO UPDATE SET body = excluded.body, version = excluded.version, \
             updated_at = excluded.updated_at WHERE reordering.version = excluded.version - 1",
            binds![
                given.id,
                body(&given.data)?,
                given.version,
                given.created_at,
                given.updated_at,
            ],
        )?;
        self.mark(MarkKind::Reordering, given.id)?;
        self.tell(&Event::of(
            EventKind::ReorderingChanged,
            given.id,
            given.version,
            given,
        ))
    }

    /// The parts that were told of as low and have not risen above their reorder point since.
    pub fn parts_low(&mut self) -> Result<HashSet<Uuid>, StoreError> {
        let found: Vec<Uuid> = self.load("SELECT plug_id FROM parts_low", &[])?;
        Ok(found.into_iter().collect())
    }

    /// Tells that a part has come to its reorder point, unless somebody has.
    pub fn tell_low(&mut self, plug_id: Uuid, figures: &Value) -> Result<(), StoreError> {
        let sql = "INSERT INTO parts_low (plug_id, told_at) VALUES (?, ?) ON CONFLICT DO NOTHING";
        if self.execute(sql, binds![plug_id, Utc::now()])? == 0 {
            return Ok(());
        }
        let sql = "SELECT stock_version FROM plugs WHERE id = ?";
        let version = self.first(sql, binds![plug_id])?.unwrap_or(0);
        let kind = EventKind::ReorderPointCrossed;
        self.tell(&Event::of(kind, plug_id, version, figures))
    }

    /// Notes that parts have risen above their reorder point.
    pub fn not_low(&mut self, plug_ids: &[Uuid]) -> Result<(), StoreError> {
        let sql = format!("DELETE FROM parts_low WHERE plug_id IN {}", self.listed());
        self.execute(&sql, &[listing(plug_ids)]).map(drop)
    }

    /// Until the end of the transaction nobody else makes orders of the proposal: none is made
    /// twice.
    pub fn lock_proposal(&mut self) -> Result<(), StoreError> {
        match self.link {
            // There is one writer at a time.
            Link::Sqlite(_) => Ok(()),
            Link::Postgres(_) => self.batch(&format!("SELECT pg_advisory_xact_lock({PROPOSAL})")),
        }
    }
}
