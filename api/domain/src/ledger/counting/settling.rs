//! Booking what a count found: bin to difference account what is missing, and back what is too much.

use uuid::Uuid;

use crate::ledger::draft::{Act, Draft};
use crate::ledger::picking::Spot;
use crate::ledger::{Lot, MovementKind, Place, PlaceKind, Plan, Shelf};

/// A difference to be booked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settled {
    /// The lot; it may have nothing left on the shelf.
    pub lot: Lot,
    /// The bin.
    pub place_id: Uuid,
    /// Plugs too many, or below zero those that are missing; never zero.
    pub difference: i64,
}

/// A line whose missing plugs the books no longer have: they went out since it was counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Overtaken {
    /// The lot.
    pub lot_id: Uuid,
    /// The bin.
    pub place_id: Uuid,
    /// Plugs that the count found missing.
    pub missing: i64,
    /// Plugs that the books still have there.
    pub on_hand: i64,
}

/// The differences that can no longer be booked, all of them.
pub fn overtaken(shelf: &Shelf, differences: &[Settled]) -> Vec<Overtaken> {
    let missing = differences.iter().filter(|d| d.difference < 0);
    let asked = missing.map(|d| Overtaken {
        lot_id: d.lot.id,
        place_id: d.place_id,
        missing: -d.difference,
        on_hand: shelf.sum(|lot, h| lot.id == d.lot.id && h.place_id == d.place_id),
    });
    asked.filter(|line| line.missing > line.on_hand).collect()
}

/// Bin → difference account for what is missing, difference account → bin for what is too much, in
/// the order given; what reservations can then no longer be met is short, newest first.
///
/// Bounded by what lies there, never by reservations: the shelf is the truth. The difference account
/// may go below zero.
///
/// # Errors
/// The lines whose missing plugs went out since they were counted: they are to be counted again.
pub fn settle(
    shelf: &Shelf,
    differences: &[Settled],
    account: &Place,
    note: &str,
    act: &mut Act<'_>,
) -> Result<Plan, Vec<Overtaken>> {
    let gone = overtaken(shelf, differences);
    if !gone.is_empty() {
        return Err(gone);
    }
    let mut draft = Draft::of(shelf, act);
    for settled in differences {
        let bin = Spot {
            id: settled.place_id,
            kind: PlaceKind::Bin,
        };
        let (from, to) = if settled.difference < 0 {
            (bin, account.into())
        } else {
            (account.into(), bin)
        };
        let plugs = settled.difference.abs();
        let movement = draft.take(MovementKind::Difference, &settled.lot, from, to, plugs);
        movement.note = Some(note.to_owned());
    }
    Ok(draft.finish())
}
