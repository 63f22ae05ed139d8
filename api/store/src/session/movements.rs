//! The ledger itself: written once, never changed.

use diesel::deserialize;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::{Movement, MovementKind};
use uuid::Uuid;

use super::{Filtered, Session, key};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

pub(super) const SELECT: &str = "SELECT id, sequence, kind, lot_id, plug_id, from_place_id, to_place_id, quantity, reason, note, \
     job, actor, reverses, created_at, answers, build_id, odometer_km, gap_mm, pair_id, dropped_by FROM movements";

/// What a list of movements is narrowed by.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MovementFilter {
    /// The part.
    pub plug_id: Option<Uuid>,
    /// The lot.
    pub lot_id: Option<Uuid>,
    /// Where from or where to.
    pub place_id: Option<Uuid>,
    /// What it did.
    pub kind: Option<MovementKind>,
    /// The job it belongs to, case-blind.
    pub job: Option<String>,
}

impl Record for Movement {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            sequence: cells.int()?,
            kind: cells.word()?,
            lot_id: cells.id()?,
            plug_id: cells.id()?,
            from_place_id: cells.id()?,
            to_place_id: cells.id()?,
            quantity: cells.int()?,
            reason: cells.text_or_null()?,
            note: cells.text_or_null()?,
            job: cells.text_or_null()?,
            actor: cells.text()?,
            reverses: cells.id_or_null()?,
            created_at: cells.time()?,
            answers: cells.id_or_null()?,
            build_id: cells.id_or_null()?,
            odometer_km: cells.int_or_null()?,
            gap_mm: cells.int_or_null()?.map(Decimal),
            pair_id: cells.id_or_null()?,
            dropped_by: cells.text_or_null()?,
        })
    }
}

impl MovementFilter {
    fn query(&self, after: i64) -> Filtered {
        let mut query = Filtered::query(SELECT);
        query.and_given("plug_id = ?", self.plug_id);
        query.and_given("lot_id = ?", self.lot_id);
        query.and_given("kind = ?", self.kind.map(MovementKind::word));
        query.and_given("job_key = ?", self.job.as_deref().map(key));
        query.and("sequence > ?", after);
        query
    }
}

impl Session {
    /// A movement.
    pub fn movement(&mut self, id: Uuid) -> Result<Option<Movement>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Movements that a filter leaves, in the order of their running numbers.
    pub fn list_movements(
        &mut self,
        filter: &MovementFilter,
        after: Option<i64>,
        limit: i64,
    ) -> Result<Vec<Movement>, StoreError> {
        let after = after.unwrap_or(0);
        let Some(place_id) = filter.place_id else {
            return self.load_filtered(filter.query(after).page("sequence", limit));
        };
        // Either end has its own index; a movement has two different ends, so none comes twice.
        let side = |column: &str| {
            let mut query = filter.query(after);
            query.and(&format!("{column} = ?"), place_id);
            query.page("sequence", limit)
        };
        let (from, to) = (side("from_place_id"), side("to_place_id"));
        let mut both = Filtered {
            sql: format!(
                "SELECT * FROM (SELECT * FROM ({}) AS a UNION ALL SELECT * FROM ({}) AS b) AS c",
                from.sql, to.sql
            ),
            binds: from.binds,
        };
        both.binds.extend(to.binds);
        self.load_filtered(both.page("sequence", limit))
    }

    /// What has come back of an issue: the quantities of the returns, or scrappings by return,
    /// that answer it, those left out that were put right since. Two movements of one act count
    /// once.
    pub fn returned_of(&mut self, movement_id: Uuid) -> Result<i64, StoreError> {
        let sql = "SELECT CAST(COALESCE(SUM(a.quantity), 0) AS bigint) FROM movements a \
                   JOIN movements issue ON issue.id = a.answers AND issue.to_place_id = a.from_place_id \
                   WHERE a.answers = ? AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses = a.id)";
        self.one(sql, binds![movement_id])
    }

    /// The movement that puts another right, if there is one.
    pub fn reversal_of(&mut self, movement_id: Uuid) -> Result<Option<Uuid>, StoreError> {
        self.first(
            "SELECT id FROM movements WHERE reverses = ?",
            binds![movement_id],
        )
    }

    /// The movements of one act that only make sense together.
    pub fn pair(&mut self, pair_id: Uuid) -> Result<Vec<Movement>, StoreError> {
        self.load(
            &format!("{SELECT} WHERE pair_id = ? ORDER BY sequence"),
            binds![pair_id],
        )
    }

    /// Writes a movement; gives it back with its running number.
    pub(super) fn insert_movement(&mut self, movement: &Movement) -> Result<Movement, StoreError> {
        let sequence = self.one(
            "INSERT INTO movements (id, kind, lot_id, plug_id, from_place_id, to_place_id, quantity, reason, note, \
             job, job_key, actor, reverses, created_at, answers, build_id, odometer_km, gap_mm, pair_id, dropped_by) \
             VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING sequence",
            binds![
                movement.id,
                movement.kind.word(),
                movement.lot_id,
                movement.plug_id,
                movement.from_place_id,
                movement.to_place_id,
                movement.quantity,
                movement.reason.as_deref(),
                movement.note.as_deref(),
                movement.job.as_deref(),
                movement.job.as_deref().map(key),
                &movement.actor,
                movement.reverses,
                movement.created_at,
                movement.answers,
                movement.build_id,
                movement.odometer_km,
                movement.gap_mm.map(|gap| gap.0),
                movement.pair_id,
                movement.dropped_by.as_deref(),
            ],
        )?;
        Ok(Movement {
            sequence,
            ..movement.clone()
        })
    }
}
