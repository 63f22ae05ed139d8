//! Builds: customers' engines as built, over a head.

use plugwell_domain::attribute::Attr;
use plugwell_domain::build::{Build, Head};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fitted::{backwards, latest_odometer};
use plugwell_domain::plug::{Plug, Shows};
use plugwell_store::{BuildFilter, Session, Stored};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::heads::patched;
use crate::service::{Refusal, Shop, new_id, now};

/// One build.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Stored<Build>, Refusal> {
    shop.store
        .read(|s| s.build(id)?.ok_or(Refusal::NotFound("build")))
}

/// Builds in the order they were stored.
///
/// # Errors
/// Where the database fails.
pub fn list(shop: &Shop, after: Option<Uuid>, limit: i64) -> Result<Vec<Stored<Build>>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_builds(&BuildFilter::default(), after, limit)?))
}

/// Builds over a stored head, in the order they were stored.
///
/// # Errors
/// Where the database fails.
pub fn over_head(shop: &Shop, head: Uuid, limit: i64) -> Result<Vec<Stored<Build>>, Refusal> {
    let filter = BuildFilter {
        head_id: Some(head),
        ..BuildFilter::default()
    };
    shop.store
        .read(|s| Ok(s.list_builds(&filter, None, limit)?))
}

/// Looks up the head and the base plug of a build.
///
/// # Errors
/// A fault for each that is not there, and where neither head nor base plug gives a heat.
pub fn resolved(session: &mut Session, build: &Build) -> Result<(Head, Option<Plug>), Refusal> {
    let mut faults = Vec::new();
    let head = match (&build.head, build.head_id) {
        (Some(head), _) => Some(head.clone()),
        (None, Some(id)) => session.head(id)?.map(|stored| stored.data),
        (None, None) => None,
    };
    if head.is_none() {
        faults.push(Fault::at(
            "head_id",
            FaultCode::NotFound,
            "there is no such head",
        ));
    }
    let base = match build.engine.base_plug_id {
        None => None,
        Some(id) => {
            let found = session.plug(id)?;
            if found.is_none() {
                faults.push(Fault::at(
                    "base_plug_id",
                    FaultCode::NotFound,
                    "there is no such part",
                ));
            }
            found
        }
    };
    let heat_known = head.as_ref().is_none_or(|h| h.heat_index.is_some())
        || base
            .as_ref()
            .is_some_and(|plug| plug.shown(Attr::Heat).is_some());
    if !heat_known && faults.is_empty() {
        let detail = "neither the head nor the plug that was in says how hot the engine's plug is";
        faults.push(Fault::at("head/heat_index", FaultCode::Missing, detail));
    }
    match head {
        Some(head) if faults.is_empty() => Ok((head, base)),
        _ => Err(Refusal::Faults(faults)),
    }
}

/// Stores a new build.
///
/// # Errors
/// Faults of what it points to.
pub fn create(shop: &Shop, build: &Build) -> Result<Stored<Build>, Refusal> {
    shop.write(|s| insert(s, build.clone()))
}

fn insert(session: &mut Session, build: Build) -> Result<Stored<Build>, Refusal> {
    not_ahead(&build)?;
    resolved(session, &build)?;
    let stored = fresh(build);
    session.insert_build(&stored)?;
    Ok(stored)
}

fn fresh<T>(data: T) -> Stored<T> {
    let at = now();
    Stored {
        id: new_id(),
        version: 1,
        created_at: at,
        updated_at: at,
        data,
    }
}

/// Stores a new build inside a transaction; a head of its own that has a name becomes a record, on
/// which the build then stands.
///
/// # Errors
/// Faults of what it points to.
pub fn keep(session: &mut Session, mut build: Build) -> Result<Stored<Build>, Refusal> {
    if let Some(head) = build.head.take_if(|head| head.name.is_some()) {
        let head = fresh(head);
        session.insert_head(&head)?;
        build.head_id = Some(head.id);
    }
    insert(session, build)
}

/// Leads that are still to be renewed have seen no changes that could be counted.
fn not_ahead(build: &Build) -> Result<(), Refusal> {
    // A day may have begun elsewhere that has not begun in UTC.
    let tomorrow = now().date_naive().succ_opt();
    match build.leads_renewed_on {
        Some(day) if Some(day) > tomorrow => Err(Refusal::fault(Fault::at(
            "leads_renewed_on",
            FaultCode::OutOfRange,
            "that day has not come yet",
        ))),
        _ => Ok(()),
    }
}

/// An odometer that is told anew does not read less than what is stored: cleared with null it is told
/// anew from what issues say.
fn never_backwards(
    session: &mut Session,
    old: &Stored<Build>,
    next: &Build,
) -> Result<(), Refusal> {
    let Some(told) = next
        .odometer_km
        .filter(|_| next.odometer_km != old.data.odometer_km)
    else {
        return Ok(());
    };
    let issues = session.issues_for_builds(&[old.id])?;
    let latest = latest_odometer(old.data.odometer_km, &issues);
    backwards(told, latest).map_or(Ok(()), |fault| Err(Refusal::fault(fault)))
}

/// Changes a build; a patch that makes no other build of it changes nothing.
///
/// # Errors
/// `NotFound`, every fault of the build as it would become, `Stale`.
pub fn patch(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Stored<Build>, Refusal> {
    shop.write(|s| {
        let old = s.build(id)?.ok_or(Refusal::NotFound("build"))?;
        let data = patched(&old.data, patch)?;
        not_ahead(&data)?;
        resolved(s, &data)?;
        never_backwards(s, &old, &data)?;
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
        s.update_build(&next)?;
        Ok(next)
    })
}

/// Removes a build that no movement, reservation, tuning day, reading or waiting job names.
///
/// # Errors
/// `NotFound`, `Stale`, `in_use`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| {
        let build = s.build(id)?.ok_or(Refusal::NotFound("build"))?;
        expected(build.version)?;
        if s.build_in_use(id)? {
            return Err(Refusal::conflict(
                Conflict::InUse,
                "plugs were issued or reserved, a tuning day planned or a reading kept for this build, or a job waited for it",
            ));
        }
        s.delete_build(id)?;
        Ok(())
    })
}
