//! Cylinder heads.

use diesel::deserialize;
use plugwell_domain::build::Head;
use plugwell_domain::event::{Event, EventKind};
use uuid::Uuid;

use super::outbox::MarkKind;
use super::stored::Stored;
use super::{Filtered, Session};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT id, version, created_at, updated_at, body FROM heads";

impl<T: serde::de::DeserializeOwned + 'static> Record for Stored<T> {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            version: cells.int()?,
            created_at: cells.time()?,
            updated_at: cells.time()?,
            data: cells.json()?,
        })
    }
}

pub(super) fn body(data: &impl serde::Serialize) -> Result<String, StoreError> {
    serde_json::to_string(data).map_err(|e| StoreError::Fault(e.to_string()))
}

impl Session {
    /// A head.
    pub fn head(&mut self, id: Uuid) -> Result<Option<Stored<Head>>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Heads in the order of their ids.
    pub fn list_heads(
        &mut self,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Stored<Head>>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Stores a new head and marks it.
    pub fn insert_head(&mut self, head: &Stored<Head>) -> Result<(), StoreError> {
        let sql = "INSERT INTO heads (id, name, body, version, created_at, updated_at) VALUES (?, ?, ?, ?, ?, ?)";
        let name = head.data.name.as_deref();
        self.execute(
            sql,
            binds![
                head.id,
                name,
                body(&head.data)?,
                head.version,
                head.created_at,
                head.updated_at
            ],
        )?;
        self.mark(MarkKind::Head, head.id)?;
        self.tell(&Event::of(
            EventKind::HeadCreated,
            head.id,
            head.version,
            head,
        ))
    }

    /// Stores a head's new state, version already raised, over the one before it, and marks it.
    pub fn update_head(&mut self, head: &Stored<Head>) -> Result<(), StoreError> {
        let sql = "UPDATE heads SET name = ?, body = ?, version = ?, updated_at = ? WHERE id = ? AND version = ?";
        let name = head.data.name.as_deref();
        let before = head.version - 1;
        self.write_over(
            sql,
            binds![
                name,
                body(&head.data)?,
                head.version,
                head.updated_at,
                head.id,
                before
            ],
        )?;
        self.mark(MarkKind::Head, head.id)?;
        self.tell(&Event::of(
            EventKind::HeadChanged,
            head.id,
            head.version,
            head,
        ))
    }

    /// Deletes a head that no build stands on; whether there was one.
    pub fn delete_head(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let sql = "DELETE FROM heads WHERE id = ? RETURNING version";
        let Some(version) = self.first::<i64>(sql, binds![id])? else {
            return Ok(false);
        };
        self.mark(MarkKind::Head, id)?;
        self.tell(&Event::bare(EventKind::HeadRemoved, id, version + 1))?;
        Ok(true)
    }

    /// Whether a build stands on the head.
    pub fn head_in_use(&mut self, id: Uuid) -> Result<bool, StoreError> {
        self.any(
            "SELECT CAST(1 AS bigint) FROM builds WHERE head_id = ? LIMIT 1",
            binds![id],
        )
    }
}
