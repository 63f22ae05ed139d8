//! Plugs of a part kept for a job.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::ledger::{Reservation, ReservationState};
use uuid::Uuid;

use super::{Filtered, Session, key, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT id, plug_id, job, quantity, open_quantity, issued_quantity, build_id, \
     state, expires_at, version, created_at FROM reservations";

/// What a list of reservations is narrowed by.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReservationFilter {
    /// The part.
    pub plug_id: Option<Uuid>,
    /// The job, case-blind.
    pub job: Option<String>,
    /// Where it stands.
    pub state: Option<ReservationState>,
    /// Runs out at this instant or before.
    pub expires_by: Option<DateTime<Utc>>,
}

impl Record for Reservation {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            plug_id: cells.id()?,
            job: cells.text()?,
            quantity: cells.int()?,
            open_quantity: cells.int()?,
            issued_quantity: cells.int()?,
            build_id: cells.id_or_null()?,
            state: cells.word()?,
            expires_at: cells.time_or_null()?,
            version: cells.int()?,
            created_at: cells.time()?,
        })
    }
}

impl Session {
    /// A reservation.
    pub fn reservation(&mut self, id: Uuid) -> Result<Option<Reservation>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Reservations that a filter leaves, in the order of their ids.
    pub fn list_reservations(
        &mut self,
        filter: &ReservationFilter,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Reservation>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("plug_id = ?", filter.plug_id);
        query.and_given("job_key = ?", filter.job.as_deref().map(key));
        query.and_given("state = ?", filter.state.map(ReservationState::word));
        query.and_given("expires_at <= ?", filter.expires_by);
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// The reservations of a part that are not finished, in the order they were made.
    pub(super) fn waiting_reservations(
        &mut self,
        plug_id: Uuid,
    ) -> Result<Vec<Reservation>, StoreError> {
        let sql = format!(
            "{SELECT} WHERE plug_id = ? AND state IN ('open', 'short') ORDER BY created_at, id"
        );
        self.load(&sql, binds![plug_id])
    }

    /// The reservations for a job that are not finished, case-blind and in the order they were made.
    pub fn waiting_reservations_for(&mut self, job: &str) -> Result<Vec<Reservation>, StoreError> {
        let sql = format!(
            "{SELECT} WHERE job_key = ? AND state IN ('open', 'short') ORDER BY created_at, id"
        );
        self.load(&sql, binds![key(job)])
    }

    /// The parts of which a reservation has run out at an instant and nobody has written that down.
    pub fn parts_with_due_reservations(
        &mut self,
        now: DateTime<Utc>,
    ) -> Result<Vec<Uuid>, StoreError> {
        let sql = "SELECT DISTINCT plug_id FROM reservations \
                   WHERE state IN ('open', 'short') AND expires_at IS NOT NULL AND expires_at <= ?";
        self.load(sql, binds![now])
    }

    /// The reservations of several parts that are not finished, in the order they were made.
    pub fn waiting_reservations_of(
        &mut self,
        plug_ids: &[Uuid],
    ) -> Result<Vec<Reservation>, StoreError> {
        let sql = format!(
            "{SELECT} WHERE plug_id IN {} AND state IN ('open', 'short') ORDER BY created_at, id",
            self.listed()
        );
        self.load(&sql, &[listing(plug_ids)])
    }

    /// Stores a reservation, new or in its new state.
    pub(super) fn put_reservation(&mut self, reservation: &Reservation) -> Result<(), StoreError> {
        let sql = "INSERT INTO reservations \
                   (id, plug_id, job, job_key, quantity, open_quantity, issued_quantity, build_id, state, expires_at, \
                   version, created_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) \
                   ON CONFLICT (id) DO UPDATE SET open_quantity = excluded.open_quantity, \
                   issued_quantity = excluded.issued_quantity, state = excluded.state, \
                   expires_at = excluded.expires_at, version = excluded.version \
                   WHERE reservations.version = excluded.version - 1";
        self.write_over(
            sql,
            binds![
                reservation.id,
                reservation.plug_id,
                &reservation.job,
                key(&reservation.job),
                reservation.quantity,
                reservation.open_quantity,
                reservation.issued_quantity,
                reservation.build_id,
                reservation.state.word(),
                reservation.expires_at,
                reservation.version,
                reservation.created_at,
            ],
        )
    }
}
