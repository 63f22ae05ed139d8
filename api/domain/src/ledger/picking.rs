//! Which plugs are taken: the holdings that serve, in the order of lots and places.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use super::rejection::{Rejected, Rejection};
use super::shelf::near;
use super::{Condition, Holding, Lot, Place, PlaceKind, Shelf};
use crate::decimal::Length;
use crate::wording::agreeing;

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

/// What an issue wants of a part's shelf.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// Plugs.
    pub quantity: i64,
    /// The gap that is set: lots that have it already count too.
    pub gap_mm: Option<Length>,
    /// How far the gap of such a lot may differ.
    pub tolerance: Length,
    /// Only from this lot, whatever gap it has.
    pub lot_id: Option<Uuid>,
    /// Only from this bin.
    pub place_id: Option<Uuid>,
    /// The reservation that is drawn on.
    pub reservation_id: Option<Uuid>,
}

/// Where an issue takes its plugs from: what there is, up to the quantity. What others have
/// reserved at that instant stays.
pub fn picks_of_issue(shelf: &Shelf, wanted: &Wanted, now: DateTime<Utc>) -> Vec<Pick> {
    // A lot that the clerk names serves whatever gap it has.
    let usable = |lot: &Lot, h: &Holding| {
        serves(lot, h, wanted.gap_mm, wanted.tolerance)
            || (h.place_kind == PlaceKind::Bin && wanted.lot_id == Some(lot.id))
    };
    let asked = |lot: &Lot, h: &Holding| {
        usable(lot, h)
            && wanted.lot_id.is_none_or(|id| id == lot.id)
            && wanted.place_id.is_none_or(|id| id == h.place_id)
    };
    let others: i64 = shelf
        .reservations
        .iter()
        .filter(|r| r.holds(now) && wanted.reservation_id != Some(r.id))
        .map(|r| r.open_quantity)
        .sum();
    let available = shelf.sum(usable) - others;
    pick_leaving(others, shelf, asked, wanted.quantity.min(available))
}

/// Takes a quantity out of holdings: from the oldest lot that has it all, else from the fewest lots
/// that have it together, of several such choices from that with the oldest lots; within a lot by
/// the running number of the place. Less where there is less.
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

/// A lot with what serves of it, in the order of its places.
struct Serving<'a> {
    lot: &'a Lot,
    held: Vec<&'a Holding>,
    total: Plugs,
}

/// Plugs by their condition: of the sealed ones together no more may go than nobody has reserved.
#[derive(Debug, Clone, Copy, Default)]
struct Plugs {
    sealed: i64,
    gapped: i64,
}

impl Plugs {
    fn and(self, more: Self) -> Self {
        Self {
            sealed: self.sealed + more.sealed,
            gapped: self.gapped + more.gapped,
        }
    }
}

fn pick_sealed_up_to(
    mut sealed_left: i64,
    shelf: &Shelf,
    usable: impl Fn(&Lot, &Holding) -> bool,
    quantity: i64,
) -> Vec<Pick> {
    let mut lots: Vec<Serving<'_>> = Vec::new();
    for lot in &shelf.lots {
        let mut held: Vec<&Holding> = shelf
            .holdings
            .iter()
            .filter(|h| h.lot_id == lot.id && h.quantity > 0 && usable(lot, h))
            .collect();
        held.sort_by_key(|h| (h.place_number, h.place_id));
        let total: i64 = held.iter().map(|h| h.quantity).sum();
        let mut plugs = Plugs::default();
        match lot.condition {
            Condition::Sealed => plugs.sealed = total.min(sealed_left),
            Condition::Gapped => plugs.gapped = total,
        }
        if plugs.sealed + plugs.gapped > 0 {
            lots.push(Serving {
                lot,
                held,
                total: plugs,
            });
        }
    }
    lots.sort_by_key(|serving| (serving.lot.received_at, serving.lot.id));
    let mut left = quantity;
    let mut picks = Vec::new();
    for serving in fewest(&lots, sealed_left, quantity) {
        for holding in &serving.held {
            let mut taken = holding.quantity.min(left);
            if serving.lot.condition == Condition::Sealed {
                taken = taken.min(sealed_left);
                sealed_left -= taken.max(0);
            }
            if taken > 0 {
                picks.push(Pick {
                    lot_id: serving.lot.id,
                    place: Spot::from(*holding),
                    quantity: taken,
                });
                left -= taken;
            }
        }
    }
    picks
}

