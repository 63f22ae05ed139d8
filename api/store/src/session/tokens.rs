//! Who may come in.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::words::Role;
use uuid::Uuid;

use super::{Filtered, Session};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT id, name, role, hash, created_at, revoked_at FROM tokens";

/// A token, of which only the hash is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Token {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Who has it: the actor of a movement.
    pub name: String,
    /// What it may do.
    pub role: Role,
    /// Hash of the secret, in hexadecimal.
    pub hash: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// When it was taken back.
    pub revoked_at: Option<DateTime<Utc>>,
}

impl Record for Token {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            name: cells.text()?,
            role: cells.word()?,
            hash: cells.text()?,
            created_at: cells.time()?,
            revoked_at: cells.time_or_null()?,
        })
    }
}

impl Session {
    /// A token, revoked ones too.
    pub fn token(&mut self, id: Uuid) -> Result<Option<Token>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// The token with a hash, revoked ones too.
    pub fn token_by_hash(&mut self, hash: &str) -> Result<Option<Token>, StoreError> {
        self.first(&format!("{SELECT} WHERE hash = ?"), binds![hash])
    }

    /// Tokens in the order of their ids, revoked ones too.
    pub fn list_tokens(
        &mut self,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Token>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Stores a new token.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::TokenHash`](crate::Key::TokenHash).
    pub fn insert_token(&mut self, token: &Token) -> Result<(), StoreError> {
        let sql = "INSERT INTO tokens (id, name, role, hash, created_at, revoked_at) VALUES (?, ?, ?, ?, ?, ?)";
        let values = binds![
            token.id,
            &token.name,
            token.role.word(),
            &token.hash,
            token.created_at,
            token.revoked_at
        ];
        self.execute(sql, values).map(drop)
    }

    /// Takes a token back; whether it was valid until now.
    pub fn revoke_token(&mut self, id: Uuid, now: DateTime<Utc>) -> Result<bool, StoreError> {
        let sql = "UPDATE tokens SET revoked_at = ? WHERE id = ? AND revoked_at IS NULL";
        Ok(self.execute(sql, binds![now, id])? > 0)
    }

    /// Whether any token is valid.
    pub fn any_token(&mut self) -> Result<bool, StoreError> {
        self.any(
            "SELECT CAST(1 AS bigint) FROM tokens WHERE revoked_at IS NULL LIMIT 1",
            &[],
        )
    }
}
