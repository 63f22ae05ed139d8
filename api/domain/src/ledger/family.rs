//! Lots and what became of them: plugs that were set to a gap make a lot that descends from theirs.

use std::collections::HashSet;

use uuid::Uuid;

use super::Lot;

/// A lot and everything that descends from it, itself first; `lots` are those of its family.
pub fn descended(id: Uuid, lots: &[Lot]) -> Vec<Uuid> {
    let mut family = vec![id];
    let mut known = HashSet::from([id]);
    let mut next = 0;
    while let Some(parent) = family.get(next).copied() {
        next += 1;
        for lot in lots.iter().filter(|lot| lot.from_lot_id == Some(parent)) {
            if known.insert(lot.id) {
                family.push(lot.id);
            }
        }
    }
    family
}

/// The lot of a family that came in, which all others descend from.
pub fn came_in(family: &[Lot]) -> Option<&Lot> {
    family.iter().find(|lot| lot.from_lot_id.is_none())
}

/// The lots that a lot descends from, the nearest first; `lots` are those of its family.
pub fn forebears(id: Uuid, lots: &[Lot]) -> Vec<Uuid> {
    let parent = |id: Uuid| {
        let own = lots.iter().find(|lot| lot.id == id);
        own.and_then(|lot| lot.from_lot_id)
    };
    let mut above = Vec::new();
    let mut next = parent(id);
    while let Some(found) = next.filter(|found| *found != id && !above.contains(found)) {
        above.push(found);
        next = parent(found);
    }
    above
}
