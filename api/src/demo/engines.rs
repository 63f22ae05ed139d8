//! What went into which engine, a set that is kept until tomorrow, and one that a job waits for.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::ledger::commands::Reserve;
use plugwell_domain::waiting::WaitingState;
use serde::Deserialize;
use serde_json::Map;

use crate::demo::tuning::{build_id, tuner, wrong};
use crate::demo::year::IntoEngine;
use crate::service::matching::{self, Asked, Subject};
use crate::service::stock::{self, By};
use crate::service::waiting_jobs::{self, Wanted};
use crate::service::{Refusal, Shop, builds};

/// An issue of the year that went into an engine: its build stands by name.
#[derive(Debug, Deserialize)]
pub(super) struct Set {
    build_name: String,
    of_line: usize,
    odometer_km: i64,
}

/// A set that is kept for a job.
#[derive(Debug, Deserialize)]
pub(super) struct Kept {
    build_name: String,
    job: String,
    in_hours: i64,
}

/// A job that waits for plugs which the shelf does not hold.
#[derive(Debug, Deserialize)]
pub(super) struct Waits {
    build_name: String,
    job: String,
    quantity: Option<i64>,
}

/// Which line of the year goes into which engine.
///
/// # Errors
/// Where a build is not there.
pub(super) fn fitted(shop: &Shop, sets: &[Set]) -> Result<IntoEngine, Refusal> {
    let of = |set: &Set| {
        Ok((
            set.of_line,
            (build_id(shop, &set.build_name)?, set.odometer_km),
        ))
    };
    sets.iter().map(of).collect()
}

/// Writes down what the odometer of a build reads today.
///
/// # Errors
/// Where a build is not there, or the database fails.
pub(super) fn read_odometer(
    shop: &Shop,
    build_name: &str,
    odometer_km: i64,
) -> Result<(), Refusal> {
    let patch = Map::from_iter([("odometer_km".to_owned(), odometer_km.into())]);
    builds::patch(shop, build_id(shop, build_name)?, |_| Ok(()), &patch).map(drop)
}

/// Keeps a set of the best fit of a build.
///
/// # Errors
/// Where no fit is there in number, or the database fails.
pub(super) fn keep(shop: &Shop, kept: &Kept, today: DateTime<Utc>) -> Result<(), Refusal> {
    let build_id = build_id(shop, &kept.build_name)?;
    let found = matching::find(shop, &Asked::of(Subject::Stored(build_id)))?;
    let best = found
        .fits
        .first()
        .ok_or_else(|| wrong(format!("nothing is there for {:?}", kept.build_name)))?;
    let asked = Reserve {
        plug_id: best.plug.id,
        quantity: found.quantity,
        job: kept.job.clone(),
        expires_at: Some(today + TimeDelta::hours(kept.in_hours)),
        build_id: Some(build_id),
    };
    let (actor, policy) = (tuner(), shop.policy());
    let by = By {
        actor: &actor,
        at: today,
    };
    let (_, touched) = shop
        .store
        .write(|s| stock::reserve(s, &by, &policy, &asked))?;
    touched.iter().for_each(|changed| shop.show(changed));
    Ok(())
}

/// Lets a job wait for what a build needs.
///
/// # Errors
/// Where the build is not there, the shelf has it after all, or the database fails.
pub(super) fn wait(shop: &Shop, asked: &Waits) -> Result<(), Refusal> {
    let wanted = Wanted {
        job: asked.job.clone(),
        subject: Subject::Stored(build_id(shop, &asked.build_name)?),
        quantity: asked.quantity,
    };
    let waits = waiting_jobs::ask(shop, &tuner(), &wanted)?;
    match waits.data.waiting.state {
        WaitingState::Waiting => Ok(()),
        _ => Err(wrong(format!("{:?} need not wait", asked.job))),
    }
}
