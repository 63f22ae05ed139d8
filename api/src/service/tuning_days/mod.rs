//! Tuning days: fresh plugs planned, priced and kept for a day of readings.

mod look;

use plugwell_domain::build::Engine;
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::ledger::commands::Reserve;
use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::ledger::{PlaceKind, Reservation};
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::Requirement;
use plugwell_domain::tuning_day::{
    DayPlan, DayQuantity, Looked, PlannedDay, StandingDay, TuningDay, requirement,
};
use plugwell_store::{Session, Stored, TuningDayFilter};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::matching::under;
use crate::service::shop::Touched;
use crate::service::stock::{self, By};
use crate::service::{Refusal, Shop, builds, new_id};
use look::Look;

/// One tuning day as it stands.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Stored<StandingDay>, Refusal> {
    shop.store.read(|s| {
        let day = s.tuning_day(id)?.ok_or(Refusal::NotFound("tuning day"))?;
        standing(s, day)
    })
}

/// Tuning days in the order they were planned.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    filter: &TuningDayFilter,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Stored<StandingDay>>, Refusal> {
    shop.store.read(|s| {
        let days = s.list_tuning_days(filter, after, limit)?;
        days.into_iter().map(|day| standing(s, day)).collect()
    })
}

/// A day with its reservations; its version counts the changes of all.
fn standing(
    session: &mut Session,
    day: Stored<PlannedDay>,
) -> Result<Stored<StandingDay>, Refusal> {
    let reservations = reservations(session, &day.data)?;
    Ok(stood(day, reservations))
}

/// The reservations of a day as they are now, in the order that they were made.
fn reservations(session: &mut Session, day: &PlannedDay) -> Result<Vec<Reservation>, Refusal> {
    let mut found = Vec::new();
    for id in day.reservation_ids() {
        let own = session.reservation(id)?;
        found.push(own.ok_or_else(|| Refusal::Fault("a day without its reservation".into()))?);
    }
    Ok(found)
}

fn stood(day: Stored<PlannedDay>, reservations: Vec<Reservation>) -> Stored<StandingDay> {
    let changes: i64 = reservations.iter().map(|r| r.version - 1).sum();
    let state = day.data.state(&reservations);
    let mut reservations = reservations.into_iter();
    Stored {
        id: day.id,
        version: day.version + changes,
        created_at: day.created_at,
        updated_at: day.updated_at,
        data: StandingDay {
            planned: day.data,
            state,
            reservation: reservations.next(),
            further_reservations: reservations.collect(),
        },
    }
}

/// Plans a day: how many plugs, which part, what they cost; keeps them for it as far as they are
/// there, says what is short.
///
/// # Errors
/// Faults of the day, of the build and of the part that the caller names.
pub fn plan(
    shop: &Shop,
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    asked: &TuningDay,
) -> Result<(Stored<StandingDay>, Vec<Touched>), Refusal> {
    let today = by.at.date_naive();
    let (engine, needed) = needed(session, policy, asked)?;
    let quantity = quantity(asked, &engine, policy, today)?;
    let look = Look {
        shop,
        policy,
        needed: &needed,
        quantity: quantity.total,
        in_time: today <= asked.order_by(&policy.values),
    };
    let mut looked = match asked.plug_id {
        Some(id) => Looked {
            offers: vec![look.named(session, id)?],
            ..Looked::default()
        },
        None => look.best(session)?,
    };
    let reserve = asked.reserve.unwrap_or(true);
    if reserve {
        // Made before any part is locked, as every command does that keeps plugs for a job.
        session.place_for(PlaceKind::Job, asked.name.trim(), by.at, new_id())?;
        look.settle(session, &mut looked.offers)?;
    }
    if looked.offers.first().is_some_and(|offer| !offer.enough) {
        looked.fillings = look.fillings(session)?;
    }
    let plan = DayPlan::of(
        asked,
        quantity,
        needed.clone(),
        looked,
        &policy.values,
        today,
    );
    let (kept, touched) = match plan.proposed.as_ref().filter(|_| reserve) {
        Some(offer) => {
            let there = offer.available.min(quantity.total);
            keep(session, by, policy, asked, offer.plug.id, there)?
        }
        None => (None, Vec::new()),
    };
    let day = Stored {
        id: new_id(),
        version: 1,
        created_at: by.at,
        updated_at: by.at,
        data: PlannedDay {
            asked: asked.clone(),
            plan,
            reservation_id: kept.as_ref().map(|r| r.id),
            further_reservation_ids: Vec::new(),
            withdrawn_at: None,
        },
    };
    session.insert_tuning_day(&day)?;
    Ok((stood(day, kept.into_iter().collect()), touched))
}

/// The engine and what its reading plugs have to be.
fn needed(
    session: &mut Session,
    policy: &Policy,
    asked: &TuningDay,
) -> Result<(Engine, Requirement), Refusal> {
    let (build, outer) = match (&asked.build, asked.build_id) {
        (Some(build), _) => (build.clone(), Some("build")),
        (None, id) => {
            let found = id.map(|id| session.build(id)).transpose()?.flatten();
            let missing = Fault::at("build_id", FaultCode::NotFound, "there is no such build");
            (found.ok_or_else(|| Refusal::fault(missing))?.data, None)
        }
    };
    let metals = asked.electrode.as_deref();
    let derived = builds::resolved(session, &build).and_then(|(head, base)| {
        requirement(&build.engine, &head, base.as_ref(), metals, policy).map_err(Refusal::fault)
    });
    let needed = derived.map_err(|refusal| match outer {
        Some(outer) => under(outer, refusal),
        None => refusal,
    })?;
    Ok((build.engine, needed))
}

