//! What lies in a place, lot by lot, with what it cost.

use chrono::{DateTime, Utc};
use plugwell_domain::ledger::family::came_in;
use plugwell_domain::ledger::{Level, Lot, Money, Place, PlaceKind};
use plugwell_domain::stand_in::PartName;
use plugwell_store::{LevelFilter, LevelKey, MovementFilter, Session};
use uuid::Uuid;

use crate::service::stock::waits_for;
use crate::service::{Refusal, Shop};

/// Movements of a lot and place that are looked at for the last that came in.
const LOOKED_AT: i64 = 20;

/// Plugs of a lot in a place.
#[derive(Debug, Clone)]
pub struct Lying {
    /// How many of what.
    pub level: Level,
    /// The lot.
    pub lot: Lot,
    /// What the part is called.
    pub part: PartName,
    /// Their share of what the lot cost that they came in with; `None` where nobody said.
    pub cost: Option<Money>,
}

/// What lies in a place, after a lot of it.
///
/// # Errors
/// Where the database fails.
pub fn in_place(
    shop: &Shop,
    place_id: Uuid,
    after: Option<LevelKey>,
    limit: i64,
) -> Result<Vec<Lying>, Refusal> {
    let filter = LevelFilter {
        place_id: Some(place_id),
        ..LevelFilter::default()
    };
    shop.store.read(|session| {
        let levels = session.list_levels(&filter, after, limit)?;
        levels
            .into_iter()
            .map(|level| lying(session, level))
            .collect()
    })
}

/// Plugs of a lot that lie in a quarantine without a decision to wait for.
#[derive(Debug, Clone)]
pub struct SetAside {
    /// How many of what.
    pub lying: Lying,
    /// The quarantine.
    pub place: Place,
    /// When they came there, or the last of them did.
    pub since: Option<DateTime<Utc>>,
}

/// Lots in quarantine for which nobody waits: those that were moved there by hand, or stayed behind.
///
/// # Errors
/// Where the database fails.
pub fn set_aside(
    shop: &Shop,
    after: Option<LevelKey>,
    limit: usize,
) -> Result<Vec<SetAside>, Refusal> {
    let filter = LevelFilter {
        kind: Some(PlaceKind::Quarantine),
        ..LevelFilter::default()
    };
    shop.store.read(|session| {
        let mut found = Vec::new();
        for level in session.list_levels(&filter, after, i64::MAX)? {
            if found.len() == limit {
                break;
            }
            if waits_for(session, level.lot_id)?.is_some() {
                continue;
            }
            let place = session.place(level.place_id)?;
            let place = place.ok_or_else(|| Refusal::Fault("a level without its place".into()))?;
            found.push(SetAside {
                since: came(session, &level)?,
                lying: lying(session, level)?,
                place,
            });
        }
        Ok(found)
    })
}

/// When the last plugs of a level came to their place, as far as its last movements tell.
fn came(session: &mut Session, level: &Level) -> Result<Option<DateTime<Utc>>, Refusal> {
    let filter = MovementFilter {
        lot_id: Some(level.lot_id),
        place_id: Some(level.place_id),
        newest: true,
        ..MovementFilter::default()
    };
    let last = session.list_movements(&filter, None, LOOKED_AT)?;
    let mut last = last.iter();
    let came = last.find(|movement| movement.to_place_id == level.place_id);
    Ok(came.map(|movement| movement.created_at))
}

fn lying(session: &mut Session, level: Level) -> Result<Lying, Refusal> {
    let broken = |what: &str| Refusal::Fault(format!("a level without its {what}"));
    let lot = session.lot(level.lot_id)?.ok_or_else(|| broken("lot"))?;
    let plug = session.plug(level.plug_id)?.ok_or_else(|| broken("part"))?;
    let root = match lot.from_lot_id {
        None => Some(lot.clone()),
        Some(_) => came_in(&session.lot_family(lot.id)?).cloned(),
    };
    let cost = root.and_then(|root| {
        Some(share(
            root.total_cost.as_ref()?,
            level.quantity,
            root.quantity_received,
        ))
    });
    Ok(Lying {
        part: PartName::new(&plug.data.maker, &plug.data.part_number),
        cost,
        level,
        lot,
    })
}

/// The share of some plugs in what all cost, rounded half up to the minor unit.
fn share(total: &Money, of: i64, all: i64) -> Money {
    let (total_minor, of, all) = (i128::from(total.minor), i128::from(of), i128::from(all));
    let minor = if all > 0 {
        (2 * total_minor * of + all) / (2 * all)
    } else {
        0
    };
    Money {
        minor: i64::try_from(minor).unwrap_or(i64::MAX),
        currency: total.currency.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plugs_cost_their_share() {
        let total = Money {
            minor: 1_000,
            currency: "USD".into(),
        };
        assert_eq!(share(&total, 1, 3).minor, 333);
        assert_eq!(share(&total, 2, 3).minor, 667);
        assert_eq!(share(&total, 3, 3).minor, 1_000);
        assert_eq!(share(&total, 0, 0).minor, 0);
    }
}
