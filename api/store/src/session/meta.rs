//! What the database says about itself.

use uuid::Uuid;

use super::{Link, Session};
use crate::error::StoreError;
use crate::statement::binds;

/// Under this name stands the lineage: a UUID that is new wherever the positions of the outbox
/// began anew, so that a copy fed from them knows that it has to be built again.
pub const LINEAGE: &str = "lineage";

impl Session {
    /// A value by its name.
    pub fn meta(&mut self, name: &str) -> Result<Option<String>, StoreError> {
        self.first("SELECT value FROM meta WHERE key = ?", binds![name])
    }

    /// Sets a value.
    pub fn set_meta(&mut self, name: &str, value: &str) -> Result<(), StoreError> {
        let sql = "INSERT INTO meta (key, value) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value";
        self.execute(sql, binds![name, value]).map(drop)
    }

    /// Sets a value over the one before it; not where somebody else has set another meanwhile.
    pub fn advance_meta(
        &mut self,
        name: &str,
        before: Option<&str>,
        next: &str,
    ) -> Result<bool, StoreError> {
        let written = match before {
            Some(before) => self.execute(
                "UPDATE meta SET value = ? WHERE key = ? AND value = ?",
                binds![next, name, before],
            )?,
            None => self.execute(
                "INSERT INTO meta (key, value) VALUES (?, ?) ON CONFLICT (key) DO NOTHING",
                binds![name, next],
            )?,
        };
        Ok(written == 1)
    }

    /// The lineage of this database: a UUID that is new wherever the positions of the outbox began
    /// anew. A copy fed from them, such as the index, is built again where it stems from another.
    pub fn lineage(&mut self) -> Result<String, StoreError> {
        self.one("SELECT value FROM meta WHERE key = ?", binds![LINEAGE])
    }

    /// Gives a new lineage to a database that has none or whose marks come from elsewhere.
    pub(crate) fn settle_lineage(&mut self) -> Result<(), StoreError> {
        // Positions on PostgreSQL are numbers of transactions. A dump restored into another
        // server brings numbers along that this one has not come to yet.
        let foreign = match self.link {
            Link::Sqlite(_) => false,
            Link::Postgres(_) => {
                let sql = "SELECT position FROM outbox \
                           WHERE position >= pg_snapshot_xmax(pg_current_snapshot())::text::bigint LIMIT 1";
                self.any(sql, &[])?
            }
        };
        if foreign {
            self.execute("DELETE FROM outbox", &[])?;
            return self.set_meta(LINEAGE, &Uuid::now_v7().to_string());
        }
        let sql = "INSERT INTO meta (key, value) VALUES (?, ?) ON CONFLICT (key) DO NOTHING";
        self.execute(sql, binds![LINEAGE, Uuid::now_v7()]).map(drop)
    }
}
