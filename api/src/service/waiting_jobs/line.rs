//! Whose turn it is: what can be had is set against the line of those who wait, and they are told.
//!
//! This follows the marks of the outbox rather than standing in each command, so that a command on
//! stock takes no longer the longer the line is; how far it has come lies in the database, in the
//! same transaction as what it changed and told. A restart therefore loses nothing, and of two nodes
//! that look at the same marks only the one whose step is committed first has told.
//!
//! The line is remembered from one time to the next. Every step leaves a name of its own in the database:
//! where that of this process's last step stands there still, only the jobs that the marks name can be
//! others than it remembers; else another node came between, and the line is read anew.

use std::collections::{BTreeSet, HashMap, HashSet};

use parking_lot::Mutex;
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::fit::{Standing, StockMode, fits};
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::{Requirement, set_gap_of};
use plugwell_domain::waiting::{Offered, Turned, WaitingJob};
use plugwell_indexer::Question;
use plugwell_store::{InLine, MarkKind, Session, Stored};
use serde_json::json;
use uuid::Uuid;

use super::read;
use super::remembered::{Concerned, Read, Remembered, Turn};
use crate::service::{Refusal, Shop, new_id, now};

/// Under this name stands how far the marks have been followed: the lineage of the database, a
/// position in it, and the name of the step that came so far.
const FOLLOWED: &str = "waiting_jobs_followed";
/// More marks than these, and every job looks for its plugs anew.
const MANY: i64 = 2_000;
/// Parts that are kept for each job, the best. Those behind them are looked for when one of these goes.
const KEPT: usize = 50;

/// What this process remembers of those who wait; held while their turns are worked out.
#[derive(Debug, Default)]
pub struct Line(Mutex<Remembered>);

