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
    /// What a scan needs of each part.
    levels: Vec<Level>,
    sealed: Vec<Sealed>,
    gapped: HashMap<u32, Vec<(Length, i64)>>,
}

/// What a scan needs of a part's shelf, kept small.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Level {
    on_hand: u32,
    reserved: u32,
    largest_sealed_lot: u32,
    varies: bool,
}

impl Level {
    /// Plugs available, or where that [varies](Self::varies) with the wanted gap: no fewer.
    pub fn at_most(self) -> i64 {
        (self.on_hand() - i64::from(self.reserved)).max(0)
    }

    /// Plugs in bins.
    pub fn on_hand(self) -> i64 {
        i64::from(self.on_hand)
    }

    /// Whether the wanted gap decides what is available: there are gapped lots.
    pub fn varies(self) -> bool {
        self.varies
    }

    /// Whether one sealed lot alone has the quantity.
    pub fn sealed_lot_enough(self, quantity: i64) -> bool {
        i64::from(self.largest_sealed_lot) >= quantity
    }
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
        let in_bins = on_shelf.on_hand();
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
        let small = |plugs: i64| u32::try_from(plugs.max(0)).unwrap_or(u32::MAX);
        let level = Level {
            on_hand: small(in_bins),
            reserved: small(reserved),
            largest_sealed_lot: small(largest_sealed_lot),
            varies: self.gapped.contains_key(&ordinal),
        };
        self.levels.resize(self.sealed.len(), Level::default());
        self.levels[place] = level;
        self.any.resize(self.sealed.len().div_ceil(64), 0);
        let bit = 1 << (place % 64);
        if level.at_most() > 0 {
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

    /// Whether anything of a part could be available: what a scan looks at first.
    #[inline]
    pub fn any(&self, ordinal: u32) -> bool {
        let place = ordinal as usize;
        self.any
            .get(place / 64)
            .is_some_and(|bits| bits >> (place % 64) & 1 == 1)
    }

    /// What a scan needs of a part's shelf.
    #[inline]
    pub fn level(&self, ordinal: u32) -> Level {
        self.levels
            .get(ordinal as usize)
            .copied()
            .unwrap_or_default()
    }

    /// Plugs that could be available at the most; never less than [`OnShelf::available`] for any
    /// wanted gap.
    pub fn at_most(&self, ordinal: u32) -> i64 {
        self.level(ordinal).at_most()
    }

    /// The version of a part's stock that the table holds; 0 where it holds none.
    pub fn version(&self, ordinal: u32) -> i64 {
        self.sealed.get(ordinal as usize).map_or(0, |s| s.version)
    }
}
