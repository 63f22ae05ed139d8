//! What a count sheet says: which lots to look for in which bin, and never how many.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use plugwell_domain::ledger::Lot;
use plugwell_domain::ledger::counting::{CountLine, CountState};
use plugwell_domain::plug::Plug;
use plugwell_store::Session;
use uuid::Uuid;

use super::found;
use crate::service::{Refusal, Shop, now};

/// A sheet to count with.
#[derive(Debug, Clone)]
pub struct CountSheet {
    /// The count.
    pub count_id: Uuid,
    /// Where it stands.
    pub state: CountState,
    /// Only the lines that are to be counted once more.
    pub recount: bool,
    /// The bins, in the order of their running numbers.
    pub bins: Vec<SheetBin>,
    /// When the count was begun.
    pub begun_at: DateTime<Utc>,
    /// When the sheet was made.
    pub made_at: DateTime<Utc>,
}

/// A bin of the sheet.
#[derive(Debug, Clone)]
pub struct SheetBin {
    /// `P` and a running number.
    pub code: String,
    /// What people call it.
    pub name: String,
    /// The lots that are looked for.
    pub lines: Vec<SheetLine>,
}

/// A lot that is looked for.
#[derive(Debug, Clone)]
pub struct SheetLine {
    /// The lot.
    pub lot: Lot,
    /// Its part.
    pub plug: Plug,
}

/// The sheet of a count: all of its lines, or only those to be counted once more where there are any.
///
/// # Errors
/// `NotFound`.
pub fn sheet(shop: &Shop, id: Uuid) -> Result<CountSheet, Refusal> {
    shop.store.read(|session| {
        let count = found(session, id)?;
        let recount = count.state == CountState::Counted && count.to_recount().next().is_some();
        let lines: Vec<&CountLine> = count
            .lines
            .iter()
            .filter(|line| !recount || line.recount)
            .collect();
        let plugs = plugs_of(session, &lines)?;
        let mut bins = Vec::with_capacity(count.places.len());
        for place_id in &count.places {
            let here = lines.iter().filter(|line| line.place_id == *place_id);
            let looked_for = looked_for(session, here.copied(), &plugs)?;
            if recount && looked_for.is_empty() {
                continue;
            }
            let place = session
                .place(*place_id)?
                .ok_or_else(|| Refusal::Fault("a counted bin that is gone".into()))?;
            bins.push(SheetBin {
                code: place.code,
                name: place.name,
                lines: looked_for,
            });
        }
        Ok(CountSheet {
            count_id: count.id,
            state: count.state,
            recount,
            bins,
            begun_at: count.created_at,
            made_at: now(),
        })
    })
}

fn plugs_of(session: &mut Session, lines: &[&CountLine]) -> Result<HashMap<Uuid, Plug>, Refusal> {
    let mut ids: Vec<Uuid> = lines.iter().map(|line| line.plug_id).collect();
    ids.sort_unstable();
    ids.dedup();
    let plugs = session.plugs_by_id(&ids)?.into_iter();
    Ok(plugs.map(|plug| (plug.id, plug)).collect())
}

fn looked_for<'a>(
    session: &mut Session,
    lines: impl Iterator<Item = &'a CountLine>,
    plugs: &HashMap<Uuid, Plug>,
) -> Result<Vec<SheetLine>, Refusal> {
    let mut looked_for = Vec::new();
    for line in lines {
        let (lot, plug) = (session.lot(line.lot_id)?, plugs.get(&line.plug_id));
        let (Some(lot), Some(plug)) = (lot, plug) else {
            return Err(Refusal::Fault("a counted line without lot or part".into()));
        };
        looked_for.push(SheetLine {
            lot,
            plug: plug.clone(),
        });
    }
    Ok(looked_for)
}
