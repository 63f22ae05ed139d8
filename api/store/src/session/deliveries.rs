//! Events on their way to a URL: made out in the order of the feed, claimed by one sender at a time,
//! kept with what came of each attempt.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::event::EventKind;
use serde::{Serialize, Serializer};
use std::str::FromStr;
use uuid::Uuid;

use super::events::Told;
use super::{Filtered, Link, Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::{Bind, binds};

/// Events that deliveries are made out for at a time.
const SPAN: i64 = 1_000;
/// Deliveries of a webhook that may wait; further events wait in the feed.
const MOST_WAITING: i64 = 10_000;
/// Deliveries that one statement makes out.
const AT_ONCE: usize = 64;

const SELECT: &str = "SELECT id, webhook_id, sequence, event_id, kind, subject, state, tries, due_at, created_at, \
     ended_at FROM deliveries";

/// Where a delivery stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DeliveryState {
    /// It will be sent.
    Waiting,
    /// The receiver has it.
    Delivered,
    /// Nothing more is tried, unless somebody sends it again.
    Dead,
}

impl DeliveryState {
    /// Every state.
    pub const ALL: &'static [Self] = &[Self::Waiting, Self::Delivered, Self::Dead];

    /// The word that stands for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Delivered => "delivered",
            Self::Dead => "dead",
        }
    }
}

impl FromStr for DeliveryState {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let found = Self::ALL.iter().copied().find(|s| s.word() == text);
        found.ok_or_else(|| {
            let known: Vec<&str> = Self::ALL.iter().map(|s| s.word()).collect();
            format!(
                "{text:?} is no state of a delivery; there are {}",
                known.join(", ")
            )
        })
    }
}

impl Serialize for DeliveryState {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(self.word())
    }
}

/// One event on its way to one URL.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Where to.
    pub webhook_id: Uuid,
    /// The event's place in the feed.
    pub sequence: i64,
    /// The event.
    pub event_id: Uuid,
    /// What happened.
    pub kind: EventKind,
    /// What it happened to.
    pub subject: String,
    /// Where it stands.
    pub state: DeliveryState,
    /// Attempts since it was made out, or sent again.
    pub tries: i64,
    /// When it is sent next.
    pub due_at: DateTime<Utc>,
    /// When it was made out.
    pub created_at: DateTime<Utc>,
    /// When it was delivered, or given up.
    pub ended_at: Option<DateTime<Utc>>,
}

/// What came of one attempt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attempt {
    /// Of which delivery.
    pub delivery_id: Uuid,
    /// Counts the attempts of a delivery, from 1.
    pub number: i64,
    /// When it began.
    pub at: DateTime<Utc>,
    /// Status of the answer, where there was one.
    pub status: Option<i64>,
    /// Why it failed.
    pub failure: Option<String>,
    /// How long it took.
    pub took_ms: i64,
    /// When the next one is due, where there is to be one.
    pub next_at: Option<DateTime<Utc>>,
}

/// A delivery that one sender has to itself for a while, with all that it takes to send it.
#[derive(Debug, Clone, PartialEq)]
pub struct Claimed {
    /// The delivery.
    pub delivery: Delivery,
    /// The event.
    pub event: Told,
    /// Until when nobody else sends it.
    pub until: DateTime<Utc>,
}

/// What becomes of a delivery after an attempt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// The receiver has it.
    Delivered,
    /// It is sent again, then.
    Again(DateTime<Utc>),
    /// Nothing more is tried.
    Dead,
}

impl Record for Delivery {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            webhook_id: cells.id()?,
            sequence: cells.int()?,
            event_id: cells.id()?,
            kind: cells.word()?,
            subject: cells.text()?,
            state: cells.word()?,
            tries: cells.int()?,
            due_at: cells.time()?,
            created_at: cells.time()?,
            ended_at: cells.time_or_null()?,
        })
    }
}

impl Record for Attempt {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            delivery_id: cells.id()?,
            number: cells.int()?,
            at: cells.time()?,
            status: cells.int_or_null()?,
            failure: cells.text_or_null()?,
            took_ms: cells.int()?,
            next_at: cells.time_or_null()?,
        })
    }
}

