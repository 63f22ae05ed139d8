//! What each command does to the shelf of one part, or why it does nothing.
//!
//! Pure: the store hands the shelf in under its lock and writes the plan in the same transaction.

use chrono::TimeDelta;
use uuid::Uuid;

use super::commands::{Issue, Receipt, Reserve, Return, Scrapping, Transfer};
use super::draft::Draft;
use super::shelf::near;
use super::{
    Condition, Holding, Lot, Movement, MovementKind, Place, PlaceKind, Plan, Reservation,
    ReservationState, Returned, ScrapReason, Shelf,
};
use crate::decimal::Length;

pub use super::draft::Act;
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
    let named_lot = issue.lot_id.and_then(|id| shelf.lot(id));
    if let (Some(lot), Some(wanted)) = (named_lot, issue.gap_mm)
        && lot.condition == Condition::Gapped
        && !lot
            .gap_mm
            .is_some_and(|gap| near(gap, Some(wanted), tolerance))
    {
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
    if let Some(own) = own {
        let mut drawn = own.clone();
        drawn.open_quantity = (own.open_quantity - issue.quantity).max(0);
        if drawn.open_quantity == 0 {
            drawn.state = ReservationState::Issued;
        }
        draft.plan.reservations.push(drawn);
    }
    Ok(draft.finish())
}

/// Where what comes back can go.
#[derive(Debug, Clone, Copy)]
pub struct ReturnPlaces<'a> {
    /// The job that it comes from.
    pub job: &'a Place,
    /// The bin it goes to, where it goes back.
    pub bin: Option<&'a Place>,
    /// The scrap drum.
    pub scrap: &'a Place,
    /// The difference account, over which a lot becomes another.
    pub difference: &'a Place,
}

/// Job → bin for what is sealed or gapped, job → scrap drum for anything else.
///
/// `returned` is what has come back of the issue already: the sum of the movements that answer it
/// and stand. The shelf has to show the job.
///
/// # Errors
/// `not_an_issue`, `not_sealed`, `more_than_issued`, `not_enough_stock`.
pub fn give_back(
    shelf: &Shelf,
    back: &Return,
    issued: &Movement,
    returned: i64,
    places: ReturnPlaces<'_>,
    act: &mut Act<'_>,
) -> Result<Plan, Rejected> {
    if issued.kind != MovementKind::Issue {
        return Err(Rejection::NotAnIssue.into());
    }
    // A lot that has nothing left, in the job or elsewhere, is not on the shelf.
    let lot = shelf.lot(issued.lot_id);
    if back.condition == Returned::Sealed && lot.is_some_and(|l| l.condition != Condition::Sealed) {
        return Err(Rejection::NotSealed.into());
    }
    if returned + back.quantity > issued.quantity {
        return Err(Rejection::MoreThanIssued.into());
    }
    let in_job = shelf.sum(|l, h| l.id == issued.lot_id && h.place_id == places.job.id);
    let Some(lot) = lot.filter(|_| in_job >= back.quantity) else {
        return Err(shelf.not_enough(in_job));
    };
    let mut draft = Draft::of(shelf, act);
    let job = Spot::from(places.job);
    let mut made = match (back.condition, places.bin) {
        (Returned::Sealed, Some(bin)) => {
            draft.take(MovementKind::Return, lot, job, bin.into(), back.quantity);
            draft.finish()
        }
        (Returned::Gapped, Some(bin))
            if lot.condition == Condition::Gapped && lot.gap_mm == back.gap_mm =>
        {
            draft.take(MovementKind::Return, lot, job, bin.into(), back.quantity);
            draft.finish()
        }
        (Returned::Gapped, Some(bin)) => {
            let descended = descend(lot, back, (draft.act.new_id)());
            let pair = (draft.act.new_id)();
            let over = Spot::from(places.difference);
            draft
                .take(MovementKind::Return, lot, job, over, back.quantity)
                .pair_id = Some(pair);
            draft
                .take(
                    MovementKind::Return,
                    &descended,
                    over,
                    bin.into(),
                    back.quantity,
                )
                .pair_id = Some(pair);
            draft.plan.new_lots.push(descended);
            draft.finish()
        }
        // The body's check asks for a bin; plugs that could go back are never scrapped for want of one.
        (Returned::Sealed | Returned::Gapped, None) => return Err(shelf.not_enough(0)),
        (Returned::Fitted | Returned::Handled | Returned::Dropped, _) => {
            let movement = draft.take(
                MovementKind::Scrapping,
                lot,
                job,
                places.scrap.into(),
                back.quantity,
            );
            movement.reason = Some(scrap_reason(back.condition).word().to_owned());
            draft.finish()
        }
    };
    for movement in &mut made.movements {
        // Of a pair only what leaves the job answers the issue, so that a sum over the answers
        // counts each plug once.
        movement.answers = (movement.from_place_id == places.job.id).then_some(issued.id);
        movement.job = Some(places.job.name.clone());
    }
    Ok(made)
}

fn scrap_reason(condition: Returned) -> ScrapReason {
    match condition {
        Returned::Fitted => ScrapReason::Fitted,
        Returned::Dropped => ScrapReason::Dropped,
        Returned::Sealed | Returned::Gapped | Returned::Handled => ScrapReason::Other,
    }
}

fn descend(lot: &Lot, back: &Return, id: Uuid) -> Lot {
    Lot {
        id,
        code: String::new(),
        quantity_received: back.quantity,
        total_cost: None,
        condition: Condition::Gapped,
        gap_mm: back.gap_mm,
        from_lot_id: Some(lot.id),
        ..lot.clone()
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
        movement.job = (from.kind == PlaceKind::Job).then(|| from.name.clone());
    }
    Ok(draft.finish())
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
