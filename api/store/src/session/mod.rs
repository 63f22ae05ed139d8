//! An open transaction: everything that can be read and written, by subject.
//!
//! In a write, what was decided on what was read holds until the commit. On SQLite there is one
//! writer at a time. On PostgreSQL the stock of a part is read under the lock of the part's row
//! ([`Session::shelf`]); records that are edited are written only over the version they were read
//! at, and the command runs once more where somebody else was quicker.

pub(crate) mod audit;
pub(crate) mod barcodes;
pub(crate) mod builds;
pub(crate) mod counts;
pub(crate) mod deliveries;
pub(crate) mod demand;
pub(crate) mod events;
pub(crate) mod fitted;
mod heads;
pub(crate) mod heat_scales;
pub(crate) mod history;
pub(crate) mod incoming;
pub(crate) mod levels;
pub(crate) mod lots;
pub(crate) mod meta;
pub(crate) mod movements;
pub(crate) mod once;
pub(crate) mod orders;
pub(crate) mod outbox;
pub(crate) mod places;
pub(crate) mod plug_filter;
pub(crate) mod plugs;
mod plugs_in_bulk;
pub(crate) mod policy;
pub(crate) mod readings;
mod reordering;
pub(crate) mod reservations;
pub(crate) mod shelf;
pub(crate) mod stand_ins;
pub(crate) mod stored;
mod suppliers;
pub(crate) mod table_reads;
pub(crate) mod tokens;
mod transaction;
pub(crate) mod tuning_days;
pub(crate) mod valued;
pub(crate) mod webhooks;

use diesel::connection::SimpleConnection;
use diesel::{PgConnection, RunQueryDsl, SqliteConnection};

pub(crate) use transaction::USUAL as USUAL_CACHE;

use crate::error::{StoreError, Trouble, sort};
use crate::record::{Loaded, Record};
use crate::statement::{Bind, Statement};

/// An open transaction on either engine; see the module's text.
pub struct Session {
    pub(crate) link: Link,
    writing: bool,
    /// The place of the last mark that this transaction wrote; 0 where none.
    position: i64,
    /// What the worst error in this transaction means for it.
    trouble: Option<Trouble>,
    /// The connection is of no more use.
    broken: bool,
    committing: bool,
}

/// The connection below.
pub(crate) enum Link {
    Sqlite(SqliteConnection),
    Postgres(PgConnection),
}

/// A query against either connection.
macro_rules! on_either {
    ($session:expr, $connection:ident => $run:expr) => {{
        let result = match &mut $session.link {
            Link::Sqlite($connection) => $run,
            Link::Postgres($connection) => $run,
        };
        result.map_err(|error| $session.failed(error))
    }};
}

impl Session {
    pub(crate) fn over(link: Link) -> Self {
        Self {
            link,
            writing: false,
            position: 0,
            trouble: None,
            broken: false,
            committing: false,
        }
    }

    /// All rows of a query whose text is one of a few; the connection keeps it prepared.
    pub(crate) fn load<T: Record>(
        &mut self,
        sql: &str,
        binds: &[Bind],
    ) -> Result<Vec<T>, StoreError> {
        self.rows(Statement {
            sql,
            binds,
            kept: true,
        })
    }

    /// All rows of a query whose text was put together from a filter.
    fn load_filtered<T: Record>(&mut self, filtered: Filtered) -> Result<Vec<T>, StoreError> {
        self.rows(Statement {
            sql: &filtered.sql,
            binds: &filtered.binds,
            kept: false,
        })
    }

    fn rows<T: Record>(&mut self, statement: Statement<'_>) -> Result<Vec<T>, StoreError> {
        let rows: Vec<Loaded<T>> = on_either!(self, connection => statement.load(connection))?;
        Ok(rows.into_iter().map(|row| row.0).collect())
    }

    /// The first row, if there is one.
    fn first<T: Record>(&mut self, sql: &str, binds: &[Bind]) -> Result<Option<T>, StoreError> {
        Ok(self.load(sql, binds)?.into_iter().next())
    }

