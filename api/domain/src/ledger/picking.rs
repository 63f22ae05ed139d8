//! Which plugs are taken: the holdings that serve, in the order of lots and places.

use uuid::Uuid;

use super::rejection::{Rejected, Rejection};
use super::shelf::near;
use super::{Condition, Holding, Lot, Place, PlaceKind, Shelf};
use crate::decimal::Length;

/// A place as the rules need it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spot {
    /// Its identifier.
    pub id: Uuid,
    /// What it is.
    pub kind: PlaceKind,
}

impl From<&Place> for Spot {
    fn from(place: &Place) -> Self {
        Self {
            id: place.id,
            kind: place.kind,
        }
    }
}

impl From<&Holding> for Spot {
    fn from(holding: &Holding) -> Self {
        Self {
            id: holding.place_id,
            kind: holding.place_kind,
        }
    }
}

/// A quantity to be taken of a lot in a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pick {
    /// The lot.
    pub lot_id: Uuid,
    /// Where it lies.
    pub place: Spot,
    /// How many.
    pub quantity: i64,
}

/// Takes a quantity out of holdings: from the oldest lot that has it all, else the oldest lots one
/// after the other; within a lot by the running number of the place. Less where there is less.
pub fn pick(shelf: &Shelf, usable: impl Fn(&Lot, &Holding) -> bool, quantity: i64) -> Vec<Pick> {
    pick_sealed_up_to(i64::MAX, shelf, usable, quantity)
}

/// As [`pick`], but leaves as many sealed plugs in bins as are reserved: what goes out while gapped
/// lots count too must not make a reservation short.
///
/// The caller asks for no more than is available.
pub fn pick_leaving(
    reserved: i64,
    shelf: &Shelf,
    usable: impl Fn(&Lot, &Holding) -> bool,
    quantity: i64,
) -> Vec<Pick> {
    pick_sealed_up_to(
        (shelf.sealed_in_bins() - reserved).max(0),
        shelf,
        usable,
        quantity,
    )
}

fn pick_sealed_up_to(
    mut sealed_left: i64,
    shelf: &Shelf,
    usable: impl Fn(&Lot, &Holding) -> bool,
    quantity: i64,
) -> Vec<Pick> {
    let mut lots: Vec<(&Lot, Vec<&Holding>, i64)> = Vec::new();
    for lot in &shelf.lots {
        let mut held: Vec<&Holding> = shelf
            .holdings
            .iter()
            .filter(|h| h.lot_id == lot.id && h.quantity > 0 && usable(lot, h))
            .collect();
        held.sort_by_key(|h| (h.place_number, h.place_id));
        let total: i64 = held.iter().map(|h| h.quantity).sum();
        let total = if lot.condition == Condition::Sealed {
            total.min(sealed_left)
        } else {
            total
        };
        if total > 0 {
            lots.push((lot, held, total));
        }
    }
    lots.sort_by_key(|(lot, ..)| (lot.received_at, lot.id));
    if let Some(place) = lots.iter().position(|(.., total)| *total >= quantity) {
        lots = vec![lots.swap_remove(place)];
    }
    let mut left = quantity;
    let mut picks = Vec::new();
    for (lot, held, _) in &lots {
        for holding in held {
            let mut taken = holding.quantity.min(left);
            if lot.condition == Condition::Sealed {
                taken = taken.min(sealed_left);
                sealed_left -= taken.max(0);
            }
            if taken > 0 {
                picks.push(Pick {
                    lot_id: lot.id,
                    place: Spot::from(*holding),
                    quantity: taken,
                });
                left -= taken;
            }
        }
    }
    picks
}

/// Whether a lot in a bin serves a wanted gap: sealed ones do, gapped ones within the tolerance.
pub fn serves(lot: &Lot, holding: &Holding, wanted: Option<Length>, tolerance: Length) -> bool {
    holding.place_kind == PlaceKind::Bin
        && match (lot.condition, lot.gap_mm) {
            (Condition::Sealed, _) => true,
            (Condition::Gapped, Some(gap)) => near(gap, wanted, tolerance),
            (Condition::Gapped, None) => false,
        }
}

impl Shelf {
    pub(super) fn lot(&self, id: Uuid) -> Option<&Lot> {
        self.lots.iter().find(|l| l.id == id)
    }

    pub(super) fn sum(&self, usable: impl Fn(&Lot, &Holding) -> bool) -> i64 {
        let counts = |h: &&Holding| self.lot(h.lot_id).is_some_and(|lot| usable(lot, h));
        self.holdings
            .iter()
            .filter(counts)
            .map(|h| h.quantity)
            .sum()
    }

    pub(super) fn on_hand(&self) -> i64 {
        self.sum(|_, h| h.place_kind == PlaceKind::Bin)
    }

    pub(super) fn sealed_in_bins(&self) -> i64 {
        self.sum(|lot, h| h.place_kind == PlaceKind::Bin && lot.condition == Condition::Sealed)
    }

    pub(super) fn not_enough(&self, available: i64) -> Rejected {
        Rejected {
            rule: Rejection::NotEnoughStock,
            available: Some(available.max(0)),
            on_hand: Some(self.on_hand()),
        }
    }
}
