//! What is in which engine, as far as issues tell: those made for a build that were not put right.

use std::collections::{BTreeSet, HashMap, HashSet};

use diesel::deserialize;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::fitted::{FittedSet, IssueForBuild, SetState, sets};
use uuid::Uuid;

use super::{Filtered, Session, key, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

/// Issues that are looked at in one go while a list is put together.
const AT_ONCE: i64 = 500;

/// What a list of fitted sets is narrowed by.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FittedSetFilter {
    /// The build.
    pub build_id: Option<Uuid>,
    /// The part.
    pub plug_id: Option<Uuid>,
    /// The job, case-blind.
    pub job: Option<String>,
    /// Where it stands.
    pub state: Option<SetState>,
}

impl Record for IssueForBuild {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            movement_id: cells.id()?,
            sequence: cells.int()?,
            created_at: cells.time()?,
            build_id: cells.id()?,
            job: cells.text()?,
            plug_id: cells.id()?,
            lot_id: cells.id()?,
            place_id: cells.id()?,
            quantity: cells.int()?,
            unused: cells.int()?,
            scrapped: cells.int()?,
            at_job: cells.int()?,
            odometer_km: cells.int_or_null()?,
            gap_mm: cells.int_or_null()?.map(Decimal),
        })
    }
}

impl Session {
    /// All sets that some builds have had, by build and the oldest first, with the issues that they
    /// are made of left in; in two queries.
    pub fn sets_of_builds(&mut self, build_ids: &[Uuid]) -> Result<Vec<FittedSet>, StoreError> {
        let issues = self.issues_for_builds(build_ids)?;
        let takes: HashMap<Uuid, i64> = self
            .builds_by_id(build_ids)?
            .into_iter()
            .map(|build| (build.id, build.data.engine.plugs()))
            .collect();
        let by_build = issues.chunk_by(|a, b| a.build_id == b.build_id);
        let made = by_build.flat_map(|own| {
            let takes = takes.get(&own[0].build_id).copied().unwrap_or(1);
            sets(own, takes)
        });
        Ok(made.collect())
    }

    /// The issues for some builds that stand, by build and in the order that they were made.
    pub fn issues_for_builds(
        &mut self,
        build_ids: &[Uuid],
    ) -> Result<Vec<IssueForBuild>, StoreError> {
        // Of a return in two movements only the one that leaves the job answers the issue.
        let answered = |kind: &str| {
            format!(
                "CAST(COALESCE((SELECT SUM(a.quantity) FROM movements a WHERE a.answers = m.id AND a.kind = '{kind}' \
                 AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses = a.id)), 0) AS bigint)"
            )
        };
        let sql = format!(
            "SELECT m.id, m.sequence, m.created_at, m.build_id, m.job, m.plug_id, m.lot_id, m.to_place_id, m.quantity, \
             {}, {}, COALESCE(l.quantity, 0), m.odometer_km, COALESCE(m.gap_mm, lots.gap_mm) \
             FROM movements m JOIN lots ON lots.id = m.lot_id LEFT JOIN levels l \
             ON l.plug_id = m.plug_id AND l.lot_id = m.lot_id AND l.place_id = m.to_place_id \
             WHERE m.build_id IN {} AND m.build_id IS NOT NULL AND m.kind = 'issue' \
             AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses = m.id) \
             ORDER BY m.build_id, m.sequence",
            answered("return"),
            answered("scrapping"),
            self.listed()
        );
        self.load(&sql, &[listing(build_ids)])
    }

    /// The builds that plugs were issued for, in the order of their ids.
    pub fn builds_with_issues(&mut self) -> Result<Vec<Uuid>, StoreError> {
        let sql =
            "SELECT DISTINCT build_id FROM movements WHERE build_id IS NOT NULL ORDER BY build_id";
        self.load(sql, &[])
    }

    /// Sets of some parts that are in an engine, the newest first.
    pub fn fitted_sets_of(&mut self, plug_ids: &[Uuid]) -> Result<Vec<FittedSet>, StoreError> {
        let sql = format!(
            "SELECT DISTINCT build_id FROM movements WHERE plug_id IN {} AND build_id IS NOT NULL",
            self.listed()
        );
        let builds: Vec<Uuid> = self.load(&sql, &[listing(plug_ids)])?;
        let mut sets = self.sets_of_builds(&builds)?;
        let wanted: HashSet<&Uuid> = plug_ids.iter().collect();
        sets.retain(|set| set.state == SetState::Fitted && wanted.contains(&set.plug_id));
        sets.sort_unstable_by_key(|set| -set.sequence);
        Ok(sets)
    }

    /// Sets that a filter leaves, the newest first; `before` is the running number of the last of the
    /// page before.
    pub fn list_fitted_sets(
        &mut self,
        filter: &FittedSetFilter,
        mut before: Option<i64>,
        limit: i64,
    ) -> Result<Vec<FittedSet>, StoreError> {
        let most = usize::try_from(limit).unwrap_or(usize::MAX);
        let mut found = Vec::new();
        while found.len() < most {
            let mut query = Filtered::query("SELECT sequence, build_id FROM movements");
            query.sql.push_str(" AND build_id IS NOT NULL");
            query.and_given("build_id = ?", filter.build_id);
            query.and_given("plug_id = ?", filter.plug_id);
            query.and_given("job_key = ?", filter.job.as_deref().map(key));
            query.and_given("sequence < ?", before);
            let issues: Vec<(i64, Uuid)> =
                self.load_filtered(query.page("sequence DESC", AT_ONCE))?;
            let builds: BTreeSet<Uuid> = issues.iter().map(|(_, build)| *build).collect();
            let mut sets = self.sets_of_builds(&Vec::from_iter(builds))?;
            // All issues of a set have one part and one job: if the first is among these, it is one of
            // theirs, and of no other round.
            let here: HashSet<i64> = issues.iter().map(|(sequence, _)| *sequence).collect();
            sets.retain(|set| {
                here.contains(&set.sequence) && filter.state.is_none_or(|state| state == set.state)
            });
            sets.sort_unstable_by_key(|set| -set.sequence);
            found.extend(sets);
            before = issues.last().map(|(sequence, _)| *sequence);
            if (issues.len() as i64) < AT_ONCE {
                break;
            }
        }
        found.truncate(most);
        Ok(found)
    }

    /// How many plugs of each of some issues have been read; those of which none was are left out.
    pub fn readings_of_each(
        &mut self,
        movement_ids: &[Uuid],
    ) -> Result<HashMap<Uuid, i64>, StoreError> {
        let sql = format!(
            "SELECT movement_id, COUNT(*) FROM readings WHERE movement_id IN {} GROUP BY movement_id",
            self.listed()
        );
        let counted: Vec<(Uuid, i64)> = self.load(&sql, &[listing(movement_ids)])?;
        Ok(counted.into_iter().collect())
    }

    /// One set by the first of its issues.
    pub fn fitted_set(&mut self, movement_id: Uuid) -> Result<Option<FittedSet>, StoreError> {
        let sql = "SELECT build_id FROM movements WHERE id = ? AND build_id IS NOT NULL";
        let Some(build) = self.first::<Uuid>(sql, binds![movement_id])? else {
            return Ok(None);
        };
        let sets = self.sets_of_builds(&[build])?;
        Ok(sets.into_iter().find(|set| set.movement_id == movement_id))
    }
}
