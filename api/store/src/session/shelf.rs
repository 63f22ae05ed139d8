//! The stock of one part as the ledger's rules see it, and what they decided, written.

use std::collections::HashMap;

use diesel::deserialize;
use plugwell_domain::decimal::{Decimal, Length};
use plugwell_domain::event::{Event, EventKind, besides};
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::ledger::{
    Condition, Holding, Lot, Movement, MovementKind, PlaceKind, Plan, Shelf,
};
use uuid::Uuid;

use super::lots::COLUMNS as LOT_COLUMNS;
use super::outbox::MarkKind;
use super::plugs::ordinal;
use super::{Link, Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

/// A plan as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Applied {
    /// The movements, with their running numbers.
    pub movements: Vec<Movement>,
    /// The lots that were made, with their codes.
    pub lots: Vec<Lot>,
    /// The version of the part's stock from now on.
    pub stock_version: i64,
    /// The position of the mark in the outbox.
    pub position: i64,
}

impl Record for Holding {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            lot_id: cells.id()?,
            place_id: cells.id()?,
            place_kind: cells.word()?,
            place_number: cells.int()?,
            quantity: cells.int()?,
        })
    }
}

/// What one lot has in bins.
struct LotInBins {
    ordinal: i64,
    condition: Condition,
    gap_mm: Option<Length>,
    quantity: i64,
}

impl Record for LotInBins {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            ordinal: cells.int()?,
            condition: cells.word()?,
            gap_mm: cells.int_or_null()?.map(Decimal),
            quantity: cells.int()?,
        })
    }
}

const HOLDINGS: &str = "SELECT l.lot_id, l.place_id, l.place_kind, p.number, l.quantity \
     FROM levels l JOIN places p ON p.id = l.place_id";

impl Session {
    /// The shelf of a part: what its lots have in all bins, in quarantine and in the places named
    /// besides, and its open and short reservations.
    ///
    /// In a write nobody else can move the part's stock until the commit. A part that there is
    /// not has an empty shelf.
    pub fn shelf(&mut self, plug_id: Uuid, also: &[Uuid]) -> Result<Shelf, StoreError> {
        if self.writing && matches!(self.link, Link::Postgres(_)) {
            // Keeps out other movements of the part, not rows that merely point to it.
            let sql = "SELECT ordinal FROM plugs WHERE id = ? FOR NO KEY UPDATE";
            self.first::<i64>(sql, binds![plug_id])?;
        }
        let mut holdings: Vec<Holding> = self.load(
            &format!("{HOLDINGS} WHERE l.plug_id = ? AND l.place_kind IN ('bin', 'quarantine')"),
            binds![plug_id],
        )?;
        if !also.is_empty() {
            let sql = format!(
                "{HOLDINGS} WHERE l.plug_id = ? AND l.place_kind NOT IN ('bin', 'quarantine') AND l.place_id IN {}",
                self.listed()
            );
            holdings.extend(self.load::<Holding>(&sql, &[plug_id.into(), listing(also)])?);
        }
        holdings.sort_unstable_by_key(|h| (h.lot_id, h.place_number));
        let mut lot_ids: Vec<Uuid> = holdings.iter().map(|h| h.lot_id).collect();
        lot_ids.dedup();
        let lots = if lot_ids.is_empty() {
            Vec::new()
        } else {
            let sql = format!(
                "SELECT {LOT_COLUMNS} FROM lots WHERE id IN {} ORDER BY number",
                self.listed()
            );
            self.load(&sql, &[listing(&lot_ids)])?
        };
        Ok(Shelf {
            lots,
            holdings,
            reservations: self.waiting_reservations(plug_id)?,
        })
    }

    /// The shelves of several parts, without what is not in bins and without locks: for a look at
    /// what could be had. Parts without anything in bins have an empty shelf.
    pub fn shelves_in_bins(
        &mut self,
        plug_ids: &[Uuid],
    ) -> Result<HashMap<Uuid, Shelf>, StoreError> {
        let mut shelves: HashMap<Uuid, Shelf> =
            plug_ids.iter().map(|id| (*id, Shelf::default())).collect();
        let sql = format!(
            "SELECT {LOT_COLUMNS} FROM lots WHERE plug_id IN {list} AND id IN \
             (SELECT lot_id FROM levels WHERE place_kind = 'bin' AND plug_id IN {list}) ORDER BY number",
            list = self.listed()
        );
        let mut part_of = HashMap::new();
        for lot in self.load::<Lot>(&sql, &[listing(plug_ids), listing(plug_ids)])? {
            part_of.insert(lot.id, lot.plug_id);
            shelves.entry(lot.plug_id).or_default().lots.push(lot);
        }
        let sql = format!(
            "{HOLDINGS} WHERE l.place_kind = 'bin' AND l.plug_id IN {} ORDER BY l.lot_id, p.number",
            self.listed()
        );
        for holding in self.load::<Holding>(&sql, &[listing(plug_ids)])? {
            if let Some(shelf) = part_of
                .get(&holding.lot_id)
                .and_then(|part| shelves.get_mut(part))
            {
                shelf.holdings.push(holding);
            }
        }
        for reservation in self.waiting_reservations_of(plug_ids)? {
            if let Some(shelf) = shelves.get_mut(&reservation.plug_id) {
                shelf.reservations.push(reservation);
            }
        }
        Ok(shelves)
    }

