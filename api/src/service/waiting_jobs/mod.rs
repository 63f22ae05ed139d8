//! Jobs that wait for plugs: asked, shown, ended by what they got.

mod line;
mod remembered;

use plugwell_domain::fit::fits;
use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Requirement;
use plugwell_domain::waiting::{WaitingJob, WaitingJobShown, WaitingState, cautions_of};
use plugwell_store::{Session, Stored, WaitingFilter};
use serde_json::Value;
use uuid::Uuid;

use crate::service::matching::{Subject, requirement_for};
use crate::service::stock::By;
use crate::service::{Actor, Refusal, Shop, new_id};
pub use line::{Line, follow};

/// What a job asks for.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// The job, by name.
    pub job: String,
    /// What for.
    pub subject: Subject,
    /// Plugs wanted; the requirement's total where `None`.
    pub quantity: Option<i64>,
}

/// Lets a job wait; it may be told at once that it need not.
///
/// # Errors
/// Faults where the subject points to records that there are not.
pub fn ask(
    shop: &Shop,
    actor: &Actor,
    wanted: &Wanted,
) -> Result<Stored<WaitingJobShown>, Refusal> {
    let policy = shop.policy();
    let id = shop.write(|s| keep(s, &By::now(actor), &policy, wanted))?;
    line::seen(shop, &[id])?;
    shop.store.read(|s| one(s, id))
}

/// Keeps inside a transaction what a job waits for; [`follow`] looks for it afterwards.
///
/// # Errors
/// As [`ask`].
pub fn keep(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    wanted: &Wanted,
) -> Result<Uuid, Refusal> {
    let needs = requirement_for(session, &wanted.subject, policy)?;
    let total = needs.quantity.total.unwrap_or(1);
    let quantity = wanted.quantity.unwrap_or_else(|| i64::from(total));
    let place = session.place_for(PlaceKind::Job, wanted.job.trim(), by.at, new_id())?;
    let waiting = Stored {
        id: new_id(),
        version: 1,
        created_at: by.at,
        updated_at: by.at,
        data: WaitingJob {
            job: place.name,
            place_id: place.id,
            build_id: match wanted.subject {
                Subject::Stored(id) => Some(id),
                _ => None,
            },
            quantity,
            open_quantity: quantity,
            state: WaitingState::Waiting,
            fits: Vec::new(),
            possible_since: None,
            closed_at: None,
            asked_by: by.actor.name.clone(),
        },
    };
    session.insert_waiting_job(&waiting, &needs.to_kept())?;
    Ok(waiting.id)
}

/// One waiting job, as everything that was answered before leaves it.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Stored<WaitingJobShown>, Refusal> {
    follow(shop)?;
    shop.store.read(|s| one(s, id))
}

fn one(session: &mut Session, id: Uuid) -> Result<Stored<WaitingJobShown>, Refusal> {
    let found = session
        .waiting_job(id)?
        .ok_or(Refusal::NotFound("waiting job"))?;
    let mut shown = shown(session, vec![found])?;
    shown
        .pop()
        .ok_or_else(|| Refusal::Fault("a waiting job without its needs".into()))
}

/// Waiting jobs in the order in which they asked, as everything that was answered before leaves them.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    filter: &WaitingFilter,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Stored<WaitingJobShown>>, Refusal> {
    follow(shop)?;
    shop.store.read(|s| {
        let found = s.list_waiting_jobs(filter, after, limit)?;
        shown(s, found)
    })
}

/// How many waiting jobs can be served, as far as they have been told; counted no further than `most`.
///
/// # Errors
/// Where the database fails.
pub fn possible(shop: &Shop, most: i64) -> Result<usize, Refusal> {
    let filter = WaitingFilter {
        state: Some(WaitingState::Possible),
        ..WaitingFilter::default()
    };
    let found = shop
        .store
        .read(|s| s.list_waiting_jobs(&filter, None, most))?;
    Ok(found.len())
}

fn shown(
    session: &mut Session,
    found: Vec<Stored<WaitingJob>>,
) -> Result<Vec<Stored<WaitingJobShown>>, Refusal> {
    let ids: Vec<Uuid> = found.iter().map(|own| own.id).collect();
    let mut needs = session.needs_of_waiting(&ids)?;
    let mut all = Vec::with_capacity(found.len());
    for own in found {
        let place = needs.iter().position(|(id, _)| *id == own.id);
        let place =
            place.ok_or_else(|| Refusal::Fault("a waiting job without its needs".into()))?;
        let (_, mut kept) = needs.swap_remove(place);
        let cautions = cautions_of(&read(&kept)?);
        let Stored {
            id,
            version,
            created_at,
            updated_at,
            data,
        } = own;
        all.push(Stored {
            id,
            version,
            created_at,
            updated_at,
            data: WaitingJobShown {
                waiting: data,
                requirement: kept["requirement"].take(),
                cautions,
            },
        });
    }
    Ok(all)
}

fn read(kept: &Value) -> Result<Requirement, Refusal> {
    Requirement::from_kept(kept).map_err(Refusal::Fault)
}

/// Calls a waiting job off: whoever waits behind it may take what it would have taken.
///
/// # Errors
/// `NotFound`, `Stale`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| {
        let waiting = s.waiting_job(id)?.ok_or(Refusal::NotFound("waiting job"))?;
        expected(waiting.version)?;
        s.delete_waiting_job(id)?;
        Ok::<_, Refusal>(())
    })?;
    line::seen(shop, &[id])
}

/// Counts plugs of a part that were reserved for a job, or issued to it without having been reserved,
/// against what it waits for, in the order in which it asked. A part that does not meet what was asked for
/// is not what it waits for.
///
/// # Errors
/// Where the database fails.
pub(in crate::service) fn got(
    session: &mut Session,
    by: &By<'_>,
    job: &str,
    plug: &Plug,
    quantity: i64,
) -> Result<(), Refusal> {
    let mut left = quantity;
    for mut waiting in session.waiting_of_job(job)? {
        if left == 0 {
            break;
        }
        let needs = session.needs_of_waiting(&[waiting.id])?;
        let Some((_, kept)) = needs.first() else {
            continue;
        };
        if !fits(&read(kept)?, plug) {
            continue;
        }
        let counted = left.min(waiting.data.open_quantity);
        left -= counted;
        waiting.data.got(counted, by.at);
        waiting.version += 1;
        waiting.updated_at = by.at;
        session.update_waiting_job(&waiting)?;
    }
    Ok(())
}
