//! Tables that were looked at and wait to be booked: what is booked is what was looked at, once.

use std::collections::HashMap;
use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use parking_lot::Mutex;
use tempfile::SpooledTempFile;
use uuid::Uuid;

use super::{Importing, Report, TableKind, Trial, Understood, attempt, header, take, taken_once};
use crate::service::once::{Once, OnceKey, Stored};
use crate::service::refusal::RowFault;
use crate::service::{Actor, Refusal, Shop, new_id, now};

/// How long a table waits.
const WAITS: TimeDelta = TimeDelta::hours(1);
/// Tables of one token that wait at a time; the oldest makes room.
const OF_ONE: usize = 3;

/// A table that was looked at.
#[derive(Debug)]
pub struct LookedAt {
    /// What it holds.
    pub kind: TableKind,
    /// What its file is called; empty where it was typed.
    pub file: String,
    /// The columns that its header names.
    pub columns: Vec<Understood>,
    /// What booking it would do, or its faults and how many they are.
    pub outcome: Result<Trial, (Vec<RowFault>, u64)>,
    /// When it was looked at.
    pub at: DateTime<Utc>,
    token_id: Uuid,
    table: Mutex<SpooledTempFile>,
}

/// The tables that wait.
#[derive(Debug, Default)]
pub struct Waiting(Mutex<HashMap<Uuid, Arc<LookedAt>>>);

impl Waiting {
    fn put(&self, id: Uuid, looked: LookedAt) {
        let mut all = self.0.lock();
        all.retain(|_, other| looked.at - other.at < WAITS);
        let own = all.iter().filter(|(_, l)| l.token_id == looked.token_id);
        let mut own: Vec<(DateTime<Utc>, Uuid)> = own.map(|(id, l)| (l.at, *id)).collect();
        own.sort();
        let over = (own.len() + 1).saturating_sub(OF_ONE);
        for (_, oldest) in &own[..over] {
            all.remove(oldest);
        }
        all.insert(id, Arc::new(looked));
    }

    fn get(&self, actor: &Actor, id: Uuid) -> Option<Arc<LookedAt>> {
        let all = self.0.lock();
        let found = all.get(&id).filter(|l| l.token_id == actor.token_id);
        found.filter(|l| now() - l.at < WAITS).map(Arc::clone)
    }
}

/// Looks a table over and keeps it; what it is kept under.
///
/// # Errors
/// Where table or database cannot be read.
pub fn look(
    shop: &Shop,
    importing: &Importing<'_>,
    file: String,
    mut table: SpooledTempFile,
) -> Result<Uuid, Refusal> {
    let columns = header(importing.kind, &mut table)?;
    let outcome = match attempt(shop, importing, &mut table) {
        Ok(trial) => Ok(trial),
        Err(Refusal::Rows { errors, count }) => Err((errors, count)),
        Err(other) => return Err(other),
    };
    let id = new_id();
    let looked = LookedAt {
        kind: importing.kind,
        file,
        columns,
        outcome,
        at: now(),
        token_id: importing.actor.token_id,
        table: Mutex::new(table),
    };
    shop.waiting.put(id, looked);
    Ok(id)
}

/// A table that its own reader looked at and that still waits.
pub fn looked_at(shop: &Shop, actor: &Actor, id: Uuid) -> Option<Arc<LookedAt>> {
    shop.waiting.get(actor, id)
}

/// Books a table that was looked at, byte for byte, at most once.
///
/// # Errors
/// As [`import`](super::import); `NotFound` where it waits no longer and was not booked under this key.
pub fn book(
    shop: &Shop,
    key: &OnceKey,
    actor: &Actor,
    id: Uuid,
    render: impl Fn(&Report) -> Stored,
) -> Result<Once<Trial>, Refusal> {
    let (policy, looked) = (shop.policy(), looked_at(shop, actor, id));
    let done = taken_once(
        shop,
        key,
        |session| {
            let looked = looked.as_ref();
            let looked = looked.ok_or(Refusal::NotFound("table that waits to be booked"))?;
            let importing = Importing {
                kind: looked.kind,
                actor,
                progress: &|_, _| {},
            };
            let table = &mut *looked.table.lock();
            take(session, &policy, &importing, table, Some(shop))
        },
        render,
    )?;
    shop.waiting.0.lock().remove(&id);
    Ok(done)
}

#[cfg(test)]
mod tests {
    use super::*;
    use plugwell_domain::words::Role;

    fn looked(token_id: Uuid, at: DateTime<Utc>) -> LookedAt {
        LookedAt {
            kind: TableKind::Plugs,
            file: String::new(),
            columns: Vec::new(),
            outcome: Ok(Trial::default()),
            at,
            token_id,
            table: Mutex::new(SpooledTempFile::new(1)),
        }
    }

    #[test]
    fn a_table_waits_an_hour_for_its_own_reader_and_makes_room() {
        let actor = |token_id| Actor {
            token_id,
            name: "till".into(),
            role: Role::Clerk,
        };
        let (own, other) = (actor(new_id()), actor(new_id()));
        let (waiting, ids) = (Waiting::default(), [0; 4].map(|_| new_id()));
        let minutes = |ago| now() - TimeDelta::minutes(ago);
        waiting.put(ids[0], looked(own.token_id, minutes(61)));
        assert!(waiting.get(&own, ids[0]).is_none(), "too old");
        waiting.put(ids[1], looked(own.token_id, minutes(40)));
        waiting.put(ids[2], looked(own.token_id, minutes(20)));
        assert!(waiting.get(&own, ids[1]).is_some());
        assert!(waiting.get(&other, ids[1]).is_none(), "somebody else's");
        waiting.put(ids[3], looked(own.token_id, minutes(10)));
        let fourth = new_id();
        waiting.put(fourth, looked(own.token_id, now()));
        let there = ids.map(|id| waiting.get(&own, id).is_some());
        assert_eq!(there, [false, false, true, true]);
        assert!(waiting.get(&own, fourth).is_some());
    }
}
