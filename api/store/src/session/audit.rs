//! Proof that levels are what the movements say.

use std::fmt;

use diesel::deserialize;
use uuid::Uuid;

use super::{Link, Session};
use crate::error::StoreError;
use crate::record::{Cells, Record};

/// Differences of one kind that are listed at most.
const LISTED: usize = 1000;

/// What was compared and what did not agree.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AuditReport {
    /// Movements that were summed up.
    pub movements: i64,
    /// Levels that were compared with them.
    pub levels: i64,
    /// Lots whose levels were summed up over all places.
    pub lots: i64,
    /// Reservations that were looked at.
    pub reservations: i64,
    /// What does not agree; at most a thousand of each kind.
    pub differences: Vec<Difference>,
}

/// Something that does not agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Difference {
    /// A level is not the sum of its movements.
    Level {
        /// The lot.
        lot_id: Uuid,
        /// The place.
        place_id: Uuid,
        /// What the level says.
        kept: i64,
        /// What the movements say.
        summed: i64,
    },
    /// The levels of a lot do not sum to zero over all places.
    Lot {
        /// The lot.
        lot_id: Uuid,
        /// Their sum.
        sum: i64,
    },
    /// A bin, job, quarantine or scrap is below zero.
    BelowZero {
        /// The lot.
        lot_id: Uuid,
        /// The place.
        place_id: Uuid,
        /// What the level says.
        quantity: i64,
    },
    /// A level's copy of the part or of the kind of place is wrong.
    Copy {
        /// The lot.
        lot_id: Uuid,
        /// The place.
        place_id: Uuid,
    },
    /// A level does not name the last movement that it holds.
    Version {
        /// The lot.
        lot_id: Uuid,
        /// The place.
        place_id: Uuid,
        /// The running number that the level names.
        kept: i64,
        /// That of the last movement.
        last: i64,
    },
    /// A movement names another part than its lot.
    Part {
        /// The movement.
        movement_id: Uuid,
        /// The lot.
        lot_id: Uuid,
    },
    /// A finished reservation still keeps plugs.
    Reservation {
        /// The reservation.
        id: Uuid,
        /// Plugs it keeps.
        open_quantity: i64,
    },
    /// What the line of an order says came in is not what its lots brought in.
    OrderLine {
        /// The line.
        id: Uuid,
        /// What the line says.
        kept: i64,
        /// What its lots brought in, less what was put right.
        summed: i64,
    },
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Level {
                lot_id,
                place_id,
                kept,
                summed,
            } => {
                write!(
                    f,
                    "lot {lot_id} at place {place_id}: the level says {kept}, the movements {summed}"
                )
            }
            Self::Lot { lot_id, sum } => write!(
                f,
                "lot {lot_id}: its levels sum to {sum} over all places, not to 0"
            ),
            Self::BelowZero {
                lot_id,
                place_id,
                quantity,
            } => {
                write!(
                    f,
                    "lot {lot_id} at place {place_id}: {quantity} is below zero"
                )
            }
            Self::Copy { lot_id, place_id } => {
                write!(
                    f,
                    "lot {lot_id} at place {place_id}: the level names another part or kind of place"
                )
            }
            Self::Version {
                lot_id,
                place_id,
                kept,
                last,
            } => {
                write!(
                    f,
                    "lot {lot_id} at place {place_id}: the level names movement {kept} as its last, not {last}"
                )
            }
            Self::Part {
                movement_id,
                lot_id,
            } => {
                write!(
                    f,
                    "movement {movement_id}: names another part than its lot {lot_id}"
                )
            }
            Self::Reservation { id, open_quantity } => {
                write!(
                    f,
                    "reservation {id}: finished, and still keeps {open_quantity}"
                )
            }
            Self::OrderLine { id, kept, summed } => {
                write!(
                    f,
                    "order line {id}: it says that {kept} came in, its lots say {summed}"
                )
            }
        }
    }
}

/// A row of any of the checks: two ids and two numbers.
struct Found(Uuid, Uuid, i64, i64);

impl Record for Found {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self(cells.id()?, cells.id()?, cells.int()?, cells.int()?))
    }
}

