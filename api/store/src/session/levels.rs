//! What each lot has in each place: the sum of its movements.

use diesel::deserialize;
use plugwell_domain::ledger::{Level, Movement, PlaceKind};
use uuid::Uuid;

use super::{Filtered, Session};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT plug_id, lot_id, place_id, quantity FROM levels";
/// A lot has one part: its levels lie together with the part's.
const PART_OF_LOT: &str = "(SELECT plug_id FROM lots WHERE id = ?)";

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

/// A level's lot and place: what a page of the list goes on behind.
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
    /// Plugs in the scrap drum.
    pub fn scrapped(&mut self) -> Result<i64, StoreError> {
        let sql =
            "SELECT CAST(COALESCE(SUM(quantity), 0) AS bigint) FROM levels WHERE place_kind = ?";
        self.one(sql, binds![PlaceKind::Scrap.word()])
    }

    /// Levels other than zero that a filter leaves, in the order of part, lot and place.
    pub fn list_levels(
        &mut self,
        filter: &LevelFilter,
        after: Option<LevelKey>,
        limit: i64,
    ) -> Result<Vec<Level>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("plug_id = ?", filter.plug_id);
        if let Some(lot_id) = filter.lot_id {
            query.and(&format!("plug_id = {PART_OF_LOT} AND lot_id = ?"), lot_id);
            query.binds.push(lot_id.into());
        }
        query.and_given("place_id = ?", filter.place_id);
        query.and_given("place_kind = ?", filter.kind.map(PlaceKind::word));
        if let Some((lot_id, place_id)) = after {
            let behind = format!("(plug_id, lot_id, place_id) > ({PART_OF_LOT}, ?, ?)");
            query.and(&behind, lot_id);
            query.binds.extend([lot_id.into(), place_id.into()]);
        }
        self.load_filtered(query.page("plug_id, lot_id, place_id", limit))
    }

    /// Books a movement on the two levels that it concerns, and leaves its running number on them.
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
            let sql = "UPDATE levels SET quantity = quantity + ?, version = ? WHERE plug_id = ? AND lot_id = ? AND place_id = ? \
                       RETURNING quantity";
            match self.first::<i64>(
                sql,
                binds![
                    change,
                    movement.sequence,
                    movement.plug_id,
                    movement.lot_id,
                    place_id
                ],
            )? {
                Some(0) => {
                    let sql =
                        "DELETE FROM levels WHERE plug_id = ? AND lot_id = ? AND place_id = ?";
                    self.execute(sql, binds![movement.plug_id, movement.lot_id, place_id])?;
                    continue;
                }
                Some(_) => continue,
                None => {}
            }
            let sql = "INSERT INTO levels (lot_id, place_id, plug_id, place_kind, quantity, version) \
                       SELECT ?, id, ?, kind, ?, ? FROM places WHERE id = ?";
            if self.execute(
                sql,
                binds![
                    movement.lot_id,
                    movement.plug_id,
                    change,
                    movement.sequence,
                    place_id
                ],
            )? != 1
            {
                return Err(StoreError::Fault(format!("there is no place {place_id}")));
            }
        }
        Ok(())
    }
}
