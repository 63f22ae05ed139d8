//! A lot that is put aside as a whole until a manager decides, and what the decision does.

use uuid::Uuid;

use super::draft::Draft;
use super::rejection::{Rejected, Rejection};
use super::rules::Act;
use super::{Lot, Movement, MovementKind, Place, PlaceKind, Plan, ScrapReason, Shelf};

/// Where a lot that was put aside goes.
#[derive(Debug, Clone, Copy)]
pub enum Settled<'a> {
    /// Into a bin.
    Release(&'a Place),
    /// Into the drum, for a reason in words.
    Scrap(&'a Place, &'a str),
    /// Back to its supplier.
    SendBack(SentBack<'a>),
}

/// A receipt that is put right because its goods go back.
#[derive(Debug, Clone, Copy)]
pub struct SentBack<'a> {
    /// The receipt.
    pub receipt: &'a Movement,
    /// Whether it has been put right before.
    pub reversed: bool,
    /// Where it came from.
    pub supplier: &'a Place,
    /// The bin that it was booked into.
    pub bin: &'a Place,
    /// Why.
    pub reason: &'a str,
}

/// Everything that a lot has in bins → quarantine. Reservations do not bound it: those that can no longer
/// be met become short. Nothing where nothing lies in a bin.
pub fn set_aside(shelf: &Shelf, lot_id: Uuid, quarantine: &Place, act: &mut Act<'_>) -> Plan {
    let mut draft = Draft::of(shelf, act);
    if let Some(lot) = shelf.lot(lot_id) {
        let held = |h: &&super::Holding| h.lot_id == lot_id && h.place_kind == PlaceKind::Bin;
        for holding in shelf.holdings.iter().filter(held) {
            draft.take(
                MovementKind::Transfer,
                lot,
                holding.into(),
                quarantine.into(),
                holding.quantity,
            );
        }
    }
    draft.finish()
}

/// What lies of a lot in a quarantine goes where a manager says. A release of what has left quarantine
/// meanwhile moves nothing.
///
/// # Errors
/// `already_reversed` for what was sent back before; `not_enough_stock` where there is nothing to scrap,
/// or, to send it back, not the whole lot.
pub fn settle(
    shelf: &Shelf,
    lot_id: Uuid,
    quarantine: &Place,
    settled: Settled<'_>,
    act: &mut Act<'_>,
) -> Result<Plan, Rejected> {
    let there = shelf.sum(|lot, h| lot.id == lot_id && h.place_id == quarantine.id);
    let lot = shelf.lot(lot_id).filter(|_| there > 0);
    let mut draft = Draft::of(shelf, act);
    let Some(lot) = lot else {
        return match settled {
            Settled::Release(_) => Ok(draft.finish()),
            Settled::Scrap(..) | Settled::SendBack(_) => Err(shelf.not_enough(0)),
        };
    };
    match settled {
        Settled::Release(bin) => {
            draft.take(
                MovementKind::Transfer,
                lot,
                quarantine.into(),
                bin.into(),
                there,
            );
        }
        Settled::Scrap(drum, why) => {
            let movement = draft.take(
                MovementKind::Scrapping,
                lot,
                quarantine.into(),
                drum.into(),
                there,
            );
            movement.reason = Some(ScrapReason::Other.word().to_owned());
            movement.note = Some(why.to_owned());
        }
        Settled::SendBack(back) => send_back(&mut draft, lot, quarantine, there, back)?,
    }
    Ok(draft.finish())
}

/// Only a whole receipt can be put right: quarantine → the bin that it was booked into → supplier.
fn send_back(
    draft: &mut Draft<'_, '_>,
    lot: &Lot,
    quarantine: &Place,
    there: i64,
    back: SentBack<'_>,
) -> Result<(), Rejected> {
    if back.reversed {
        return Err(Rejection::AlreadyReversed.into());
    }
    let whole = back.receipt.quantity;
    if there < whole {
        return Err(draft.shelf.not_enough(there));
    }
    draft.take(
        MovementKind::Transfer,
        lot,
        quarantine.into(),
        back.bin.into(),
        whole,
    );
    let movement = draft.take(
        MovementKind::Reversal,
        lot,
        back.bin.into(),
        back.supplier.into(),
        whole,
    );
    movement.reason = Some(back.reason.to_owned());
    movement.reverses = Some(back.receipt.id);
    Ok(())
}
