//! Commands that move or reserve stock. Each runs inside a write transaction, takes the shelf of
//! its part under lock, asks the rules and writes their plan.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::ledger::commands::{
    Issue, NewPlace, Receipt, Reserve, Return, Reversal, Scrapping, Transfer,
};
use plugwell_domain::ledger::rules::{self, Act, Rejected, Rejection, ReturnPlaces, ScrapSlip};
use plugwell_domain::ledger::{
    Lot, Movement, MovementKind, Place, PlaceKind, Plan, Reservation, Shelf,
};
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Role;
use plugwell_store::{Session, StoreError};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::shop::Touched;
use crate::service::{Actor, Refusal, Shop, new_id, now};

/// Who gives a command, and the instant that it is written with.
#[derive(Debug, Clone, Copy)]
pub struct By<'a> {
    /// Who.
    pub actor: &'a Actor,
    /// When.
    pub at: DateTime<Utc>,
}

impl<'a> By<'a> {
    /// Given now.
    pub fn now(actor: &'a Actor) -> Self {
        Self { actor, at: now() }
    }
}

/// What a command did.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// The movements, in the order they were written.
    pub movements: Vec<Movement>,
    /// Lots that were made.
    pub lots: Vec<Lot>,
    /// Reservations that were made or changed their state.
    pub reservations: Vec<Reservation>,
}

/// An outcome and the shelf that it changed.
pub type Moved = Result<(Outcome, Vec<Touched>), Refusal>;

fn missing(field: &str, what: &str) -> Refusal {
    Refusal::fault(Fault::at(
        field,
        FaultCode::NotFound,
        format!("there is no such {what}"),
    ))
}

fn wrong_place(field: &str, place: &Place, wanted: &str) -> Refusal {
    let detail = format!("{} is of kind {}; {wanted}", place.name, place.kind);
    Refusal::fault(Fault::at(field, FaultCode::Contradiction, detail))
}

fn rejected(rejected: Rejected) -> Refusal {
    let mut members = Map::new();
    let detail = match (rejected.rule, rejected.available, rejected.on_hand) {
        (Rejection::NotEnoughStock, Some(available), Some(on_hand)) => {
            members.insert("available".into(), Value::from(available));
            members.insert("on_hand".into(), Value::from(on_hand));
            format!("there are {available} to be had, {on_hand} of the part in bins")
        }
        (rule, ..) => sentence(rule).to_owned(),
    };
    Refusal::Conflict {
        conflict: Conflict::Ledger(rejected.rule),
        detail,
        members,
    }
}

/// What a rejection means and what to do.
pub fn sentence(rule: Rejection) -> &'static str {
    match rule {
        Rejection::PlugRetired => "the part is retired; bring it back before receiving more of it",
        Rejection::PlaceRetired => "the place is retired; take another",
        Rejection::ScrapIsFinal => {
            "what is in the scrap drum stays there; a slip of the scanner can be reversed by a manager within the policy's time"
        }
        Rejection::NotAnIssue => "only what was issued can be returned; name the issue",
        Rejection::ReversalIsFinal => "a reversal stands; make the movement anew",
        Rejection::AlreadyReversed => "the movement has been reversed already",
        Rejection::ReservationClosed => "the reservation is issued, released or expired",
        Rejection::NotSealed => {
            "the lot was set to a gap, so it cannot come back sealed; return it as gapped"
        }
        Rejection::WrongGap => "the lot is set to another gap than the one wanted",
        Rejection::MoreThanIssued => "more would come back than went out with that issue",
        Rejection::NotEnoughStock => "there are not as many",
    }
}

fn place_of(session: &mut Session, id: Uuid, field: &str) -> Result<Place, Refusal> {
    session.place(id)?.ok_or_else(|| missing(field, "place"))
}

/// A place that something is put into: of a wanted kind and still in use.
fn open_place(
    session: &mut Session,
    id: Uuid,
    field: &str,
    kinds: &[PlaceKind],
) -> Result<Place, Refusal> {
    let place = place_of(session, id, field)?;
    if !kinds.contains(&place.kind) {
        let words: Vec<_> = kinds.iter().map(|k| k.word()).collect();
        return Err(wrong_place(
            field,
            &place,
            &format!("give one of kind {}", words.join(" or ")),
        ));
    }
    if place.retired {
        return Err(rejected(Rejection::PlaceRetired.into()));
    }
    Ok(place)
}

