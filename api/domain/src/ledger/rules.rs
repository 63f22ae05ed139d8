//! What each command does to the shelf of one part, or why it does nothing.
//!
//! Pure: the store hands the shelf in under its lock and writes the plan in the same transaction.

use chrono::TimeDelta;
use uuid::Uuid;

use super::commands::{Issue, Receipt, Reserve, Scrapping, Transfer};
use super::draft::Draft;
use super::shelf::near;
use super::{
    Condition, Holding, Lot, Movement, MovementKind, Place, PlaceKind, Plan, Reservation,
    ReservationState, Shelf,
};
use crate::decimal::Length;

pub use super::draft::Act;
pub use super::giving_back::{ReturnPlaces, give_back};
pub use super::picking::{Pick, Spot, pick, pick_leaving, serves};
pub use super::rejection::{Rejected, Rejection};

/// Supplier → bin: a new lot.
pub fn receive(
    shelf: &Shelf,
    receipt: &Receipt,
    supplier: &Place,
    bin: &Place,
    act: &mut Act<'_>,
) -> Plan {
    let mut draft = Draft::of(shelf, act);
    let lot = Lot {
        id: (draft.act.new_id)(),
        code: String::new(),
        plug_id: receipt.plug_id,
        supplier: supplier.name.clone(),
        received_at: draft.act.now,
        quantity_received: receipt.quantity,
        total_cost: receipt.total_cost.clone(),
        pack_size: receipt.pack_size,
        condition: receipt.condition.unwrap_or(Condition::Sealed),
        gap_mm: receipt.gap_mm,
        from_lot_id: None,
    };
    let movement = draft.take(
        MovementKind::Receipt,
        &lot,
        supplier.into(),
        bin.into(),
        receipt.quantity,
    );
    movement.note = receipt.reference.clone();
    draft.plan.new_lots.push(lot);
    draft.finish()
}

/// Bin → job, as far as what is available allows; with a reservation, as far as the others'
/// reservations allow.
///
/// # Errors
/// `reservation_closed`, `wrong_gap`, `not_enough_stock`.
pub fn issue(
    shelf: &Shelf,
    issue: &Issue,
    job: &Place,
    reservation: Option<&Reservation>,
    tolerance: Length,
    act: &mut Act<'_>,
) -> Result<Plan, Rejected> {
    // The shelf is read under the part's lock: its copy is the current one.
    let own = match reservation {
        None => None,
        Some(named) => Some(
            shelf
                .reservations
                .iter()
                .find(|r| r.id == named.id)
                .ok_or(Rejection::ReservationClosed)?,
        ),
    };
    if names_another_gap(shelf, issue, tolerance) {
        return Err(Rejection::WrongGap.into());
    }
    // A lot that the clerk names serves whatever gap it has.
    let usable = |lot: &Lot, h: &Holding| {
        serves(lot, h, issue.gap_mm, tolerance)
            || (h.place_kind == PlaceKind::Bin && issue.lot_id == Some(lot.id))
    };
    let asked = |lot: &Lot, h: &Holding| {
        usable(lot, h)
            && issue.lot_id.is_none_or(|id| id == lot.id)
            && issue.place_id.is_none_or(|id| id == h.place_id)
    };
    let others: i64 = shelf
        .reservations
        .iter()
        .filter(|r| own.is_none_or(|o| o.id != r.id))
        .map(|r| r.open_quantity)
        .sum();
    let available = shelf.sum(usable) - others;
    let picks = pick_leaving(others, shelf, asked, issue.quantity.min(available));
    let allowed: i64 = picks.iter().map(|p| p.quantity).sum();
    if allowed < issue.quantity {
        return Err(shelf.not_enough(allowed));
    }
    let mut draft = Draft::of(shelf, act);
    for picked in picks {
        let Some(lot) = shelf.lot(picked.lot_id) else {
            continue;
        };
        let movement = draft.take(
            MovementKind::Issue,
            lot,
            picked.place,
            job.into(),
            picked.quantity,
        );
        movement.job = Some(job.name.clone());
        movement.build_id = issue.build_id;
        movement.odometer_km = issue.odometer_km;
        movement.gap_mm = issue.gap_mm;
    }
    draft
        .plan
        .reservations
        .extend(own.map(|own| drawn(own, issue.quantity)));
    Ok(draft.finish())
}

