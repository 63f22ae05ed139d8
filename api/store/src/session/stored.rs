//! A record around something that a caller typed in.

use chrono::{DateTime, Utc};
use serde::Serialize;
use uuid::Uuid;

/// Something stored, with what the service keeps of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stored<T> {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was first stored.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub updated_at: DateTime<Utc>,
    /// What was typed in.
    #[serde(flatten)]
    pub data: T,
}