/// Runs a rule under the part's lock and writes its plan.
fn act(
    session: &mut Session,
    by: &By<'_>,
    plug_id: Uuid,
    also: &[Uuid],
    rule: impl FnOnce(&Shelf, &mut Act<'_>) -> Result<Plan, Rejected>,
) -> Moved {
    let shelf = session.shelf(plug_id, also)?;
    write(session, by, plug_id, &shelf, rule)
}

/// Runs a rule on a shelf that is held under its lock, and writes its plan.
fn write(
    session: &mut Session,
    by: &By<'_>,
    plug_id: Uuid,
    shelf: &Shelf,
    rule: impl FnOnce(&Shelf, &mut Act<'_>) -> Result<Plan, Rejected>,
) -> Moved {
    let mut new = new_id;
    let plan = rule(
        shelf,
        &mut Act {
            now: by.at,
            actor: &by.actor.name,
            new_id: &mut new,
        },
    )
    .map_err(rejected)?;
    let applied = session.apply(plug_id, &plan)?;
    let (ordinal, version, on_shelf) = session
        .on_shelf(plug_id)?
        .ok_or_else(|| Refusal::Fault("a part without a shelf".into()))?;
    let outcome = Outcome {
        movements: applied.movements,
        lots: applied.lots,
        reservations: plan.reservations,
    };
    Ok((
        outcome,
        vec![Touched {
            ordinal,
            version,
            on_shelf,
        }],
    ))
}

/// Makes a bin, a quarantine, a supplier or a job, now.
///
/// # Errors
/// As [`create_place`].
pub fn add_place(shop: &Shop, place: &NewPlace) -> Result<Place, Refusal> {
    shop.store
        .write(|session| create_place(session, place, now()))
}

/// Makes a bin, a quarantine, a supplier or a job.
///
/// # Errors
/// `duplicate_record` where the name stands already.
pub fn create_place(
    session: &mut Session,
    place: &NewPlace,
    at: DateTime<Utc>,
) -> Result<Place, Refusal> {
    let name = place.name.trim();
    session
        .insert_place(new_id(), place.kind, name, at)
        .map_err(|error| match error {
            StoreError::Duplicate { .. } => Refusal::conflict(
                Conflict::DuplicateRecord,
                format!("there is a {} named {name:?} already", place.kind),
            ),
            other => other.into(),
        })
}

/// Plugs come in.
///
/// # Errors
/// Unknown part or place, wrong currency, `plug_retired`, `place_retired`.
pub fn receive(session: &mut Session, by: &By<'_>, policy: &Policy, receipt: &Receipt) -> Moved {
    let plug = session
        .plug(receipt.plug_id)?
        .ok_or_else(|| missing("plug_id", "part"))?;
    let bin = place_of(session, receipt.place_id, "place_id")?;
    if bin.kind != PlaceKind::Bin {
        return Err(wrong_place(
            "place_id",
            &bin,
            "plugs are received into a bin",
        ));
    }
    if let Some(cost) = &receipt.total_cost
        && cost.currency != policy.values.currency.value
    {
        let detail = format!(
            "the shop keeps its books in {}, not in {}",
            policy.values.currency.value, cost.currency
        );
        return Err(Refusal::fault(Fault::at(
            "total_cost/currency",
            FaultCode::WrongCurrency,
            detail,
        )));
    }
    if plug.retired {
        return Err(rejected(Rejection::PlugRetired.into()));
    }
    if bin.retired {
        return Err(rejected(Rejection::PlaceRetired.into()));
    }
    let supplier = session.place_for(
        PlaceKind::Supplier,
        receipt.supplier.trim(),
        by.at,
        new_id(),
    )?;
    act(session, by, plug.id, &[], |shelf, act| {
        Ok(rules::receive(shelf, receipt, &supplier, &bin, act))
    })
}

/// Plugs go to a job.
///
/// # Errors
/// Unknown part, lot, place, build or reservation; the rejections of [`rules::issue`].
pub fn issue(session: &mut Session, by: &By<'_>, policy: &Policy, issue: &Issue) -> Moved {
    let plug = session
        .plug(issue.plug_id)?
        .ok_or_else(|| missing("plug_id", "part"))?;
    if let Some(id) = issue.lot_id {
        let lot = session.lot(id)?.ok_or_else(|| missing("lot_id", "lot"))?;
        if lot.plug_id != plug.id {
            let detail = format!("{} is a lot of another part", lot.code);
            return Err(Refusal::fault(Fault::at(
                "lot_id",
                FaultCode::Contradiction,
                detail,
            )));
        }
    }
    if let Some(id) = issue.place_id {
        let place = place_of(session, id, "place_id")?;
        match place.kind {
            PlaceKind::Bin => {}
            PlaceKind::Scrap => return Err(rejected(Rejection::ScrapIsFinal.into())),
            _ => {
                return Err(wrong_place(
                    "place_id",
                    &place,
                    "plugs are issued from a bin",
                ));
            }
        }
    }
    if let Some(id) = issue.build_id {
        session
            .build(id)?
            .ok_or_else(|| missing("build_id", "build"))?;
    }
    let reservation = match issue.reservation_id {
        None => None,
        Some(id) => Some(
            session
                .reservation(id)?
                .ok_or_else(|| missing("reservation_id", "reservation"))?,
        ),
    };
    let job = job_of(issue, reservation.as_ref(), plug.id)?;
    let job = session.place_for(PlaceKind::Job, &job, by.at, new_id())?;
    let tolerance: Length = policy.values.gap_tolerance_mm.value;
    act(session, by, plug.id, &[], |shelf, act| {
        rules::issue(shelf, issue, &job, reservation.as_ref(), tolerance, act)
    })
}

/// The job's name: given, or the reservation's; both have to agree, case-blind.
fn job_of(
    issue: &Issue,
    reservation: Option<&Reservation>,
    plug_id: Uuid,
) -> Result<String, Refusal> {
    let given = issue.job.as_deref().map(str::trim);
    let Some(reservation) = reservation else {
        return Ok(given.unwrap_or_default().to_owned());
    };
    if reservation.plug_id != plug_id {
        let fault = Fault::at(
            "reservation_id",
            FaultCode::Contradiction,
            "the reservation is for another part",
        );
        return Err(Refusal::fault(fault));
    }
    if let Some(job) = given
        && job.to_lowercase() != reservation.job.to_lowercase()
    {
        let detail = format!("the reservation is for job {:?}", reservation.job);
        return Err(Refusal::fault(Fault::at(
            "job",
            FaultCode::Contradiction,
            detail,
        )));
    }
    Ok(reservation.job.clone())
}

/// Plugs come back from a job.
///
/// # Errors
/// Unknown movement or place; the rejections of [`rules::give_back`].
pub fn give_back(session: &mut Session, by: &By<'_>, back: &Return) -> Moved {
    use plugwell_domain::ledger::Returned::{Gapped, Sealed};
    let issued = session
        .movement(back.movement_id)?
        .ok_or_else(|| missing("movement_id", "movement"))?;
    let bin = match back
        .place_id
        .filter(|_| matches!(back.condition, Sealed | Gapped))
    {
        None => None,
        Some(id) => Some(open_place(session, id, "place_id", &[PlaceKind::Bin])?),
    };
    let job = session
        .place(issued.to_place_id)?
        .ok_or_else(|| Refusal::Fault("a movement without place".into()))?;
    let (scrap, difference) = (session.scrap_place()?, session.difference_place()?);
    // What has come back is read under the shelf's lock, since another return may be on its way.
    let shelf = session.shelf(issued.plug_id, &[job.id])?;
    if issued.kind == MovementKind::Issue && session.reversal_of(issued.id)?.is_some() {
        return Err(rejected(Rejection::AlreadyReversed.into()));
    }
    let returned = session.returned_of(issued.id)?;
    write(session, by, issued.plug_id, &shelf, |shelf, act| {
        let places = ReturnPlaces {
            job: &job,
            bin: bin.as_ref(),
            scrap: &scrap,
            difference: &difference,
        };
        rules::give_back(shelf, back, &issued, returned, places, act)
    })
}

/// Plugs change their place.
///
/// # Errors
/// Unknown lot or place; out of quarantine for less than a manager; the rejections of
/// [`rules::transfer`].
pub fn transfer(session: &mut Session, by: &By<'_>, transfer: &Transfer) -> Moved {
    let lot = session
        .lot(transfer.lot_id)?
        .ok_or_else(|| missing("lot_id", "lot"))?;
    let from = place_of(session, transfer.from_place_id, "from_place_id")?;
    let movable = [PlaceKind::Bin, PlaceKind::Quarantine];
    match from.kind {
        PlaceKind::Bin | PlaceKind::Scrap => {}
        PlaceKind::Quarantine if by.actor.role < Role::Manager => {
            return Err(Refusal::Forbidden(
                "only a manager lets plugs out of quarantine".into(),
            ));
        }
        PlaceKind::Quarantine => {}
        _ => {
            return Err(wrong_place(
                "from_place_id",
                &from,
                "a transfer starts at a bin or quarantine",
            ));
        }
    }
    let to = open_place(session, transfer.to_place_id, "to_place_id", &movable)?;
    act(session, by, lot.plug_id, &[], |shelf, act| {
        rules::transfer(shelf, transfer, &from, &to, act)
    })
}

/// Plugs go into the scrap drum.
///
/// # Errors
/// Unknown part, lot, place or job; from a bin for less than a clerk; the rejections of
/// [`rules::discard`].
pub fn discard(session: &mut Session, by: &By<'_>, scrapping: &Scrapping) -> Moved {
    let plug_id = match (scrapping.plug_id, scrapping.lot_id) {
        (_, Some(lot)) => {
            session
                .lot(lot)?
                .ok_or_else(|| missing("lot_id", "lot"))?
                .plug_id
        }
        (Some(plug), None) => {
            session
                .plug(plug)?
                .ok_or_else(|| missing("plug_id", "part"))?
                .id
        }
        (None, None) => return Err(missing("lot_id", "lot")),
    };
    let from = match (scrapping.place_id, scrapping.job.as_deref()) {
        (Some(id), _) => place_of(session, id, "place_id")?,
        (None, Some(job)) => session
            .place_named(PlaceKind::Job, job.trim())?
            .ok_or_else(|| missing("job", "job"))?,
        (None, None) => return Err(missing("place_id", "place")),
    };
    if from.kind != PlaceKind::Job && by.actor.role < Role::Clerk {
        return Err(Refusal::Forbidden(
            "a tuner scraps from a job; from a bin it takes a clerk".into(),
        ));
    }
    if matches!(from.kind, PlaceKind::Supplier | PlaceKind::Difference) {
        return Err(wrong_place(
            "place_id",
            &from,
            "plugs are scrapped from a bin, a job or quarantine",
        ));
    }
    let drum = session.scrap_place()?;
    act(session, by, plug_id, &[from.id], |shelf, act| {
        rules::discard(shelf, scrapping, &from, &drum, act)
    })
}

/// Puts a movement right.
///
/// # Errors
/// Unknown movement; a scrapping for less than a manager; the rejections of [`rules::reverse`].
pub fn reverse(session: &mut Session, by: &By<'_>, policy: &Policy, reversal: &Reversal) -> Moved {
    let named = session
        .movement(reversal.movement_id)?
        .ok_or_else(|| missing("movement_id", "movement"))?;
    let originals = match named.pair_id {
        Some(pair) => session.pair(pair)?,
        None => vec![named.clone()],
    };
    let mut places = Vec::new();
    for movement in &originals {
        for id in [movement.from_place_id, movement.to_place_id] {
            places.push(
                session
                    .place(id)?
                    .ok_or_else(|| Refusal::Fault("a movement without place".into()))?,
            );
        }
    }
    if by.actor.role < Role::Manager && places.iter().any(|p| p.kind == PlaceKind::Scrap) {
        return Err(Refusal::Forbidden(
            "only a manager reverses a scrapping".into(),
        ));
    }
    let also: Vec<Uuid> = places.iter().map(|p| p.id).collect();
    let shelf = session.shelf(named.plug_id, &also)?;
    // What has come back of an issue came out of the job already.
    if named.kind == MovementKind::Issue && session.returned_of(named.id)? > 0 {
        return Err(rejected(Rejection::MoreThanIssued.into()));
    }
    let mut reversed = false;
    for movement in &originals {
        reversed |= session.reversal_of(movement.id)?.is_some();
    }
    let slip = ScrapSlip {
        manager: by.actor.role == Role::Manager,
        within: TimeDelta::hours(i64::from(policy.values.scrap_reversal_hours.value)),
    };
    write(session, by, named.plug_id, &shelf, |shelf, act| {
        rules::reverse(
            shelf,
            &originals,
            reversed,
            &places,
            reversal.reason.trim(),
            slip,
            act,
        )
    })
}

/// Keeps plugs for a job.
///
/// # Errors
/// Unknown part; an expiry that has passed; `not_enough_stock`.
pub fn reserve(session: &mut Session, by: &By<'_>, asked: &Reserve) -> Moved {
    let plug = session
        .plug(asked.plug_id)?
        .ok_or_else(|| missing("plug_id", "part"))?;
    if asked.expires_at.is_some_and(|at| at <= by.at) {
        return Err(Refusal::fault(Fault::at(
            "expires_at",
            FaultCode::OutOfRange,
            "that instant has passed",
        )));
    }
    let job = session.place_for(PlaceKind::Job, asked.job.trim(), by.at, new_id())?;
    let asked = Reserve {
        job: job.name.clone(),
        ..asked.clone()
    };
    act(session, by, plug.id, &[], |shelf, act| {
        rules::reserve(shelf, &asked, act)
    })
}

/// Gives a reservation back.
///
/// # Errors
/// `NotFound`; `reservation_closed`.
pub fn release(session: &mut Session, by: &By<'_>, id: Uuid) -> Moved {
    let reservation = session
        .reservation(id)?
        .ok_or(Refusal::NotFound("reservation"))?;
    act(session, by, reservation.plug_id, &[], |shelf, act| {
        rules::release(shelf, id, act)
    })
}
