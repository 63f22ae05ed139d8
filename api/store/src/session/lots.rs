//! Lots.

use diesel::deserialize;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::{Condition, Lot, Money};
use uuid::Uuid;

use super::places::number_of;
use super::{Filtered, Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

pub(super) const COLUMNS: &str = "lots.id, lots.number, lots.plug_id, lots.supplier, lots.received_at, \
     lots.quantity_received, lots.cost_minor, lots.cost_currency, lots.pack_size, lots.condition, lots.gap_mm, \
     lots.from_lot_id, lots.order_line_id";

/// What a list of lots is narrowed by.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LotFilter {
    /// The part.
    pub plug_id: Option<Uuid>,
    /// The code on the label.
    pub code: Option<String>,
    /// The condition.
    pub condition: Option<Condition>,
}

impl Record for Lot {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            code: code(cells.int()?),
            plug_id: cells.id()?,
            supplier: cells.text()?,
            received_at: cells.time()?,
            quantity_received: cells.int()?,
            total_cost: cells
                .int_or_null()?
                .zip(cells.text_or_null()?)
                .map(|(minor, currency)| Money { minor, currency }),
            pack_size: cells.int_or_null()?,
            condition: cells.word()?,
            gap_mm: cells.int_or_null()?.map(Decimal),
            from_lot_id: cells.id_or_null()?,
            order_line_id: cells.id_or_null()?,
        })
    }
}

pub(super) fn code(number: i64) -> String {
    format!("L{number}")
}

impl Session {
    /// A lot.
    pub fn lot(&mut self, id: Uuid) -> Result<Option<Lot>, StoreError> {
        self.first(
            &format!("SELECT {COLUMNS} FROM lots WHERE id = ?"),
            binds![id],
        )
    }

    /// Lots by their ids, in any order.
    pub fn lots_by_id(&mut self, ids: &[Uuid]) -> Result<Vec<Lot>, StoreError> {
        let sql = format!("SELECT {COLUMNS} FROM lots WHERE id IN {}", self.listed());
        self.load(&sql, &[listing(ids)])
    }

    /// A lot by the code on its label.
    pub fn lot_by_code(&mut self, code: &str) -> Result<Option<Lot>, StoreError> {
        let Some(number) = number_of(code, 'L') else {
            return Ok(None);
        };
        self.first(
            &format!("SELECT {COLUMNS} FROM lots WHERE number = ?"),
            binds![number],
        )
    }

    /// Lots that a filter leaves, in the order of their ids.
    pub fn list_lots(
        &mut self,
        filter: &LotFilter,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Lot>, StoreError> {
        let mut query = Filtered::query(&format!("SELECT {COLUMNS} FROM lots"));
        query.and_given("plug_id = ?", filter.plug_id);
        // No lot has the number 0: a text that is no code finds nothing.
        query.and_given(
            "number = ?",
            filter
                .code
                .as_deref()
                .map(|code| number_of(code, 'L').unwrap_or(0)),
        );
        query.and_given("condition = ?", filter.condition.map(Condition::word));
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// The lots that came in for some lines of orders.
    pub fn lots_of_lines(&mut self, line_ids: &[Uuid]) -> Result<Vec<Uuid>, StoreError> {
        let sql = format!(
            "SELECT id FROM lots WHERE order_line_id IN {} ORDER BY number",
            self.listed()
        );
        self.load(&sql, &[listing(line_ids)])
    }

    /// A lot with everything that it descends from and that descends from it or from those, in the
    /// order of their codes; empty where there is no such lot.
    pub fn lot_family(&mut self, id: Uuid) -> Result<Vec<Lot>, StoreError> {
        let sql = format!(
            "WITH RECURSIVE above (id, from_lot_id) AS (SELECT id, from_lot_id FROM lots WHERE id = ? \
             UNION SELECT lots.id, lots.from_lot_id FROM lots JOIN above ON lots.id = above.from_lot_id), \
             family (id) AS (SELECT id FROM above WHERE from_lot_id IS NULL \
             UNION SELECT lots.id FROM lots JOIN family ON lots.from_lot_id = family.id) \
             SELECT {COLUMNS} FROM lots JOIN family ON lots.id = family.id ORDER BY lots.number"
        );
        self.load(&sql, binds![id])
    }

    /// Makes a lot; gives it back with its code.
    pub(super) fn insert_lot(&mut self, lot: &Lot) -> Result<Lot, StoreError> {
        let number = self.one(
            "INSERT INTO lots (id, plug_id, supplier, received_at, quantity_received, cost_minor, cost_currency, \
             pack_size, condition, gap_mm, from_lot_id, order_line_id) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) \
             RETURNING number",
            binds![
                lot.id,
                lot.plug_id,
                &lot.supplier,
                lot.received_at,
                lot.quantity_received,
                lot.total_cost.as_ref().map(|cost| cost.minor),
                lot.total_cost.as_ref().map(|cost| &cost.currency),
                lot.pack_size,
                lot.condition.word(),
                lot.gap_mm.map(|gap| gap.0),
                lot.from_lot_id,
                lot.order_line_id,
            ],
        )?;
        Ok(Lot {
            code: code(number),
            ..lot.clone()
        })
    }
}
