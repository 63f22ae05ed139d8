//! What is in which engine, as far as issues tell: those made for a build, of which something is
//! still at the job.

use std::collections::HashMap;

use diesel::deserialize;
use plugwell_domain::ledger::FittedSet;
use uuid::Uuid;

use super::{Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};

/// An issue for a build that was not put right, with what has not come back of it and what the job
/// still has of its lot.
struct Issued {
    set: FittedSet,
    lot_id: Uuid,
    place_id: Uuid,
    there: i64,
}

impl Record for Issued {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            set: FittedSet {
                movement_id: cells.id()?,
                build_id: cells.id()?,
                job: cells.text()?,
                plug_id: cells.id()?,
                quantity: cells.int()?,
            },
            lot_id: cells.id()?,
            place_id: cells.id()?,
            there: cells.int()?,
        })
    }
}

impl Session {
    /// Sets of some parts that are in an engine, the newest first.
    ///
    /// What was scrapped from a job does not say which issue it came with: what is left is counted
    /// to the newest.
    pub fn fitted_sets_of(&mut self, plug_ids: &[Uuid]) -> Result<Vec<FittedSet>, StoreError> {
        let sql = format!(
            "SELECT m.id, m.build_id, m.job, m.plug_id, \
             CAST(m.quantity - COALESCE((SELECT SUM(a.quantity) FROM movements a \
             WHERE a.answers = m.id AND a.from_place_id = m.to_place_id \
             AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses = a.id)), 0) AS bigint), \
             m.lot_id, m.to_place_id, COALESCE(l.quantity, 0) \
             FROM movements m LEFT JOIN levels l \
             ON l.plug_id = m.plug_id AND l.lot_id = m.lot_id AND l.place_id = m.to_place_id \
             WHERE m.plug_id IN {} AND m.kind = 'issue' AND m.build_id IS NOT NULL \
             AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses = m.id) \
             ORDER BY m.sequence DESC",
            self.listed()
        );
        let issued: Vec<Issued> = self.load(&sql, &[listing(plug_ids)])?;
        let mut left: HashMap<(Uuid, Uuid), i64> = HashMap::new();
        let sets = issued.into_iter().filter_map(|issued| {
            let there = left
                .entry((issued.lot_id, issued.place_id))
                .or_insert(issued.there);
            let quantity = issued.set.quantity.min(*there);
            *there -= quantity;
            (quantity > 0).then_some(FittedSet {
                quantity,
                ..issued.set
            })
        });
        Ok(sets.collect())
    }
}
