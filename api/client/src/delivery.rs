//! What became of a webhook's deliveries, and its secrets.

use chrono::{DateTime, Utc};
use reqwest::{Method, header};
use serde::Deserialize;
use uuid::Uuid;

use crate::catalogue::Webhook;
use crate::client::Client;
use crate::error::Error;
use crate::paging::List;
use crate::record::Versioned;
use crate::sending::Call;

/// An event on its way to a webhook.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct WebhookDelivery {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// The event, as in the header `webhook-id`.
    pub event_id: Uuid,
    /// What happened, such as `plugwell.movement.booked.v1`.
    #[serde(rename = "type")]
    pub kind: String,
    /// What it happened to.
    pub subject: String,
    /// `waiting`, `delivered` or `dead`.
    pub state: String,
    /// When it is sent next.
    #[serde(default)]
    pub next_at: Option<DateTime<Utc>>,
    /// What came of each attempt.
    pub attempts: Vec<DeliveryAttempt>,
    /// When it was made out.
    pub created_at: DateTime<Utc>,
    /// When it was delivered, or given up.
    #[serde(default)]
    pub ended_at: Option<DateTime<Utc>>,
}

/// One attempt of a delivery.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct DeliveryAttempt {
    /// Counts them, from 1.
    pub number: i64,
    /// When it began.
    pub at: DateTime<Utc>,
    /// Status of the answer; null where there was none.
    #[serde(default)]
    pub status: Option<u16>,
    /// Why it failed; null where it did not.
    #[serde(default)]
    pub failure: Option<String>,
}

/// A secret that was just made.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct MadeWebhookSecret {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What deliveries are signed with besides, shown this once; see [`crate::webhook::verify`].
    pub secret: String,
    /// When it was made.
    pub created_at: DateTime<Utc>,
}

impl Client {
    /// The deliveries of a webhook, such as those of the `state` `dead`.
    pub fn deliveries(&self, webhook_id: Uuid) -> List<WebhookDelivery> {
        List::new(self, format!("/v1/webhooks/{webhook_id}/deliveries"))
    }

    /// Has a delivery sent once more, whatever became of it. The receiver knows it by its event.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn resend(
        &self,
        webhook_id: Uuid,
        delivery_id: Uuid,
    ) -> Result<WebhookDelivery, Error> {
        let path = format!("/v1/webhooks/{webhook_id}/deliveries/{delivery_id}/resend");
        self.send(&Call::new(Method::POST, path)).await?.read()
    }

    /// Makes another secret of a webhook, for the time in which its receiver changes from one to the next;
    /// sent once, whatever happens.
    ///
    /// # Errors
    /// [`Error`].
    pub async fn add_secret(&self, webhook_id: Uuid) -> Result<MadeWebhookSecret, Error> {
        let call = Call::new(Method::POST, format!("/v1/webhooks/{webhook_id}/secrets"));
        self.send(&call.only_once()).await?.read()
    }

    /// Removes a secret of a webhook; one always stays. Meant for one version of it, like [`Client::change`].
    ///
    /// # Errors
    /// [`Error`].
    pub async fn remove_secret(
        &self,
        known: &Versioned<Webhook>,
        secret_id: Uuid,
    ) -> Result<(), Error> {
        let webhook_id = known.record.id;
        let path = format!("/v1/webhooks/{webhook_id}/secrets/{secret_id}");
        let call = Call::new(Method::DELETE, path).with(header::IF_MATCH, &known.etag);
        self.send(&call).await?.read()
    }
}
