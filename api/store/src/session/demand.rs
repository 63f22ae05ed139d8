//! What was asked of parts, and what they can count on: all that reordering rests on, in a few
//! queries whatever the number of parts.

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::calendar::CalendarPeriod;
use uuid::Uuid;

use super::{Link, Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::Bind;

/// Some parts, or all where `None`.
pub type Parts<'a> = Option<&'a [Uuid]>;

/// Demand of one part in one period.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Demanded {
    /// The part.
    pub plug_id: Uuid,
    /// The period's running number, see [`CalendarPeriod::number`].
    pub period: i64,
    /// Plugs.
    pub quantity: i64,
}

/// What lots and orders of a part tell of how it is bought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bought {
    /// The part.
    pub plug_id: Uuid,
    /// When its first lot came; `None` where none has come yet.
    pub first_at: Option<DateTime<Utc>>,
    /// The supplier of its latest receipt or order, as it is called now.
    pub supplier: Option<String>,
    /// Cost and plugs of the latest lot of which anybody said the cost.
    pub cost: Option<(i64, i64)>,
    /// Plugs in a box of the latest lot of which anybody said it.
    pub pack_size: Option<i64>,
}

/// What there is of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct OnHand {
    /// In bins, all lots.
    pub in_bins: i64,
    /// In bins, sealed lots only.
    pub sealed: i64,
    /// Reserved and not yet issued.
    pub reserved: i64,
}

impl Record for Demanded {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            plug_id: cells.id()?,
            period: cells.int()?,
            quantity: cells.int()?,
        })
    }
}

impl Record for Bought {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            plug_id: cells.id()?,
            first_at: cells.time_or_null()?,
            supplier: cells.text_or_null()?,
            cost: cells.int_or_null()?.zip(cells.int_or_null()?),
            pack_size: cells.int_or_null()?,
        })
    }
}

/// Two whole numbers with a space between them.
fn pair(text: &str) -> Result<(i64, i64), StoreError> {
    let numbers = text
        .split_once(' ')
        .and_then(|(a, b)| a.parse().ok().zip(b.parse().ok()));
    numbers.ok_or_else(|| StoreError::Fault(format!("{text:?} are no two numbers")))
}

impl Bought {
    /// Takes over what only another account of the same part knows.
    pub fn complete(&mut self, other: &Self) {
        if self.supplier.is_none() {
            self.supplier.clone_from(&other.supplier);
        }
        self.cost = self.cost.or(other.cost);
        self.pack_size = self.pack_size.or(other.pack_size);
    }
}

impl Session {
    /// A condition that leaves some parts, with its value.
    pub(super) fn only(&self, column: &str, parts: Parts<'_>) -> (String, Vec<Bind>) {
        match parts {
            None => (String::new(), Vec::new()),
            Some(ids) => (
                format!(" AND {column} IN {}", self.listed()),
                vec![listing(ids)],
            ),
        }
    }

    /// The running number of the period that an instant lies in, as [`CalendarPeriod::number`] counts.
    fn period_of(&self, period: CalendarPeriod, column: &str) -> String {
        match (period, &self.link) {
            // Microseconds from 1 January 1970, a Thursday, to the first Monday; and in a week.
            (CalendarPeriod::Week, _) => format!("({column} - 345600000000) / 604800000000"),
            (CalendarPeriod::Month, Link::Sqlite(_)) => format!(
                "CAST(strftime('%Y', {column} / 1000000, 'unixepoch') AS INTEGER) * 12 \
                 + CAST(strftime('%m', {column} / 1000000, 'unixepoch') AS INTEGER) - 1"
            ),
            (CalendarPeriod::Month, Link::Postgres(_)) => {
                let at = format!("(to_timestamp({column} / 1000000) AT TIME ZONE 'UTC')");
                format!(
                    "CAST(EXTRACT(YEAR FROM {at}) * 12 + EXTRACT(MONTH FROM {at}) - 1 AS bigint)"
                )
            }
        }
    }

