//! Places: made, renamed, and retired once nothing lies there.

use chrono::{DateTime, Utc};
use plugwell_domain::incoming::CheckState;
use plugwell_domain::ledger::commands::{NewPlace, PlaceName};
use plugwell_domain::ledger::{Place, PlaceKind};
use plugwell_domain::wording::{agreeing, counted};
use plugwell_store::{IncomingFilter, LevelFilter, Session, StoreError};
use serde_json::{Map, Value, json};
use uuid::Uuid;

use super::refused::wrong_place;
use crate::service::conflict::Conflict;
use crate::service::heads::patched;
use crate::service::{Refusal, Shop, new_id, now};

/// Lots that are listed in a refusal at the most.
const LISTED: usize = 20;
/// Lots that its sentence names at the most.
const NAMED: usize = 3;

/// Makes a bin, a quarantine, a supplier or a job, now.
///
/// # Errors
/// As [`create_place`].
pub fn add_place(shop: &Shop, place: &NewPlace) -> Result<Place, Refusal> {
    shop.store
        .write(|session| create_place(session, place, now()))
}

/// Makes a bin, a quarantine, a supplier or a job.
///
/// # Errors
/// `duplicate_record` where the name stands already.
pub fn create_place(
    session: &mut Session,
    place: &NewPlace,
    at: DateTime<Utc>,
) -> Result<Place, Refusal> {
    let name = place.name.trim();
    session
        .insert_place(new_id(), place.kind, name, at)
        .map_err(|e| taken(e, place.kind, name))
}

/// Renames or retires a bin or a quarantine; a patch that makes no other place of it changes nothing.
///
/// # Errors
/// `NotFound`, faults of the place as it would become, `Stale`, `duplicate_record`; `in_use` where
/// something lies in what is to be retired, or is to be counted or decided there.
pub fn patch_place(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Place, Refusal> {
    shop.write(|session| {
        let mut place = session
            .place_to_change(id)?
            .ok_or(Refusal::NotFound("place"))?;
        if !matches!(place.kind, PlaceKind::Bin | PlaceKind::Quarantine) {
            return Err(wrong_place("", &place, "only bins and quarantines change"));
        }
        let (before, called) = (place.retired, place.name.clone());
        let mut members = patch.clone();
        if let Some(retired) = members.remove("retired") {
            place.retired = retired.as_bool().unwrap_or(place.retired);
        }
        let name = PlaceName {
            name: place.name.clone(),
        };
        place.name = patched(&name, &members)?.name.trim().to_owned();
        expected(place.version)?;
        if (place.retired, &place.name) == (before, &called) {
            return Ok(place);
        }
        if place.retired && !before {
            nothing_stands_on(session, &place)?;
        }
        place.version += 1;
        session
            .update_place(&place)
            .map_err(|e| taken(e, place.kind, &place.name))?;
        Ok(place)
    })
}

fn taken(error: StoreError, kind: PlaceKind, name: &str) -> Refusal {
    match error {
        StoreError::Duplicate { .. } => Refusal::conflict(
            Conflict::DuplicateRecord,
            format!("there is a {kind} named {name:?} already"),
        ),
        other => other.into(),
    }
}

/// What is retired holds nothing, is not being counted, and no check waits there.
fn nothing_stands_on(session: &mut Session, place: &Place) -> Result<(), Refusal> {
    let (plugs, lots, lies) = lies_in(session, place)?;
    let counts: Vec<Uuid> = session
        .being_counted(&[place.id])?
        .into_iter()
        .map(|(_, count)| count)
        .collect();
    let checks = match place.kind {
        PlaceKind::Quarantine => waiting_in(session, place)?,
        _ => Vec::new(),
    };
    let mut why = Vec::new();
    if plugs > 0 {
        why.push(lying_there(plugs, lots, &lies));
    }
    why.extend(counts.iter().map(|id| format!("count {id} has it")));
    why.extend(
        checks
            .iter()
            .map(|id| format!("incoming check {id} waits there")),
    );
    if why.is_empty() {
        return Ok(());
    }
    let members = json!({ "lies": lies, "counts": counts, "incoming_checks": checks });
    Err(Refusal::Conflict {
        conflict: Conflict::InUse,
        detail: format!("{} cannot be retired: {}", place.name, why.join("; ")),
        members: members.as_object().cloned().unwrap_or_default(),
    })
}

/// How many plugs of how many lots lie there, and the first few of the lots by name.
fn lying_there(plugs: i64, lots: usize, lies: &[Value]) -> String {
    let named = lies.iter().take(NAMED).map(|lot| {
        let word = |member: &str| lot[member].as_str().unwrap_or_default();
        let (quantity, maker) = (&lot["quantity"], word("maker"));
        let (number, code) = (word("part_number"), word("lot_code"));
        format!("{quantity} {maker} {number} of lot {code}")
    });
    let mut named: Vec<String> = named.collect();
    if let Some(more) = lots.checked_sub(named.len()).filter(|more| *more > 0) {
        named.push(format!("and {}", counted(more, "more lot")));
    }
    format!(
        "{} {} there, of {}: {}",
        counted(plugs, "plug"),
        agreeing(plugs, "lies", "lie"),
        counted(lots, "lot"),
        named.join(", ")
    )
}

/// How many plugs lie in a place, of how many lots, and of which: the first of them.
fn lies_in(session: &mut Session, place: &Place) -> Result<(i64, usize, Vec<Value>), Refusal> {
    let filter = LevelFilter {
        place_id: Some(place.id),
        ..LevelFilter::default()
    };
    let levels = session.list_levels(&filter, None, i64::MAX)?;
    let plugs = levels.iter().map(|level| level.quantity).sum();
    let mut lies = Vec::new();
    for level in levels.iter().take(LISTED) {
        let (Some(lot), Some(plug)) = (session.lot(level.lot_id)?, session.plug(level.plug_id)?)
        else {
            return Err(Refusal::Fault("a level without its lot or part".into()));
        };
        lies.push(json!({
            "lot_id": lot.id, "lot_code": lot.code, "plug_id": plug.id, "maker": plug.data.maker,
            "part_number": plug.data.part_number, "quantity": level.quantity,
        }));
    }
    Ok((plugs, levels.len(), lies))
}

/// The incoming checks whose lots wait in a quarantine.
fn waiting_in(session: &mut Session, place: &Place) -> Result<Vec<Uuid>, Refusal> {
    let filter = IncomingFilter {
        state: Some(CheckState::Waiting),
        lot_id: None,
    };
    let waiting = session.list_incoming_checks(&filter, None, i64::MAX)?;
    let here = waiting
        .into_iter()
        .filter(|check| check.data.quarantine_id == Some(place.id));
    Ok(here.map(|check| check.id).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_counts_lots_and_names_the_first_few() {
        let lot = |number: usize| {
            json!({
                "quantity": number, "maker": "Ferrowick", "part_number": "FW-1",
                "lot_code": format!("L{number}")
            })
        };
        let lies: Vec<Value> = (1..=9).map(lot).collect();
        assert_eq!(
            lying_there(1, 1, &lies[..1]),
            "1 plug lies there, of 1 lot: 1 Ferrowick FW-1 of lot L1"
        );
        assert_eq!(
            lying_there(45, 9, &lies),
            "45 plugs lie there, of 9 lots: 1 Ferrowick FW-1 of lot L1, 2 Ferrowick FW-1 of lot L2, \
             3 Ferrowick FW-1 of lot L3, and 6 more lots"
        );
    }
}
