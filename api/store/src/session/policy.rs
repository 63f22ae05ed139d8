//! The policy: every version that was ever in force, as JSON.

use chrono::{DateTime, Utc};
use plugwell_domain::event::{Event, EventKind};
use serde_json::json;
use uuid::Uuid;

use super::Session;
use super::outbox::MarkKind;
use crate::error::StoreError;
use crate::statement::binds;

impl Session {
    /// The version in force and its document; `None` where the shop has set none.
    pub fn latest_policy(&mut self) -> Result<Option<(i64, String)>, StoreError> {
        self.first(
            "SELECT version, body FROM policies ORDER BY version DESC LIMIT 1",
            &[],
        )
    }

    /// The document of a version.
    pub fn policy(&mut self, version: i64) -> Result<Option<String>, StoreError> {
        self.first(
            "SELECT body FROM policies WHERE version = ?",
            binds![version],
        )
    }

    /// Puts a document in force and marks it (with the nil id: there is one policy).
    ///
    /// # Errors
    /// `Duplicate` with [`Key::PolicyVersion`](crate::Key::PolicyVersion).
    pub fn insert_policy(
        &mut self,
        version: i64,
        json: &str,
        now: DateTime<Utc>,
    ) -> Result<(), StoreError> {
        self.execute(
            "INSERT INTO policies (version, body, created_at) VALUES (?, ?, ?)",
            binds![version, json, now],
        )?;
        self.mark(MarkKind::Policy, Uuid::nil())?;
        let data = json!({ "version": version });
        self.tell(&Event::new(
            EventKind::PolicyChanged,
            Uuid::nil(),
            version,
            data,
        ))
    }
}
