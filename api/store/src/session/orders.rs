//! Purchase orders with their lines, what of them is still to come, and how long they took.

use std::collections::{HashMap, HashSet};

use chrono::{DateTime, NaiveDate, Utc};
use diesel::deserialize;
use plugwell_domain::event::Event;
use plugwell_domain::ledger::Money;
use plugwell_domain::order::{LeadTime, Order, OrderLine, OrderState};
use uuid::Uuid;

use super::outbox::MarkKind;
use super::places::number_of;
use super::{Filtered, Link, Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT orders.id, orders.number, places.name, orders.supplier_id, orders.state, \
     orders.expected_on, orders.reference, orders.note, orders.sent_at, orders.closed_at, orders.version, \
     orders.created_at, orders.updated_at FROM orders JOIN places ON places.id = orders.supplier_id";
/// What a supplier has been asked for and has not delivered.
const WAITING: &str = "o.state IN ('sent', 'partly_in') AND l.quantity > l.received";

/// What a list of orders is narrowed by.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OrderFilter {
    /// Where they stand.
    pub state: Option<OrderState>,
    /// Who they go to.
    pub supplier_id: Option<Uuid>,
    /// A part that one of their lines asks for.
    pub plug_id: Option<Uuid>,
    /// The code on the printed order.
    pub code: Option<String>,
}

/// Plugs of a part that are still to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OnOrder {
    /// The part.
    pub plug_id: Uuid,
    /// Plugs ordered and not yet in.
    pub quantity: i64,
}

/// A line of an order that a delivery of its part can be for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenLine {
    /// The order.
    pub order_id: Uuid,
    /// Its code.
    pub order_code: String,
    /// The line.
    pub order_line_id: Uuid,
    /// Who delivers.
    pub supplier: String,
    /// When.
    pub expected_on: Option<NaiveDate>,
    /// Plugs still to come.
    pub missing: i64,
}

/// A line with the order that it belongs to.
struct OfOrder(Uuid, OrderLine);

impl Record for Order {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            code: code(cells.int()?),
            supplier: cells.text()?,
            supplier_id: cells.id()?,
            state: cells.word()?,
            expected_on: day(cells)?,
            reference: cells.text_or_null()?,
            note: cells.text_or_null()?,
            lines: Vec::new(),
            sent_at: cells.time_or_null()?,
            closed_at: cells.time_or_null()?,
            version: cells.int()?,
            created_at: cells.time()?,
            updated_at: cells.time()?,
        })
    }
}

impl Record for OfOrder {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        let order_id = cells.id()?;
        let line = OrderLine {
            id: cells.id()?,
            plug_id: cells.id()?,
            quantity: cells.int()?,
            total_cost: cells
                .int_or_null()?
                .zip(cells.text_or_null()?)
                .map(|(minor, currency)| Money { minor, currency }),
            pack_size: cells.int_or_null()?,
            received: 0,
            missing: 0,
            too_many: 0,
        };
        Ok(Self(order_id, line.with_received(cells.int()?)))
    }
}

impl Record for OnOrder {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            plug_id: cells.id()?,
            quantity: cells.int()?,
        })
    }
}

impl Record for OpenLine {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            order_id: cells.id()?,
            order_code: code(cells.int()?),
            order_line_id: cells.id()?,
            supplier: cells.text()?,
            expected_on: day(cells)?,
            missing: cells.int()?,
        })
    }
}

impl Record for LeadTime {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            order_id: cells.id()?,
            sent_at: cells.time()?,
            received_at: cells.time()?,
        })
    }
}

fn code(number: i64) -> String {
    format!("O{number}")
}

fn day(cells: &mut impl Cells) -> deserialize::Result<Option<NaiveDate>> {
    Ok(cells.text_or_null()?.map(|text| text.parse()).transpose()?)
}

fn written(day: Option<NaiveDate>) -> Option<String> {
    day.map(|day| day.format("%Y-%m-%d").to_string())
}

impl Session {
    /// An order.
    pub fn order(&mut self, id: Uuid) -> Result<Option<Order>, StoreError> {
        let found = self.load(&format!("{SELECT} WHERE orders.id = ?"), binds![id])?;
        Ok(self.with_lines(found)?.pop())
    }

    /// An order that nobody else changes, or receives for, until the commit. Taken before any part is
    /// locked.
    pub fn order_locked(&mut self, id: Uuid) -> Result<Option<Order>, StoreError> {
        if matches!(self.link, Link::Postgres(_)) {
            // Keeps out other changes of the order, not lines that merely point to it.
            let sql = "SELECT number FROM orders WHERE id = ? FOR NO KEY UPDATE";
            self.first::<i64>(sql, binds![id])?;
        }
        self.order(id)
    }

