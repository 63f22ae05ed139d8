//! Readings: plugs looked at after a run, judged once and kept.

use std::collections::HashMap;

use plugwell_domain::build::Build;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::ledger::{Lot, Movement, MovementKind};
use plugwell_domain::named_part::NamedPart;
use plugwell_domain::plug::Plug;
use plugwell_domain::policy::Policy;
use plugwell_domain::reading::{History, KeptReading, Reading, ShownReading, judge};
use plugwell_domain::requirement::{Requirement, derive};
use plugwell_store::{ReadingFilter, Session, Stored};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::stock::By;
use crate::service::{Refusal, Shop, builds, new_id};

/// One reading with its plug beside it.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Stored<ShownReading>, Refusal> {
    shop.store.read(|s| {
        let reading = s.reading(id)?.ok_or(Refusal::NotFound("reading"))?;
        one(s, reading)
    })
}

/// Readings, the newest first, each with its plug beside it.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    filter: &ReadingFilter,
    before: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Stored<ShownReading>>, Refusal> {
    shop.store.read(|s| {
        let readings = s.list_readings(filter, before, limit)?;
        shown(s, readings)
    })
}

fn shown(
    session: &mut Session,
    readings: Vec<Stored<KeptReading>>,
) -> Result<Vec<Stored<ShownReading>>, Refusal> {
    let mut ids: Vec<Uuid> = readings.iter().filter_map(|r| r.data.plug_id).collect();
    ids.sort_unstable();
    ids.dedup();
    let parts: HashMap<Uuid, Plug> = session
        .plugs_by_id(&ids)?
        .into_iter()
        .map(|plug| (plug.id, plug))
        .collect();
    let beside = readings.into_iter().map(|reading| {
        let plug = reading.data.plug_id.and_then(|id| parts.get(&id));
        Stored {
            id: reading.id,
            // A reading never changes; what its plug's record says beside it may.
            version: plug.map_or(reading.version, |plug| plug.version),
            created_at: reading.created_at,
            updated_at: reading.updated_at,
            data: ShownReading {
                kept: reading.data,
                plug: plug.map(NamedPart::from),
            },
        }
    });
    Ok(beside.collect())
}

fn one(
    session: &mut Session,
    reading: Stored<KeptReading>,
) -> Result<Stored<ShownReading>, Refusal> {
    shown(session, vec![reading])?
        .pop()
        .ok_or_else(|| Refusal::Fault("a reading that is not shown".into()))
}

/// Keeps a reading, judged as evidence, with what it suggests.
///
/// # Errors
/// Every fault of what it points to; `duplicate_record` where the plug was read after that run.
pub fn record(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    reading: &Reading,
) -> Result<Stored<ShownReading>, Refusal> {
    let mut faults = Vec::new();
    let build = in_engine(session, reading, &mut faults)?;
    let (lot, issue) = origin(session, reading, &mut faults)?;
    let plug_id = lot.as_ref().map(|lot| lot.plug_id);
    of_day(session, reading, plug_id, &mut faults)?;
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    if let Some(build) = &build {
        not_repeated(session, reading, build)?;
    }
    let all_read = match &issue {
        None => false,
        Some(issue) => {
            // Two readings of the last plug at once: one after the other, under the part's lock.
            session.shelf(issue.plug_id, &[])?;
            session.readings_of(issue.id)? >= issue.quantity
        }
    };
    let mut history = History {
        issued: issue.is_some(),
        condition: lot.map(|lot| lot.condition),
        all_read,
        unfit: Vec::new(),
        heat: None,
        heat_min: None,
    };
    let part = match plug_id {
        None => None,
        Some(id) => session.plug(id)?,
    };
    if let (Some(part), Some(build)) = (part, build)
        && let Some(needed) = needed(session, policy, &build)?
    {
        history = history.in_engine(&part, &needed);
    }
    let stored = Stored {
        id: new_id(),
        version: 1,
        created_at: by.at,
        updated_at: by.at,
        data: KeptReading {
            reading: reading.clone(),
            plug_id,
            judgement: judge(reading, &history, &policy.values),
        },
    };
    session.insert_reading(&stored)?;
    one(session, stored)
}

