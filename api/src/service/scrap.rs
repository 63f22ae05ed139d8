//! What was thrown away in a period and what it had cost.

use std::collections::{HashMap, HashSet};

use plugwell_domain::instant::Period;
use plugwell_domain::ledger::{Movement, Place, PlaceKind};
use plugwell_domain::valuation::scrap::{ScrapBy, ScrapReport, TakenBack, Thrown};
use plugwell_domain::valuation::{Amount, Books, Method};
use plugwell_store::Session;
use uuid::Uuid;

use crate::service::{Refusal, Shop};

/// What was scrapped in a period, less what was put right in it, summed up by something; costs are
/// those by FIFO.
///
/// # Errors
/// Where the database fails.
pub fn report(shop: &Shop, period: Period, by: ScrapBy) -> Result<ScrapReport, Refusal> {
    let currency = shop.policy().values.currency.value.clone();
    shop.store.read(|session| {
        let scrapped = session.scrapped_in(period)?;
        let back = session.taken_back_in(period)?;
        let originals = back.iter().map(|(_, original)| original);
        let all: Vec<&Movement> = scrapped.iter().chain(originals).collect();
        let costs = costs(session, &all, &currency)?;
        let places = places(session, &all)?;
        let thrown = |movement: &Movement| thrown(movement, &costs, &places);
        let taken_back = back.iter().map(|(reversal, original)| TakenBack {
            movement_id: reversal.id,
            scrapping_id: original.id,
            at: reversal.created_at,
            who: reversal.actor.clone(),
            why: reversal.reason.clone().unwrap_or_default(),
            thrown: thrown(original),
        });
        let thrown: Vec<Thrown> = scrapped.iter().map(thrown).collect();
        let taken_back: Vec<TakenBack> = taken_back.collect();
        Ok(ScrapReport::of(period, by, &currency, &thrown, &taken_back))
    })
}

/// What is known of scrappings beside the movement: what the plugs had cost, and of which part they were.
#[derive(Default)]
struct Costs {
    amounts: HashMap<Uuid, Amount>,
    parts: HashMap<Uuid, String>,
}

fn costs(session: &mut Session, all: &[&Movement], currency: &str) -> Result<Costs, Refusal> {
    let parts: Vec<Uuid> = all.iter().map(|movement| movement.plug_id).collect();
    let wanted: HashSet<Uuid> = all.iter().map(|movement| movement.id).collect();
    let mut costs = Costs::default();
    session.each_part(&parts, currency, |part| {
        let mut books = Books::of(Method::Fifo, &part.lots);
        for entry in &part.entries {
            let booked = books.book(entry);
            if wanted.contains(&entry.id) {
                costs.amounts.insert(entry.id, booked.amount);
            }
        }
        let name = format!("{} {}", part.maker, part.part_number);
        costs.parts.insert(part.plug_id, name);
    })?;
    Ok(costs)
}

/// The places that something was scrapped from.
fn places(session: &mut Session, all: &[&Movement]) -> Result<HashMap<Uuid, Place>, Refusal> {
    let ids: HashSet<Uuid> = all.iter().map(|movement| movement.from_place_id).collect();
    let ids: Vec<Uuid> = ids.into_iter().collect();
    let found = session.places_by_id(&ids)?;
    Ok(found.into_iter().map(|place| (place.id, place)).collect())
}

fn thrown(movement: &Movement, costs: &Costs, places: &HashMap<Uuid, Place>) -> Thrown {
    let from = places.get(&movement.from_place_id);
    let bin = from.filter(|place| place.kind != PlaceKind::Job);
    Thrown {
        at: movement.created_at,
        plug_id: movement.plug_id,
        part: costs
            .parts
            .get(&movement.plug_id)
            .cloned()
            .unwrap_or_default(),
        reason: movement.reason.clone().unwrap_or_default(),
        bin: bin.map(|place| (place.id, place.name.clone())),
        person: movement.dropped_by.clone(),
        amount: costs.amounts.get(&movement.id).copied().unwrap_or_default(),
    }
}