    /// The order with the code on its printed form.
    pub fn order_by_code(&mut self, code: &str) -> Result<Option<Uuid>, StoreError> {
        let Some(number) = number_of(code, 'O') else {
            return Ok(None);
        };
        self.first("SELECT id FROM orders WHERE number = ?", binds![number])
    }

    /// The order that a line belongs to.
    pub fn order_of_line(&mut self, line_id: Uuid) -> Result<Option<Uuid>, StoreError> {
        self.first(
            "SELECT order_id FROM order_lines WHERE id = ?",
            binds![line_id],
        )
    }

    /// Orders that a filter leaves, the newest first; `before` is the last of the page before.
    pub fn list_orders(
        &mut self,
        filter: &OrderFilter,
        before: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Order>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("orders.state = ?", filter.state.map(OrderState::word));
        query.and_given("orders.supplier_id = ?", filter.supplier_id);
        query.and_given(
            "orders.id IN (SELECT order_id FROM order_lines WHERE plug_id = ?)",
            filter.plug_id,
        );
        // No order has the number 0: a text that is no code finds nothing.
        query.and_given(
            "orders.number = ?",
            filter
                .code
                .as_deref()
                .map(|code| number_of(code, 'O').unwrap_or(0)),
        );
        query.and_given("orders.id < ?", before);
        let found = self.load_filtered(query.page("orders.id DESC", limit))?;
        self.with_lines(found)
    }

    fn with_lines(&mut self, mut orders: Vec<Order>) -> Result<Vec<Order>, StoreError> {
        let ids: Vec<Uuid> = orders.iter().map(|order| order.id).collect();
        let sql = format!(
            "SELECT order_id, id, plug_id, quantity, cost_minor, cost_currency, pack_size, received \
             FROM order_lines WHERE order_id IN {} ORDER BY order_id, position",
            self.listed()
        );
        let mut lines: HashMap<Uuid, Vec<OrderLine>> = HashMap::new();
        for OfOrder(order_id, line) in self.load(&sql, &[listing(&ids)])? {
            lines.entry(order_id).or_default().push(line);
        }
        for order in &mut orders {
            order.lines = lines.remove(&order.id).unwrap_or_default();
        }
        Ok(orders)
    }

    /// Stores a new order and marks it; gives it back with its code.
    pub fn insert_order(&mut self, order: &Order) -> Result<Order, StoreError> {
        let number = self.one(
            "INSERT INTO orders (id, supplier_id, state, expected_on, reference, note, sent_at, closed_at, version, \
             created_at, updated_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING number",
            binds![
                order.id,
                order.supplier_id,
                order.state.word(),
                written(order.expected_on),
                order.reference.as_deref(),
                order.note.as_deref(),
                order.sent_at,
                order.closed_at,
                order.version,
                order.created_at,
                order.updated_at,
            ],
        )?;
        for (position, line) in order.lines.iter().enumerate() {
            self.insert_line(order.id, position, line)?;
        }
        self.mark(MarkKind::Order, order.id)?;
        let order = Order {
            code: code(number),
            ..order.clone()
        };
        self.tell_all(&Event::order(&order, None))?;
        Ok(order)
    }

    fn insert_line(
        &mut self,
        order_id: Uuid,
        position: usize,
        line: &OrderLine,
    ) -> Result<(), StoreError> {
        let sql = "INSERT INTO order_lines (id, order_id, position, plug_id, quantity, cost_minor, cost_currency, \
                   pack_size, received) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)";
        let values = binds![
            line.id,
            order_id,
            position as i64,
            line.plug_id,
            line.quantity,
            line.total_cost.as_ref().map(|cost| cost.minor),
            line.total_cost.as_ref().map(|cost| &cost.currency),
            line.pack_size,
            line.received,
        ];
        self.execute(sql, values).map(drop)
    }

