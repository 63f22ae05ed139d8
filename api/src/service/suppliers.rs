//! Suppliers: who delivers, and what is known of them.

use chrono::{DateTime, Utc};
use plugwell_domain::ledger::{Place, PlaceKind};
use plugwell_domain::order::{LeadTime, Supplier, SupplierData};
use plugwell_domain::policy::Policy;
use plugwell_store::{Session, StoreError};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::heads::patched;
use crate::service::{Refusal, Shop, new_id, now};

/// One supplier.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Supplier, Refusal> {
    shop.store
        .read(|s| s.supplier(id)?.ok_or(Refusal::NotFound("supplier")))
}

/// Suppliers in the order that they were made in; by name where one is given.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    name: Option<&str>,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Supplier>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_suppliers(name, after, limit)?))
}

/// How long a supplier took, delivery by delivery, oldest first.
///
/// # Errors
/// Where the database fails.
pub fn lead_times(shop: &Shop, id: Uuid) -> Result<Vec<LeadTime>, Refusal> {
    shop.store.read(|s| Ok(s.lead_times(id, None)?))
}

/// Enters a supplier, now.
///
/// # Errors
/// As [`enter`].
pub fn create(shop: &Shop, data: &SupplierData) -> Result<Supplier, Refusal> {
    let policy = shop.policy();
    shop.write(|session| enter(session, &policy, data, now()))
}

/// Enters a supplier.
///
/// # Errors
/// Another currency; `duplicate_record` where the name stands already.
pub fn enter(
    session: &mut Session,
    policy: &Policy,
    data: &SupplierData,
    at: DateTime<Utc>,
) -> Result<Supplier, Refusal> {
    in_our_currency(policy, data)?;
    let (id, name) = (new_id(), data.name.trim());
    session
        .insert_place(id, PlaceKind::Supplier, name, at)
        .map_err(|e| taken(e, name))?;
    session.put_supplier(id, data)?;
    session.supplier(id)?.ok_or(Refusal::NotFound("supplier"))
}

/// Changes what is known of a supplier, renames or retires it; a patch that makes no other supplier of it changes
/// nothing.
///
/// # Errors
/// `NotFound`, every fault of the supplier as it would become, `Stale`, `duplicate_record`.
pub fn patch(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Supplier, Refusal> {
    let policy = shop.policy();
    shop.write(|session| {
        let old = session.supplier(id)?.ok_or(Refusal::NotFound("supplier"))?;
        let mut members = patch.clone();
        let retired = members.remove("retired").and_then(|flag| flag.as_bool());
        let data = patched(&old.data, &members)?;
        in_our_currency(&policy, &data)?;
        expected(old.version)?;
        let retired = retired.unwrap_or(old.retired);
        if (&data, retired) == (&old.data, old.retired) {
            return Ok(old);
        }
        let name = data.name.trim();
        let place = Place {
            id,
            code: old.code,
            kind: PlaceKind::Supplier,
            name: name.to_owned(),
            retired,
            version: old.version + 1,
            created_at: old.created_at,
        };
        session.update_place(&place).map_err(|e| taken(e, name))?;
        session.put_supplier(id, &data)?;
        session.supplier(id)?.ok_or(Refusal::NotFound("supplier"))
    })
}

fn in_our_currency(policy: &Policy, data: &SupplierData) -> Result<(), Refusal> {
    let least = data.least_order.as_ref();
    let fault = least.and_then(|money| policy.currency_fault("least_order", money));
    fault.map_or(Ok(()), |fault| Err(Refusal::fault(fault)))
}

fn taken(error: StoreError, name: &str) -> Refusal {
    match error {
        StoreError::Duplicate { .. } => Refusal::conflict(
            Conflict::DuplicateRecord,
            format!("there is a supplier named {name:?} already"),
        ),
        other => other.into(),
    }
}
