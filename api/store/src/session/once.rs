//! First answers to once-only keys, in the same transaction as their effect.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use uuid::Uuid;

use super::Session;
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

/// The first answer to a once-only key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnceRow {
    /// Of method, path and body: the same key with another request is refused.
    pub fingerprint: String,
    /// Status of the answer.
    pub status: u16,
    /// Headers of the answer, as JSON.
    pub headers: String,
    /// Body of the answer, byte for byte.
    pub body: Vec<u8>,
    /// When it was first answered.
    pub created_at: DateTime<Utc>,
}

impl Record for OnceRow {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            fingerprint: cells.text()?,
            status: u16::try_from(cells.int()?)?,
            headers: cells.text()?,
            body: cells.bytes()?,
            created_at: cells.time()?,
        })
    }
}

impl Session {
    /// The first answer to a key of a token, if there is one.
    pub fn once(&mut self, token_id: Uuid, key: &str) -> Result<Option<OnceRow>, StoreError> {
        let sql = "SELECT fingerprint, status, headers, body, created_at FROM once WHERE token_id = ? AND key = ?";
        self.first(sql, binds![token_id, key])
    }

    /// Keeps the first answer to a key of a token.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::Once`](crate::Key::Once) where somebody was quicker.
    pub fn put_once(&mut self, token_id: Uuid, key: &str, row: &OnceRow) -> Result<(), StoreError> {
        let sql = "INSERT INTO once (token_id, key, fingerprint, status, headers, body, created_at) \
                   VALUES (?, ?, ?, ?, ?, ?, ?)";
        let status = i64::from(row.status);
        let values = binds![
            token_id,
            key,
            &row.fingerprint,
            status,
            &row.headers,
            row.body.clone(),
            row.created_at
        ];
        self.execute(sql, values).map(drop)
    }

    /// Forgets answers given before an instant; gives back how many.
    pub fn forget_once_before(&mut self, instant: DateTime<Utc>) -> Result<usize, StoreError> {
        self.execute("DELETE FROM once WHERE created_at < ?", binds![instant])
    }
}
