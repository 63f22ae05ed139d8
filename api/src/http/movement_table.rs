//! Movements as a table, with names beside identifiers: all that a filter leaves, sent as they are
//! read.

use actix_web::web;
use plugwell_domain::instant::text;
use plugwell_domain::ledger::Place;
use plugwell_store::MovementFilter;
use uuid::Uuid;

use crate::http::answer::{Answer, ask};
use crate::http::csv_answer::{Lines, streamed};
use crate::service::Shop;
use crate::service::stock_lists::{self, Traced};

/// Movements read at a time.
const LINES: i64 = 2_000;

const COLUMNS: &[&str] = &[
    "sequence",
    "created_at",
    "kind",
    "maker",
    "part_number",
    "lot",
    "from_kind",
    "from",
    "to_kind",
    "to",
    "quantity",
    "job",
    "reason",
    "note",
    "actor",
    "gap_mm",
    "odometer_km",
    "id",
    "plug_id",
    "lot_id",
    "from_place_id",
    "to_place_id",
    "build_id",
    "reverses",
    "answers",
    "dropped_by",
];

/// Every movement that a filter leaves.
pub async fn traced(shop: web::Data<Shop>, filter: MovementFilter) -> Answer {
    streamed("movements", COLUMNS, None, move |after| {
        let (shop, filter) = (shop.clone(), filter.clone());
        async move {
            let read = ask(&shop, move |shop| {
                stock_lists::traced(shop, &filter, after, LINES)
            });
            let found = read.await?;
            let more = found.len() as i64 == LINES;
            let last = found.last().map(|traced| traced.movement.sequence);
            Ok(Lines {
                lines: found.iter().map(line).collect(),
                behind: more.then_some(last),
            })
        }
    })
    .await
}

fn line(traced: &Traced) -> Vec<String> {
    let movement = &traced.movement;
    let id = |id: Option<Uuid>| id.map(|id| id.to_string()).unwrap_or_default();
    let end = |place: &Option<Place>| match place {
        Some(place) => [place.kind.word().to_owned(), place.name.clone()],
        None => Default::default(),
    };
    let [from_kind, from] = end(&traced.from);
    let [to_kind, to] = end(&traced.to);
    let part = traced.part.clone();
    let (maker, part_number) = part.map(|p| (p.maker, p.part_number)).unwrap_or_default();
    vec![
        movement.sequence.to_string(),
        text(&movement.created_at),
        movement.kind.word().to_owned(),
        maker,
        part_number,
        traced.lot.clone().unwrap_or_default(),
        from_kind,
        from,
        to_kind,
        to,
        movement.quantity.to_string(),
        movement.job.clone().unwrap_or_default(),
        movement.reason.clone().unwrap_or_default(),
        movement.note.clone().unwrap_or_default(),
        movement.actor.clone(),
        movement
            .gap_mm
            .map(|gap| gap.to_string())
            .unwrap_or_default(),
        movement
            .odometer_km
            .map(|km| km.to_string())
            .unwrap_or_default(),
        movement.id.to_string(),
        movement.plug_id.to_string(),
        movement.lot_id.to_string(),
        movement.from_place_id.to_string(),
        movement.to_place_id.to_string(),
        id(movement.build_id),
        id(movement.reverses),
        id(movement.answers),
        movement.dropped_by.clone().unwrap_or_default(),
    ]
}