fn in_engine(
    session: &mut Session,
    reading: &Reading,
    faults: &mut Vec<Fault>,
) -> Result<Option<Build>, Refusal> {
    let build = session.build(reading.build_id)?.map(|stored| stored.data);
    match &build {
        None => faults.push(missing("build_id", "build")),
        Some(Build { engine, .. }) => {
            let each = engine.plugs_per_cylinder.unwrap_or(1);
            faults.extend(reading.faults_in(engine.cylinders, each));
        }
    }
    Ok(build)
}

/// What the build needs of its plugs; `None` where what it stands on says too little.
fn needed(
    session: &mut Session,
    policy: &Policy,
    build: &Build,
) -> Result<Option<Requirement>, Refusal> {
    let derived = builds::resolved(session, build).and_then(|(head, base)| {
        derive(&build.engine, &head, base.as_ref(), policy).map_err(Refusal::fault)
    });
    match derived {
        Ok(needed) => Ok(Some(needed)),
        Err(Refusal::Faults(_)) => Ok(None),
        Err(other) => Err(other),
    }
}

fn of_day(
    session: &mut Session,
    reading: &Reading,
    part: Option<Uuid>,
    faults: &mut Vec<Fault>,
) -> Result<(), Refusal> {
    let Some(id) = reading.tuning_day_id else {
        return Ok(());
    };
    match session.tuning_day(id)? {
        None => faults.push(missing("tuning_day_id", "tuning day")),
        Some(day) => faults.extend(day.data.faults_of(reading, part)),
    }
    Ok(())
}

/// Refuses a second reading of the same plug after the same run.
fn not_repeated(session: &mut Session, reading: &Reading, build: &Build) -> Result<(), Refusal> {
    // Two at once: one after the other, under the build's lock.
    session.lock_build(reading.build_id)?;
    let build_id = Some(reading.build_id);
    let of_day = reading.tuning_day_id.map(|id| ReadingFilter {
        build_id,
        tuning_day_id: Some(id),
        ..ReadingFilter::default()
    });
    let of_issue = reading.movement_id.map(|id| ReadingFilter {
        build_id,
        movement_id: Some(id),
        ..ReadingFilter::default()
    });
    let each = build.engine.plugs_per_cylinder.unwrap_or(1);
    for filter in of_day.into_iter().chain(of_issue) {
        let before = session.list_readings(&filter, None, i64::MAX)?;
        if let Some(other) = before
            .iter()
            .find(|r| reading.repeats(&r.data.reading, each))
        {
            return Err(Refusal::conflict(
                Conflict::DuplicateRecord,
                format!(
                    "reading {} is of that run and cylinder already: a reading is never changed, count runs on",
                    other.id
                ),
            ));
        }
    }
    Ok(())
}

/// The lot that the plug came from, and the issue that it went out with.
fn origin(
    session: &mut Session,
    reading: &Reading,
    faults: &mut Vec<Fault>,
) -> Result<(Option<Lot>, Option<Movement>), Refusal> {
    if let Some(id) = reading.lot_id {
        let lot = session.lot(id)?;
        if lot.is_none() {
            faults.push(missing("lot_id", "lot"));
        }
        return Ok((lot, None));
    }
    let Some(id) = reading.movement_id else {
        return Ok((None, None));
    };
    let Some(issue) = session.movement(id)? else {
        faults.push(missing("movement_id", "movement"));
        return Ok((None, None));
    };
    let wrong = if issue.kind != MovementKind::Issue {
        Some(format!(
            "that movement is a {}; name the issue that the plug went out with",
            issue.kind
        ))
    } else if session.reversal_of(id)?.is_some() {
        Some("that issue was reversed: its plugs never went out".to_owned())
    } else if issue.build_id.is_some_and(|b| b != reading.build_id) {
        Some("that issue was for another build".to_owned())
    } else {
        None
    };
    if let Some(detail) = wrong {
        faults.push(Fault::at("movement_id", FaultCode::Contradiction, detail));
    }
    Ok((session.lot(issue.lot_id)?, Some(issue)))
}

fn missing(field: &str, what: &str) -> Fault {
    Fault::at(
        field,
        FaultCode::NotFound,
        format!("there is no such {what}"),
    )
}
