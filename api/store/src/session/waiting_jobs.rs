//! Jobs that wait for plugs.

use diesel::deserialize;
use plugwell_domain::event::Event;
use plugwell_domain::waiting::{Offered, WaitingJob, WaitingState};
use serde_json::Value;
use uuid::Uuid;

use super::heads::body;
use super::outbox::MarkKind;
use super::stored::Stored;
use super::{Filtered, Session, key, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT id, version, created_at, updated_at, body FROM waiting_jobs";
const IN_LINE: &str = "SELECT id, version, created_at, updated_at, body, offers FROM waiting_jobs \
                       WHERE state <> 'closed'";

/// What a list of waiting jobs is narrowed by.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct WaitingFilter {
    /// The job, case-blind.
    pub job: Option<String>,
    /// Where it stands; all that still wait where `None`.
    pub state: Option<WaitingState>,
}

/// One that still waits, with what could serve it whoever else waits.
#[derive(Debug, Clone, PartialEq)]
pub struct InLine {
    /// The job.
    pub job: Stored<WaitingJob>,
    /// Parts that meet it with enough of them to be had, best first.
    pub offers: Vec<Offered>,
}

impl Record for InLine {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            job: Stored::read(cells)?,
            offers: cells.json()?,
        })
    }
}

impl Session {
    /// A waiting job.
    pub fn waiting_job(&mut self, id: Uuid) -> Result<Option<Stored<WaitingJob>>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Waiting jobs that a filter leaves, in the order in which they asked.
    pub fn list_waiting_jobs(
        &mut self,
        filter: &WaitingFilter,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Stored<WaitingJob>>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("job_key = ?", filter.job.as_deref().map(key));
        match filter.state {
            Some(state) => query.and("state = ?", state.word()),
            None => query.and("state <> ?", WaitingState::Closed.word()),
        }
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// What of a job still waits, in the order in which it was asked.
    pub fn waiting_of_job(&mut self, job: &str) -> Result<Vec<Stored<WaitingJob>>, StoreError> {
        let sql = format!("{SELECT} WHERE job_key = ? AND state <> 'closed' ORDER BY id");
        self.load(&sql, binds![key(job)])
    }

    /// Whether any job waits.
    pub fn any_waiting(&mut self) -> Result<bool, StoreError> {
        let sql = "SELECT CAST(1 AS bigint) FROM waiting_jobs WHERE state <> 'closed' LIMIT 1";
        self.any(sql, &[])
    }

    /// Every job that waits, in the order in which they asked.
    pub fn waiting_line(&mut self) -> Result<Vec<InLine>, StoreError> {
        self.load(&format!("{IN_LINE} ORDER BY id"), &[])
    }

    /// Those of these jobs that wait, in the order in which they asked.
    pub fn in_line(&mut self, ids: &[Uuid]) -> Result<Vec<InLine>, StoreError> {
        let sql = format!("{IN_LINE} AND id IN {} ORDER BY id", self.listed());
        self.load(&sql, &[listing(ids)])
    }

    /// What waiting jobs need, as it was derived when they asked.
    pub fn needs_of_waiting(&mut self, ids: &[Uuid]) -> Result<Vec<(Uuid, Value)>, StoreError> {
        let sql = format!(
            "SELECT id, needs FROM waiting_jobs WHERE id IN {}",
            self.listed()
        );
        let found: Vec<(Uuid, String)> = self.load(&sql, &[listing(ids)])?;
        let read = |(id, needs): (Uuid, String)| match serde_json::from_str(&needs) {
            Ok(needs) => Ok((id, needs)),
            Err(e) => Err(StoreError::Fault(format!("needs of {id}: {e}"))),
        };
        found.into_iter().map(read).collect()
    }

    /// Stores a new waiting job and marks it.
    pub fn insert_waiting_job(
        &mut self,
        waiting: &Stored<WaitingJob>,
        needs: &Value,
    ) -> Result<(), StoreError> {
        let data = &waiting.data;
        self.execute(
            "INSERT INTO waiting_jobs (id, job_key, place_id, build_id, state, body, needs, offers, version, \
             created_at, updated_at) VALUES (?, ?, ?, ?, ?, ?, ?, '[]', ?, ?, ?)",
            binds![
                waiting.id,
                key(&data.job),
                data.place_id,
                data.build_id,
                data.state.word(),
                body(data)?,
                needs.to_string(),
                waiting.version,
                waiting.created_at,
                waiting.updated_at,
            ],
        )?;
        self.mark(MarkKind::WaitingJob, waiting.id).map(drop)
    }

    /// Stores a waiting job's new state, version already raised, over the one before it, and marks it.
    pub fn update_waiting_job(&mut self, waiting: &Stored<WaitingJob>) -> Result<(), StoreError> {
        self.write_over(
            "UPDATE waiting_jobs SET state = ?, body = ?, version = ?, updated_at = ? WHERE id = ? AND version = ?",
            binds![
                waiting.data.state.word(),
                body(&waiting.data)?,
                waiting.version,
                waiting.updated_at,
                waiting.id,
                waiting.version - 1,
            ],
        )?;
        self.mark(MarkKind::WaitingJob, waiting.id).map(drop)
    }

    /// Stores where a job stands in the line, over the version that it was found at, and tells of it;
    /// neither where it has changed or gone meanwhile. Not marked: whoever follows the marks writes this.
    pub fn stand_in_line(
        &mut self,
        place: &InLine,
        found: i64,
        told: Option<&Event>,
    ) -> Result<bool, StoreError> {
        let waiting = &place.job;
        let met = self.execute(
            "UPDATE waiting_jobs SET state = ?, body = ?, offers = ?, version = ?, updated_at = ? \
             WHERE id = ? AND version = ?",
            binds![
                waiting.data.state.word(),
                body(&waiting.data)?,
                body(&place.offers)?,
                waiting.version,
                waiting.updated_at,
                waiting.id,
                found,
            ],
        )?;
        if let Some(event) = told.filter(|_| met == 1) {
            self.tell(event)?;
        }
        Ok(met == 1)
    }

    /// Deletes a waiting job and marks that; whether there was one.
    pub fn delete_waiting_job(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let met = self.execute("DELETE FROM waiting_jobs WHERE id = ?", binds![id])?;
        if met > 0 {
            self.mark(MarkKind::WaitingJob, id)?;
        }
        Ok(met > 0)
    }
}
