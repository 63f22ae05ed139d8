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
use crate::decimal::{Decimal, Length};
use crate::wording::{agreeing, counted};

pub use super::draft::Act;
pub use super::giving_back::{ReturnPlaces, give_back};
pub use super::picking::{Pick, Spot, Wanted, pick, pick_leaving, picks_of_issue, serves};
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
        order_line_id: receipt.order_line_id,
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
                .find(|r| r.id == named.id && r.holds(act.now))
                .ok_or(Rejection::ReservationClosed)?,
        ),
    };
    if names_another_gap(shelf, issue, tolerance) {
        return Err(Rejection::WrongGap.into());
    }
    let wanted = Wanted {
        quantity: issue.quantity,
        gap_mm: issue.gap_mm,
        tolerance,
        lot_id: issue.lot_id,
        place_id: issue.place_id,
        reservation_id: own.map(|own| own.id),
    };
    let picks = picks_of_issue(shelf, &wanted, act.now);
    let allowed: i64 = picks.iter().map(|p| p.quantity).sum();
    if allowed < issue.quantity {
        return Err(shelf.not_enough_for(allowed, &wanted));
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
        movement.build_id = issue.build_id.or(own.and_then(|own| own.build_id));
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
    let drawn = quantity.min(own.open_quantity);
    let open_quantity = own.open_quantity - drawn;
    let state = if open_quantity == 0 {
        ReservationState::Issued
    } else {
        own.state
    };
    Reservation {
        open_quantity,
        issued_quantity: own.issued_quantity + drawn,
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
        return Err(shelf.not_enough_in(there, Some(transfer.lot_id), from));
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
        return Err(shelf.not_enough_in(there, scrapping.lot_id, from));
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
            return Err(gone_since(shelf, original, there, to));
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

/// Why a movement is not put right of which some have gone on since.
fn gone_since(shelf: &Shelf, original: &Movement, there: i64, to: &Place) -> Rejected {
    let (all, gone) = (original.quantity, original.quantity - there);
    let told = format!(
        "{gone} of the {} {} no longer in {}: put right first what took them from there",
        counted(all, "plug"),
        agreeing(gone, "is", "are"),
        to.name
    );
    shelf.not_enough(there).since(told)
}

/// Keeps plugs for a job, as far as what is available allows.
///
/// # Errors
/// `not_enough_stock`.
pub fn reserve(shelf: &Shelf, asked: &Reserve, act: &mut Act<'_>) -> Result<Plan, Rejected> {
    let held = shelf.reservations.iter().filter(|r| r.holds(act.now));
    let reserved: i64 = held.map(|r| r.open_quantity).sum();
    let mut draft = Draft::of(shelf, act);
    let available = draft.sealed_in_bins - reserved;
    if available < asked.quantity {
        let wanted = Wanted {
            quantity: asked.quantity,
            gap_mm: None,
            tolerance: Decimal(0),
            lot_id: None,
            place_id: None,
            reservation_id: None,
        };
        return Err(shelf.not_enough_for(available, &wanted));
    }
    draft.plan.reservations.push(Reservation {
        id: (draft.act.new_id)(),
        plug_id: asked.plug_id,
        job: asked.job.trim().to_owned(),
        quantity: asked.quantity,
        open_quantity: asked.quantity,
        issued_quantity: 0,
        build_id: asked.build_id,
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
        .find(|r| r.id == id && r.holds(act.now))
        .ok_or(Rejection::ReservationClosed)?;
    let mut draft = Draft::of(shelf, act);
    let mut released = own.clone();
    released.open_quantity = 0;
    released.state = ReservationState::Released;
    draft.plan.reservations.push(released);
    Ok(draft.finish())
}

/// Ends the reservations whose time has run out, as every other command on the part does by the
/// way; an empty plan where there is none.
pub fn expire(shelf: &Shelf, act: &mut Act<'_>) -> Plan {
    Draft::of(shelf, act).finish()
}
