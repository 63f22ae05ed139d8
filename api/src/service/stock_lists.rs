//! Looking at the stock: places, lots, levels, movements, reservations.

use std::collections::{BTreeSet, HashMap, HashSet};

use plugwell_domain::ledger::{Level, Lot, Movement, MovementKind, Place, PlaceKind, Reservation};
use plugwell_domain::stand_in::PartName;
use plugwell_store::{LevelFilter, LotFilter, MovementFilter, ReservationFilter};
use uuid::Uuid;

use crate::service::{Refusal, Shop};

/// One place.
///
/// # Errors
/// `NotFound`.
pub fn place(shop: &Shop, id: Uuid) -> Result<Place, Refusal> {
    shop.store
        .read(|s| s.place(id)?.ok_or(Refusal::NotFound("place")))
}

/// Places in the order they were made.
///
/// # Errors
/// Where the database fails.
pub fn places(
    shop: &Shop,
    kind: Option<PlaceKind>,
    code: Option<&str>,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Place>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_places(kind, code, after, limit)?))
}

/// One lot.
///
/// # Errors
/// `NotFound`.
pub fn lot(shop: &Shop, id: Uuid) -> Result<Lot, Refusal> {
    shop.store
        .read(|s| s.lot(id)?.ok_or(Refusal::NotFound("lot")))
}

/// Lots by their ids.
///
/// # Errors
/// Where the database fails.
pub fn lots_by_id(shop: &Shop, ids: &[Uuid]) -> Result<HashMap<Uuid, Lot>, Refusal> {
    let lots = shop.store.read(|s| Ok::<_, Refusal>(s.lots_by_id(ids)?))?;
    Ok(lots.into_iter().map(|lot| (lot.id, lot)).collect())
}

/// The lot with a code on its label, if there is one.
///
/// # Errors
/// Where the database fails.
pub fn lot_coded(shop: &Shop, code: &str) -> Result<Option<Lot>, Refusal> {
    shop.store
        .read(|s| Ok(s.lot_by_code(&code.trim().to_uppercase())?))
}

/// Places of any kind that are called so, case-blind.
///
/// # Errors
/// Where the database fails.
pub fn places_called(shop: &Shop, name: &str) -> Result<Vec<Place>, Refusal> {
    shop.store.read(|s| Ok(s.places_called(name)?))
}

/// Lots in the order they came.
///
/// # Errors
/// Where the database fails.
pub fn lots(
    shop: &Shop,
    filter: &LotFilter,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Lot>, Refusal> {
    shop.store.read(|s| Ok(s.list_lots(filter, after, limit)?))
}

/// The lots that came last, the newest first.
///
/// # Errors
/// Where the database fails.
pub fn lots_lately(shop: &Shop, limit: i64) -> Result<Vec<Lot>, Refusal> {
    let filter = MovementFilter {
        kind: Some(MovementKind::Receipt),
        newest: true,
        ..MovementFilter::default()
    };
    shop.store.read(|s| {
        let mut lots = Vec::new();
        for receipt in s.list_movements(&filter, None, limit)? {
            lots.extend(s.lot(receipt.lot_id)?);
        }
        Ok(lots)
    })
}

/// What lots have in places; what is empty is left out.
///
/// # Errors
/// Where the database fails.
pub fn levels(
    shop: &Shop,
    filter: &LevelFilter,
    after: Option<(Uuid, Uuid)>,
    limit: i64,
) -> Result<Vec<Level>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_levels(filter, after, limit)?))
}

/// One movement.
///
/// # Errors
/// `NotFound`.
pub fn movement(shop: &Shop, id: Uuid) -> Result<Movement, Refusal> {
    shop.store
        .read(|s| s.movement(id)?.ok_or(Refusal::NotFound("movement")))
}

/// The movement that puts another one right, if one does.
///
/// # Errors
/// Where the database fails.
pub fn reversal_of(shop: &Shop, id: Uuid) -> Result<Option<Uuid>, Refusal> {
    shop.store.read(|s| Ok(s.reversal_of(id)?))
}

