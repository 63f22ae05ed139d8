//! Whose turn it is: what can be had is set against the line of those who wait, and they are told.
//!
//! This follows the marks of the outbox rather than standing in each command, so that a command on
//! stock takes no longer the longer the line is; how far it has come lies in the database, in the
//! same transaction as what it changed and told. A restart therefore loses nothing, and of two nodes
//! that look at the same marks only the one whose step is committed first has told.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use parking_lot::Mutex;
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::fit::{Standing, StockMode, fits};
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::{Requirement, set_gap_of};
use plugwell_domain::waiting::{Offered, WaitingFit, WaitingJob, in_turn};
use plugwell_indexer::Question;
use plugwell_store::{InLine, MarkKind, Session, Stored};
use serde_json::json;
use uuid::Uuid;

use super::read;
use crate::service::{Refusal, Shop, now};

/// Under this name stands how far the marks have been followed: the lineage of the database and a
/// position in it.
const FOLLOWED: &str = "waiting_jobs_followed";
/// More marks than these, and every job looks for its plugs anew.
const MANY: i64 = 2_000;
/// Parts that are kept for each job, the best. Those behind them are looked for when one of these goes.
const KEPT: usize = 50;

/// What this process remembers of those who wait; held while their turns are worked out.
#[derive(Debug, Default)]
pub struct Line(Mutex<HashMap<Uuid, Arc<Requirement>>>);

/// Sets what has changed since the last time against the line, and tells those that can be served; gives
/// back how many. On PostgreSQL a change is seen once no older transaction is open.
///
/// # Errors
/// Where database or index fail; what was told before that stays told.
pub fn follow(shop: &Shop) -> Result<usize, Refusal> {
    turns(shop, &[])
}

/// The same where some have just come or gone, whose marks may still hide behind an older transaction.
pub(super) fn seen(shop: &Shop, own: &[Uuid]) -> Result<(), Refusal> {
    turns(shop, own).map(drop)
}

fn turns(shop: &Shop, own: &[Uuid]) -> Result<usize, Refusal> {
    let mut known = shop.waiting_jobs.0.lock();
    let (mut told, mut own) = (0, own);
    while let Some(look) = shop.store.read(|s| Look::at(s, own))? {
        let position = look.position.clone();
        let steps = steps(shop, &mut known, look)?;
        // Where another node was quicker, its step is the one to go on from.
        if let Some(jobs) = shop.write(|s| taken(s, &position, &steps))? {
            for job in &jobs {
                tracing::info!(job, "what a waiting job waits for can be had");
            }
            told += jobs.len();
            own = &[];
        }
    }
    Ok(told)
}

/// How far the marks have been followed, and how far they will have been.
#[derive(Debug, Clone)]
struct Position {
    before: Option<String>,
    next: String,
}

/// A part that changed, with its record and shelf; without them where it is gone or retired.
type Part = (Uuid, Option<(Plug, OnShelf)>);

/// What is to be looked at: the line, and what changed since the last time.
struct Look {
    position: Position,
    line: Vec<InLine>,
    /// Those that look for their plugs anew; all of them where `None`.
    anew: Option<HashSet<Uuid>>,
    /// Parts whose record or stock changed.
    parts: Vec<Part>,
}

impl Look {
    /// What there is to look at; nothing where nobody waits or nothing has changed.
    fn at(session: &mut Session, own: &[Uuid]) -> Result<Option<Self>, Refusal> {
        if !session.any_waiting()? {
            return Ok(None);
        }
        let lineage = session.lineage()?;
        let before = session.meta(FOLLOWED)?;
        let after = before
            .as_deref()
            .and_then(|text| text.strip_prefix(lineage.as_str())?.trim().parse().ok());
        let mut marks = match after {
            Some(after) => session.marks_after(after, MANY)?,
            None => Vec::new(),
        };
        if after.is_some() && marks.is_empty() && own.is_empty() {
            return Ok(None);
        }
        let whole = after.is_none() || marks.len() as i64 >= MANY;
        let reached = if whole {
            marks.clear();
            session.last_mark()?
        } else {
            let after = after.unwrap_or(0);
            marks.last().map_or(after, |mark| mark.position)
        };
        let of = |kinds: &[MarkKind]| {
            let meant = marks.iter().filter(|mark| kinds.contains(&mark.kind));
            meant.map(|mark| mark.id).collect::<BTreeSet<Uuid>>()
        };
        let mut anew: HashSet<Uuid> = of(&[MarkKind::WaitingJob]).into_iter().collect();
        anew.extend(own);
        let touched: Vec<Uuid> = of(&[MarkKind::Plug, MarkKind::Stock]).into_iter().collect();
        Ok(Some(Self {
            position: Position {
                before,
                next: format!("{lineage} {reached}"),
            },
            line: session.waiting_line()?,
            anew: (!whole).then_some(anew),
            parts: parts(session, &touched)?,
        }))
    }

