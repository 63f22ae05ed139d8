//! A lot that is put aside with all that descends from it until a manager decides, and what the
//! decision does.

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

/// A receipt that is put right, as far as its goods go back.
#[derive(Debug, Clone, Copy)]
pub struct SentBack<'a> {
    /// The lot that it made.
    pub lot: &'a Lot,
    /// The receipt.
    pub receipt: &'a Movement,
    /// Whether it has been put right before.
    pub reversed: bool,
    /// Where it came from.
    pub supplier: &'a Place,
    /// The bin that it was booked into.
    pub bin: &'a Place,
    /// The difference account, over which a lot becomes another.
    pub difference: &'a Place,
    /// Why.
    pub reason: &'a str,
}

/// Everything that a family of lots has in bins → quarantine. Reservations do not bound it: those that
/// can no longer be met become short. Nothing where nothing lies in a bin.
pub fn set_aside(shelf: &Shelf, family: &[Uuid], quarantine: &Place, act: &mut Act<'_>) -> Plan {
    let mut draft = Draft::of(shelf, act);
    for lot in family.iter().filter_map(|id| shelf.lot(*id)) {
        let held = |h: &&super::Holding| h.lot_id == lot.id && h.place_kind == PlaceKind::Bin;
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

/// What lies of a family of lots in a quarantine goes where a manager says; the lot that was measured
/// stands first. A release of what has left quarantine meanwhile moves nothing.
///
/// # Errors
/// `already_reversed` for what was sent back before; `not_enough_stock` where there is nothing to scrap
/// or to send back.
pub fn settle(
    shelf: &Shelf,
    family: &[Uuid],
    quarantine: &Place,
    settled: Settled<'_>,
    act: &mut Act<'_>,
) -> Result<Plan, Rejected> {
    let mut there: Vec<(&Lot, i64)> = Vec::new();
    for lot in family.iter().filter_map(|id| shelf.lot(*id)) {
        let lies = shelf.sum(|own, h| own.id == lot.id && h.place_id == quarantine.id);
        if lies > 0 {
            there.push((lot, lies));
        }
    }
    let mut draft = Draft::of(shelf, act);
    if there.is_empty() {
        return match settled {
            Settled::Release(_) => Ok(draft.finish()),
            Settled::SendBack(back) if back.reversed => Err(Rejection::AlreadyReversed.into()),
            Settled::Scrap(..) | Settled::SendBack(_) => {
                Err(shelf.not_enough_in(0, family.first().copied(), quarantine))
            }
        };
    }
    match settled {
        Settled::Release(bin) => {
            for (lot, lies) in there {
                draft.take(
                    MovementKind::Transfer,
                    lot,
                    quarantine.into(),
                    bin.into(),
                    lies,
                );
            }
        }
        Settled::Scrap(drum, why) => {
            for (lot, lies) in there {
                let movement = draft.take(
                    MovementKind::Scrapping,
                    lot,
                    quarantine.into(),
                    drum.into(),
                    lies,
                );
                movement.reason = Some(ScrapReason::Other.word().to_owned());
                movement.note = Some(why.to_owned());
            }
        }
        Settled::SendBack(back) => send_back(&mut draft, &there, quarantine, back)?,
    }
    Ok(draft.finish())
}

/// Puts the receipt right for as many as lie there: quarantine → the bin that it was booked into →
/// supplier. What descends from the lot becomes plugs of it again on the way: the supplier takes back
/// what it delivered, never more.
fn send_back(
    draft: &mut Draft<'_, '_>,
    there: &[(&Lot, i64)],
    quarantine: &Place,
    back: SentBack<'_>,
) -> Result<(), Rejected> {
    if back.reversed {
        return Err(Rejection::AlreadyReversed.into());
    }
    let mut goes = 0;
    for (lot, lies) in there {
        let quantity = (*lies).min(back.receipt.quantity - goes);
        if quantity <= 0 {
            break;
        }
        goes += quantity;
        if lot.id == back.lot.id {
            continue;
        }
        let pair = Some((draft.act.new_id)());
        let over = |from: &Place, to: &Place, lot: &Lot, draft: &mut Draft<'_, '_>| {
            let movement = draft.take(
                MovementKind::Transfer,
                lot,
                from.into(),
                to.into(),
                quantity,
            );
            movement.pair_id = pair;
        };
        over(quarantine, back.difference, lot, draft);
        over(back.difference, quarantine, back.lot, draft);
    }
    draft.take(
        MovementKind::Transfer,
        back.lot,
        quarantine.into(),
        back.bin.into(),
        goes,
    );
    let movement = draft.take(
        MovementKind::Reversal,
        back.lot,
        back.bin.into(),
        back.supplier.into(),
        goes,
    );
    movement.reason = Some(back.reason.to_owned());
    movement.reverses = Some(back.receipt.id);
    Ok(())
}