impl Session {
    /// Makes out the next deliveries of a webhook, in the order of the feed; whether there is more to
    /// make out at once.
    pub fn make_out_deliveries(
        &mut self,
        webhook_id: Uuid,
        now: DateTime<Utc>,
    ) -> Result<bool, StoreError> {
        let Some(hook) = self.webhook(webhook_id)?.filter(|hook| hook.enabled) else {
            return Ok(false);
        };
        let sql = "SELECT COUNT(*) FROM deliveries WHERE webhook_id = ? AND state = 'waiting'";
        if self.one::<i64>(sql, binds![webhook_id])? >= MOST_WAITING {
            return Ok(false);
        }
        let last = self.last_event()?;
        let after = hook.reached.max(self.events_forgotten()?);
        let up_to = last.min(after + SPAN);
        let kinds = hook.data.types.as_deref().unwrap_or_default();
        let events = self.events_between(after, up_to, kinds, SPAN)?;
        for some in events.chunks(AT_ONCE) {
            let row = "(?, ?, ?, ?, ?, ?, 'waiting', 0, ?, ?)";
            let sql = format!(
                "INSERT INTO deliveries (id, webhook_id, sequence, event_id, kind, subject, state, tries, due_at, \
                 created_at) VALUES {}",
                vec![row; some.len()].join(", ")
            );
            let mut values: Vec<Bind> = Vec::with_capacity(some.len() * 8);
            for event in some {
                values.extend([
                    Uuid::now_v7().into(),
                    webhook_id.into(),
                    event.sequence.into(),
                    event.id.into(),
                    event.kind.word().into(),
                    (&event.subject).into(),
                    now.into(),
                    now.into(),
                ]);
            }
            self.execute(&sql, &values)?;
        }
        self.reach_with(webhook_id, up_to.max(hook.reached))?;
        Ok(up_to < last)
    }

    /// The webhooks that something is due for.
    pub fn webhooks_with_due(&mut self, now: DateTime<Utc>) -> Result<Vec<Uuid>, StoreError> {
        let sql = "SELECT DISTINCT d.webhook_id FROM deliveries d JOIN webhooks w ON w.id = d.webhook_id \
                   WHERE d.state = 'waiting' AND d.due_at <= ? AND w.enabled <> 0 \
                   AND (d.leased_until IS NULL OR d.leased_until <= ?)";
        self.load(sql, binds![now, now])
    }

    /// Takes deliveries of a webhook that are due, at most so many, to be sent by nobody else until an
    /// instant. Of one subject only the first that waits: the next one goes when that has ended.
    pub fn claim_deliveries(
        &mut self,
        webhook_id: Uuid,
        now: DateTime<Utc>,
        until: DateTime<Utc>,
        limit: i64,
    ) -> Result<Vec<Claimed>, StoreError> {
        let lock = match self.link {
            Link::Postgres(_) => " FOR UPDATE SKIP LOCKED",
            Link::Sqlite(_) => "",
        };
        let sql = format!(
            "{SELECT} WHERE webhook_id = ? AND state = 'waiting' AND due_at <= ? \
             AND (leased_until IS NULL OR leased_until <= ?) AND NOT EXISTS (SELECT 1 FROM deliveries e \
             WHERE e.webhook_id = deliveries.webhook_id AND e.subject = deliveries.subject \
             AND e.state = 'waiting' AND e.sequence < deliveries.sequence) ORDER BY due_at, sequence LIMIT ?{lock}"
        );
        let due: Vec<Delivery> = self.load(&sql, binds![webhook_id, now, now, limit])?;
        let ids: Vec<Uuid> = due.iter().map(|delivery| delivery.id).collect();
        let sql = format!(
            "UPDATE deliveries SET leased_until = ? WHERE id IN {}",
            self.listed()
        );
        self.execute(&sql, &[until.into(), listing(&ids)])?;
        let mut claimed = Vec::with_capacity(due.len());
        for delivery in due {
            // Forgotten events take their deliveries along.
            if let Some(event) = self.event(delivery.sequence)? {
                claimed.push(Claimed {
                    delivery,
                    event,
                    until,
                });
            }
        }
        Ok(claimed)
    }

