//! Who is told of events by a request to a URL, and what those requests are signed with.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::event::{EventKind, WebhookData};
use uuid::Uuid;

use super::heads::body;
use super::{Filtered, Link, Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT id, url, kinds, description, enabled, disabled_because, reached, made_by, version, \
     created_at, updated_at FROM webhooks";

/// Who is told of events.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Webhook {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What the shop entered.
    pub data: WebhookData,
    /// Whether anything is sent.
    pub enabled: bool,
    /// Why nothing is sent, where the receiver is the cause.
    pub disabled_because: Option<String>,
    /// How far in the feed deliveries have been made out.
    pub reached: i64,
    /// Name of the token that made it.
    pub made_by: String,
    /// Counts the changes, those of its secrets among them, from 1.
    pub version: i64,
    /// When it was made.
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    pub updated_at: DateTime<Utc>,
}

/// What deliveries are signed with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WebhookSecret {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Whose it is.
    pub webhook_id: Uuid,
    /// `whsec_` and the key in base64.
    pub secret: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
}

impl Record for Webhook {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            data: WebhookData {
                url: cells.text()?,
                types: Some(cells.json::<Vec<EventKind>>()?).filter(|kinds| !kinds.is_empty()),
                description: cells.text_or_null()?,
            },
            enabled: cells.flag()?,
            disabled_because: cells.text_or_null()?,
            reached: cells.int()?,
            made_by: cells.text()?,
            version: cells.int()?,
            created_at: cells.time()?,
            updated_at: cells.time()?,
        })
    }
}

impl Record for WebhookSecret {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            webhook_id: cells.id()?,
            secret: cells.text()?,
            created_at: cells.time()?,
        })
    }
}

impl Session {
    /// A webhook. In a write nobody else changes it until the commit.
    pub fn webhook(&mut self, id: Uuid) -> Result<Option<Webhook>, StoreError> {
        let lock = match self.link {
            Link::Postgres(_) if self.writing => " FOR NO KEY UPDATE",
            Link::Postgres(_) | Link::Sqlite(_) => "",
        };
        self.first(&format!("{SELECT} WHERE id = ?{lock}"), binds![id])
    }

    /// Webhooks in the order that they were made in.
    pub fn list_webhooks(
        &mut self,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Webhook>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// The webhooks that something is sent to and that deliveries have not been made out for up to a
    /// place of the feed.
    pub fn webhooks_behind(&mut self, sequence: i64) -> Result<Vec<Uuid>, StoreError> {
        let sql = "SELECT id FROM webhooks WHERE enabled <> 0 AND reached < ? ORDER BY id";
        self.load(sql, binds![sequence])
    }

    /// Stores a new webhook.
    pub fn insert_webhook(&mut self, hook: &Webhook) -> Result<(), StoreError> {
        let sql = "INSERT INTO webhooks (id, url, kinds, description, enabled, disabled_because, reached, made_by, \
                   version, created_at, updated_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)";
        let values = binds![
            hook.id,
            &hook.data.url,
            kinds(hook)?,
            hook.data.description.as_deref(),
            hook.enabled,
            hook.disabled_because.as_deref(),
            hook.reached,
            &hook.made_by,
            hook.version,
            hook.created_at,
            hook.updated_at
        ];
        self.execute(sql, values).map(drop)
    }

    /// Stores a webhook's new state, version already raised, over the one before it; how far it has
    /// been told stays.
    pub fn update_webhook(&mut self, hook: &Webhook) -> Result<(), StoreError> {
        let sql = "UPDATE webhooks SET url = ?, kinds = ?, description = ?, enabled = ?, disabled_because = ?, \
                   version = ?, updated_at = ? WHERE id = ? AND version = ?";
        let values = binds![
            &hook.data.url,
            kinds(hook)?,
            hook.data.description.as_deref(),
            hook.enabled,
            hook.disabled_because.as_deref(),
            hook.version,
            hook.updated_at,
            hook.id,
            hook.version - 1
        ];
        self.write_over(sql, values)
    }

    /// Notes how far deliveries have been made out.
    pub(super) fn reach_with(&mut self, id: Uuid, sequence: i64) -> Result<(), StoreError> {
        let sql = "UPDATE webhooks SET reached = ? WHERE id = ?";
        self.execute(sql, binds![sequence, id]).map(drop)
    }

    /// Removes a webhook with its secrets and all its deliveries; whether there was one.
    pub fn delete_webhook(&mut self, id: Uuid) -> Result<bool, StoreError> {
        // Locked first, so that nobody makes out deliveries meanwhile.
        if self.webhook(id)?.is_none() {
            return Ok(false);
        }
        let sql = "DELETE FROM delivery_attempts WHERE delivery_id IN (SELECT id FROM deliveries WHERE webhook_id = ?)";
        self.execute(sql, binds![id])?;
        self.execute("DELETE FROM deliveries WHERE webhook_id = ?", binds![id])?;
        let sql = "DELETE FROM webhook_secrets WHERE webhook_id = ?";
        self.execute(sql, binds![id])?;
        self.execute("DELETE FROM webhooks WHERE id = ?", binds![id])?;
        Ok(true)
    }

    /// The secrets of some webhooks, oldest first.
    pub fn webhook_secrets(&mut self, ids: &[Uuid]) -> Result<Vec<WebhookSecret>, StoreError> {
        let sql = format!(
            "SELECT id, webhook_id, secret, created_at FROM webhook_secrets WHERE webhook_id IN {} ORDER BY id",
            self.listed()
        );
        self.load(&sql, &[listing(ids)])
    }

    /// Keeps a secret.
    pub fn insert_webhook_secret(&mut self, secret: &WebhookSecret) -> Result<(), StoreError> {
        let sql =
            "INSERT INTO webhook_secrets (id, webhook_id, secret, created_at) VALUES (?, ?, ?, ?)";
        let values = binds![
            secret.id,
            secret.webhook_id,
            &secret.secret,
            secret.created_at
        ];
        self.execute(sql, values).map(drop)
    }

    /// Forgets a secret; whether there was one.
    pub fn delete_webhook_secret(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let sql = "DELETE FROM webhook_secrets WHERE id = ?";
        Ok(self.execute(sql, binds![id])? > 0)
    }
}

fn kinds(hook: &Webhook) -> Result<String, StoreError> {
    body(&hook.data.types.as_deref().unwrap_or_default())
}
