//! What deliveries are signed with: several at a time, so that a receiver can change over.

use plugwell_store::{Session, WebhookSecret};
use uuid::Uuid;

use super::{Shown, found, raised, signing};
use crate::service::conflict::Conflict;
use crate::service::once::{Once, OnceKey, Stored};
use crate::service::{Refusal, Shop, new_id, now};

/// The most secrets of a webhook: each signs every delivery.
pub const MOST: usize = 5;

/// A new secret of a webhook, not kept yet.
///
/// # Errors
/// Where the system gives no random bytes.
pub(super) fn new(webhook_id: Uuid) -> Result<WebhookSecret, Refusal> {
    Ok(WebhookSecret {
        id: new_id(),
        webhook_id,
        secret: signing::new_secret()?,
        created_at: now(),
    })
}

/// One more secret: from now on deliveries carry a signature of each. It is shown this once.
///
/// # Errors
/// `NotFound`, `secrets_bounded`.
pub fn add(shop: &Shop, id: Uuid) -> Result<(Shown, WebhookSecret), Refusal> {
    let secret = new(id)?;
    shop.write(|s| keep(s, &secret))
}

/// The same, once however often it is asked; the secret comes with the first answer alone.
///
/// # Errors
/// As [`add`], and what a once-only key refuses.
pub fn add_once(
    shop: &Shop,
    key: &OnceKey,
    id: Uuid,
    render: impl Fn(&Shown) -> Stored + Send + Sync,
) -> Result<Once<(Shown, WebhookSecret)>, Refusal> {
    let secret = new(id)?;
    shop.once(
        key,
        |s| Ok((keep(s, &secret)?, Vec::new())),
        |(shown, _)| render(shown),
    )
}

fn keep(session: &mut Session, secret: &WebhookSecret) -> Result<(Shown, WebhookSecret), Refusal> {
    let id = secret.webhook_id;
    let hook = found(session, id)?;
    if session.webhook_secrets(&[id])?.len() >= MOST {
        return Err(bounded(
            "it has five secrets; remove one that nobody needs any more",
        ));
    }
    session.insert_webhook_secret(secret)?;
    Ok((raised(session, hook)?, secret.clone()))
}

/// Removes a secret; at least one stays.
///
/// # Errors
/// `NotFound`, `Stale` (the version is the webhook's), `secrets_bounded`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    secret: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| take_away(s, id, secret, &expected))
}

/// The same, once however often it is asked.
///
/// # Errors
/// As [`remove`], and what a once-only key refuses.
pub fn remove_once(
    shop: &Shop,
    key: &OnceKey,
    (id, secret): (Uuid, Uuid),
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    render: impl Fn() -> Stored + Send + Sync,
) -> Result<Once<()>, Refusal> {
    shop.once(
        key,
        |s| Ok((take_away(s, id, secret, &expected)?, Vec::new())),
        |()| render(),
    )
}

fn take_away(
    session: &mut Session,
    id: Uuid,
    secret: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal>,
) -> Result<(), Refusal> {
    let hook = found(session, id)?;
    let secrets = session.webhook_secrets(&[id])?;
    if !secrets.iter().any(|own| own.id == secret) {
        return Err(Refusal::NotFound("secret of this webhook"));
    }
    expected(hook.version)?;
    if secrets.len() == 1 {
        return Err(bounded(
            "it is the only one; add another first, and let the receiver know it",
        ));
    }
    session.delete_webhook_secret(secret)?;
    raised(session, hook).map(drop)
}

fn bounded(detail: &str) -> Refusal {
    Refusal::conflict(Conflict::SecretsBounded, detail)
}
