//! A lot that waits in quarantine takes along what descends from it: what is put aside with it, what
//! follows it there later, and what a decision reaches.

use std::collections::HashMap;

use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::incoming::{KeptCheck, NotReached};
use plugwell_domain::ledger::aside::set_aside;
use plugwell_domain::ledger::family::{descended, forebears};
use plugwell_domain::ledger::{Holding, Movement, MovementKind, Place, PlaceKind};
use plugwell_store::{LevelFilter, Session, Stored};
use uuid::Uuid;

use super::{By, Moved, Outcome, write};
use crate::service::Refusal;

/// Everything that a lot, and what descends from it, has in bins to quarantine; nothing is written where
/// nothing lies there.
pub(super) fn put_aside(
    session: &mut Session,
    by: &By<'_>,
    (plug_id, lot_id): (Uuid, Uuid),
    quarantine: &Place,
) -> Moved {
    let shelf = session.shelf(plug_id, &[])?;
    // Read under the part's lock: a return makes lots that descend from others.
    let family = descended(lot_id, &session.lot_family(lot_id)?);
    let lies = |h: &Holding| family.contains(&h.lot_id) && h.place_kind == PlaceKind::Bin;
    if !shelf.holdings.iter().any(lies) {
        return Ok((Outcome::default(), Vec::new()));
    }
    write(session, by, plug_id, &shelf, |shelf, act| {
        Ok(set_aside(shelf, &family, quarantine, act))
    })
}

/// The check that a lot waits for a decision of: its own, else that of the nearest lot that it descends
/// from.
///
/// # Errors
/// Where the database fails.
pub(in crate::service) fn waits_for(
    session: &mut Session,
    lot_id: Uuid,
) -> Result<Option<Stored<KeptCheck>>, Refusal> {
    let mut line = vec![lot_id];
    line.extend(forebears(lot_id, &session.lot_family(lot_id)?));
    let mut waiting = session.waiting_checks_of(&line)?;
    waiting.sort_by_key(|check| line.iter().position(|id| *id == check.data.asked.lot_id));
    Ok(waiting.into_iter().next())
}

/// What a decision on a lot reaches, the lot itself first: not what waits for a decision of its own.
pub(super) fn reached(session: &mut Session, lot_id: Uuid) -> Result<Vec<Uuid>, Refusal> {
    let lots = session.lot_family(lot_id)?;
    let mut family = descended(lot_id, &lots);
    for check in session.waiting_checks_of(&family)? {
        let own = check.data.asked.lot_id;
        if own != lot_id {
            let apart = descended(own, &lots);
            family.retain(|id| !apart.contains(id));
        }
    }
    Ok(family)
}

/// What came back into a bin of a lot that waits in quarantine, or descends from one, follows it there:
/// the further movements, as part of the same act, and a caution that says so.
///
/// # Errors
/// Where the database fails.
pub(in crate::service) fn follow_aside(session: &mut Session, by: &By<'_>, done: Moved) -> Moved {
    let (mut outcome, mut touched) = done?;
    let mut lots: Vec<(Uuid, Uuid)> = Vec::new();
    for movement in outcome.movements.iter().filter(|m| may_bring_back(m)) {
        let lot = (movement.plug_id, movement.lot_id);
        if !lots.contains(&lot) {
            lots.push(lot);
        }
    }
    for (plug_id, lot_id) in lots {
        let Some(check) = waits_for(session, lot_id)? else {
            continue;
        };
        let (waits, quarantine) = (check.data.asked.lot_id, check.data.quarantine_id);
        let quarantine = match quarantine {
            Some(id) => session.place(id)?,
            None => None,
        };
        let quarantine =
            quarantine.ok_or_else(|| Refusal::Fault("a waiting check without its place".into()))?;
        let (further, changed) = put_aside(session, by, (plug_id, waits), &quarantine)?;
        outcome
            .cautions
            .extend(said(session, &further, &quarantine)?);
        outcome.movements.extend(further.movements);
        outcome.reservations.extend(further.reservations);
        touched.extend(changed);
    }
    Ok((outcome, touched))
}

fn may_bring_back(movement: &Movement) -> bool {
    matches!(
        movement.kind,
        MovementKind::Return | MovementKind::Reversal | MovementKind::Difference
    )
}

fn said(
    session: &mut Session,
    further: &Outcome,
    quarantine: &Place,
) -> Result<Option<Caution>, Refusal> {
    if further.movements.is_empty() {
        return Ok(None);
    }
    let mut told = Vec::with_capacity(further.movements.len());
    for movement in &further.movements {
        let lot = session.lot(movement.lot_id)?;
        let code = lot.map_or_else(String::new, |lot| lot.code);
        told.push(format!("{} of lot {code}", movement.quantity));
    }
    let detail = format!("{} lie in {} now.", told.join(", "), quarantine.name);
    Ok(Some(
        Caution::of(CautionCode::WaitsInQuarantine).with(detail),
    ))
}

/// Where plugs of some lots are that the movements of a decision did not bring there.
pub(super) fn not_reached(
    session: &mut Session,
    lot_id: Uuid,
    moved: &[Movement],
) -> Result<Vec<NotReached>, Refusal> {
    let mut brought: HashMap<(Uuid, Uuid), i64> = HashMap::new();
    for movement in moved {
        *brought
            .entry((movement.lot_id, movement.to_place_id))
            .or_default() += movement.quantity;
        *brought
            .entry((movement.lot_id, movement.from_place_id))
            .or_default() -= movement.quantity;
    }
    let lots = session.lot_family(lot_id)?;
    let mut stays = Vec::new();
    for id in descended(lot_id, &lots) {
        let Some(lot) = lots.iter().find(|lot| lot.id == id) else {
            continue;
        };
        let filter = LevelFilter {
            lot_id: Some(id),
            ..LevelFilter::default()
        };
        for level in session.list_levels(&filter, None, i64::MAX)? {
            let brought = brought.get(&(id, level.place_id)).copied().unwrap_or(0);
            let quantity = level.quantity - brought.max(0);
            let place = super::place_of(session, level.place_id, "id")?;
            let outside = matches!(place.kind, PlaceKind::Supplier | PlaceKind::Difference);
            if quantity > 0 && !outside {
                stays.push(NotReached {
                    lot_id: id,
                    lot_code: lot.code.clone(),
                    place_id: place.id,
                    place_name: place.name,
                    place_kind: place.kind,
                    quantity,
                });
            }
        }
    }
    Ok(stays)
}