    /// Stores an order's new state, version already raised, over the one before it, and marks it.
    /// Lines that lots point to stay; the rules see to it that no others are missing.
    pub fn update_order(&mut self, order: &Order) -> Result<(), StoreError> {
        let before = self.stood(order.id)?;
        self.write_over(
            "UPDATE orders SET supplier_id = ?, state = ?, expected_on = ?, reference = ?, note = ?, sent_at = ?, \
             closed_at = ?, version = ?, updated_at = ? WHERE id = ? AND version = ?",
            binds![
                order.supplier_id,
                order.state.word(),
                written(order.expected_on),
                order.reference.as_deref(),
                order.note.as_deref(),
                order.sent_at,
                order.closed_at,
                order.version,
                order.updated_at,
                order.id,
                order.version - 1,
            ],
        )?;
        let stay: Vec<Uuid> = order.lines.iter().map(|line| line.id).collect();
        let sql = format!(
            "DELETE FROM order_lines WHERE order_id = ? AND id NOT IN {}",
            self.listed()
        );
        self.execute(&sql, &[order.id.into(), listing(&stay)])?;
        for (position, line) in order.lines.iter().enumerate() {
            let sql = "UPDATE order_lines SET position = ?, plug_id = ?, quantity = ?, cost_minor = ?, \
                       cost_currency = ?, pack_size = ?, received = ? WHERE id = ? AND order_id = ?";
            let met = self.execute(
                sql,
                binds![
                    position as i64,
                    line.plug_id,
                    line.quantity,
                    line.total_cost.as_ref().map(|cost| cost.minor),
                    line.total_cost.as_ref().map(|cost| &cost.currency),
                    line.pack_size,
                    line.received,
                    line.id,
                    order.id,
                ],
            )?;
            if met == 0 {
                self.insert_line(order.id, position, line)?;
            }
        }
        self.mark(MarkKind::Order, order.id)?;
        self.tell_all(&Event::order(order, before))
    }

    /// Where an order stands, with the plugs that came in on it.
    fn stood(&mut self, id: Uuid) -> Result<Option<(OrderState, i64)>, StoreError> {
        let sql = "SELECT state, (SELECT CAST(COALESCE(SUM(received), 0) AS bigint) FROM order_lines \
                   WHERE order_id = orders.id) FROM orders WHERE id = ?";
        self.first(sql, binds![id])
    }

    /// What is still to come of some parts: ordered from a supplier, not closed, not yet in. Parts of
    /// which nothing is are left out.
    pub fn on_order(&mut self, plug_ids: &[Uuid]) -> Result<Vec<OnOrder>, StoreError> {
        let sql = format!(
            "SELECT l.plug_id, CAST(SUM(l.quantity - l.received) AS bigint) FROM order_lines l \
             JOIN orders o ON o.id = l.order_id WHERE {WAITING} AND l.plug_id IN {} GROUP BY l.plug_id",
            self.listed()
        );
        self.load(&sql, &[listing(plug_ids)])
    }

    /// The same of every part.
    pub fn all_on_order(&mut self) -> Result<Vec<OnOrder>, StoreError> {
        let sql = format!(
            "SELECT l.plug_id, CAST(SUM(l.quantity - l.received) AS bigint) FROM orders o \
             JOIN order_lines l ON l.order_id = o.id WHERE {WAITING} GROUP BY l.plug_id"
        );
        self.load(&sql, &[])
    }

    /// The lines that wait for a part, the one that is expected first in front, those without a date
    /// last.
    pub fn open_lines(&mut self, plug_id: Uuid) -> Result<Vec<OpenLine>, StoreError> {
        let sql = format!(
            "SELECT o.id, o.number, l.id, p.name, o.expected_on, l.quantity - l.received FROM order_lines l \
             JOIN orders o ON o.id = l.order_id JOIN places p ON p.id = o.supplier_id \
             WHERE l.plug_id = ? AND {WAITING} ORDER BY o.expected_on IS NULL, o.expected_on, o.number, l.position"
        );
        self.load(&sql, binds![plug_id])
    }

    /// How long a supplier took, oldest first: for each line that is full, or of an order that was
    /// closed with some of it in, from sending to the receipt that was its last; receipts that were
    /// put right count for nothing. What came on one day (UTC) of one order is one delivery.
    pub fn lead_times(
        &mut self,
        supplier_id: Uuid,
        since: Option<DateTime<Utc>>,
    ) -> Result<Vec<LeadTime>, StoreError> {
        let sql = "SELECT o.id, o.sent_at, MAX(lots.received_at) FROM orders o \
                   JOIN order_lines l ON l.order_id = o.id JOIN lots ON lots.order_line_id = l.id \
                   WHERE o.supplier_id = ? AND o.sent_at IS NOT NULL AND o.sent_at >= ? \
                   AND (l.received >= l.quantity OR o.state = 'closed') AND EXISTS (SELECT 1 FROM levels v \
                   WHERE v.plug_id = lots.plug_id AND v.lot_id = lots.id AND v.place_id = o.supplier_id) \
                   GROUP BY o.id, o.sent_at, l.id ORDER BY 3, 1";
        let since = since.map_or(i64::MIN, |since| since.timestamp_micros());
        let lines: Vec<LeadTime> = self.load(sql, binds![supplier_id, since])?;
        // The latest of a day stands for it.
        let mut seen = HashSet::new();
        let mut deliveries: Vec<LeadTime> = lines
            .into_iter()
            .rev()
            .filter(|line| seen.insert((line.order_id, line.received_at.date_naive())))
            .collect();
        deliveries.reverse();
        Ok(deliveries)
    }
}