/// Of lots in the order of their age the fewest that have the quantity together: the oldest is
/// among them if it can be, then the next, and so on. All where all have less.
fn fewest<'s, 'a>(
    lots: &'s [Serving<'a>],
    sealed_left: i64,
    quantity: i64,
) -> Vec<&'s Serving<'a>> {
    let enough = |chosen: Plugs, rest: &[Serving<'_>], count: usize| {
        most(chosen, rest, count, sealed_left) >= quantity
    };
    let Some(count) = (1..=lots.len()).find(|count| enough(Plugs::default(), lots, *count)) else {
        return lots.iter().collect();
    };
    let (mut chosen, mut had) = (Vec::with_capacity(count), Plugs::default());
    for (place, serving) in lots.iter().enumerate() {
        let with = had.and(serving.total);
        if chosen.len() < count && enough(with, &lots[place + 1..], count - chosen.len() - 1) {
            chosen.push(serving);
            had = with;
        }
    }
    chosen
}

/// The most that lots which are chosen have together with so many more.
fn most(chosen: Plugs, rest: &[Serving<'_>], count: usize, sealed_left: i64) -> i64 {
    let largest = |of: fn(&Plugs) -> i64| {
        let mut totals: Vec<i64> = rest.iter().map(|serving| of(&serving.total)).collect();
        totals.sort_unstable_by(|a, b| b.cmp(a));
        totals
    };
    let (sealed, gapped) = (largest(|p| p.sealed), largest(|p| p.gapped));
    let together = |of_sealed: usize| {
        let all_sealed = chosen.sealed + sealed.iter().take(of_sealed).sum::<i64>();
        let all_gapped = chosen.gapped + gapped.iter().take(count - of_sealed).sum::<i64>();
        all_sealed.min(sealed_left) + all_gapped
    };
    (0..=count).map(together).max().unwrap_or_default()
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
    /// What a pick is taken from.
    pub fn holding(&self, pick: &Pick) -> Option<&Holding> {
        let is = |h: &&Holding| h.lot_id == pick.lot_id && h.place_id == pick.place.id;
        self.holdings.iter().find(is)
    }

    /// The shelf as it is once the picks are gone and the reservation that they are drawn on with
    /// them: for a look at what follows.
    pub fn take_out(&mut self, picks: &[Pick], reservation_id: Option<Uuid>) {
        for pick in picks {
            let is = |h: &&mut Holding| h.lot_id == pick.lot_id && h.place_id == pick.place.id;
            if let Some(holding) = self.holdings.iter_mut().find(is) {
                holding.quantity -= pick.quantity;
            }
        }
        self.holdings.retain(|h| h.quantity != 0);
        self.reservations.retain(|r| reservation_id != Some(r.id));
    }

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
            detail: None,
        }
    }

    /// The same of a lot in a place: what lies there of it.
    pub(super) fn not_enough_in(
        &self,
        there: i64,
        lot_id: Option<Uuid>,
        place: &Place,
    ) -> Rejected {
        let of = match (lot_id, lot_id.and_then(|id| self.lot(id))) {
            (_, Some(lot)) => format!("lot {}", lot.code),
            (Some(_), None) => "the lot".to_owned(),
            (None, None) => "the part".to_owned(),
        };
        let name = &place.name;
        let told = match (place.kind, there) {
            (PlaceKind::Job, 0) => format!("job {name} has none of {of} any more"),
            (PlaceKind::Job, _) => format!("job {name} has {there} of {of}"),
            (_, 0) => format!("none of {of} lies in {name}"),
            (_, 1) => format!("1 of {of} lies in {name}"),
            _ => format!("{there} of {of} lie in {name}"),
        };
        self.not_enough(there).since(told)
    }

    /// The same of what an issue, or a reservation, wants: what there is, and what of the rest could not
    /// be had.
    pub(super) fn not_enough_for(&self, available: i64, wanted: &Wanted) -> Rejected {
        let available = available.max(0);
        let asked = |lot: &Lot| wanted.lot_id.is_none_or(|id| id == lot.id);
        let aside = self.sum(|lot, h| h.place_kind == PlaceKind::Quarantine && asked(lot));
        let otherwise = self.sum(|lot, h| {
            h.place_kind == PlaceKind::Bin && !serves(lot, h, wanted.gap_mm, wanted.tolerance)
        });
        let mut told = match wanted.lot_id.and_then(|id| self.lot(id)) {
            Some(lot) => format!("there are {available} of lot {} to be had", lot.code),
            None => format!("there are {available} to be had"),
        };
        told = format!("{told}, {} of the part in bins", self.on_hand());
        if otherwise > 0 && wanted.lot_id.is_none() {
            let (are, gap) = (agreeing(otherwise, "is", "are"), wanted.gap_mm);
            told = match gap {
                Some(gap) => {
                    format!("{told}; {otherwise} of them {are} set to another gap than {gap} mm")
                }
                None => format!("{told}; {otherwise} of them {are} set to a gap"),
            };
        }
        if aside > 0 {
            let lie = agreeing(aside, "lies", "lie");
            told = format!("{told}; {aside} more {lie} in quarantine");
        }
        self.not_enough(available).since(told)
    }
}
