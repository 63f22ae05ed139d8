//! Signed statements that one part stands in for another: entered, looked up, withdrawn.

use plugwell_domain::stand_in::{Chain, PartName, StandIn, StandInData, chains};
use plugwell_store::{Session, StandInFilter, StoreError};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::{Refusal, Shop, new_id, now};

/// How many parts statements are followed to, from one.
const FOLLOWED_TO: usize = 200;

/// One statement.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<StandIn, Refusal> {
    shop.store
        .read(|s| s.stand_in(id)?.ok_or(Refusal::NotFound("statement")))
}

/// Statements in the order they were stored.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    filter: &StandInFilter,
    after: Option<Uuid>,
    limit: i64,
) -> Result<Vec<StandIn>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_stand_ins(filter, after, limit)?))
}

/// Stores a new statement; `recorded_by` is what the shop calls the token that it came with.
///
/// # Errors
/// `duplicate_record` where the same one has stated something of the two parts already.
pub fn create(shop: &Shop, data: &StandInData, recorded_by: &str) -> Result<StandIn, Refusal> {
    let stand_in = StandIn {
        id: new_id(),
        data: data.clone(),
        recorded_by: recorded_by.to_owned(),
        version: StandIn::VERSION,
        created_at: now(),
    };
    shop.write(|s| {
        s.insert_stand_in(&stand_in).map_err(|error| match error {
            StoreError::Duplicate { .. } => Refusal::conflict(
                Conflict::DuplicateRecord,
                format!(
                    "{} has stated something of {} and {} already; withdraw that to state it otherwise",
                    data.who, data.part, data.stands_in_for
                ),
            ),
            other => other.into(),
        })
    })?;
    Ok(stand_in)
}

/// Withdraws a statement.
///
/// # Errors
/// `NotFound`, `Stale`.
pub fn remove(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
) -> Result<(), Refusal> {
    shop.write(|s| {
        let stand_in = s.stand_in(id)?.ok_or(Refusal::NotFound("statement"))?;
        expected(stand_in.version)?;
        s.delete_stand_in(id)?;
        Ok(())
    })
}

/// Everything that statements say stands in for a part, nearest first.
pub(super) fn leading_from(session: &mut Session, name: &PartName) -> Result<Vec<Chain>, Refusal> {
    Ok(chains(name, FOLLOWED_TO, |part| {
        session.stand_ins_of(part)
    })?)
}
