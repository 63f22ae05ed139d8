//! What each lot has in each place: the sum of its movements.

use diesel::deserialize;
use plugwell_domain::ledger::{Level, Movement, PlaceKind};
use uuid::Uuid;

use super::{Filtered, Session};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT plug_id, lot_id, place_id, quantity FROM levels";

/// What a list of levels is narrowed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LevelFilter {
    /// The part.
    pub plug_id: Option<Uuid>,
    /// The lot.
    pub lot_id: Option<Uuid>,
    /// The place.
    pub place_id: Option<Uuid>,
    /// The kind of place.
    pub kind: Option<PlaceKind>,
}

/// A level's lot and place: the order of the list.
pub type LevelKey = (Uuid, Uuid);

impl Record for Level {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            plug_id: cells.id()?,
            lot_id: cells.id()?,
            place_id: cells.id()?,
            quantity: cells.int()?,
        })
    }
}

impl Session {
    /// Levels other than zero that a filter leaves, in the order of lot and place.
    pub fn list_levels(
        &mut self,
        filter: &LevelFilter,
        after: Option<LevelKey>,
        limit: i64,
    ) -> Result<Vec<Level>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("plug_id = ?", filter.plug_id);
        query.and_given("lot_id = ?", filter.lot_id);
        query.and_given("place_id = ?", filter.place_id);
        query.and_given("place_kind = ?", filter.kind.map(PlaceKind::word));
        if let Some((lot_id, place_id)) = after {
            query.and("(lot_id, place_id) > (?, ?)", lot_id);
            query.binds.push(place_id.into());
        }
        self.load_filtered(query.page("lot_id, place_id", limit))
    }

    /// Books a movement on the two levels that it concerns.
    ///
    /// # Errors
    /// A `Fault` where a bin, a job, quarantine or scrap would go below zero: the ledger's rules
    /// have asked the shelf before, so this is the last bar and not the answer to a caller.
    pub(super) fn book(&mut self, movement: &Movement) -> Result<(), StoreError> {
        let sides = [
            (movement.from_place_id, -movement.quantity),
            (movement.to_place_id, movement.quantity),
        ];
        for (place_id, change) in sides {
            let sql = "UPDATE levels SET quantity = quantity + ? WHERE lot_id = ? AND place_id = ? RETURNING quantity";
            match self.first::<i64>(sql, binds![change, movement.lot_id, place_id])? {
                Some(0) => {
                    let sql = "DELETE FROM levels WHERE lot_id = ? AND place_id = ?";
                    self.execute(sql, binds![movement.lot_id, place_id])?;
                    continue;
                }
                Some(_) => continue,
                None => {}
            }
            let sql = "INSERT INTO levels (lot_id, place_id, plug_id, place_kind, quantity) \
                       SELECT ?, id, ?, kind, ? FROM places WHERE id = ?";
            if self.execute(
                sql,
                binds![movement.lot_id, movement.plug_id, change, place_id],
            )? != 1
            {
                return Err(StoreError::Fault(format!("there is no place {place_id}")));
            }
        }
        Ok(())
    }
}