    /// Writes what the ledger's rules decided for one part: lots, movements, levels,
    /// reservations; raises the version of its stock and marks it.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::Reversal`](crate::Key::Reversal) where a movement is put right a
    /// second time; a `Fault` where a level would go below zero that must not.
    pub fn apply(&mut self, plug_id: Uuid, plan: &Plan) -> Result<Applied, StoreError> {
        // First, so that the row is locked even where nobody looked at the shelf before.
        let raised = "UPDATE plugs SET stock_version = stock_version + 1 WHERE id = ? RETURNING stock_version";
        let Some(stock_version) = self.first(raised, binds![plug_id])? else {
            return Err(StoreError::Fault(format!("there is no part {plug_id}")));
        };
        let mut lots = Vec::with_capacity(plan.new_lots.len());
        for lot in &plan.new_lots {
            lots.push(self.insert_lot(lot)?);
        }
        let mut movements = Vec::with_capacity(plan.movements.len());
        for movement in &plan.movements {
            let numbered = self.insert_movement(movement)?;
            self.book(&numbered)?;
            movements.push(numbered);
        }
        for reservation in &plan.reservations {
            self.put_reservation(reservation)?;
        }
        let position = self.mark(MarkKind::Stock, plug_id)?;
        self.tell_of(&movements, stock_version, plan)?;
        Ok(Applied {
            movements,
            lots,
            stock_version,
            position,
        })
    }

    fn tell_of(
        &mut self,
        movements: &[Movement],
        stock_version: i64,
        plan: &Plan,
    ) -> Result<(), StoreError> {
        let mut told = Vec::with_capacity(movements.len() + plan.reservations.len());
        for movement in movements {
            let kind = EventKind::MovementBooked;
            told.push(Event::movement(kind, movement, stock_version));
            // No other kind of movement goes to quarantine, or comes out of it or of the scrap drum.
            if let MovementKind::Transfer | MovementKind::Reversal = movement.kind
                && let Some((from, to)) = self.kinds_of_places(movement)?
                && let Some(kind) = besides(movement.kind, from, to)
            {
                told.push(Event::movement(kind, movement, stock_version));
            }
        }
        told.extend(plan.reservations.iter().map(Event::reservation));
        self.tell_all(&told)
    }

    fn kinds_of_places(
        &mut self,
        movement: &Movement,
    ) -> Result<Option<(PlaceKind, PlaceKind)>, StoreError> {
        let sql = "SELECT a.kind, b.kind FROM places a JOIN places b ON b.id = ? WHERE a.id = ?";
        self.first(sql, binds![movement.to_place_id, movement.from_place_id])
    }

    /// The stock of a part as a match sees it, with the part's running number and the version of
    /// its stock; `None` where there is no such part.
    pub fn on_shelf(&mut self, plug_id: Uuid) -> Result<Option<(u32, i64, OnShelf)>, StoreError> {
        let sql = "SELECT ordinal, stock_version FROM plugs WHERE id = ?";
        let Some((number, version)) = self.first::<(i64, i64)>(sql, binds![plug_id])? else {
            return Ok(None);
        };
        let shelf = self.shelf(plug_id, &[])?;
        Ok(Some((ordinal(number)?, version, OnShelf::of(&shelf))))
    }

    /// The stock of every part that ever had any, as a match sees it; in three queries.
    pub fn all_on_shelf(&mut self) -> Result<Vec<(u32, i64, OnShelf)>, StoreError> {
        let sql =
            "SELECT ordinal, stock_version FROM plugs WHERE stock_version > 0 ORDER BY ordinal";
        let versions: Vec<(i64, i64)> = self.load(sql, &[])?;
        let sql = "SELECT p.ordinal, lots.condition, lots.gap_mm, s.quantity FROM \
                   (SELECT plug_id, lot_id, CAST(SUM(quantity) AS bigint) AS quantity FROM levels \
                   WHERE place_kind = 'bin' GROUP BY plug_id, lot_id) AS s \
                   JOIN plugs p ON p.id = s.plug_id JOIN lots ON lots.id = s.lot_id";
        let mut shelves: HashMap<i64, OnShelf> = HashMap::new();
        for lot in self.load::<LotInBins>(sql, &[])? {
            lot.put_on(shelves.entry(lot.ordinal).or_default());
        }
        let sql = "SELECT p.ordinal, CAST(SUM(r.open_quantity) AS bigint) FROM reservations r \
                   JOIN plugs p ON p.id = r.plug_id WHERE r.state IN ('open', 'short') GROUP BY p.ordinal";
        for (number, reserved) in self.load::<(i64, i64)>(sql, &[])? {
            shelves.entry(number).or_default().reserved = reserved;
        }
        let mut all = Vec::with_capacity(versions.len());
        for (number, version) in versions {
            let mut on_shelf = shelves.remove(&number).unwrap_or_default();
            on_shelf.gapped.sort_unstable();
            all.push((ordinal(number)?, version, on_shelf));
        }
        Ok(all)
    }
}

impl LotInBins {
    /// The same sum that [`OnShelf::of`] makes lot by lot; a test holds the two together.
    fn put_on(&self, shelf: &mut OnShelf) {
        match (self.condition, self.gap_mm) {
            (Condition::Gapped, Some(gap)) => shelf.gapped.push((gap, self.quantity)),
            (Condition::Gapped, None) => {}
            (Condition::Sealed, _) => {
                shelf.sealed += self.quantity;
                shelf.largest_sealed_lot = shelf.largest_sealed_lot.max(self.quantity);
            }
        }
    }
}