/// Sets what has changed since the last time against the line, and tells those that can be served, and those
/// that no longer can; gives back how many. On PostgreSQL a change is seen once no older transaction is open.
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
    let mut line = shop.waiting_jobs.0.lock();
    let (mut told, mut own) = (0, own);
    while let Some(look) = shop.store.read(|s| Look::at(s, &line, own))? {
        let position = look.position.clone();
        let steps = steps(shop, &mut line, look)?;
        // Where another node was quicker, its step is the one to go on from.
        let Some(met) = shop.write(|s| taken(s, &position, &steps))? else {
            continue;
        };
        // One that has got its plugs or gone meanwhile has a mark of its own, which comes next.
        if met.iter().all(|met| *met) {
            line.be_of(position.next);
        }
        for (step, _) in steps.into_iter().zip(met).filter(|(_, met)| *met) {
            if let Some(event) = &step.told {
                let job = &*step.place.job.data.job;
                if event.kind == EventKind::WaitingJobAnswered {
                    tracing::info!(job, "what a waiting job waits for can be had");
                } else {
                    tracing::info!(job, "what a waiting job could have had is gone");
                }
                told += 1;
            }
            line.written(step.place);
        }
        own = &[];
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

/// What is to be looked at: what changed since the last time, of the line and of the parts.
struct Look {
    position: Position,
    read: Read,
    /// What those need of whom nothing is remembered.
    needs: HashMap<Uuid, Requirement>,
    /// Those that look for their plugs anew; all of them where `None`.
    anew: Option<HashSet<Uuid>>,
    /// Parts whose record or stock changed.
    parts: Vec<Part>,
}

impl Look {
    /// What there is to look at; nothing where nobody waits or nothing has changed.
    fn at(session: &mut Session, line: &Remembered, own: &[Uuid]) -> Result<Option<Self>, Refusal> {
        if !session.any_waiting()? {
            return Ok(None);
        }
        let lineage = session.lineage()?;
        let before = session.meta(FOLLOWED)?;
        let after: Option<i64> = before.as_deref().and_then(|text| {
            let mut words = text.strip_prefix(lineage.as_str())?.split_whitespace();
            words.next()?.parse().ok()
        });
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
        let read = if whole || !line.is_of(before.as_deref()) {
            Read::Whole(session.waiting_line()?)
        } else {
            let ids: Vec<Uuid> = anew.iter().copied().collect();
            Read::Named(anew.clone(), session.in_line(&ids)?)
        };
        Ok(Some(Self {
            position: Position {
                before,
                next: format!("{lineage} {reached} {}", new_id()),
            },
            needs: needs(session, line, read.waiting())?,
            read,
            anew: (!whole).then_some(anew),
            parts: parts(session, &touched)?,
        }))
    }
}

/// What those need of whom nothing is remembered yet.
fn needs(
    session: &mut Session,
    line: &Remembered,
    waiting: &[InLine],
) -> Result<HashMap<Uuid, Requirement>, Refusal> {
    let ids = waiting.iter().map(|place| place.job.id);
    let new: Vec<Uuid> = ids.filter(|id| line.get(*id).is_none()).collect();
    if new.is_empty() {
        return Ok(HashMap::new());
    }
    let kept = session.needs_of_waiting(&new)?.into_iter();
    kept.map(|(id, kept)| Ok((id, read(&kept)?))).collect()
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
fn steps(shop: &Shop, line: &mut Remembered, look: Look) -> Result<Vec<Step>, Refusal> {
    let mut concerned = line.take(look.read, look.needs);
    let anew: HashSet<Uuid> = line
        .ids()
        .filter(|id| look.anew.as_ref().is_none_or(|anew| anew.contains(id)))
        .collect();
    let mut followed = false;
    for id in &anew {
        search(shop, line, *id, &mut followed, &mut concerned)?;
    }
    for (part, found) in &look.parts {
        let found = found.as_ref();
        let had = found.map(|(plug, shelf)| (plug, shelf.on_hand() - shelf.reserved));
        for id in line.concerned_by(*part, had) {
            let Some(waits) = line.get(id).filter(|_| !anew.contains(&id)) else {
                continue;
            };
            let now = found
                .and_then(|(plug, shelf)| offer(&waits.needs, waits.open_quantity(), plug, shelf));
            match changed(&waits.place.offers, *part, now) {
                Some(offers) => line.offer(id, offers, &mut concerned),
                None => search(shop, line, id, &mut followed, &mut concerned)?,
            }
        }
    }
    Ok(line.turns(concerned).into_iter().map(step).collect())
}

/// Looks for a job's plugs anew, among all that there are.
fn search(
    shop: &Shop,
    line: &mut Remembered,
    id: Uuid,
    followed: &mut bool,
    concerned: &mut Concerned,
) -> Result<(), Refusal> {
    let Some(waits) = line.get(id) else {
        return Ok(());
    };
    if !std::mem::replace(followed, true) {
        // Index and shelves then show at least what the marks stand for.
        shop.follow()?;
    }
    let offers = searched(shop, &waits.needs, waits.open_quantity())?;
    line.offer(id, offers, concerned);
    Ok(())
}

fn step(turn: Turn) -> Step {
    let Turn { mut place, fits } = turn;
    let (at, found) = (now(), place.job.version);
    let mut told = None;
    if place.job.data.fits != fits {
        let turned = place.job.data.stand(fits, at);
        place.job.version += 1;
        place.job.updated_at = at;
        told = turned.map(|turned| event(turned, &place.job));
    }
    Step { place, found, told }
}

/// What a job is told of what has become of it.
fn event(turned: Turned, job: &Stored<WaitingJob>) -> Event {
    let fits = &job.data.fits;
    let mut data = json!({
        "waiting_job_id": job.id, "job": job.data.job, "quantity": job.data.open_quantity,
    });
    let kind = match turned {
        Turned::WaitsAgain => EventKind::WaitingJobWaitsAgain,
        Turned::Possible => {
            data["plug_ids"] = fits.iter().map(|fit| json!(fit.plug_id)).collect();
            data["available"] = fits.first().map_or(0, |fit| fit.available).into();
            EventKind::WaitingJobAnswered
        }
    };
    Event::new(kind, job.id, job.version, data)
}

/// Writes the steps and how far the marks have been followed; which of the steps were met by the job as it
/// was found. Nothing where another node has come further meanwhile.
fn taken(
    session: &mut Session,
    position: &Position,
    steps: &[Step],
) -> Result<Option<Vec<bool>>, Refusal> {
    if !session.advance_meta(FOLLOWED, position.before.as_deref(), &position.next)? {
        return Ok(None);
    }
    let mut met = Vec::with_capacity(steps.len());
    for step in steps {
        met.push(session.stand_in_line(&step.place, step.found, step.told.as_ref())?);
    }
    Ok(Some(met))
}

/// The offers of a job after what became of one part; nothing where it has to be looked for anew, since
/// more than are kept could serve it, and now better than this one.
fn changed(before: &[Offered], part: Uuid, now: Option<Offered>) -> Option<Vec<Offered>> {
    let others = before.iter().filter(|offer| offer.plug_id != part);
    let mut offers: Vec<Offered> = others.cloned().collect();
    let was_offered = offers.len() < before.len();
    let is_behind = now.is_none() || now.as_ref() > offers.last();
    if was_offered && is_behind && before.len() >= KEPT {
        return None;
    }
    offers.extend(now);
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
