//! Tokens: who may ask, and what.

use chrono::{DateTime, Utc};
use plugwell_domain::words::Role;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::client::Client;
use crate::error::Error;
use crate::record::records;
use crate::word::Word;

/// A token that is to be made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NewToken {
    /// Who or what is to carry it.
    pub name: String,
    /// What it may.
    pub role: Role,
}

/// A token, without its secret. Removed, it opens nothing any more.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Token {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Who or what carries it.
    pub name: String,
    /// What it may.
    pub role: Word<Role>,
    /// When it was made.
    pub created_at: DateTime<Utc>,
}

/// A token that was just made.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct MadeToken {
    /// The token.
    #[serde(flatten)]
    pub token: Token,
    /// What goes into [`Client::new`], shown this once.
    #[serde(rename = "token")]
    pub secret: String,
}

records! {
    Token, "/v1/tokens";
}

impl Client {
    /// Makes a token; sent once, whatever happens.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn add_token(&self, token: &NewToken) -> Result<MadeToken, Error> {
        self.create("/v1/tokens", token).await
    }
}