    /// Keeps what came of an attempt, and what becomes of the delivery; whether the sender still had
    /// it to itself.
    pub fn end_attempt(
        &mut self,
        claimed: &Claimed,
        attempt: &Attempt,
        outcome: Outcome,
    ) -> Result<bool, StoreError> {
        let ended = attempt.at + chrono::TimeDelta::milliseconds(attempt.took_ms);
        let (state, due_at, ended_at) = match outcome {
            Outcome::Delivered => (DeliveryState::Delivered, ended, Some(ended)),
            Outcome::Again(at) => (DeliveryState::Waiting, at, None),
            Outcome::Dead => (DeliveryState::Dead, ended, Some(ended)),
        };
        let sql = "UPDATE deliveries SET state = ?, tries = tries + 1, due_at = ?, ended_at = ?, leased_until = NULL \
                   WHERE id = ? AND leased_until = ? AND state = 'waiting'";
        let id = claimed.delivery.id;
        let values = binds![state.word(), due_at, ended_at, id, claimed.until];
        if self.execute(sql, values)? == 0 {
            return Ok(false);
        }
        let sql = "INSERT INTO delivery_attempts (delivery_id, number, at, status, failure, took_ms, next_at) \
                   SELECT ?, COALESCE(MAX(number), 0) + 1, ?, ?, ?, ?, ? FROM delivery_attempts WHERE delivery_id = ?";
        let values = binds![
            id,
            attempt.at,
            attempt.status,
            attempt.failure.as_deref(),
            attempt.took_ms,
            attempt.next_at,
            id
        ];
        self.execute(sql, values)?;
        Ok(true)
    }

    /// Takes every delivery back from whoever had it: for a database that one process has to itself.
    pub fn end_leases(&mut self) -> Result<(), StoreError> {
        let sql = "UPDATE deliveries SET leased_until = NULL WHERE leased_until IS NOT NULL";
        self.execute(sql, &[]).map(drop)
    }

    /// A delivery.
    pub fn delivery(&mut self, id: Uuid) -> Result<Option<Delivery>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// The deliveries of a webhook, the newest first; those in one state where it is given.
    pub fn list_deliveries(
        &mut self,
        webhook_id: Uuid,
        state: Option<DeliveryState>,
        before: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Delivery>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and("webhook_id = ?", webhook_id);
        query.and_given("state = ?", state.map(DeliveryState::word));
        query.and_given("id < ?", before);
        self.load_filtered(query.page("id DESC", limit))
    }

    /// What came of the attempts of some deliveries, in their order.
    pub fn attempts_of(&mut self, ids: &[Uuid]) -> Result<Vec<Attempt>, StoreError> {
        let sql = format!(
            "SELECT delivery_id, number, at, status, failure, took_ms, next_at FROM delivery_attempts \
             WHERE delivery_id IN {} ORDER BY delivery_id, number",
            self.listed()
        );
        self.load(&sql, &[listing(ids)])
    }

    /// Sends a delivery again, from the beginning of the schedule; one that is just being sent goes on.
    pub fn send_again(&mut self, id: Uuid, now: DateTime<Utc>) -> Result<(), StoreError> {
        let sql = "UPDATE deliveries SET state = 'waiting', tries = 0, due_at = ?, ended_at = NULL WHERE id = ?";
        self.execute(sql, binds![now, id]).map(drop)
    }

    /// How many deliveries of a webhook stand so.
    pub fn count_deliveries(
        &mut self,
        webhook_id: Uuid,
        state: DeliveryState,
    ) -> Result<i64, StoreError> {
        let sql = "SELECT COUNT(*) FROM deliveries WHERE webhook_id = ? AND state = ?";
        self.one(sql, binds![webhook_id, state.word()])
    }
}
