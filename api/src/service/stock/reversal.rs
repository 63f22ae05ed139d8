//! Putting movements right.

use chrono::TimeDelta;
use plugwell_domain::ledger::commands::Reversal;
use plugwell_domain::ledger::rules::{self, Rejected, Rejection, ScrapSlip};
use plugwell_domain::ledger::{Movement, MovementKind, Place, PlaceKind};
use plugwell_domain::order::Order;
use plugwell_domain::policy::Policy;
use plugwell_domain::wording::{agreeing, counted};
use plugwell_domain::words::Role;
use plugwell_store::Session;
use uuid::Uuid;

use super::family::follow_aside;
use super::refused::{missing, rejected};
use super::{By, Moved, Outcome, write};
use crate::service::{Refusal, orders};

/// Puts a movement right.
///
/// # Errors
/// Unknown movement; a scrapping or a difference for less than a manager; `place_retired` where it would go
/// back to a place that is; the rejections of [`rules::reverse`].
pub fn reverse(session: &mut Session, by: &By<'_>, policy: &Policy, reversal: &Reversal) -> Moved {
    let named = session
        .movement(reversal.movement_id)?
        .ok_or_else(|| missing("movement_id", "movement"))?;
    let originals = match named.pair_id {
        Some(pair) => session.pair(pair)?,
        None => vec![named.clone()],
    };
    let mut places = Vec::new();
    for movement in &originals {
        for id in [movement.from_place_id, movement.to_place_id] {
            places.push(
                session
                    .place_to_fill(id)?
                    .ok_or_else(|| Refusal::Fault("a movement without place".into()))?,
            );
        }
    }
    if let Some(refusal) = for_a_manager(by, &originals, &places) {
        return Err(refusal);
    }
    in_use(&originals, &places)?;
    // Before the part is locked: the same way round as a receipt does it.
    let order = ordered(session, &named)?;
    let also: Vec<Uuid> = places.iter().map(|p| p.id).collect();
    let shelf = session.shelf(named.plug_id, &also)?;
    // What has come back of an issue came out of the job already.
    if named.kind == MovementKind::Issue {
        none_back(&named, session.returned_of(named.id)?)?;
    }
    let mut reversed = false;
    for movement in &originals {
        reversed |= session.reversal_of(movement.id)?.is_some();
    }
    let slip = ScrapSlip {
        manager: by.actor.role == Role::Manager,
        within: TimeDelta::hours(i64::from(policy.values.scrap_reversal_hours.value)),
    };
    let done = write(session, by, named.plug_id, &shelf, |shelf, act| {
        rules::reverse(
            shelf,
            &originals,
            reversed,
            &places,
            reversal.reason.trim(),
            slip,
            act,
        )
    });
    // What comes back may be of a lot that waits in quarantine; what a manager lets out of there by a
    // transfer's reversal stays out.
    let (outcome, touched) = match named.kind {
        MovementKind::Transfer => done?,
        _ => follow_aside(session, by, done)?,
    };
    let taken = order
        .map(|(order, line_id)| orders::take_back(session, by, &order, line_id, named.quantity));
    let delivery = taken.transpose()?;
    Ok((
        Outcome {
            delivery,
            ..outcome
        },
        touched,
    ))
}

/// An issue is put right whole: not where some of it has come back.
fn none_back(issued: &Movement, returned: i64) -> Result<(), Refusal> {
    if returned == 0 {
        return Ok(());
    }
    let told = format!(
        "{returned} of the {} {} come back already: put that right first, or let the others come back",
        counted(issued.quantity, "plug"),
        agreeing(returned, "has", "have")
    );
    Err(rejected(
        Rejected::from(Rejection::MoreThanIssued).since(told),
    ))
}

/// What came from a bin or a quarantine goes back there: it has to be in use.
fn in_use(originals: &[Movement], places: &[Place]) -> Result<(), Refusal> {
    let back_to = |place: &Place| originals.iter().any(|m| m.from_place_id == place.id);
    let kept = |place: &Place| matches!(place.kind, PlaceKind::Bin | PlaceKind::Quarantine);
    if places.iter().any(|p| p.retired && kept(p) && back_to(p)) {
        return Err(rejected(Rejection::PlaceRetired.into()));
    }
    Ok(())
}

/// What it takes a manager to put right: a scrapping, what a count booked, and a transfer into
/// quarantine, which would let plugs out of it.
fn for_a_manager(by: &By<'_>, originals: &[Movement], places: &[Place]) -> Option<Refusal> {
    if by.actor.role >= Role::Manager {
        return None;
    }
    let out_of = |place: &Place| originals.iter().any(|m| m.to_place_id == place.id);
    if places.iter().any(|p| p.kind == PlaceKind::Scrap) {
        return Some(Refusal::Forbidden(
            "only a manager reverses a scrapping".into(),
        ));
    }
    if originals.iter().any(|m| m.kind == MovementKind::Difference) {
        return Some(Refusal::Forbidden(
            "only a manager reverses what a count booked".into(),
        ));
    }
    places
        .iter()
        .any(|p| p.kind == PlaceKind::Quarantine && out_of(p))
        .then(|| Refusal::Forbidden("only a manager lets plugs out of quarantine".into()))
}

/// The order that a receipt was for, locked until the commit, and its line.
pub(super) fn ordered(
    session: &mut Session,
    receipt: &Movement,
) -> Result<Option<(Order, Uuid)>, Refusal> {
    if receipt.kind != MovementKind::Receipt {
        return Ok(None);
    }
    let lot = session.lot(receipt.lot_id)?;
    let Some(line_id) = lot.and_then(|lot| lot.order_line_id) else {
        return Ok(None);
    };
    let order = match session.order_of_line(line_id)? {
        Some(id) => session.order_locked(id)?,
        None => None,
    };
    let order = order.ok_or_else(|| Refusal::Fault("a lot without its order".into()))?;
    Ok(Some((order, line_id)))
}