    /// Demand of parts by period, from one instant to before another: issues, and scrappings out of
    /// bins and quarantine. What came back of an issue is taken off the period of that issue, and
    /// what was put right counts for nothing: no period is below zero. By part, the oldest period
    /// first; periods without demand are left out.
    pub fn demand(
        &mut self,
        period: CalendarPeriod,
        from: DateTime<Utc>,
        until: DateTime<Utc>,
        parts: Parts<'_>,
    ) -> Result<HashMap<Uuid, Vec<Demanded>>, StoreError> {
        let (only, part_binds) = self.only("m.plug_id", parts);
        let mut binds = vec![Bind::from(from), Bind::from(until)];
        binds.extend(part_binds);
        // Issues are many: they are read in the order of their index and come as one row a part.
        let number = self.period_of(period, "m.created_at");
        let sql = format!(
            "SELECT m.plug_id, string_agg(CAST({number} AS text) || ' ' || CAST(m.quantity AS text), ',') \
             FROM movements m WHERE m.kind = 'issue' AND m.created_at >= ? AND m.created_at < ?{only} GROUP BY m.plug_id"
        );
        let mut sums: HashMap<Uuid, BTreeMap<i64, i64>> = HashMap::new();
        for (plug_id, issues) in self.load::<(Uuid, String)>(&sql, &binds)? {
            let own = sums.entry(plug_id).or_default();
            for issue in issues.split(',') {
                let (number, quantity) = pair(issue)?;
                *own.entry(number).or_default() += quantity;
            }
        }
        for asked in self.demand_besides(period, &only, &binds)? {
            *sums
                .entry(asked.plug_id)
                .or_default()
                .entry(asked.period)
                .or_default() += asked.quantity;
        }
        let of = |(plug_id, own): (Uuid, BTreeMap<i64, i64>)| {
            let asked = own.into_iter().filter(|(_, quantity)| *quantity > 0);
            let asked = asked.map(|(period, quantity)| Demanded {
                plug_id,
                period,
                quantity,
            });
            (plug_id, asked.collect())
        };
        Ok(sums
            .into_iter()
            .map(of)
            .filter(|(_, asked): &(_, Vec<_>)| !asked.is_empty())
            .collect())
    }

    /// What changes demand besides issues: scrappings, and what takes issues off. Each begins with its
    /// own few movements, whatever a planner would think of: the joins keep the order they are
    /// written in.
    fn demand_besides(
        &mut self,
        period: CalendarPeriod,
        only: &str,
        binds: &[Bind],
    ) -> Result<Vec<Demanded>, StoreError> {
        const STANDS: &str = "NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses = m.id)";
        let within = |at: &str| format!("AND {at} >= ? AND {at} < ?{only}");
        let put_right = format!(
            "SELECT m.plug_id, m.created_at AS asked_at, -m.quantity AS quantity FROM movements r CROSS JOIN movements m \
             WHERE m.id = r.reverses AND r.kind = 'reversal' AND m.kind = 'issue' {}",
            within("m.created_at")
        );
        let scrapped = format!(
            "SELECT m.plug_id, m.created_at, m.quantity FROM movements m CROSS JOIN places p \
             WHERE p.id = m.from_place_id AND m.kind = 'scrapping' AND p.kind IN ('bin', 'quarantine') AND {STANDS} {}",
            within("m.created_at")
        );
        let came_back = format!(
            "SELECT m.plug_id, i.created_at, -m.quantity FROM movements m CROSS JOIN movements i \
             WHERE i.id = m.answers AND i.to_place_id = m.from_place_id AND m.kind = 'return' AND {STANDS} {}",
            within("i.created_at")
        );
        let sql = format!(
            "SELECT plug_id, {}, CAST(SUM(quantity) AS bigint) \
             FROM ({put_right} UNION ALL {scrapped} UNION ALL {came_back}) AS asked GROUP BY 1, 2",
            self.period_of(period, "asked_at"),
        );
        let thrice: Vec<Bind> = [binds, binds, binds].concat();
        self.load(&sql, &thrice)
    }

    /// How parts were bought, receipts that were put right left out; those that never were are left out.
    pub fn bought(&mut self, parts: Parts<'_>) -> Result<Vec<Bought>, StoreError> {
        // What a supplier delivered stands against it, until the receipt is put right.
        const DELIVERED: &str = "EXISTS (SELECT 1 FROM levels v WHERE v.plug_id = lots.plug_id \
                                 AND v.lot_id = lots.id AND v.place_kind = 'supplier')";
        let (only, binds) = self.only("plug_id", parts);
        let sql = format!(
            "SELECT n.plug_id, n.first_at, (SELECT p.name FROM movements m JOIN places p ON p.id = m.from_place_id \
             WHERE m.lot_id = s.id AND m.kind = 'receipt' ORDER BY m.sequence LIMIT 1), \
             c.cost_minor, c.quantity_received, k.pack_size \
             FROM (SELECT plug_id, MIN(received_at) AS first_at, MAX(number) AS newest, \
             MAX(CASE WHEN cost_minor IS NOT NULL THEN number END) AS priced, \
             MAX(CASE WHEN pack_size IS NOT NULL THEN number END) AS packed \
             FROM lots WHERE {DELIVERED}{only} GROUP BY plug_id) AS n \
             JOIN lots s ON s.number = n.newest LEFT JOIN lots c ON c.number = n.priced \
             LEFT JOIN lots k ON k.number = n.packed"
        );
        self.load(&sql, &binds)
    }

