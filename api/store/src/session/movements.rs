//! The ledger itself: written once, never changed.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::{Movement, MovementKind};
use uuid::Uuid;

use super::{Filtered, Session, key, listing};
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
    /// Who did it: the name of the token.
    pub actor: Option<String>,
    /// The build that an issue was for.
    pub build_id: Option<Uuid>,
    /// From this instant on.
    pub from: Option<DateTime<Utc>>,
    /// Before this instant.
    pub to: Option<DateTime<Utc>>,
    /// The newest first.
    pub newest: bool,
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
    fn query(&self, select: &str, after: Option<i64>) -> Filtered {
        let mut query = Filtered::query(select);
        query.and_given("plug_id = ?", self.plug_id);
        query.and_given("lot_id = ?", self.lot_id);
        query.and_given("kind = ?", self.kind.map(MovementKind::word));
        query.and_given("job_key = ?", self.job.as_deref().map(key));
        query.and_given("actor = ?", self.actor.as_deref());
        query.and_given("build_id = ?", self.build_id);
        // The sign keeps the index on time out of it: whatever else narrows the list leads to its
        // rows in the list's own order.
        query.and_given("+created_at >= ?", self.from);
        query.and_given("+created_at < ?", self.to);
        let behind = if self.newest {
            "sequence < ?"
        } else {
            "sequence > ?"
        };
        query.and_given(behind, after);
        query
    }

    fn order(&self) -> &'static str {
        if self.newest {
            "sequence DESC"
        } else {
            "sequence"
        }
    }

    /// Whether nothing but time tells where to look, and perhaps what is half of all movements.
    fn is_a_stretch(&self) -> bool {
        let narrow = [self.plug_id, self.lot_id, self.place_id, self.build_id];
        (self.from.is_some() || self.to.is_some())
            && narrow.iter().all(Option::is_none)
            && self.job.is_none()
    }

    /// One statement for a page.
    fn page(&self, after: Option<i64>, within: Option<(i64, i64)>, limit: i64) -> Filtered {
        let filtered = |select: &str| {
            let mut query = self.query(select, after);
            if let Some((first, last)) = within {
                query.and("sequence >= ?", first);
                query.and("sequence <= ?", last);
            }
            query
        };
        let Some(place_id) = self.place_id else {
            return filtered(SELECT).page(self.order(), limit);
        };
        // Either end has its own index; a movement has two different ends, so none comes twice.
        let side = |column: &str| {
            let mut query = filtered(SELECT);
            query.and(&format!("{column} = ?"), place_id);
            query.page(self.order(), limit)
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
        both.page(self.order(), limit)
    }
}

impl Session {
    /// A movement.
    pub fn movement(&mut self, id: Uuid) -> Result<Option<Movement>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Movements that a filter leaves, by their running numbers; `after` is the last of the page
    /// before.
    pub fn list_movements(
        &mut self,
        filter: &MovementFilter,
        after: Option<i64>,
        limit: i64,
    ) -> Result<Vec<Movement>, StoreError> {
        if !filter.is_a_stretch() {
            return self.load_filtered(filter.page(after, None, limit));
        }
        match self.numbers_between(filter)? {
            Some(within) => self.load_filtered(filter.page(after, Some(within), limit)),
            None => Ok(Vec::new()),
        }
    }

    /// The least and the greatest running number of a stretch of time: numbers follow the clock
    /// closely but not to the letter, so that the ends of the stretch do not tell them. Read from
    /// the index on time alone.
    fn numbers_between(
        &mut self,
        filter: &MovementFilter,
    ) -> Result<Option<(i64, i64)>, StoreError> {
        let mut query = Filtered::query("SELECT MIN(sequence), MAX(sequence) FROM movements");
        query.and_given("created_at >= ?", filter.from);
        query.and_given("created_at < ?", filter.to);
        let found: Vec<(Option<i64>, Option<i64>)> = self.load_filtered(query)?;
        Ok(found.into_iter().next().and_then(|(min, max)| min.zip(max)))
    }

    /// Every movement of some lots, by their running numbers.
    pub fn movements_of_lots(&mut self, lot_ids: &[Uuid]) -> Result<Vec<Movement>, StoreError> {
        let sql = format!(
            "{SELECT} WHERE lot_id IN {} ORDER BY sequence",
            self.listed()
        );
        self.load(&sql, &[listing(lot_ids)])
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statement::Bind;
    use crate::{Options, Store, Target};

    /// What SQLite looks movements up by.
    fn plan(store: &Store, filter: &MovementFilter) -> Vec<String> {
        let within = filter.is_a_stretch().then_some((1, 1_000));
        let page = filter.page(Some(7), within, 50);
        let steps: Vec<(i64, i64, i64, String)> = store
            .read(|s| s.load(&format!("EXPLAIN QUERY PLAN {}", page.sql), &page.binds))
            .expect("a plan");
        steps.into_iter().map(|(.., step)| step).collect()
    }

    /// Each filter with what SQLite has to look it up by.
    fn cases() -> Vec<(MovementFilter, &'static str)> {
        let all = MovementFilter::default;
        let narrowed = |narrow: &dyn Fn(&mut MovementFilter)| {
            let mut filter = all();
            narrow(&mut filter);
            filter
        };
        let id = Some(Uuid::nil());
        let at = DateTime::from_timestamp_micros(5);
        let within = |filter: &mut MovementFilter| (filter.from, filter.to) = (at, at);
        vec![
            (narrowed(&|f| f.plug_id = id), "movements_plug"),
            (narrowed(&|f| f.lot_id = id), "movements_lot"),
            (
                narrowed(&|f| f.kind = Some(MovementKind::Issue)),
                "movements_kind",
            ),
            (narrowed(&|f| f.job = Some("J".into())), "movements_job"),
            (
                narrowed(&|f| f.actor = Some("Ann".into())),
                "movements_actor",
            ),
            (narrowed(&|f| f.build_id = id), "movements_build"),
            (
                narrowed(&|f| {
                    f.plug_id = id;
                    within(f);
                }),
                "movements_plug",
            ),
            (narrowed(&within), "INTEGER PRIMARY KEY"),
            (all(), "INTEGER PRIMARY KEY"),
        ]
    }

    #[test]
    fn every_filter_has_its_index_and_none_sorts_or_scans_all() {
        let folder = tempfile::tempdir().expect("a folder");
        let target = Target::Sqlite(folder.path().join("shop.db"));
        let store = Store::open(&target, &Options::default()).expect("a store");
        for (mut filter, index) in cases() {
            for newest in [false, true] {
                filter.newest = newest;
                let steps = plan(&store, &filter);
                let found = steps
                    .iter()
                    .all(|step| step.starts_with("SEARCH") && step.contains(index));
                assert!(found && steps.len() == 1, "{filter:?}: {steps:?}");
            }
        }
        let place = MovementFilter {
            place_id: Some(Uuid::nil()),
            ..MovementFilter::default()
        };
        let steps = plan(&store, &place);
        for index in ["movements_from", "movements_to"] {
            assert!(steps.iter().any(|step| step.contains(index)), "{steps:?}");
        }
        let between: Vec<(i64, i64, i64, String)> = store
            .read(|s| {
                let sql = "EXPLAIN QUERY PLAN SELECT MIN(sequence), MAX(sequence) FROM movements \
                           WHERE 1 = 1 AND created_at >= ? AND created_at < ?";
                s.load(sql, &[Bind::from(1), Bind::from(2)])
            })
            .expect("a plan");
        let covered = between[0].3.contains("COVERING INDEX movements_created");
        assert!(covered, "{between:?}");
    }
}
