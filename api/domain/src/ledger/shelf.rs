//! What the shelf of a part shows to a match: kept in memory by part ordinal, compared with the
//! ledger by `audit`.

use std::collections::HashMap;

use uuid::Uuid;

use super::{Condition, PlaceKind, Shelf};
use crate::decimal::Length;

/// The stock of one part in bins, as a match sees it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OnShelf {
    /// Sealed plugs in bins.
    pub sealed: i64,
    /// Sealed plugs in bins of the lot that has most.
    pub largest_sealed_lot: i64,
    /// Reserved for jobs.
    pub reserved: i64,
    /// Gapped lots in bins: gap and plugs of each lot.
    pub gapped: Vec<(Length, i64)>,
}

impl OnShelf {
    /// Sums a part's shelf up.
    pub fn of(shelf: &Shelf) -> Self {
        let mut in_bins: HashMap<Uuid, i64> = HashMap::new();
        for holding in shelf
            .holdings
            .iter()
            .filter(|h| h.place_kind == PlaceKind::Bin)
        {
            *in_bins.entry(holding.lot_id).or_default() += holding.quantity;
        }
        let mut sum = Self {
            reserved: shelf.reservations.iter().map(|r| r.open_quantity).sum(),
            ..Self::default()
        };
        for lot in &shelf.lots {
            let Some(quantity) = in_bins.get(&lot.id).copied().filter(|q| *q > 0) else {
                continue;
            };
            match (lot.condition, lot.gap_mm) {
                (Condition::Gapped, Some(gap)) => sum.gapped.push((gap, quantity)),
                (Condition::Gapped, None) => {}
                (Condition::Sealed, _) => {
                    sum.sealed += quantity;
                    sum.largest_sealed_lot = sum.largest_sealed_lot.max(quantity);
                }
            }
        }
        sum.gapped.sort_unstable();
        sum
    }

    /// Plugs in bins, whatever their condition.
    pub fn on_hand(&self) -> i64 {
        self.sealed
            + self
                .gapped
                .iter()
                .map(|(_, quantity)| quantity)
                .sum::<i64>()
    }

    fn usable_gapped(
        &self,
        wanted: Option<Length>,
        tolerance: Length,
    ) -> impl Iterator<Item = i64> + '_ {
        self.gapped
            .iter()
            .filter(move |(gap, _)| near(*gap, wanted, tolerance))
            .map(|(_, quantity)| *quantity)
    }

    /// Plugs that nobody has reserved: sealed ones and, where a gap is wanted, those set to it.
    pub fn available(&self, wanted: Option<Length>, tolerance: Length) -> i64 {
        (self.sealed + self.usable_gapped(wanted, tolerance).sum::<i64>() - self.reserved).max(0)
    }

    /// Whether one lot alone has the quantity.
    pub fn one_lot_enough(&self, quantity: i64, wanted: Option<Length>, tolerance: Length) -> bool {
        self.largest_sealed_lot >= quantity
            || self.usable_gapped(wanted, tolerance).any(|q| q >= quantity)
    }
}

/// Whether a gapped lot serves a wanted gap.
pub(super) fn near(gap: Length, wanted: Option<Length>, tolerance: Length) -> bool {
    wanted.is_some_and(|w| (gap.0 - w.0).abs() <= tolerance.0)
}

/// The shelves of all parts by ordinal: dense, so that a scan looks a part up by its number.
#[derive(Debug, Default)]
pub struct ShelfTable {
    /// A bit for each part of which anything could be available: so dense that a scan of a large
    /// catalogue finds it in the nearest cache.
    any: Vec<u64>,
    sealed: Vec<Sealed>,
    gapped: HashMap<u32, Vec<(Length, i64)>>,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sealed {
    total: i64,
    largest_lot: i64,
    reserved: i64,
    version: i64,
}

impl ShelfTable {
    /// An empty table.
    pub fn new() -> Self {
        Self::default()
    }

    /// Takes a part's stock over, unless a later one is there already.
    ///
    /// `version` rises with every change of the part's stock, so that two writers that finish in
    /// the other order leave the later state.
    pub fn put(&mut self, ordinal: u32, version: i64, on_shelf: OnShelf) {
        let place = ordinal as usize;
        if self.sealed.len() <= place {
            self.sealed.resize(place + 1, Sealed::default());
        }
        if self.sealed[place].version > version {
            return;
        }
        let OnShelf {
            sealed,
            largest_sealed_lot,
            reserved,
            gapped,
        } = on_shelf;
        self.sealed[place] = Sealed {
            total: sealed,
            largest_lot: largest_sealed_lot,
            reserved,
            version,
        };
        if gapped.is_empty() {
            self.gapped.remove(&ordinal);
        } else {
            self.gapped.insert(ordinal, gapped);
        }
        self.any.resize(self.sealed.len().div_ceil(64), 0);
        let bit = 1 << (place % 64);
        if self.counted(ordinal) > 0 {
            self.any[place / 64] |= bit;
        } else {
            self.any[place / 64] &= !bit;
        }
    }

    /// The stock of a part; nothing where the ordinal is unknown.
    pub fn get(&self, ordinal: u32) -> OnShelf {
        let Some(sealed) = self.sealed.get(ordinal as usize) else {
            return OnShelf::default();
        };
        OnShelf {
            sealed: sealed.total,
            largest_sealed_lot: sealed.largest_lot,
            reserved: sealed.reserved,
            gapped: self.gapped.get(&ordinal).cloned().unwrap_or_default(),
        }
    }

    /// Plugs in bins that could be available at the most: what a scan looks at first. Never less
    /// than [`OnShelf::available`] for any wanted gap.
    #[inline]
    pub fn at_most(&self, ordinal: u32) -> i64 {
        let place = ordinal as usize;
        match self.any.get(place / 64) {
            Some(bits) if bits >> (place % 64) & 1 == 1 => self.counted(ordinal),
            _ => 0,
        }
    }

    fn counted(&self, ordinal: u32) -> i64 {
        let Some(sealed) = self.sealed.get(ordinal as usize) else {
            return 0;
        };
        let gapped = if self.gapped.is_empty() {
            0
        } else {
            self.gapped
                .get(&ordinal)
                .map_or(0, |lots| lots.iter().map(|(_, quantity)| quantity).sum())
        };
        (sealed.total + gapped - sealed.reserved).max(0)
    }

    /// The version of a part's stock that the table holds; 0 where it holds none.
    pub fn version(&self, ordinal: u32) -> i64 {
        self.sealed.get(ordinal as usize).map_or(0, |s| s.version)
    }
}