    /// How parts were last ordered, withdrawn orders left out; those that never were are left out.
    pub fn bought_by_order(&mut self, parts: Parts<'_>) -> Result<Vec<Bought>, StoreError> {
        let (only, binds) = self.only("l.plug_id", parts);
        // Of several lines of a part in one order any may tell.
        let sql = format!(
            "SELECT l.plug_id, CAST(NULL AS bigint), p.name, l.cost_minor, l.quantity, l.pack_size \
             FROM (SELECT l.plug_id, MAX(o.number) AS number FROM order_lines l JOIN orders o ON o.id = l.order_id \
             WHERE o.state <> 'withdrawn'{only} GROUP BY l.plug_id) AS n JOIN orders o ON o.number = n.number \
             JOIN order_lines l ON l.order_id = o.id AND l.plug_id = n.plug_id \
             JOIN places p ON p.id = o.supplier_id ORDER BY l.plug_id, l.position"
        );
        self.load(&sql, &binds)
    }

    /// Plugs of parts that are ordered and not yet in, those of drafts among them: what a shop counts on.
    pub fn expected(&mut self, parts: Parts<'_>) -> Result<Vec<(Uuid, i64)>, StoreError> {
        let (only, binds) = self.only("l.plug_id", parts);
        let sql = format!(
            "SELECT l.plug_id, CAST(SUM(l.quantity - l.received) AS bigint) FROM orders o \
             JOIN order_lines l ON l.order_id = o.id WHERE o.state IN ('drafted', 'sent', 'partly_in') \
             AND l.quantity > l.received{only} GROUP BY l.plug_id"
        );
        self.load(&sql, &binds)
    }

    /// What there is of parts; those of which nothing is there and nothing reserved are left out.
    pub fn on_hand(&mut self, parts: Parts<'_>) -> Result<HashMap<Uuid, OnHand>, StoreError> {
        let (only, binds) = self.only("l.plug_id", parts);
        let sql = format!(
            "SELECT l.plug_id, CAST(SUM(l.quantity) AS bigint), \
             CAST(SUM(CASE WHEN lots.condition = 'sealed' THEN l.quantity ELSE 0 END) AS bigint) \
             FROM levels l JOIN lots ON lots.id = l.lot_id WHERE l.place_kind = 'bin'{only} GROUP BY l.plug_id"
        );
        let mut found: HashMap<Uuid, OnHand> = HashMap::new();
        for (plug_id, in_bins, sealed) in self.load::<(Uuid, i64, i64)>(&sql, &binds)? {
            found.insert(
                plug_id,
                OnHand {
                    in_bins,
                    sealed,
                    reserved: 0,
                },
            );
        }
        let (only, binds) = self.only("plug_id", parts);
        let sql = format!(
            "SELECT plug_id, CAST(SUM(open_quantity) AS bigint) FROM reservations \
             WHERE state IN ('open', 'short'){only} GROUP BY plug_id"
        );
        for (plug_id, reserved) in self.load::<(Uuid, i64)>(&sql, &binds)? {
            found.entry(plug_id).or_default().reserved = reserved;
        }
        Ok(found)
    }

    /// Since when nobody has taken any of some parts: the last issue of each; those that were never
    /// issued are left out.
    pub fn last_issued(
        &mut self,
        parts: &[Uuid],
    ) -> Result<HashMap<Uuid, DateTime<Utc>>, StoreError> {
        let (only, binds) = self.only("plug_id", Some(parts));
        let sql = format!(
            "SELECT plug_id, MAX(created_at) FROM movements WHERE kind = 'issue'{only} GROUP BY plug_id"
        );
        Ok(self
            .load::<(Uuid, DateTime<Utc>)>(&sql, &binds)?
            .into_iter()
            .collect())
    }
}