/// Whether the lot that an issue names is set to another gap than the one that it wants.
fn names_another_gap(shelf: &Shelf, issue: &Issue, tolerance: Length) -> bool {
    let named = issue.lot_id.and_then(|id| shelf.lot(id));
    let (Some(lot), Some(wanted)) = (named, issue.gap_mm) else {
        return false;
    };
    let has_it = lot
        .gap_mm
        .is_some_and(|gap| near(gap, Some(wanted), tolerance));
    lot.condition == Condition::Gapped && !has_it
}

/// A reservation after so many of its plugs went out.
fn drawn(own: &Reservation, quantity: i64) -> Reservation {
    let open_quantity = (own.open_quantity - quantity).max(0);
    let state = if open_quantity == 0 {
        ReservationState::Issued
    } else {
        own.state
    };
    Reservation {
        open_quantity,
        state,
        ..own.clone()
    }
}

/// Bin → bin or quarantine, quarantine → bin; bounded by what lies there, never by reservations.
///
/// # Errors
/// `scrap_is_final`, `not_enough_stock`.
pub fn transfer(
    shelf: &Shelf,
    transfer: &Transfer,
    from: &Place,
    to: &Place,
    act: &mut Act<'_>,
) -> Result<Plan, Rejected> {
    if from.kind == PlaceKind::Scrap {
        return Err(Rejection::ScrapIsFinal.into());
    }
    let there = shelf.sum(|lot, h| lot.id == transfer.lot_id && h.place_id == from.id);
    let Some(lot) = shelf
        .lot(transfer.lot_id)
        .filter(|_| there >= transfer.quantity)
    else {
        return Err(shelf.not_enough(there));
    };
    let mut draft = Draft::of(shelf, act);
    draft.take(
        MovementKind::Transfer,
        lot,
        from.into(),
        to.into(),
        transfer.quantity,
    );
    Ok(draft.finish())
}

/// Bin, job or quarantine → scrap drum, for good; bounded by what lies there.
///
/// # Errors
/// `scrap_is_final`, `not_enough_stock`.
pub fn discard(
    shelf: &Shelf,
    scrapping: &Scrapping,
    from: &Place,
    drum: &Place,
    act: &mut Act<'_>,
) -> Result<Plan, Rejected> {
    if from.kind == PlaceKind::Scrap {
        return Err(Rejection::ScrapIsFinal.into());
    }
    let lies_there = |lot: &Lot, h: &Holding| {
        h.place_id == from.id && scrapping.lot_id.is_none_or(|id| id == lot.id)
    };
    let there = shelf.sum(lies_there);
    if there < scrapping.quantity {
        return Err(shelf.not_enough(there));
    }
    let mut draft = Draft::of(shelf, act);
    for picked in pick(shelf, lies_there, scrapping.quantity) {
        let Some(lot) = shelf.lot(picked.lot_id) else {
            continue;
        };
        let movement = draft.take(
            MovementKind::Scrapping,
            lot,
            picked.place,
            drum.into(),
            picked.quantity,
        );
        movement.reason = Some(scrapping.reason.word().to_owned());
        movement.note = scrapping.note.clone();
        movement.dropped_by = named(scrapping.dropped_by.as_deref());
        movement.job = (from.kind == PlaceKind::Job).then(|| from.name.clone());
    }
    Ok(draft.finish())
}

/// A name without what surrounds it.
pub(super) fn named(name: Option<&str>) -> Option<String> {
    name.map(|name| name.trim().to_owned())
}

