//! Cylinder heads: what they take.

use plugwell_domain::build::Head;
use plugwell_store::{Session, Stored};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::catalogue::merge;
use crate::service::conflict::Conflict;
use crate::service::{Refusal, Shop, new_id, now};
use plugwell_domain::fault::{Check, Fault, FaultCode};

/// One head.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Stored<Head>, Refusal> {
    shop.store
        .read(|s| s.head(id)?.ok_or(Refusal::NotFound("head")))
}

/// Heads in the order they were stored.
///
/// # Errors
/// Where the database fails.
pub fn list(shop: &Shop, after: Option<Uuid>, limit: i64) -> Result<Vec<Stored<Head>>, Refusal> {
    shop.store.read(|s| Ok(s.list_heads(after, limit)?))
}

/// Stores a new head.
///
/// # Errors
/// Where the database fails.
pub fn create(shop: &Shop, head: &Head) -> Result<Stored<Head>, Refusal> {
    shop.write(|s| keep(s, head))
}

/// The same within what else is written.
///
/// # Errors
/// As [`create`].
pub fn keep(session: &mut Session, head: &Head) -> Result<Stored<Head>, Refusal> {
    let at = now();
    let stored = Stored {
        id: new_id(),
        version: 1,
        created_at: at,
        updated_at: at,
        data: head.clone(),
    };
    session.insert_head(&stored)?;
    Ok(stored)
}

/// The record as a JSON merge patch makes it, checked like a new one.
///
/// # Errors
/// Every fault.
pub(in crate::service) fn patched<T>(old: &T, patch: &Map<String, Value>) -> Result<T, Refusal>
where
    T: serde::Serialize + serde::de::DeserializeOwned + Check,
{
    patched_where(old, patch, T::faults)
}

/// The same with faults of the caller's own rules.
pub(in crate::service) fn patched_where<T>(
    old: &T,
    patch: &Map<String, Value>,
    faults: impl FnOnce(&T) -> Vec<Fault>,
) -> Result<T, Refusal>
where
    T: serde::Serialize + serde::de::DeserializeOwned,
{
    let mut whole = serde_json::to_value(old).map_err(|e| Refusal::Fault(e.to_string()))?;
    merge(&mut whole, &Value::Object(patch.clone()));
    let next: T = serde_json::from_value(whole)
        .map_err(|e| Refusal::fault(Fault::at("", FaultCode::WrongType, e.to_string())))?;
    let faults = faults(&next);
    if faults.is_empty() {
        Ok(next)
    } else {
        Err(Refusal::Faults(faults))
    }
}

/// Changes a head; a patch that makes no other head of it changes nothing.
///
/// # Errors
/// `NotFound`, every fault of the head as it would become, `Stale`.
pub fn patch(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Stored<Head>, Refusal> {
    shop.write(|s| {
        let old = s.head(id)?.ok_or(Refusal::NotFound("head"))?;
        let data = patched(&old.data, patch)?;
        expected(old.version)?;
        if data == old.data {
            return Ok(old);
        }
        let next = Stored {
            data,
            version: old.version + 1,
            updated_at: now(),
            ..old
        };
        s.update_head(&next)?;
        Ok(next)
    })
}

/// Removes a head that no build stands on.
///
/// # Errors
/// `NotFound`, `Stale`, `in_use`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| {
        let head = s.head(id)?.ok_or(Refusal::NotFound("head"))?;
        expected(head.version)?;
        if s.head_in_use(id)? {
            return Err(Refusal::conflict(
                Conflict::InUse,
                "builds stand on this head",
            ));
        }
        s.delete_head(id)?;
        Ok(())
    })
}
