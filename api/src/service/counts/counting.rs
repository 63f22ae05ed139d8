//! Numbers for the lines of a count, each held against its level of that instant.

use std::collections::BTreeMap;

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::ledger::counting::{
    Count, CountLine, CountState, CountedLine, Counting, LotCost, RecountLimits,
};
use plugwell_domain::ledger::{Lot, Shelf};
use plugwell_domain::policy::Policy;
use plugwell_store::Session;
use serde_json::{Value, json};
use uuid::Uuid;

use super::{found, refused};
use crate::service::Refusal;
use crate::service::conflict::Conflict;
use crate::service::stock::By;

/// Counts lines, adds lots that were found, closes the sheet or calls the count off.
///
/// `expected` is asked whether the present version is the one that the caller read.
///
/// # Errors
/// `NotFound`; every lot that there is not and every bin that is not the count's; what `expected`
/// refuses; `count_closed`, `count_incomplete`.
pub fn change(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal>,
    asked: &Counting,
) -> Result<Count, Refusal> {
    let mut count = found(session, id)?;
    let by_part = by_part(session, &count, asked.named())?;
    expected(count.version)?;
    if count.state.is_closed() {
        return Err(closed(&count));
    }
    let limits = RecountLimits::from(&policy.values);
    // Always in the same order, so that two counts never wait for each other's parts.
    for (plug_id, lines) in by_part {
        let shelf = session.shelf(plug_id, &[])?;
        for asked in lines {
            count_line(session, by, &limits, &mut count, (plug_id, &shelf), asked)?;
        }
    }
    count.state = next_state(&count, asked)?;
    count.version += 1;
    count.updated_at = by.at;
    // The other lines of a lot, too: its cost is laid to all of them.
    let touched = |lot_id: Uuid| asked.named().iter().any(|line| line.lot_id == lot_id);
    let changed = count.lines.iter().filter(|line| touched(line.lot_id));
    let changed: Vec<_> = changed.map(CountLine::key).collect();
    session.update_count(&count, &changed)?;
    found(session, id)
}

/// The lines that are named by their parts, or every fault of them.
fn by_part<'a>(
    session: &mut Session,
    count: &Count,
    named: &'a [CountedLine],
) -> Result<BTreeMap<Uuid, Vec<&'a CountedLine>>, Refusal> {
    let (mut by_part, mut faults) = (BTreeMap::<_, Vec<_>>::new(), Vec::new());
    for (at, line) in named.iter().enumerate() {
        if !count.places.contains(&line.place_id) {
            faults.push(Fault::at(
                &format!("lines/{at}/place_id"),
                FaultCode::Contradiction,
                "the bin is none of this count's",
            ));
        }
        let known = count.lines.iter().find(|l| l.lot_id == line.lot_id);
        let plug_id = match known {
            Some(known) => Some(known.plug_id),
            None => session.lot(line.lot_id)?.map(|lot| lot.plug_id),
        };
        match plug_id {
            Some(plug_id) => by_part.entry(plug_id).or_default().push(line),
            None => faults.push(Fault::at(
                &format!("lines/{at}/lot_id"),
                FaultCode::NotFound,
                "there is no such lot",
            )),
        }
    }
    if faults.is_empty() {
        Ok(by_part)
    } else {
        Err(Refusal::Faults(faults))
    }
}

/// Counts one line under its part's lock.
fn count_line(
    session: &mut Session,
    by: &By<'_>,
    limits: &RecountLimits,
    count: &mut Count,
    (plug_id, shelf): (Uuid, &Shelf),
    asked: &CountedLine,
) -> Result<(), Refusal> {
    let key = (asked.lot_id, asked.place_id);
    let at = match count.lines.iter().position(|line| line.key() == key) {
        Some(at) => at,
        None => {
            count.lines.push(come_upon(plug_id, asked));
            count.lines.len() - 1
        }
    };
    let cost = match session.lot(asked.lot_id)? {
        Some(lot) => cost_of(session, &lot, shelf)?,
        None => None,
    };
    let line = &mut count.lines[at];
    match asked.counted {
        Some(counted) => {
            let level = session.level_at(plug_id, asked.lot_id, asked.place_id)?;
            line.count(counted, level, cost.as_ref(), limits, &by.actor.name, by.at);
        }
        None => line.take_back(),
    }
    if let Some(cost) = cost {
        count.lay_cost(asked.lot_id, cost);
    }
    Ok(())
}

/// What plugs of a lot cost, its own or those of the lot that it descends from.
fn cost_of(session: &mut Session, lot: &Lot, shelf: &Shelf) -> Result<Option<LotCost>, Refusal> {
    let mut origin = None;
    let mut next = lot.from_lot_id.filter(|_| lot.total_cost.is_none());
    while let Some(id) = next {
        let older = session.lot(id)?;
        next = older
            .as_ref()
            .filter(|lot| lot.total_cost.is_none())
            .and_then(|lot| lot.from_lot_id);
        origin = older;
    }
    Ok(LotCost::of(lot, origin.as_ref(), shelf))
}

/// A lot that the sheet lacks; the numbers of place and lot are read with it.
fn come_upon(plug_id: Uuid, asked: &CountedLine) -> CountLine {
    CountLine {
        place_id: asked.place_id,
        place_number: 0,
        lot_id: asked.lot_id,
        lot_number: 0,
        plug_id,
        on_sheet: false,
        tally: None,
        earlier: Vec::new(),
        recount: false,
        cost: None,
        movement_id: None,
    }
}

fn next_state(count: &Count, asked: &Counting) -> Result<CountState, Refusal> {
    let complete = count.is_complete();
    match asked.state {
        Some(CountState::Counted) if !complete => Err(incomplete(count)),
        Some(state) => Ok(state),
        None if asked.named().is_empty() => Ok(count.state),
        None if complete => Ok(CountState::Counted),
        None => Ok(CountState::Open),
    }
}

pub(super) fn closed(count: &Count) -> Refusal {
    let detail = format!("the count was {}; begin a new one", count.state);
    Refusal::conflict(Conflict::CountClosed, detail)
}

/// Some lines by lot and place.
pub(super) fn named<'a>(lines: impl Iterator<Item = &'a CountLine>) -> Vec<Value> {
    lines
        .map(|line| json!({ "lot_id": line.lot_id, "place_id": line.place_id }))
        .collect()
}

pub(super) fn incomplete(count: &Count) -> Refusal {
    let lines = named(count.uncounted());
    let detail = match lines.len() {
        0 => "the count was kept open".to_owned(),
        1 => "one line has no number".to_owned(),
        several => format!("{several} lines have no number"),
    };
    refused(Conflict::CountIncomplete, detail, "lines", lines)
}
