//! Deliveries: made out, claimed, kept with what came of each attempt, sent again.

use std::collections::HashMap;

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_store::{
    Attempt, Claimed, Delivery, DeliveryState, Outcome, Session, Target, Webhook,
};
use rand::RngExt;
use uuid::Uuid;

use super::{Sending, found, schedule, signing};
use crate::service::changes::{ChangeEvent, settle};
use crate::service::once::{Once, OnceKey, Stored};
use crate::service::{Refusal, Shop, now};

/// Deliveries to one webhook at the same time.
pub const AT_ONCE: usize = 4;
/// Status by which a receiver says that it is gone for good.
const GONE: u16 = 410;

/// A delivery with what came of its attempts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logged {
    /// The delivery.
    pub delivery: Delivery,
    /// What came of each attempt.
    pub attempts: Vec<Attempt>,
}

/// One attempt to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Parcel {
    /// What is delivered, which nobody else sends meanwhile.
    pub claimed: Claimed,
    /// Where to.
    pub url: String,
    /// The header `webhook-id`.
    pub message_id: String,
    /// The body.
    pub payload: Vec<u8>,
    secrets: Vec<String>,
}

/// What came of an attempt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tried {
    /// When it began.
    pub at: DateTime<Utc>,
    /// How long it took.
    pub took_ms: i64,
    /// Status of the answer, where there was one.
    pub status: Option<u16>,
    /// Why it failed.
    pub failure: Option<String>,
    /// The answer's Retry-After.
    pub retry_after: Option<String>,
}

impl Parcel {
    /// The header `webhook-signature` of an attempt at an instant.
    pub fn signatures(&self, at: DateTime<Utc>) -> String {
        let secrets = self.secrets.iter().map(String::as_str);
        signing::signatures(secrets, &self.message_id, at, &self.payload)
    }
}

/// Lets a process that has its database to itself take up what it was at when it ended.
///
/// # Errors
/// Where the database fails.
pub fn take_up(shop: &Shop) -> Result<(), Refusal> {
    match shop.store.target() {
        Target::Sqlite(_) => Ok(shop.store.write(Session::end_leases)?),
        // Another node may be at it; its lease ends by itself.
        Target::Postgres(_) => Ok(()),
    }
}

/// Makes out what is to be delivered and claims what is due. `under_way` says how many deliveries of a
/// webhook are being sent already.
///
/// # Errors
/// Where the database fails.
pub fn prepare(shop: &Shop, under_way: &HashMap<Uuid, usize>) -> Result<Vec<Parcel>, Refusal> {
    settle(shop)?;
    let behind = shop.store.read(|s| {
        let last = s.last_event()?;
        s.webhooks_behind(last)
    })?;
    for id in behind {
        while shop.store.write(|s| s.make_out_deliveries(id, now()))? {}
    }
    // An attempt that has not ended by then was never made, or nobody was left to write it down.
    let lease = TimeDelta::from_std(shop.sending().timeout).unwrap_or_default() * 2
        + TimeDelta::seconds(30);
    let mut parcels = Vec::new();
    for id in shop.store.read(|s| s.webhooks_with_due(now()))? {
        let room = AT_ONCE.saturating_sub(under_way.get(&id).copied().unwrap_or(0));
        if room > 0 {
            let claimed = shop.store.write(|s| claim(s, id, lease, room as i64))?;
            parcels.extend(claimed);
        }
    }
    Ok(parcels)
}

fn claim(
    session: &mut Session,
    id: Uuid,
    lease: TimeDelta,
    room: i64,
) -> Result<Vec<Parcel>, Refusal> {
    let Some(hook) = session.webhook(id)?.filter(|hook| hook.enabled) else {
        return Ok(Vec::new());
    };
    let at = now();
    let claimed = session.claim_deliveries(id, at, at + lease, room)?;
    let secrets: Vec<String> = session
        .webhook_secrets(&[id])?
        .into_iter()
        .map(|secret| secret.secret)
        .collect();
    let lineage = session.lineage()?;
    let parcel = |claimed: Claimed| {
        let envelope = ChangeEvent::of(claimed.event.clone(), &lineage);
        Ok(Parcel {
            url: hook.data.url.clone(),
            message_id: signing::message_id(envelope.id),
            payload: serde_json::to_vec(&envelope).map_err(|e| Refusal::Fault(e.to_string()))?,
            secrets: secrets.clone(),
            claimed,
        })
    };
    claimed.into_iter().map(parcel).collect()
}