    /// The one row that such a query always has.
    pub(crate) fn one<T: Record>(&mut self, sql: &str, binds: &[Bind]) -> Result<T, StoreError> {
        self.first(sql, binds)?
            .ok_or_else(|| StoreError::Fault(format!("no row from {sql}")))
    }

    /// Whether the query has a row.
    fn any(&mut self, sql: &str, binds: &[Bind]) -> Result<bool, StoreError> {
        Ok(self.first::<i64>(sql, binds)?.is_some())
    }

    /// Writes; gives back how many rows it met.
    pub(crate) fn execute(&mut self, sql: &str, binds: &[Bind]) -> Result<usize, StoreError> {
        let statement = Statement {
            sql,
            binds,
            kept: true,
        };
        on_either!(self, connection => statement.execute(connection))
    }

    /// Statements without values and answers.
    pub(crate) fn batch(&mut self, sql: &str) -> Result<(), StoreError> {
        on_either!(self, connection => connection.batch_execute(sql))
    }

    /// Writes a record over the version before it.
    fn write_over(&mut self, sql: &str, binds: &[Bind]) -> Result<(), StoreError> {
        if self.execute(sql, binds)? == 1 {
            return Ok(());
        }
        self.note(Trouble::Again);
        match self.link {
            Link::Postgres(_) => Err(StoreError::Busy),
            // Nobody else writes meanwhile: the record was never read, or its version not raised.
            Link::Sqlite(_) => Err(StoreError::Fault(
                "no record at the version before this one".into(),
            )),
        }
    }

    /// How a statement takes a list of texts from one value, a JSON array.
    fn listed(&self) -> &'static str {
        match self.link {
            Link::Sqlite(_) => "(SELECT value FROM json_each(?))",
            Link::Postgres(_) => "(SELECT jsonb_array_elements_text(?::jsonb))",
        }
    }

    fn failed(&mut self, error: diesel::result::Error) -> StoreError {
        let (error, trouble) = sort(error);
        self.note(trouble);
        error
    }

    fn note(&mut self, trouble: Trouble) {
        self.broken |= trouble == Trouble::Gone;
        // The first error is the cause; what follows it in a dead transaction says nothing.
        self.trouble.get_or_insert(trouble);
    }
}

/// A query that grows by the conditions of a filter.
pub(crate) struct Filtered {
    pub sql: String,
    pub binds: Vec<Bind>,
}

impl Filtered {
    /// A query that ends where its conditions begin.
    fn query(select: &str) -> Self {
        Self {
            sql: format!("{select} WHERE 1 = 1"),
            binds: Vec::new(),
        }
    }

    /// One more condition with one value.
    fn and(&mut self, condition: &str, value: impl Into<Bind>) {
        self.sql.push_str(" AND ");
        self.sql.push_str(condition);
        self.binds.push(value.into());
    }

    /// One more condition, where the filter has a value for it.
    fn and_given<T: Into<Bind>>(&mut self, condition: &str, value: Option<T>) {
        if let Some(value) = value {
            self.and(condition, value);
        }
    }

    /// Order and length of the page.
    fn page(mut self, order: &str, limit: i64) -> Self {
        self.sql.push_str(&format!(" ORDER BY {order} LIMIT ?"));
        self.binds.push(limit.into());
        self
    }
}

/// What a name is compared by: case-blind.
pub(crate) fn key(name: &str) -> String {
    name.to_lowercase()
}

/// A JSON array of ids for [`Session::listed`].
pub(crate) fn listing(ids: &[uuid::Uuid]) -> Bind {
    let texts: Vec<String> = ids.iter().map(uuid::Uuid::to_string).collect();
    listed_texts(&texts)
}

/// A JSON array of texts for [`Session::listed`].
pub(crate) fn listed_texts(texts: &[String]) -> Bind {
    Bind::Text(Some(
        serde_json::Value::from_iter(texts.iter().map(String::as_str)).to_string(),
    ))
}
