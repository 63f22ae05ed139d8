//! What lies on the shelves, summed up from lots, levels, places and reservations as the API lists
//! them, by contract.md alone.

use std::collections::HashMap;

use plugwell_tests::{Shop, Who};
use serde_json::Value;

use crate::scan::{fine, text};

/// What a match says to take from where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pick {
    pub lot_id: String,
    pub place_id: String,
    pub quantity: i64,
}

/// What a lot has in bins.
#[derive(Debug)]
struct Lot {
    id: String,
    received_at: String,
    /// `None`: sealed.
    gap: Option<i64>,
    /// Running number of the bin, the bin, plugs.
    bins: Vec<(u64, String, i64)>,
}

impl Lot {
    fn total(&self) -> i64 {
        self.bins.iter().map(|(_, _, quantity)| quantity).sum()
    }

    /// Sealed lots always serve, gapped ones within the tolerance of a wanted gap.
    fn serves(&self, wanted: Option<i64>, tolerance: i64) -> bool {
        match (self.gap, wanted) {
            (None, _) => true,
            (Some(gap), Some(wanted)) => (gap - wanted).abs() <= tolerance,
            (Some(_), None) => false,
        }
    }
}

/// The shelf of one part.
#[derive(Debug, Default)]
pub struct Shelf {
    /// Oldest first.
    lots: Vec<Lot>,
    reserved: i64,
}

impl Shelf {
    pub fn on_hand(&self) -> i64 {
        self.lots.iter().map(Lot::total).sum()
    }

    fn serving(&self, wanted: Option<i64>, tolerance: i64) -> impl Iterator<Item = &Lot> {
        self.lots
            .iter()
            .filter(move |lot| lot.serves(wanted, tolerance))
    }

    pub fn available(&self, wanted: Option<i64>, tolerance: i64) -> i64 {
        let usable: i64 = self.serving(wanted, tolerance).map(Lot::total).sum();
        (usable - self.reserved).max(0)
    }

    pub fn one_lot_has(&self, quantity: i64, wanted: Option<i64>, tolerance: i64) -> bool {
        self.serving(wanted, tolerance)
            .any(|lot| lot.total() >= quantity)
    }

    /// One lot if one is big enough, else the fewest that have it together, the oldest first; sealed plugs that are
    /// reserved stay.
    pub fn picks(&self, quantity: i64, wanted: Option<i64>, tolerance: i64) -> Vec<Pick> {
        let sealed: i64 = self
            .lots
            .iter()
            .filter(|lot| lot.gap.is_none())
            .map(Lot::total)
            .sum();
        let mut free = (sealed - self.reserved).max(0);
        let has = |lot: &Lot| {
            if lot.gap.is_none() {
                lot.total().min(free)
            } else {
                lot.total()
            }
        };
        let mut from: Vec<&Lot> = self
            .serving(wanted, tolerance)
            .filter(|lot| has(lot) > 0)
            .collect();
        let sum = |lots: &[&Lot]| {
            let of = |sealed: bool| {
                let lots = lots.iter().filter(|lot| lot.gap.is_none() == sealed);
                lots.map(|lot| lot.total()).sum::<i64>()
            };
            of(true).min(free) + of(false)
        };
        let most = quantity.min(sum(&from));
        if let Some(fewest) = choices(&from).into_iter().find(|lots| sum(lots) >= most) {
            from = fewest;
        }
        let (mut left, mut picks) = (quantity, Vec::new());
        for lot in from {
            for (_, place_id, held) in &lot.bins {
                let most = if lot.gap.is_none() { free } else { i64::MAX };
                let quantity = left.min(*held).min(most);
                if quantity > 0 {
                    picks.push(Pick {
                        lot_id: lot.id.clone(),
                        place_id: place_id.clone(),
                        quantity,
                    });
                    left -= quantity;
                    free -= if lot.gap.is_none() { quantity } else { 0 };
                }
            }
        }
        picks
    }
}

/// The shelves of all parts.
pub struct Shelves {
    parts: HashMap<String, Shelf>,
    empty: Shelf,
}

impl Shelves {
    pub fn read(shop: &Shop) -> Self {
        let places = shop.all(Who::Reader, "/v1/stock/places?limit=200");
        let bins: HashMap<String, u64> = places
            .iter()
            .filter(|place| place["kind"] == "bin")
            .map(|bin| (text(bin, "id"), number(bin)))
            .collect();
        let mut held: HashMap<String, Vec<(u64, String, i64)>> = HashMap::new();
        for level in shop.all(Who::Reader, "/v1/stock/levels?limit=200") {
            let place_id = text(&level, "place_id");
            if let Some(number) = bins.get(&place_id) {
                held.entry(text(&level, "lot_id")).or_default().push((
                    *number,
                    place_id,
                    whole(&level, "quantity"),
                ));
            }
        }
        let mut parts: HashMap<String, Shelf> = HashMap::new();
        for lot in shop.all(Who::Reader, "/v1/stock/lots?limit=200") {
            let id = text(&lot, "id");
            let Some(mut bins) = held.remove(&id) else {
                continue;
            };
            bins.sort();
            let (received_at, gap) = (text(&lot, "received_at"), lot["gap_mm"].as_f64().map(fine));
            parts
                .entry(text(&lot, "plug_id"))
                .or_default()
                .lots
                .push(Lot {
                    id,
                    received_at,
                    gap,
                    bins,
                });
        }
        for reservation in shop.all(Who::Reader, "/v1/stock/reservations?limit=200") {
            if reservation["state"] == "open" || reservation["state"] == "short" {
                let shelf = parts.entry(text(&reservation, "plug_id")).or_default();
                shelf.reserved += whole(&reservation, "open_quantity");
            }
        }
        for shelf in parts.values_mut() {
            shelf
                .lots
                .sort_by(|a, b| (&a.received_at, &a.id).cmp(&(&b.received_at, &b.id)));
        }
        Self {
            parts,
            empty: Shelf::default(),
        }
    }

    pub fn of(&self, plug_id: &str) -> &Shelf {
        self.parts.get(plug_id).unwrap_or(&self.empty)
    }
}

/// The running number in a place's code.
fn number(place: &Value) -> u64 {
    text(place, "code")[1..].parse().expect("a running number")
}

fn whole(value: &Value, member: &str) -> i64 {
    value[member]
        .as_i64()
        .unwrap_or_else(|| panic!("no {member} in {value}"))
}

/// Every choice of some lots, of fewer ones first, and of as many that with the oldest first.
fn choices<'a>(lots: &[&'a Lot]) -> Vec<Vec<&'a Lot>> {
    let mut all: Vec<Vec<usize>> = (0..1_usize << lots.len())
        .map(|set| (0..lots.len()).filter(|lot| set >> lot & 1 == 1).collect())
        .collect();
    all.sort_unstable_by_key(|chosen: &Vec<usize>| (chosen.len(), chosen.clone()));
    let named = |chosen: Vec<usize>| chosen.into_iter().map(|lot| lots[lot]).collect();
    all.into_iter().map(named).collect()
}