    fn is_anew(&self, id: Uuid) -> bool {
        self.anew.as_ref().is_none_or(|anew| anew.contains(&id))
    }
}

/// The records of parts that are in use, and their shelves.
fn parts(session: &mut Session, ids: &[Uuid]) -> Result<Vec<Part>, Refusal> {
    let mut records: HashMap<Uuid, Plug> = session
        .plugs_by_id(ids)?
        .into_iter()
        .filter(|plug| !plug.retired)
        .map(|plug| (plug.id, plug))
        .collect();
    let mut found = Vec::with_capacity(ids.len());
    for id in ids {
        let part = match records.remove(id) {
            None => None,
            Some(plug) => session.on_shelf(*id)?.map(|(_, _, shelf)| (plug, shelf)),
        };
        found.push((*id, part));
    }
    Ok(found)
}

/// What changes for one job.
struct Step {
    place: InLine,
    /// The version that it was found at.
    found: i64,
    /// What is told of it.
    told: Option<Event>,
}

/// Works out whose turn it is.
fn steps(
    shop: &Shop,
    known: &mut HashMap<Uuid, Arc<Requirement>>,
    look: Look,
) -> Result<Vec<Step>, Refusal> {
    remember(shop, known, &look)?;
    if look.line.iter().any(|place| look.is_anew(place.job.id)) {
        // Index and shelves then show at least what the marks stand for.
        shop.follow()?;
    }
    let mut offers = Vec::with_capacity(look.line.len());
    for place in &look.line {
        let Some(needs) = known.get(&place.job.id) else {
            offers.push(place.offers.clone());
            continue;
        };
        let quantity = place.job.data.open_quantity;
        let next = if look.is_anew(place.job.id) {
            None
        } else {
            changed(&place.offers, needs, quantity, &look.parts)
        };
        offers.push(match next {
            Some(next) => next,
            None => searched(shop, needs, quantity)?,
        });
    }
    let quantities = look.line.iter().map(|place| place.job.data.open_quantity);
    let left = in_turn(quantities.zip(offers.iter().map(Vec::as_slice)));
    let places = look.line.into_iter().zip(offers).zip(left);
    Ok(places
        .filter_map(|((place, offers), fits)| {
            let is_same = place.offers == offers && place.job.data.fits == fits;
            (!is_same).then(|| step(place, offers, fits))
        })
        .collect())
}

fn step(mut place: InLine, offers: Vec<Offered>, fits: Vec<WaitingFit>) -> Step {
    let (at, found) = (now(), place.job.version);
    place.offers = offers;
    let mut told = None;
    if place.job.data.fits != fits {
        let became = place.job.data.stand(fits, at);
        place.job.version += 1;
        place.job.updated_at = at;
        told = became.then(|| answered(&place.job));
    }
    Step { place, found, told }
}

fn answered(job: &Stored<WaitingJob>) -> Event {
    let fits = &job.data.fits;
    let data = json!({
        "waiting_job_id": job.id, "job": job.data.job, "quantity": job.data.open_quantity,
        "plug_ids": fits.iter().map(|fit| fit.plug_id).collect::<Vec<_>>(),
        "available": fits.first().map_or(0, |fit| fit.available),
    });
    Event::new(EventKind::WaitingJobAnswered, job.id, job.version, data)
}