/// The plugs of the day; every fault of day and cylinders at once.
fn quantity(
    asked: &TuningDay,
    engine: &Engine,
    policy: &Policy,
    today: chrono::NaiveDate,
) -> Result<DayQuantity, Refusal> {
    let mut faults: Vec<Fault> = asked.day_fault(today).into_iter().collect();
    match DayQuantity::of(asked, engine, &policy.values) {
        Ok(quantity) if faults.is_empty() => Ok(quantity),
        Ok(_) => Err(Refusal::Faults(faults)),
        Err(fault) => {
            faults.push(fault);
            Err(Refusal::Faults(faults))
        }
    }
}

/// Keeps so many plugs of a part for the day.
fn keep(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    asked: &TuningDay,
    plug_id: Uuid,
    quantity: i64,
) -> Result<(Option<Reservation>, Vec<Touched>), Refusal> {
    if quantity <= 0 {
        return Ok((None, Vec::new()));
    }
    let kept = Reserve {
        plug_id,
        quantity,
        job: asked.name.trim().to_owned(),
        expires_at: Some(asked.kept_until(&policy.values)),
        // Its plugs are for reading: they go into the engine, but make no set that stays in it.
        build_id: None,
    };
    let (outcome, touched) = stock::reserve(session, by, policy, &kept)?;
    let made = outcome.reservations.into_iter().find(|r| r.version == 1);
    Ok((made, touched))
}

/// Keeps for a day what it lacks of its part, as far as it is there now. A day that lacks nothing,
/// or of whose part nothing is there, stays as it is.
///
/// # Errors
/// `NotFound`; `does_not_fit` where the plan names no part; `already_withdrawn`;
/// `reservation_closed` where the time has passed that plugs are kept for it.
pub fn top_up(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    id: Uuid,
) -> Result<(Stored<StandingDay>, Vec<Touched>), Refusal> {
    let old = session
        .tuning_day(id)?
        .ok_or(Refusal::NotFound("tuning day"))?;
    let Some(plug_id) = part_of(&old.data) else {
        return Err(Refusal::conflict(
            Conflict::DoesNotFit,
            "no part met the requirement when the day was planned: plan it anew",
        ));
    };
    let job = old.data.asked.name.trim();
    // Made before the part is locked, as every command does that keeps plugs for a job.
    session.place_for(PlaceKind::Job, job, by.at, new_id())?;
    let shelf = session.shelf(plug_id, &[])?;
    let mut day = session.tuning_day(id)?.unwrap_or(old);
    not_withdrawn(&day.data)?;
    if day.data.asked.kept_until(&policy.values) <= by.at {
        return Err(Refusal::conflict(
            Conflict::Ledger(Rejection::ReservationClosed),
            "the day has passed, and the time that plugs are kept for it",
        ));
    }
    let mut kept = reservations(session, &day.data)?;
    let available = OnShelf::of(&shelf).available(None, Length::default());
    let quantity = day.data.missing(&kept).min(available);
    let (made, touched) = keep(session, by, policy, &day.data.asked, plug_id, quantity)?;
    if let Some(made) = made {
        day.data.add_reservation(made.id);
        day.version += 1;
        day.updated_at = by.at;
        session.update_tuning_day(&day)?;
        kept.push(made);
    }
    Ok((stood(day, kept), touched))
}

fn part_of(day: &PlannedDay) -> Option<Uuid> {
    day.plan.proposed.as_ref().map(|offer| offer.plug.id)
}

fn not_withdrawn(day: &PlannedDay) -> Result<(), Refusal> {
    match day.withdrawn_at {
        None => Ok(()),
        Some(_) => Err(Refusal::conflict(
            Conflict::AlreadyWithdrawn,
            "the tuning day was called off before",
        )),
    }
}

/// Calls a day off; what is still kept for it can be had by others.
///
/// # Errors
/// `NotFound`; `already_withdrawn`.
pub fn withdraw(
    session: &mut Session,
    by: &By<'_>,
    id: Uuid,
) -> Result<(Stored<StandingDay>, Vec<Touched>), Refusal> {
    let old = session
        .tuning_day(id)?
        .ok_or(Refusal::NotFound("tuning day"))?;
    if let Some(plug_id) = part_of(&old.data) {
        // Under the part's lock, under which reservations change.
        session.shelf(plug_id, &[])?;
    }
    let mut day = session.tuning_day(id)?.unwrap_or(old);
    not_withdrawn(&day.data)?;
    let mut touched = Vec::new();
    for kept in reservations(session, &day.data)? {
        if kept.holds(by.at) {
            touched = stock::release(session, by, kept.id)?.1;
        }
    }
    day.version += 1;
    day.updated_at = by.at;
    day.data.withdrawn_at = Some(by.at);
    session.update_tuning_day(&day)?;
    let reservations = reservations(session, &day.data)?;
    Ok((stood(day, reservations), touched))
}
