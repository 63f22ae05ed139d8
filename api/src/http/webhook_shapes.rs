//! Webhooks, their secrets and deliveries as they stand in answers.

use chrono::{DateTime, Utc};
use plugwell_domain::event::EventKind;
use plugwell_domain::instant;
use plugwell_store::{Attempt, DeliveryState, WebhookSecret};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::webhooks;
use crate::service::webhooks::deliveries::Logged;

/// A secret without what is secret.
#[derive(Debug, Serialize, ToSchema)]
pub struct WebhookSecretMark {
    /// UUID v7 made by the service.
    id: Uuid,
    /// When it was made.
    #[serde(serialize_with = "instant::serialize")]
    created_at: DateTime<Utc>,
}

/// Who is told of events.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Webhook)]
pub struct ShownWebhook {
    /// UUID v7 made by the service.
    pub(super) id: Uuid,
    /// Where deliveries go.
    url: String,
    /// The types that it is told of; null for all.
    types: Option<Vec<EventKind>>,
    /// What it is for.
    description: Option<String>,
    /// Whether anything is sent.
    enabled: bool,
    /// Why nothing is sent, where the receiver is the cause.
    disabled_because: Option<String>,
    /// Its secrets, oldest first: each signs every delivery.
    secrets: Vec<WebhookSecretMark>,
    /// Deliveries that wait.
    waiting: i64,
    /// Deliveries that are dead: they can be sent again.
    dead: i64,
    /// Name of the token that made it.
    made_by: String,
    /// Counts the changes, those of its secrets among them, from 1.
    pub(super) version: i64,
    /// When it was made.
    #[serde(serialize_with = "instant::serialize")]
    created_at: DateTime<Utc>,
    /// When it last changed.
    #[serde(serialize_with = "instant::serialize")]
    updated_at: DateTime<Utc>,
}

/// A webhook that was just made.
#[derive(Debug, Serialize, ToSchema)]
pub struct MadeWebhook {
    /// The webhook.
    #[serde(flatten)]
    pub(super) shown: ShownWebhook,
    /// What its deliveries are signed with, shown this once: `whsec_` and the key in base64.
    pub(super) secret: String,
}

/// A secret that was just made.
#[derive(Debug, Serialize, ToSchema)]
pub struct MadeWebhookSecret {
    /// UUID v7 made by the service.
    id: Uuid,
    /// When it was made.
    #[serde(serialize_with = "instant::serialize")]
    created_at: DateTime<Utc>,
    /// What deliveries are signed with besides, shown this once: `whsec_` and the key in base64.
    pub(super) secret: String,
}

/// What came of one attempt.
#[derive(Debug, Serialize, ToSchema)]
pub struct DeliveryAttempt {
    /// Counts the attempts of a delivery, from 1.
    number: i64,
    /// When it began.
    #[serde(serialize_with = "instant::serialize")]
    at: DateTime<Utc>,
    /// Status of the answer; null where there was none.
    status: Option<i64>,
    /// Why it failed; null where it did not.
    failure: Option<String>,
    /// How long it took, in milliseconds.
    took_ms: i64,
    /// When the next one was to be; null where there was to be none.
    #[serde(serialize_with = "instant::serialize_option")]
    next_at: Option<DateTime<Utc>>,
}

/// Where a delivery stands.
#[derive(Debug, ToSchema)]
#[schema(rename_all = "snake_case")]
pub enum StateOfDelivery {
    /// It will be sent.
    Waiting,
    /// The receiver has it.
    Delivered,
    /// Nothing more is tried, unless somebody sends it again.
    Dead,
}

/// One event on its way to one URL.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = WebhookDelivery)]
pub struct ShownDelivery {
    /// UUID v7 made by the service.
    id: Uuid,
    /// The event, as in the header `webhook-id`.
    event_id: Uuid,
    /// What happened.
    #[serde(rename = "type")]
    kind: EventKind,
    /// What it happened to.
    subject: String,
    /// Where it stands.
    #[schema(value_type = StateOfDelivery)]
    state: DeliveryState,
    /// When it is sent next; null where nothing more is tried.
    #[serde(serialize_with = "instant::serialize_option")]
    next_at: Option<DateTime<Utc>>,
    /// What came of each attempt.
    attempts: Vec<DeliveryAttempt>,
    /// When it was made out.
    #[serde(serialize_with = "instant::serialize")]
    created_at: DateTime<Utc>,
    /// When it was delivered, or given up.
    #[serde(serialize_with = "instant::serialize_option")]
    ended_at: Option<DateTime<Utc>>,
}

impl From<webhooks::Shown> for ShownWebhook {
    fn from(shown: webhooks::Shown) -> Self {
        let hook = shown.hook;
        let mark = |(id, created_at)| WebhookSecretMark { id, created_at };
        Self {
            id: hook.id,
            url: hook.data.url,
            types: hook.data.types,
            description: hook.data.description,
            enabled: hook.enabled,
            disabled_because: hook.disabled_because,
            secrets: shown.secrets.into_iter().map(mark).collect(),
            waiting: shown.waiting,
            dead: shown.dead,
            made_by: hook.made_by,
            version: hook.version,
            created_at: hook.created_at,
            updated_at: hook.updated_at,
        }
    }
}

impl From<WebhookSecret> for MadeWebhookSecret {
    fn from(made: WebhookSecret) -> Self {
        Self {
            id: made.id,
            created_at: made.created_at,
            secret: made.secret,
        }
    }
}

impl From<Attempt> for DeliveryAttempt {
    fn from(attempt: Attempt) -> Self {
        Self {
            number: attempt.number,
            at: attempt.at,
            status: attempt.status,
            failure: attempt.failure,
            took_ms: attempt.took_ms,
            next_at: attempt.next_at,
        }
    }
}

impl From<Logged> for ShownDelivery {
    fn from(logged: Logged) -> Self {
        let delivery = logged.delivery;
        Self {
            id: delivery.id,
            event_id: delivery.event_id,
            kind: delivery.kind,
            subject: delivery.subject,
            state: delivery.state,
            next_at: (delivery.state == DeliveryState::Waiting).then_some(delivery.due_at),
            attempts: logged.attempts.into_iter().map(Into::into).collect(),
            created_at: delivery.created_at,
            ended_at: delivery.ended_at,
        }
    }
}
