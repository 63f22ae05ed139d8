//! Incoming checks: what was measured of a lot, and what became of it.

use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::incoming::{CheckState, KeptCheck};
use uuid::Uuid;

use super::heads::body;
use super::outbox::MarkKind;
use super::stored::Stored;
use super::{Filtered, Session, listing};
use crate::error::StoreError;
use crate::statement::binds;

const SELECT: &str = "SELECT id, version, created_at, updated_at, body FROM incoming_checks";

/// What a list of incoming checks is narrowed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct IncomingFilter {
    /// Where they stand.
    pub state: Option<CheckState>,
    /// The lot.
    pub lot_id: Option<Uuid>,
}

impl Session {
    /// An incoming check.
    pub fn incoming_check(&mut self, id: Uuid) -> Result<Option<Stored<KeptCheck>>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Incoming checks that a filter leaves, the newest first; `before` is the last of the page before.
    pub fn list_incoming_checks(
        &mut self,
        filter: &IncomingFilter,
        before: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Stored<KeptCheck>>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("state = ?", filter.state.map(CheckState::word));
        query.and_given("lot_id = ?", filter.lot_id);
        query.and_given("id < ?", before);
        self.load_filtered(query.page("id DESC", limit))
    }

    /// The incoming checks of some lots that wait for a decision, the newest first.
    pub fn waiting_checks_of(
        &mut self,
        lot_ids: &[Uuid],
    ) -> Result<Vec<Stored<KeptCheck>>, StoreError> {
        let sql = format!(
            "{SELECT} WHERE lot_id IN {} AND state = ? ORDER BY id DESC",
            self.listed()
        );
        self.load(&sql, &[listing(lot_ids), CheckState::Waiting.word().into()])
    }

    /// Stores a new incoming check and marks it.
    pub fn insert_incoming_check(&mut self, check: &Stored<KeptCheck>) -> Result<(), StoreError> {
        self.execute(
            "INSERT INTO incoming_checks (id, lot_id, state, body, version, created_at, updated_at) \
             VALUES (?, ?, ?, ?, ?, ?, ?)",
            binds![
                check.id,
                check.data.asked.lot_id,
                check.data.state.word(),
                body(&check.data)?,
                check.version,
                check.created_at,
                check.updated_at,
            ],
        )?;
        self.mark(MarkKind::IncomingCheck, check.id)?;
        self.tell(&Event::of(
            EventKind::IncomingCheckRecorded,
            check.id,
            check.version,
            check,
        ))
    }

    /// Stores an incoming check's new state, version already raised, over the one before it, and marks
    /// it. The lot stays.
    pub fn update_incoming_check(&mut self, check: &Stored<KeptCheck>) -> Result<(), StoreError> {
        self.write_over(
            "UPDATE incoming_checks SET state = ?, body = ?, version = ?, updated_at = ? WHERE id = ? AND version = ?",
            binds![
                check.data.state.word(),
                body(&check.data)?,
                check.version,
                check.updated_at,
                check.id,
                check.version - 1,
            ],
        )?;
        self.mark(MarkKind::IncomingCheck, check.id)?;
        self.tell(&Event::of(
            EventKind::IncomingCheckDecided,
            check.id,
            check.version,
            check,
        ))
    }

    /// The movement that brought a lot in; `None` for a lot that descends from another.
    pub fn receipt_of(
        &mut self,
        lot_id: Uuid,
    ) -> Result<Option<plugwell_domain::ledger::Movement>, StoreError> {
        let sql = format!(
            "{} WHERE lot_id = ? AND kind = 'receipt' ORDER BY sequence LIMIT 1",
            super::movements::SELECT
        );
        self.first(&sql, binds![lot_id])
    }
}