/// Whether a scrapping may be reversed: a manager's slip of the scanner, within the policy's time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScrapSlip {
    /// Whether who asks is a manager.
    pub manager: bool,
    /// How long after the scrapping.
    pub within: TimeDelta,
}

/// Puts a movement (and the one it makes sense with) right by the opposite one.
///
/// `originals` are the movement and its pair in the order they were written, `reversed` whether
/// one of them has been put right before, `places` all places that they name; the shelf has to
/// show those places.
///
/// # Errors
/// `scrap_is_final`, `reversal_is_final`, `already_reversed`, `not_enough_stock`.
pub fn reverse(
    shelf: &Shelf,
    originals: &[Movement],
    reversed: bool,
    places: &[Place],
    reason: &str,
    slip: ScrapSlip,
    act: &mut Act<'_>,
) -> Result<Plan, Rejected> {
    let place = |id: Uuid| places.iter().find(|p| p.id == id);
    for original in originals {
        let from_drum = place(original.to_place_id).is_some_and(|p| p.kind == PlaceKind::Scrap);
        if from_drum && !(slip.manager && act.now - original.created_at <= slip.within) {
            return Err(Rejection::ScrapIsFinal.into());
        }
    }
    if originals.iter().any(|m| m.kind == MovementKind::Reversal) {
        return Err(Rejection::ReversalIsFinal.into());
    }
    if reversed {
        return Err(Rejection::AlreadyReversed.into());
    }
    let mut draft = Draft::of(shelf, act);
    let pair = (originals.len() > 1).then(|| (draft.act.new_id)());
    for original in originals.iter().rev() {
        // Half a pair is never put right: a place that is not handed in stops it all.
        let (Some(to), Some(from)) = (place(original.to_place_id), place(original.from_place_id))
        else {
            return Err(shelf.not_enough(0));
        };
        let there = shelf.sum(|lot, h| lot.id == original.lot_id && h.place_id == to.id);
        let bounded = !matches!(to.kind, PlaceKind::Supplier | PlaceKind::Difference);
        let Some(lot) = shelf
            .lot(original.lot_id)
            .filter(|_| !bounded || there >= original.quantity)
        else {
            return Err(shelf.not_enough(there));
        };
        let movement = draft.take(
            MovementKind::Reversal,
            lot,
            to.into(),
            from.into(),
            original.quantity,
        );
        movement.reason = Some(reason.to_owned());
        movement.reverses = Some(original.id);
        movement.job = original.job.clone();
        movement.pair_id = pair;
    }
    Ok(draft.finish())
}

/// Keeps plugs for a job, as far as what is available allows.
///
/// # Errors
/// `not_enough_stock`.
pub fn reserve(shelf: &Shelf, asked: &Reserve, act: &mut Act<'_>) -> Result<Plan, Rejected> {
    let reserved: i64 = shelf.reservations.iter().map(|r| r.open_quantity).sum();
    let mut draft = Draft::of(shelf, act);
    let available = draft.sealed_in_bins - reserved;
    if available < asked.quantity {
        return Err(shelf.not_enough(available));
    }
    draft.plan.reservations.push(Reservation {
        id: (draft.act.new_id)(),
        plug_id: asked.plug_id,
        job: asked.job.trim().to_owned(),
        quantity: asked.quantity,
        open_quantity: asked.quantity,
        state: ReservationState::Open,
        expires_at: asked.expires_at,
        version: 1,
        created_at: draft.act.now,
    });
    Ok(draft.finish())
}

/// Gives a reservation back.
///
/// # Errors
/// `reservation_closed`.
pub fn release(shelf: &Shelf, id: Uuid, act: &mut Act<'_>) -> Result<Plan, Rejected> {
    let own = shelf
        .reservations
        .iter()
        .find(|r| r.id == id)
        .ok_or(Rejection::ReservationClosed)?;
    let mut draft = Draft::of(shelf, act);
    let mut released = own.clone();
    released.open_quantity = 0;
    released.state = ReservationState::Released;
    draft.plan.reservations.push(released);
    Ok(draft.finish())
}
