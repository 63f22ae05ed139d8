//! Tables of stock that were received, and lots as they were received: what shows that a table comes a
//! second time.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::ledger::{Lot, MovementKind};
use uuid::Uuid;

use super::{Session, listing, lots};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

/// A table that was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableRead {
    /// Its rows.
    pub rows: i64,
    /// Name of the token that brought it.
    pub read_by: String,
    /// When.
    pub read_at: DateTime<Utc>,
}

impl Record for TableRead {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            rows: cells.int()?,
            read_by: cells.text()?,
            read_at: cells.time()?,
        })
    }
}

impl Session {
    /// The reads of a table with this content, the newest first; at most so many.
    pub fn table_reads(&mut self, digest: &str, limit: i64) -> Result<Vec<TableRead>, StoreError> {
        let sql = "SELECT row_count, read_by, read_at FROM table_reads WHERE digest = ? \
                   ORDER BY read_at DESC, id DESC LIMIT ?";
        self.load(sql, binds![digest, limit])
    }

    /// Keeps that a table with this content was read.
    pub fn insert_table_read(
        &mut self,
        id: Uuid,
        digest: &str,
        read: &TableRead,
    ) -> Result<(), StoreError> {
        let sql = "INSERT INTO table_reads (id, digest, row_count, read_by, read_at) VALUES (?, ?, ?, ?, ?)";
        let values = binds![id, digest, read.rows, &read.read_by, read.read_at];
        self.execute(sql, values).map(drop)
    }

    /// The lots of a part that were received with so many plugs and still stand so, each with the
    /// reference of its receipt; none of those received at a given instant.
    pub fn lots_received(
        &mut self,
        plug_id: Uuid,
        quantity: i64,
        but_at: DateTime<Utc>,
    ) -> Result<Vec<(Lot, Option<String>)>, StoreError> {
        let sql = format!(
            "SELECT {}, m.note FROM lots JOIN movements m ON m.lot_id = lots.id AND m.kind = '{}' \
             WHERE lots.plug_id = ? AND lots.quantity_received = ? AND lots.received_at <> ? \
             AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses = m.id) ORDER BY lots.number",
            lots::COLUMNS,
            MovementKind::Receipt.word()
        );
        self.load(&sql, binds![plug_id, quantity, but_at])
    }

    /// The references that lots were received under, each with its lot; of a lot that was made of
    /// another, that one's.
    pub fn references_of(&mut self, lots: &[Uuid]) -> Result<Vec<(Uuid, String)>, StoreError> {
        let sql = format!(
            "WITH RECURSIVE line (lot_id, id) AS (SELECT id, id FROM lots WHERE id IN {} \
             UNION SELECT line.lot_id, lots.from_lot_id FROM line JOIN lots ON lots.id = line.id \
             WHERE lots.from_lot_id IS NOT NULL) \
             SELECT line.lot_id, m.note FROM line JOIN movements m ON m.lot_id = line.id \
             WHERE m.kind = '{}' AND m.note IS NOT NULL",
            self.listed(),
            MovementKind::Receipt.word()
        );
        self.load(&sql, &[listing(lots)])
    }
}