/// Writes the steps and how far the marks have been followed; the jobs that were told. Nothing where
/// another node has come further meanwhile.
fn taken(
    session: &mut Session,
    position: &Position,
    steps: &[Step],
) -> Result<Option<Vec<String>>, Refusal> {
    if !session.advance_meta(FOLLOWED, position.before.as_deref(), &position.next)? {
        return Ok(None);
    }
    let mut jobs = Vec::new();
    for step in steps {
        // One that has got its plugs or gone meanwhile has a mark of its own, which comes next.
        if session.stand_in_line(&step.place, step.found, step.told.as_ref())?
            && step.told.is_some()
        {
            jobs.push(step.place.job.data.job.clone());
        }
    }
    Ok(Some(jobs))
}

/// Reads what those in the line need and nobody here has read yet, and forgets those that have left it.
fn remember(
    shop: &Shop,
    known: &mut HashMap<Uuid, Arc<Requirement>>,
    look: &Look,
) -> Result<(), Refusal> {
    let here: HashSet<Uuid> = look.line.iter().map(|place| place.job.id).collect();
    known.retain(|id, _| here.contains(id));
    let new: Vec<Uuid> = here
        .into_iter()
        .filter(|id| !known.contains_key(id))
        .collect();
    if new.is_empty() {
        return Ok(());
    }
    for (id, kept) in shop.store.read(|s| s.needs_of_waiting(&new))? {
        known.insert(id, Arc::new(read(&kept)?));
    }
    Ok(())
}

/// The offers of a job after what changed of some parts; nothing where it has to be looked for anew,
/// since more than are kept could have served it.
fn changed(
    before: &[Offered],
    needs: &Requirement,
    quantity: i64,
    parts: &[Part],
) -> Option<Vec<Offered>> {
    let mut offers = before.to_vec();
    let mut gone = false;
    for (id, part) in parts {
        let had = offers.len();
        offers.retain(|offer| offer.plug_id != *id);
        let removed = offers.len() < had;
        let now = part
            .as_ref()
            .and_then(|(plug, shelf)| offer(needs, quantity, plug, shelf));
        gone |= removed && now.is_none();
        offers.extend(now);
    }
    if gone && before.len() >= KEPT {
        return None;
    }
    offers.sort_unstable();
    offers.truncate(KEPT);
    Some(offers)
}

/// A part for a job, where it meets what is needed and there is enough of it.
fn offer(needs: &Requirement, quantity: i64, plug: &Plug, shelf: &OnShelf) -> Option<Offered> {
    if shelf.on_hand() - shelf.reserved < quantity || !fits(needs, plug) {
        return None;
    }
    let (gap, tolerance) = (set_gap_of(plug, needs).0, needs.gap.tolerance_mm);
    let available = shelf.available(gap, tolerance);
    let one_lot = shelf.one_lot_enough(quantity, gap, tolerance);
    (available >= quantity).then(|| Offered {
        standing: Standing::of(needs, plug, available, one_lot),
        part_number: plug.data.part_number.clone(),
        plug_id: plug.id,
        available,
    })
}

/// The best parts for a job of all that there are.
fn searched(shop: &Shop, needs: &Requirement, quantity: i64) -> Result<Vec<Offered>, Refusal> {
    let question = Question {
        requirement: needs,
        quantity,
        stock: StockMode::Enough,
        limit: KEPT,
        near_misses: 0,
    };
    let found = {
        let shelves = shop.shelves.read();
        shop.index.search(&question, &shelves)?
    };
    let ids: Vec<Uuid> = found.fits.iter().map(|hit| hit.id).collect();
    let records = shop.store.read(|s| s.plugs_by_id(&ids))?;
    let records: HashMap<Uuid, Plug> = records.into_iter().map(|plug| (plug.id, plug)).collect();
    let offers = found.fits.iter().filter_map(|hit| {
        Some(Offered {
            standing: hit.standing,
            part_number: records.get(&hit.id)?.data.part_number.clone(),
            plug_id: hit.id,
            available: hit.available,
        })
    });
    Ok(offers.collect())
}
