//! The same question put to SQLite: once with a covering index, once with one on stocked parts.
//!
//! All is done in its favour: stock lies in the same row and in the index, statements are
//! prepared once, the whole file fits into its cache, and it is not asked for totals.

use std::fmt::Write;
use std::path::Path;

use plugwell_domain::attribute::{Attr, Facts};
use plugwell_domain::fit::{Verdict, judge};
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::plug::{Plug, PlugData};
use plugwell_domain::requirement::{Demand, Requirement, Strength, Test, WhenUnknown};
use rusqlite::{Connection, Result, Row, params_from_iter};

/// A plug that the shop can have: what the best twenty end as, on either side.
#[derive(Debug, PartialEq, Eq)]
pub struct Line {
    pub id: String,
    pub verdicts: Vec<Verdict>,
    pub available: i64,
}

/// The indexes that are compared.
#[derive(Debug, Clone, Copy)]
pub enum By {
    Covering,
    Stocked,
}

/// The attributes that indexes hold: equal ones first, then the one range that narrows most.
const INDEXED: &str = "thread, seat, resistor, heat_index, reach_mm, hex_mm, projection_mm, gap_min_mm, gap_max_mm, \
                       terminal, electrode, available, largest_lot, part_number, id";

pub struct Database {
    connection: Connection,
}

impl Database {
    pub fn new(file: &Path) -> Result<Self> {
        let connection = Connection::open(file)?;
        connection.execute_batch("PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA cache_size = -2000000; PRAGMA mmap_size = 8000000000;")?;
        connection.set_prepared_statement_cache_capacity(1000);
        let mut columns = String::new();
        for attr in Attr::ALL {
            write!(columns, "{attr} INTEGER, ").unwrap();
        }
        connection.execute_batch(&format!(
            "CREATE TABLE part (ordinal INTEGER PRIMARY KEY, id TEXT NOT NULL, maker TEXT NOT NULL, part_number TEXT NOT NULL, \
             description TEXT, {columns} available INTEGER NOT NULL, largest_lot INTEGER NOT NULL)"
        ))?;
        Ok(Self { connection })
    }

    pub fn begin(&self) -> Result<()> {
        self.connection.execute_batch("BEGIN")
    }

    pub fn commit(&self) -> Result<()> {
        self.connection.execute_batch("COMMIT")
    }

    pub fn index(&self) -> Result<()> {
        self.connection.execute_batch(&format!(
            "CREATE UNIQUE INDEX part_id ON part (id); CREATE INDEX part_covering ON part ({INDEXED}); \
             CREATE INDEX part_stocked ON part ({INDEXED}) WHERE available > 0; ANALYZE"
        ))
    }

    pub fn put(&self, ordinal: u32, plug: &Plug, shelf: &OnShelf) -> Result<()> {
        let places = vec!["?"; Attr::COUNT + 7].join(", ");
        let mut insert = self
            .connection
            .prepare_cached(&format!("INSERT OR REPLACE INTO part VALUES ({places})"))?;
        let PlugData {
            maker,
            part_number,
            description,
            facts,
            ..
        } = &plug.data;
        let mut values: Vec<rusqlite::types::Value> = vec![
            i64::from(ordinal).into(),
            plug.id.to_string().into(),
            maker.clone().into(),
            part_number.clone().into(),
            description.clone().into(),
        ];
        values.extend(Attr::ALL.iter().map(|attr| facts.get(*attr).into()));
        values.push(shelf.available(None, Default::default()).into());
        values.push(shelf.largest_sealed_lot.into());
        insert.execute(params_from_iter(values))?;
        Ok(())
    }

    pub fn delete(&self, ordinal: u32) -> Result<()> {
        self.connection
            .prepare_cached("DELETE FROM part WHERE ordinal = ?")?
            .execute([ordinal])?;
        Ok(())
    }

