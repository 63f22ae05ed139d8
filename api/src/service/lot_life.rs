//! The whole life of a lot, read from the books in one consistent state.

use std::collections::{BTreeSet, HashMap};

use plugwell_domain::report::life::{LifeBooks, LotLife, ReadPlug};
use plugwell_store::{LevelFilter, Session};
use uuid::Uuid;

use crate::service::{Refusal, Shop};

/// The life of a lot and of its family.
///
/// # Errors
/// `NotFound`; where the database fails.
pub fn of(shop: &Shop, id: Uuid) -> Result<LotLife, Refusal> {
    shop.store.read(|session| {
        let books = books(session, id)?;
        let lot = books.family.iter().find(|lot| lot.id == id);
        let plug_id = lot.ok_or(Refusal::NotFound("lot"))?.plug_id;
        let plug = session
            .plug(plug_id)?
            .ok_or_else(|| Refusal::Fault("a lot without its part".into()))?;
        LotLife::tell(id, &plug.data.maker, &plug.data.part_number, &books)
            .ok_or_else(|| Refusal::Fault("a movement without its lot or place".into()))
    })
}

fn books(session: &mut Session, id: Uuid) -> Result<LifeBooks, Refusal> {
    let family = session.lot_family(id)?;
    let lot_ids: Vec<Uuid> = family.iter().map(|lot| lot.id).collect();
    let movements = session.movements_of_lots(&lot_ids)?;
    let mut levels = Vec::new();
    for lot_id in &lot_ids {
        let filter = LevelFilter {
            lot_id: Some(*lot_id),
            ..LevelFilter::default()
        };
        levels.extend(session.list_levels(&filter, None, i64::MAX)?);
    }
    let ends = movements
        .iter()
        .flat_map(|movement| [movement.from_place_id, movement.to_place_id]);
    let place_ids: Vec<Uuid> = ends.collect::<BTreeSet<_>>().into_iter().collect();
    let for_builds: BTreeSet<Uuid> = movements.iter().filter_map(|m| m.build_id).collect();
    let build_ids: Vec<Uuid> = for_builds.into_iter().collect();
    let mut builds = HashMap::new();
    for build_id in &build_ids {
        let name = session.build(*build_id)?.and_then(|build| build.data.name);
        builds.insert(*build_id, name);
    }
    let issue_ids: Vec<Uuid> = movements
        .iter()
        .filter(|movement| movement.build_id.is_some())
        .map(|movement| movement.id)
        .collect();
    let mut orders = Vec::new();
    for line_id in family.iter().filter_map(|lot| lot.order_line_id) {
        if let Some(order_id) = session.order_of_line(line_id)? {
            orders.extend(session.order(order_id)?);
        }
    }
    let readings = session.readings_of_issues(&issue_ids)?.into_iter();
    let readings = readings.filter_map(|stored| {
        let reading = &stored.data.reading;
        Some(ReadPlug {
            reading_id: stored.id,
            movement_id: reading.movement_id?,
            at: stored.created_at,
            run: reading.run,
            cylinder: reading.cylinder,
            evidence: stored.data.judgement.evidence,
        })
    });
    Ok(LifeBooks {
        readings: readings.collect(),
        sets: session.sets_of_builds(&build_ids)?,
        orders,
        places: session.places_by_id(&place_ids)?,
        family,
        movements,
        levels,
        builds,
    })
}
