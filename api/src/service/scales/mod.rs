//! Heat scales: typed in or calibrated, and what hangs on them.

mod calibration;
mod following;

pub use calibration::{Broken, CalibratedScale, Calibrating, calibrate};
pub use following::{Followed, Reindexed};

use chrono::{DateTime, Utc};
use plugwell_domain::heat_scale::{HeatScale, HeatScaleData};
use plugwell_store::{Session, StoreError};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::heads::patched_where;
use crate::service::{Refusal, Shop, new_id, now};

/// One scale.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<HeatScale, Refusal> {
    shop.store
        .read(|s| s.scale(id)?.ok_or(Refusal::NotFound("heat scale")))
}

/// Scales in the order they were stored.
///
/// # Errors
/// Where the database fails.
pub fn list(shop: &Shop, after: Option<Uuid>, limit: i64) -> Result<Vec<HeatScale>, Refusal> {
    shop.store.read(|s| Ok(s.list_scales(None, after, limit)?))
}

/// Scales beside each other, by maker and name: at most `limit`, of one maker where one is named;
/// and whether there are more.
///
/// # Errors
/// Where the database fails.
pub fn side_by_side(
    shop: &Shop,
    maker: Option<&str>,
    limit: usize,
) -> Result<(Vec<HeatScale>, bool), Refusal> {
    let one_more = i64::try_from(limit).unwrap_or(i64::MAX - 1) + 1;
    let mut scales = shop
        .store
        .read(|s| Ok::<_, Refusal>(s.list_scales(maker, None, one_more)?))?;
    let more = scales.len() > limit;
    scales.truncate(limit);
    scales.sort_by_cached_key(|scale| {
        (
            scale.data.maker.to_lowercase(),
            scale.data.name.to_lowercase(),
        )
    });
    Ok((scales, more))
}

fn duplicate(error: StoreError) -> Refusal {
    match error {
        StoreError::Duplicate { .. } => Refusal::conflict(
            Conflict::DuplicateRecord,
            "the maker has a scale of that name already",
        ),
        other => other.into(),
    }
}

/// Stores a new scale.
///
/// # Errors
/// `duplicate_record`.
pub fn create(shop: &Shop, data: &HeatScaleData) -> Result<HeatScale, Refusal> {
    let at = now();
    let scale = HeatScale {
        id: new_id(),
        data: data.clone(),
        calibrated_at: None,
        version: 1,
        created_at: at,
        updated_at: at,
    };
    shop.write(|s| s.insert_scale(&scale).map_err(duplicate))?;
    Ok(scale)
}

/// A changed scale and what followed it.
#[derive(Debug, Clone)]
pub struct Changed {
    /// The scale.
    pub scale: HeatScale,
    /// Parts that got another index, and what holds them.
    pub followed: Followed,
}

/// Changes a scale; the parts that hang on it follow in the same transaction. A patch that makes no other scale
/// of it changes nothing.
///
/// Codes that are typed in have to be in strict order; those that a calibration left tied may stay
/// so.
///
/// # Errors
/// `NotFound`, every fault of the scale as it would become, a code that parts still carry and the
/// new scale lacks, `Stale`, `duplicate_record`.
pub fn patch(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Changed, Refusal> {
    let changed = shop.write(|s| {
        let old = s
            .scale_for_change(id)?
            .ok_or(Refusal::NotFound("heat scale"))?;
        let before = &old.data.codes;
        let data: HeatScaleData =
            patched_where(&old.data, patch, |next| next.faults_after(before))?;
        expected(old.version)?;
        if data == old.data {
            let followed = Followed::of(s, Vec::new())?;
            return Ok(Changed {
                scale: old,
                followed,
            });
        }
        replace(s, &old, data, None)
    })?;
    shop.written(changed.followed.plug_ids())?;
    Ok(changed)
}

/// Puts a scale's new state in the place of the one before it; the parts that hang on it follow.
/// Where codes that a calibration left are still there, it stays calibrated.
///
/// # Errors
/// A code that parts still carry and the new scale lacks, `duplicate_record`.
pub(super) fn replace(
    session: &mut Session,
    old: &HeatScale,
    data: HeatScaleData,
    calibrated_at: Option<DateTime<Utc>>,
) -> Result<Changed, Refusal> {
    let mut before = old.data.codes.iter();
    let stand = before.all(|code| data.codes.contains(code));
    let scale = HeatScale {
        data,
        calibrated_at: calibrated_at.or(old.calibrated_at.filter(|_| stand)),
        version: old.version + 1,
        updated_at: now(),
        ..old.clone()
    };
    session.update_scale(&scale).map_err(duplicate)?;
    let plugs = following::follow(session, &scale)?;
    let followed = Followed::of(session, plugs)?;
    Ok(Changed { scale, followed })
}

/// Removes a scale that no part names.
///
/// # Errors
/// `NotFound`, `Stale`, `in_use`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| {
        let scale = s.scale(id)?.ok_or(Refusal::NotFound("heat scale"))?;
        expected(scale.version)?;
        if s.scale_in_use(id)? {
            return Err(Refusal::conflict(
                Conflict::InUse,
                "parts carry codes of this scale",
            ));
        }
        s.delete_scale(id)?;
        Ok(())
    })
}