    /// The best twenty of which enough are available.
    pub fn search(&self, requirement: &Requirement, quantity: i64, by: By) -> Result<Vec<Line>> {
        let mut statement = Statement::new(by);
        for demand in requirement.musts() {
            let test = statement.test(demand);
            match demand.unknown {
                Some(WhenUnknown::Allowed) => {
                    statement.filter(&format!("({test} OR {} IS NULL)", demand.attribute))
                }
                _ => statement.filter(&test),
            }
        }
        let sql = statement.finish(requirement, quantity);
        let mut select = self.connection.prepare_cached(&sql)?;
        let line = |row: &Row<'_>| {
            let mut facts = Facts::default();
            for (place, attr) in ASKED.iter().enumerate() {
                facts.set(*attr, row.get(place + 2)?);
            }
            let verdicts = requirement
                .demands
                .iter()
                .map(|d| judge(d, facts.get(d.attribute)))
                .collect();
            Ok(Line {
                id: row.get(0)?,
                available: row.get(1)?,
                verdicts,
            })
        };
        select
            .query_map(params_from_iter(&statement.values), line)?
            .collect()
    }

    /// Whole records by id, as text of all their columns; their number.
    pub fn records(&self, ids: &[String]) -> Result<usize> {
        let places = vec!["?"; ids.len()].join(", ");
        let mut select = self
            .connection
            .prepare_cached(&format!("SELECT * FROM part WHERE id IN ({places})"))?;
        let columns = select.column_count();
        let record = |row: &Row<'_>| {
            (0..columns)
                .map(|c| row.get::<_, rusqlite::types::Value>(c))
                .collect::<Result<Vec<_>>>()
        };
        let records: Vec<_> = select
            .query_map(params_from_iter(ids), record)?
            .collect::<Result<_>>()?;
        Ok(records.len())
    }
}

/// The attributes that a build's demands ask for.
const ASKED: [Attr; 11] = [
    Attr::Thread,
    Attr::Seat,
    Attr::Reach,
    Attr::Hex,
    Attr::Heat,
    Attr::Projection,
    Attr::Resistor,
    Attr::Electrode,
    Attr::GapMin,
    Attr::GapMax,
    Attr::Terminal,
];

/// A statement that is being written, and the values of its places.
struct Statement {
    sql: String,
    values: Vec<i64>,
}

impl Statement {
    fn new(by: By) -> Self {
        let asked = ASKED.map(Attr::word).join(", ");
        let (index, stocked) = match by {
            By::Covering => ("part_covering", "1"),
            By::Stocked => ("part_stocked", "available > 0"),
        };
        Self {
            sql: format!(
                "SELECT id, available, {asked} FROM part INDEXED BY {index} WHERE {stocked}"
            ),
            values: Vec::new(),
        }
    }

    fn place(&mut self, value: i64) -> String {
        self.values.push(value);
        format!("?{}", self.values.len())
    }

    fn test(&mut self, demand: &Demand) -> String {
        let attr = demand.attribute;
        match &demand.test {
            Test::OneOf(values) if values.len() == 1 => {
                format!("{attr} = {}", self.place(values[0]))
            }
            Test::OneOf(values) => {
                let places: Vec<_> = values.iter().map(|v| self.place(*v)).collect();
                format!("{attr} IN ({})", places.join(", "))
            }
            Test::Range { min, max } => {
                let least = min.map(|m| format!("{attr} >= {}", self.place(m)));
                let most = max.map(|m| format!("{attr} <= {}", self.place(m)));
                let ends: Vec<_> = [least, most].into_iter().flatten().collect();
                format!("({})", ends.join(" AND "))
            }
        }
    }

    fn filter(&mut self, test: &str) {
        write!(self.sql, " AND {test}").unwrap();
    }

    /// The stock condition and the order of fits.
    fn finish(&mut self, requirement: &Requirement, quantity: i64) -> String {
        let quantity = self.place(quantity);
        self.filter(&format!("available >= {quantity}"));
        let mut order = Vec::new();
        if let Some(target) = requirement.heat.target_index {
            order.push(format!("abs(heat_index - {})", self.place(target.0)));
        }
        if let Some(middle) = requirement.context.projection_twice {
            order.push(format!(
                "abs(2 * projection_mm - {}) NULLS LAST",
                self.place(middle)
            ));
        }
        let preferences: Vec<_> = requirement
            .demands
            .iter()
            .filter(|d| d.strength == Strength::Prefer)
            .collect();
        let missed: Vec<_> = preferences
            .into_iter()
            .map(|d| format!("({} IS NOT TRUE)", self.test(d)))
            .collect();
        if !missed.is_empty() {
            order.push(missed.join(" + "));
        }
        format!(
            "{} ORDER BY {}, largest_lot < {quantity}, available DESC, part_number, id LIMIT 20",
            self.sql,
            if order.is_empty() {
                "1".to_owned()
            } else {
                order.join(", ")
            },
        )
    }
}