/// Issues to a job of which something can still come back, the newest first, each with how much.
///
/// # Errors
/// Where the database fails.
pub fn returnable(shop: &Shop, job: &str, limit: i64) -> Result<Vec<(Movement, i64)>, Refusal> {
    let filter = MovementFilter {
        kind: Some(MovementKind::Issue),
        job: Some(job.to_owned()),
        newest: true,
        ..MovementFilter::default()
    };
    shop.store.read(|s| {
        let mut out = Vec::new();
        for issue in s.list_movements(&filter, None, limit)? {
            let left = issue.quantity - s.returned_of(issue.id)?;
            if left > 0 && s.reversal_of(issue.id)?.is_none() {
                out.push((issue, left));
            }
        }
        Ok(out)
    })
}

/// Movements by their running number.
///
/// # Errors
/// Where the database fails.
pub fn movements(
    shop: &Shop,
    filter: &MovementFilter,
    after: Option<i64>,
    limit: i64,
) -> Result<Vec<Movement>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_movements(filter, after, limit)?))
}

/// A movement with the names of what it moved, and between which places.
#[derive(Debug, Clone)]
pub struct Traced {
    /// The movement.
    pub movement: Movement,
    /// What the part is called.
    pub part: Option<PartName>,
    /// The code on the label of the lot.
    pub lot: Option<String>,
    /// Where from.
    pub from: Option<Place>,
    /// Where to.
    pub to: Option<Place>,
}

/// As [`movements`], with names.
///
/// # Errors
/// Where the database fails.
pub fn traced(
    shop: &Shop,
    filter: &MovementFilter,
    after: Option<i64>,
    limit: i64,
) -> Result<Vec<Traced>, Refusal> {
    shop.store.read(|s| {
        let found = s.list_movements(filter, after, limit)?;
        let ids = |of: &dyn Fn(&Movement) -> Vec<Uuid>| -> Vec<Uuid> {
            let ids: BTreeSet<Uuid> = found.iter().flat_map(of).collect();
            ids.into_iter().collect()
        };
        let parts = s.part_names(&ids(&|m| vec![m.plug_id]))?;
        let lots = s.lot_codes(&ids(&|m| vec![m.lot_id]))?;
        let places = s.places_by_id(&ids(&|m| vec![m.from_place_id, m.to_place_id]))?;
        let places: HashMap<Uuid, Place> = places.into_iter().map(|p| (p.id, p)).collect();
        let named = found.into_iter().map(|movement| Traced {
            part: parts.get(&movement.plug_id).cloned(),
            lot: lots.get(&movement.lot_id).cloned(),
            from: places.get(&movement.from_place_id).cloned(),
            to: places.get(&movement.to_place_id).cloned(),
            movement,
        });
        Ok(named.collect())
    })
}

/// What became of movements since, and what they were half of.
#[derive(Debug, Clone, Default)]
pub struct Aftermath {
    /// Those that were put right by a reversal.
    pub put_right: HashSet<Uuid>,
    /// The other lot of each that made plugs of one lot those of another.
    pub turned: HashMap<Uuid, Lot>,
}

/// Looks up what became of some movements.
///
/// # Errors
/// Where the database fails.
pub fn aftermath(shop: &Shop, traced: &[Traced]) -> Result<Aftermath, Refusal> {
    let by_account = |end: &Option<Place>| {
        let kind = end.as_ref().map(|place| place.kind);
        kind == Some(PlaceKind::Difference)
    };
    shop.store.read(|s| {
        let mut after = Aftermath::default();
        for Traced {
            movement, from, to, ..
        } in traced
        {
            if s.reversal_of(movement.id)?.is_some() {
                after.put_right.insert(movement.id);
            }
            let pair = movement.pair_id;
            let Some(pair) = pair.filter(|_| by_account(from) || by_account(to)) else {
                continue;
            };
            let halves = s.pair(pair)?;
            let other = halves.iter().find(|half| half.id != movement.id);
            let lot = match other {
                Some(other) => s.lot(other.lot_id)?,
                None => None,
            };
            after.turned.extend(lot.map(|lot| (movement.id, lot)));
        }
        Ok(after)
    })
}

/// One reservation.
///
/// # Errors
/// `NotFound`.
pub fn reservation(shop: &Shop, id: Uuid) -> Result<Reservation, Refusal> {
    shop.store
        .read(|s| s.reservation(id)?.ok_or(Refusal::NotFound("reservation")))
}

/// Reservations in the order they were made.
///
/// # Errors
/// Where the database fails.
pub fn reservations(
    shop: &Shop,
    filter: &ReservationFilter,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Reservation>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_reservations(filter, after, limit)?))
}
