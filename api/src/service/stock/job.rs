//! Plugs for a job: reserved, issued, given back.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::build::Build;
use plugwell_domain::caution::{Caution, CautionCode};
use plugwell_domain::decimal::Length;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fitted::{backwards, latest_odometer};
use plugwell_domain::ledger::commands::{
    Issue, Reserve, Return, gap_missing, odometer_of_no_build,
};
use plugwell_domain::ledger::rules::{self, Rejection, ReturnPlaces};
use plugwell_domain::ledger::{
    Condition, Lot, Movement, MovementKind, PlaceKind, Reservation, Returned,
};
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_store::{Session, Stored};
use uuid::Uuid;

use super::beware::{of_gap, of_issue, sealed_after_gap};
use super::family::follow_aside;
use super::refused::{missing, rejected, wrong_place};
use super::{By, Moved, act, open_place, place_of, write};
use crate::service::{Refusal, new_id, waiting_jobs};

/// Plugs go to a job.
///
/// # Errors
/// Unknown part, lot, place, build or reservation; an odometer of no build, or one that runs backwards;
/// the rejections of [`rules::issue`].
pub fn issue(session: &mut Session, by: &By<'_>, policy: &Policy, issue: &Issue) -> Moved {
    let plug = session
        .plug(issue.plug_id)?
        .ok_or_else(|| missing("plug_id", "part"))?;
    let lot = named_lot(session, issue, &plug)?;
    issued_from(session, issue.place_id)?;
    let reservation = match issue.reservation_id {
        None => None,
        Some(id) => Some(
            session
                .reservation(id)?
                .ok_or_else(|| missing("reservation_id", "reservation"))?,
        ),
    };
    let build_id = issue
        .build_id
        .or(reservation.as_ref().and_then(|r| r.build_id));
    if let Some(id) = build_id {
        let build = session
            .build(id)?
            .ok_or_else(|| missing("build_id", "build"))?;
        if let Some(told) = issue.odometer_km {
            never_backwards(session, &build, told)?;
        }
    } else if issue.odometer_km.is_some() {
        return Err(Refusal::fault(odometer_of_no_build()));
    }
    let (issue, of_lot) = gap_of_lot(issue, lot.as_ref());
    let issue = &issue;
    let job = job_of(issue, reservation.as_ref(), plug.id)?;
    let job = session.place_for(PlaceKind::Job, &job, by.at, new_id())?;
    let tolerance: Length = policy.values.gap_tolerance_mm.value;
    let (outcome, touched) = act(session, by, plug.id, &[], |shelf, act| {
        rules::issue(shelf, issue, &job, reservation.as_ref(), tolerance, act)
    })?;
    // What was reserved has been counted then.
    if reservation.is_none() {
        waiting_jobs::got(session, by, &job.name, &plug, issue.quantity)?;
    }
    let mut said = of_issue(session, policy, &plug, build_id, issue.gap_mm)?;
    said.cautions.extend(of_lot);
    Ok((outcome.with(said), touched))
}

/// The lot that an issue names, if it does.
fn named_lot(session: &mut Session, issue: &Issue, plug: &Plug) -> Result<Option<Lot>, Refusal> {
    let Some(id) = issue.lot_id else {
        return Ok(None);
    };
    let lot = session.lot(id)?.ok_or_else(|| missing("lot_id", "lot"))?;
    if lot.plug_id == plug.id {
        return Ok(Some(lot));
    }
    let detail = format!("{} is a lot of another part", lot.code);
    let fault = Fault::at("lot_id", FaultCode::Contradiction, detail);
    Err(Refusal::fault(fault))
}

/// Plugs are issued from a bin.
fn issued_from(session: &mut Session, place_id: Option<Uuid>) -> Result<(), Refusal> {
    let Some(id) = place_id else { return Ok(()) };
    let place = place_of(session, id, "place_id")?;
    match place.kind {
        PlaceKind::Bin => Ok(()),
        PlaceKind::Scrap => Err(rejected(Rejection::ScrapIsFinal.into())),
        _ => Err(wrong_place(
            "place_id",
            &place,
            "plugs are issued from a bin",
        )),
    }
}

