//! Counts of bins: begun, looked at, and how well books and bins agreed.

mod approval;
mod counting;
mod sheet;

pub use approval::{ApprovedNow, approve};
pub use counting::change;
pub use sheet::{CountSheet, SheetBin, SheetLine, sheet};

use std::collections::HashMap;

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::instant::Period;
use plugwell_domain::ledger::counting::{
    Count, CountAccuracy, CountHead, CountState, NewCount, accuracy,
};
use plugwell_domain::ledger::{Place, PlaceKind};
use plugwell_store::{CountFilter, Key, Session, StoreError};
use serde_json::{Map, Value, json};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::stock::By;
use crate::service::{Refusal, Shop, new_id};

/// One count, as it is kept.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Count, Refusal> {
    shop.store.read(|s| found(s, id))
}

/// Counts, the newest first, without their lines.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    filter: &CountFilter,
    before: Option<Uuid>,
    limit: i64,
) -> Result<Vec<CountHead>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_counts(filter, before, limit)?))
}

/// How well books and bins agreed, in the counts that were approved within a time.
///
/// # Errors
/// Where the database fails.
pub fn accuracy_of(shop: &Shop, period: Period) -> Result<CountAccuracy, Refusal> {
    let counts = shop.store.read(|s| s.approved_counts(period))?;
    let policy = shop.policy();
    Ok(accuracy(&counts, &policy.values.currency.value, period))
}

fn found(session: &mut Session, id: Uuid) -> Result<Count, Refusal> {
    session.count(id)?.ok_or(Refusal::NotFound("count"))
}

/// Begins a count of the bins that are named, or chosen.
///
/// # Errors
/// Every place that is unknown or no bin; `place_being_counted`, `nothing_to_count`.
pub fn begin(session: &mut Session, by: &By<'_>, asked: &NewCount) -> Result<Count, Refusal> {
    let places = match (&asked.places, asked.choose) {
        (Some(places), _) => named(session, places)?,
        (None, Some(choice)) => session.bins_to_count(choice, asked.bins.unwrap_or(1))?,
        (None, None) => Vec::new(),
    };
    if places.is_empty() {
        return Err(Refusal::conflict(
            Conflict::NothingToCount,
            "every bin that holds something is being counted",
        ));
    }
    let count = Count {
        id: new_id(),
        state: CountState::Open,
        places,
        lines: Vec::new(),
        made_by: by.actor.name.clone(),
        approved_by: None,
        approved_at: None,
        reason: None,
        version: 1,
        created_at: by.at,
        updated_at: by.at,
    };
    session.insert_count(&count).map_err(|error| match error {
        StoreError::Duplicate {
            what: Key::CountedPlace,
        } => being_counted(&[]),
        other => other.into(),
    })?;
    found(session, count.id)
}

/// The bins that are named, each looked at.
fn named(session: &mut Session, places: &[Uuid]) -> Result<Vec<Uuid>, Refusal> {
    let mut faults = Vec::new();
    for (at, id) in places.iter().enumerate() {
        let field = format!("places/{at}");
        match session.place(*id)? {
            None => faults.push(Fault::at(
                &field,
                FaultCode::NotFound,
                "there is no such place",
            )),
            Some(place) if place.kind != PlaceKind::Bin => {
                let detail = format!("{} is of kind {}; bins are counted", place.name, place.kind);
                faults.push(Fault::at(&field, FaultCode::Contradiction, detail));
            }
            Some(_) => {}
        }
    }
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    let taken: HashMap<Uuid, Uuid> = session.being_counted(places)?.into_iter().collect();
    if taken.is_empty() {
        return Ok(places.to_vec());
    }
    let ids: Vec<Uuid> = taken.keys().copied().collect();
    let bins = session.places_by_id(&ids)?.into_iter();
    let with_count = bins.filter_map(|bin| Some((taken.get(&bin.id).copied()?, bin)));
    let bins: Vec<(Place, Uuid)> = with_count.map(|(count, bin)| (bin, count)).collect();
    Err(being_counted(&bins))
}

/// Bins that other counts have, each with its count; none is named where another count came in
/// between.
fn being_counted(taken: &[(Place, Uuid)]) -> Refusal {
    let places = taken.iter().map(|(bin, count)| {
        json!({ "place_id": bin.id, "code": bin.code, "name": bin.name, "count_id": count })
    });
    let names = taken
        .iter()
        .map(|(bin, _)| format!("{} {}", bin.code, bin.name));
    let names: Vec<String> = names.collect();
    refused(
        Conflict::PlaceBeingCounted,
        match taken {
            [(_, count)] => format!("{} is being counted already, by count {count}", names[0]),
            [] => "a bin is being counted by another count that was begun meanwhile".to_owned(),
            _ => format!(
                "{} are being counted already, by other counts",
                names.join(", ")
            ),
        },
        "places",
        places.collect(),
    )
}

/// A conflict that names what it is about.
fn refused(
    conflict: Conflict,
    detail: impl Into<String>,
    member: &str,
    named: Vec<Value>,
) -> Refusal {
    Refusal::Conflict {
        conflict,
        detail: detail.into(),
        members: Map::from_iter([(member.to_owned(), Value::Array(named))]),
    }
}