/// Writes down what came of an attempt, and what becomes of the delivery and of its webhook.
///
/// # Errors
/// Where the database fails.
pub fn record(shop: &Shop, parcel: &Parcel, tried: &Tried) -> Result<(), Refusal> {
    let spread = rand::rng().random::<f64>();
    let outcome = outcome(shop.sending(), parcel, tried, spread);
    let attempt = Attempt {
        delivery_id: parcel.claimed.delivery.id,
        number: 0,
        at: tried.at,
        status: tried.status.map(i64::from),
        failure: tried.failure.clone(),
        took_ms: tried.took_ms,
        next_at: match outcome {
            Outcome::Again(at) => Some(at),
            Outcome::Delivered | Outcome::Dead => None,
        },
    };
    shop.store.write(|s| {
        if s.end_attempt(&parcel.claimed, &attempt, outcome)? && tried.status == Some(GONE) {
            disable(s, parcel.claimed.delivery.webhook_id)?;
        }
        Ok(())
    })
}

fn outcome(sending: &Sending, parcel: &Parcel, tried: &Tried, spread: f64) -> Outcome {
    if tried.failure.is_none() {
        return Outcome::Delivered;
    }
    if tried.status == Some(GONE) {
        return Outcome::Dead;
    }
    let ended = tried.at + TimeDelta::milliseconds(tried.took_ms);
    let asked = tried.retry_after.as_deref();
    let asked = asked.and_then(|text| schedule::retry_after(text, ended));
    let tries = usize::try_from(parcel.claimed.delivery.tries + 1).unwrap_or(usize::MAX);
    match sending.schedule.next(tries, ended, spread, asked) {
        Some(at) => Outcome::Again(at),
        None => Outcome::Dead,
    }
}

fn disable(session: &mut Session, id: Uuid) -> Result<(), Refusal> {
    let Some(hook) = session.webhook(id)?.filter(|hook| hook.enabled) else {
        return Ok(());
    };
    session.update_webhook(&Webhook {
        enabled: false,
        disabled_because: Some("the receiver answered 410: it is gone".to_owned()),
        version: hook.version + 1,
        updated_at: now(),
        ..hook
    })?;
    Ok(())
}

/// The deliveries of a webhook, the newest first.
///
/// # Errors
/// `NotFound`.
pub fn list(
    shop: &Shop,
    webhook_id: Uuid,
    state: Option<DeliveryState>,
    before: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Logged>, Refusal> {
    shop.store.read(|s| {
        found(s, webhook_id)?;
        let deliveries = s.list_deliveries(webhook_id, state, before, limit)?;
        logged(s, deliveries)
    })
}

fn logged(session: &mut Session, deliveries: Vec<Delivery>) -> Result<Vec<Logged>, Refusal> {
    let ids: Vec<Uuid> = deliveries.iter().map(|delivery| delivery.id).collect();
    let mut attempts: HashMap<Uuid, Vec<Attempt>> = HashMap::new();
    for attempt in session.attempts_of(&ids)? {
        attempts
            .entry(attempt.delivery_id)
            .or_default()
            .push(attempt);
    }
    let one = |delivery: Delivery| Logged {
        attempts: attempts.remove(&delivery.id).unwrap_or_default(),
        delivery,
    };
    Ok(deliveries.into_iter().map(one).collect())
}

/// A delivery of a webhook with what came of its attempts.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, webhook_id: Uuid, id: Uuid) -> Result<Logged, Refusal> {
    shop.store.read(|s| one(s, webhook_id, id))
}

fn one(session: &mut Session, webhook_id: Uuid, id: Uuid) -> Result<Logged, Refusal> {
    found(session, webhook_id)?;
    let own = session
        .delivery(id)?
        .filter(|d| d.webhook_id == webhook_id)
        .into_iter()
        .collect();
    let mut logged = logged(session, own)?;
    logged
        .pop()
        .ok_or(Refusal::NotFound("delivery of this webhook"))
}

/// Sends a delivery again, whatever became of it, from the beginning of the schedule.
///
/// # Errors
/// `NotFound`.
pub fn resend(shop: &Shop, webhook_id: Uuid, id: Uuid) -> Result<Logged, Refusal> {
    shop.write(|s| again(s, webhook_id, id))
}

/// The same, once however often it is asked.
///
/// # Errors
/// As [`resend`], and what a once-only key refuses.
pub fn resend_once(
    shop: &Shop,
    key: &OnceKey,
    webhook_id: Uuid,
    id: Uuid,
    render: impl Fn() -> Stored + Send + Sync,
) -> Result<Once<Logged>, Refusal> {
    shop.once(
        key,
        |s| Ok((again(s, webhook_id, id)?, Vec::new())),
        |_| render(),
    )
}

fn again(session: &mut Session, webhook_id: Uuid, id: Uuid) -> Result<Logged, Refusal> {
    one(session, webhook_id, id)?;
    session.send_again(id, now())?;
    one(session, webhook_id, id)
}
