//! Commands that move or reserve stock. Each runs inside a write transaction, takes the shelf of
//! its part under lock, asks the rules and writes their plan.

mod beware;
mod expiry;
mod family;
mod incoming;
mod inward;
mod job;
mod places;
mod refused;
mod reversal;
mod short;

pub use beware::{Beware, beware_of_build, beware_of_movement};
pub use expiry::expire;
pub(in crate::service) use family::{follow_aside, waits_for};
pub use incoming::{Aside, check, decide, incoming_check, incoming_checks};
pub(in crate::service) use inward::receive_into;
pub use inward::{discard, receive, transfer};
pub use job::{give_back, issue, release, reserve};
pub use places::{add_place, create_place, patch_place};
pub use refused::sentence;
pub use reversal::reverse;
pub use short::{InStead, instead, with_equivalents};

use chrono::{DateTime, Utc};
use plugwell_domain::caution::Caution;
use plugwell_domain::ledger::rules::{Act, Rejected, Rejection};
use plugwell_domain::ledger::{
    Lot, Movement, Place, PlaceKind, Plan, Reservation, ReservationState, Shelf,
};
use plugwell_domain::order::Delivery;
use plugwell_store::Session;
use uuid::Uuid;

use crate::service::judged::Judged;
use crate::service::shop::Touched;
use crate::service::{Actor, Refusal, new_id, now};
use refused::{missing, rejected, wrong_place};

/// Who gives a command, and the instant that it is written with.
#[derive(Debug, Clone, Copy)]
pub struct By<'a> {
    /// Who.
    pub actor: &'a Actor,
    /// When.
    pub at: DateTime<Utc>,
}

impl<'a> By<'a> {
    /// Given now.
    pub fn now(actor: &'a Actor) -> Self {
        Self { actor, at: now() }
    }
}

/// What a command did.
#[derive(Debug, Clone, Default)]
pub struct Outcome {
    /// The movements, in the order they were written.
    pub movements: Vec<Movement>,
    /// Lots that were made.
    pub lots: Vec<Lot>,
    /// Reservations that were made or changed their state.
    pub reservations: Vec<Reservation>,
    /// What it did to the line of an order, where it was for one.
    pub delivery: Option<Delivery>,
    /// Musts that the part fails, or that nobody can say it passes: of its build, and of the gap.
    pub fails: Vec<Judged>,
    /// What to beware of.
    pub cautions: Vec<Caution>,
}

impl Outcome {
    /// The same with what is to be said of it.
    fn with(mut self, said: Beware) -> Self {
        self.fails.extend(said.fails);
        self.cautions.extend(said.cautions);
        self
    }
}

/// An outcome and the shelf that it changed.
pub type Moved = Result<(Outcome, Vec<Touched>), Refusal>;

fn place_of(session: &mut Session, id: Uuid, field: &str) -> Result<Place, Refusal> {
    session.place(id)?.ok_or_else(|| missing(field, "place"))
}

/// A place that something is put into: of a wanted kind, still in use, and not retired before the commit.
fn open_place(
    session: &mut Session,
    id: Uuid,
    field: &str,
    kinds: &[PlaceKind],
) -> Result<Place, Refusal> {
    let place = session
        .place_to_fill(id)?
        .ok_or_else(|| missing(field, "place"))?;
    if !kinds.contains(&place.kind) {
        let words: Vec<_> = kinds.iter().map(|k| k.word()).collect();
        return Err(wrong_place(
            field,
            &place,
            &format!("give one of kind {}", words.join(" or ")),
        ));
    }
    if place.retired {
        return Err(rejected(Rejection::PlaceRetired.into()));
    }
    Ok(place)
}

/// Runs a rule under the part's lock and writes its plan.
fn act(
    session: &mut Session,
    by: &By<'_>,
    plug_id: Uuid,
    also: &[Uuid],
    rule: impl FnOnce(&Shelf, &mut Act<'_>) -> Result<Plan, Rejected>,
) -> Moved {
    let shelf = session.shelf(plug_id, also)?;
    write(session, by, plug_id, &shelf, rule)
}

/// Runs a rule on a shelf that is held under its lock, and writes its plan.
pub(super) fn write(
    session: &mut Session,
    by: &By<'_>,
    plug_id: Uuid,
    shelf: &Shelf,
    rule: impl FnOnce(&Shelf, &mut Act<'_>) -> Result<Plan, Rejected>,
) -> Moved {
    let plan = rule(
        shelf,
        &mut Act {
            now: by.at,
            actor: &by.actor.name,
            new_id: &mut new_id,
        },
    )
    .map_err(rejected)?;
    written(session, plug_id, plan)
}

/// Writes a plan; gives back what it did and the shelf that it left.
fn written(session: &mut Session, plug_id: Uuid, plan: Plan) -> Moved {
    let applied = session.apply(plug_id, &plan)?;
    let (ordinal, version, on_shelf) = session
        .on_shelf(plug_id)?
        .ok_or_else(|| Refusal::Fault("a part without a shelf".into()))?;
    let expired = plan
        .reservations
        .iter()
        .filter(|r| r.state == ReservationState::Expired)
        .cloned()
        .collect();
    let outcome = Outcome {
        movements: applied.movements,
        lots: applied.lots,
        reservations: plan.reservations,
        ..Outcome::default()
    };
    let touched = Touched {
        ordinal,
        version,
        on_shelf,
        expired,
    };
    Ok((outcome, vec![touched]))
}
