//! Putting movements right.

use chrono::TimeDelta;
use plugwell_domain::ledger::commands::Reversal;
use plugwell_domain::ledger::rules::{self, Rejection, ScrapSlip};
use plugwell_domain::ledger::{MovementKind, PlaceKind};
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Role;
use plugwell_store::Session;
use uuid::Uuid;

use super::refused::{missing, rejected};
use super::{By, Moved, write};
use crate::service::Refusal;

/// Puts a movement right.
///
/// # Errors
/// Unknown movement; a scrapping or a difference for less than a manager; the rejections of [`rules::reverse`].
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
                    .place(id)?
                    .ok_or_else(|| Refusal::Fault("a movement without place".into()))?,
            );
        }
    }
    if by.actor.role < Role::Manager && places.iter().any(|p| p.kind == PlaceKind::Scrap) {
        return Err(Refusal::Forbidden(
            "only a manager reverses a scrapping".into(),
        ));
    }
    if by.actor.role < Role::Manager && named.kind == MovementKind::Difference {
        return Err(Refusal::Forbidden(
            "only a manager reverses what a count booked".into(),
        ));
    }
    let also: Vec<Uuid> = places.iter().map(|p| p.id).collect();
    let shelf = session.shelf(named.plug_id, &also)?;
    // What has come back of an issue came out of the job already.
    if named.kind == MovementKind::Issue && session.returned_of(named.id)? > 0 {
        return Err(rejected(Rejection::MoreThanIssued.into()));
    }
    let mut reversed = false;
    for movement in &originals {
        reversed |= session.reversal_of(movement.id)?.is_some();
    }
    let slip = ScrapSlip {
        manager: by.actor.role == Role::Manager,
        within: TimeDelta::hours(i64::from(policy.values.scrap_reversal_hours.value)),
    };
    write(session, by, named.plug_id, &shelf, |shelf, act| {
        rules::reverse(
            shelf,
            &originals,
            reversed,
            &places,
            reversal.reason.trim(),
            slip,
            act,
        )
    })
}