/// An odometer that is told does not read less than what is stored for the build.
fn never_backwards(session: &mut Session, build: &Stored<Build>, told: i64) -> Result<(), Refusal> {
    let issues = session.issues_for_builds(&[build.id])?;
    let latest = latest_odometer(build.data.odometer_km, &issues);
    backwards(told, latest).map_or(Ok(()), |fault| Err(Refusal::fault(fault)))
}

/// The issue with the gap of the gapped lot that it names, where it tells none, and what is said of that.
fn gap_of_lot(issue: &Issue, lot: Option<&Lot>) -> (Issue, Option<Caution>) {
    let gapped = lot.filter(|lot| lot.condition == Condition::Gapped && issue.gap_mm.is_none());
    let Some((lot, gap)) = gapped.and_then(|lot| Some((lot, lot.gap_mm?))) else {
        return (issue.clone(), None);
    };
    let said = format!("Lot {} is set to {gap} mm.", lot.code);
    let issue = Issue {
        gap_mm: Some(gap),
        ..issue.clone()
    };
    (
        issue,
        Some(Caution::of(CautionCode::GapOfTheLot).with(said)),
    )
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
    use Returned::{Gapped, Sealed};
    let issued = session
        .movement(back.movement_id)?
        .ok_or_else(|| missing("movement_id", "movement"))?;
    let back = Return {
        gap_mm: gap_of(session, back, &issued)?,
        ..back.clone()
    };
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
    let done = write(session, by, issued.plug_id, &shelf, |shelf, act| {
        let places = ReturnPlaces {
            job: &job,
            bin: bin.as_ref(),
            scrap: &scrap,
            difference: &difference,
        };
        rules::give_back(shelf, &back, &issued, returned, places, act)
    });
    let plug = session
        .plug(issued.plug_id)?
        .ok_or_else(|| Refusal::Fault("a movement without its part".into()))?;
    let (outcome, touched) = follow_aside(session, by, done)?;
    let mut outcome = outcome.with(of_gap(&plug, back.gap_mm));
    if back.condition == Sealed {
        outcome.cautions.extend(sealed_after_gap(&issued));
    }
    Ok((outcome, touched))
}

/// The gap that gapped plugs come back with: told, else that of their lot, else the one that was set
/// at issue.
fn gap_of(
    session: &mut Session,
    back: &Return,
    issued: &Movement,
) -> Result<Option<Length>, Refusal> {
    if back.condition != Returned::Gapped || back.gap_mm.is_some() {
        return Ok(back.gap_mm);
    }
    let lot = session.lot(issued.lot_id)?;
    let gapped = lot.filter(|lot| lot.condition == Condition::Gapped);
    let known = gapped.and_then(|lot| lot.gap_mm).or(issued.gap_mm);
    known.map(Some).ok_or_else(|| Refusal::fault(gap_missing()))
}

/// Keeps plugs for a job.
///
/// # Errors
/// Unknown part or build; an expiry that has passed; `not_enough_stock`.
pub fn reserve(session: &mut Session, by: &By<'_>, policy: &Policy, asked: &Reserve) -> Moved {
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
    if let Some(id) = asked.build_id {
        session
            .build(id)?
            .ok_or_else(|| missing("build_id", "build"))?;
    }
    let job = session.place_for(PlaceKind::Job, asked.job.trim(), by.at, new_id())?;
    let asked = Reserve {
        job: job.name.clone(),
        expires_at: asked.expires_at.or_else(|| kept_until(by.at, policy)),
        ..asked.clone()
    };
    let done = act(session, by, plug.id, &[], |shelf, act| {
        rules::reserve(shelf, &asked, act)
    })?;
    waiting_jobs::got(session, by, &asked.job, &plug, asked.quantity)?;
    Ok(done)
}

/// How long plugs are kept where nobody says.
fn kept_until(now: DateTime<Utc>, policy: &Policy) -> Option<DateTime<Utc>> {
    let days = policy.values.reservation_kept_days.value;
    (days > 0).then(|| now + TimeDelta::days(days.into()))
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