/// A query for what must not be, and what a row of it means.
type Check = (&'static str, fn(Found) -> Difference);

/// Each check with what a row of it means.
const CHECKS: &[Check] = &[
    (
        "SELECT lot_id, place_id, CAST(SUM(kept) AS bigint), CAST(SUM(summed) AS bigint) FROM ( \
         SELECT lot_id, place_id, quantity AS kept, 0 AS summed FROM levels \
         UNION ALL SELECT lot_id, to_place_id, 0, quantity FROM movements \
         UNION ALL SELECT lot_id, from_place_id, 0, -quantity FROM movements) AS a \
         GROUP BY lot_id, place_id HAVING SUM(kept) <> SUM(summed)",
        |Found(lot_id, place_id, kept, summed)| Difference::Level {
            lot_id,
            place_id,
            kept,
            summed,
        },
    ),
    (
        "SELECT lot_id, lot_id, CAST(SUM(quantity) AS bigint), CAST(0 AS bigint) FROM levels \
         GROUP BY lot_id HAVING SUM(quantity) <> 0",
        |Found(lot_id, _, sum, _)| Difference::Lot { lot_id, sum },
    ),
    (
        "SELECT l.lot_id, l.place_id, l.quantity, CAST(0 AS bigint) FROM levels l JOIN places p ON p.id = l.place_id \
         WHERE l.quantity < 0 AND p.kind NOT IN ('supplier', 'difference')",
        |Found(lot_id, place_id, quantity, _)| Difference::BelowZero {
            lot_id,
            place_id,
            quantity,
        },
    ),
    (
        "SELECT l.lot_id, l.place_id, CAST(0 AS bigint), CAST(0 AS bigint) FROM levels l \
         JOIN places p ON p.id = l.place_id JOIN lots ON lots.id = l.lot_id \
         WHERE l.place_kind <> p.kind OR l.plug_id <> lots.plug_id",
        |Found(lot_id, place_id, _, _)| Difference::Copy { lot_id, place_id },
    ),
    (
        "SELECT lot_id, place_id, version, last FROM ( \
         SELECT l.lot_id, l.place_id, l.version, COALESCE((SELECT MAX(CASE WHEN \
         l.place_id IN (m.from_place_id, m.to_place_id) THEN m.sequence END) FROM movements m \
         WHERE m.lot_id = l.lot_id), 0) AS last \
         FROM levels l) AS a WHERE version <> last",
        |Found(lot_id, place_id, kept, last)| Difference::Version {
            lot_id,
            place_id,
            kept,
            last,
        },
    ),
    (
        "SELECT m.id, m.lot_id, CAST(0 AS bigint), CAST(0 AS bigint) FROM movements m \
         JOIN lots ON lots.id = m.lot_id WHERE m.plug_id <> lots.plug_id",
        |Found(movement_id, lot_id, _, _)| Difference::Part {
            movement_id,
            lot_id,
        },
    ),
    (
        "SELECT id, id, open_quantity, CAST(0 AS bigint) FROM reservations \
         WHERE open_quantity <> 0 AND state NOT IN ('open', 'short')",
        |Found(id, _, open_quantity, _)| Difference::Reservation { id, open_quantity },
    ),
    (
        // What a lot took from its supplier stands there, below zero.
        "SELECT l.id, l.order_id, l.received, CAST(COALESCE(SUM(-v.quantity), 0) AS bigint) FROM order_lines l \
         LEFT JOIN lots ON lots.order_line_id = l.id LEFT JOIN levels v ON v.plug_id = lots.plug_id \
         AND v.lot_id = lots.id AND v.place_kind = 'supplier' GROUP BY l.id, l.order_id, l.received \
         HAVING l.received <> COALESCE(SUM(-v.quantity), 0)",
        |Found(id, _, kept, summed)| Difference::OrderLine { id, kept, summed },
    ),
];

impl Session {
    /// Computes every level anew from the movements and compares; sums every lot up over all
    /// places; looks for levels below zero, wrong copies, levels that do not name their last
    /// movement and finished reservations that keep plugs.
    pub fn audit_levels(&mut self) -> Result<AuditReport, StoreError> {
        if matches!(self.link, Link::Postgres(_)) {
            self.batch("SET LOCAL statement_timeout = 0")?;
        }
        let mut report = AuditReport {
            movements: self.one("SELECT COUNT(*) FROM movements", &[])?,
            levels: self.one("SELECT COUNT(*) FROM levels", &[])?,
            lots: self.one("SELECT COUNT(*) FROM lots", &[])?,
            reservations: self.one("SELECT COUNT(*) FROM reservations", &[])?,
            differences: Vec::new(),
        };
        for (sql, means) in CHECKS {
            let found: Vec<Found> = self.load(&format!("{sql} LIMIT {LISTED}"), &[])?;
            report.differences.extend(found.into_iter().map(means));
        }
        Ok(report)
    }
}
