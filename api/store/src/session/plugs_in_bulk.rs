//! Many parts at once: looked up by their names, and stored, in few statements.

use std::sync::LazyLock;

use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::plug::Plug;
use uuid::Uuid;

use super::outbox::MarkKind;
use super::plugs::{COLUMNS, ordinal, values};
use super::{Link, Session, key};
use crate::error::StoreError;
use crate::statement::Bind;

/// Parts that one message to PostgreSQL brings.
const AT_ONCE: usize = 64;

/// One row of values.
static ROW: LazyLock<String> = LazyLock::new(|| {
    let places = vec!["?"; COLUMNS.split(',').count() + 2].join(", ");
    format!("({places})")
});
/// Stores a part and tells nothing.
static STORE: LazyLock<String> = LazyLock::new(|| {
    format!(
        "INSERT INTO plugs ({}, maker_key, part_key) VALUES {}",
        *COLUMNS, *ROW
    )
});

impl Session {
    /// The parts that have one of these names, maker before part number, compared case-blind; in
    /// any order.
    pub fn plugs_named(&mut self, names: &[(&str, &str)]) -> Result<Vec<Plug>, StoreError> {
        let keys: Vec<[String; 2]> = names
            .iter()
            .map(|(maker, part)| [key(maker), key(part)])
            // No name has one, and PostgreSQL refuses to read it.
            .filter(|pair| !pair.iter().any(|name| name.contains('\0')))
            .collect();
        if keys.is_empty() {
            return Ok(Vec::new());
        }
        let listed = match self.link {
            Link::Sqlite(_) => {
                "(SELECT json_extract(value, '$[0]'), json_extract(value, '$[1]') FROM json_each(?))"
            }
            Link::Postgres(_) => {
                "(SELECT pair ->> 0, pair ->> 1 FROM jsonb_array_elements(?::jsonb) AS pair)"
            }
        };
        let sql = format!(
            "SELECT {} FROM plugs WHERE (maker_key, part_key) IN {listed}",
            *COLUMNS
        );
        let keys = serde_json::to_string(&keys).map_err(|e| StoreError::Fault(e.to_string()))?;
        self.load(&sql, &[Bind::from(keys)])
    }

    /// Stores new parts and marks them; gives back their running numbers, in the order of the parts.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::PlugName`](crate::Key::PlugName).
    pub fn insert_plugs(&mut self, plugs: &[Plug]) -> Result<Vec<u32>, StoreError> {
        let numbers = match self.link {
            Link::Sqlite(_) => self.store_each(plugs)?,
            Link::Postgres(_) => self.store_many(plugs)?,
        };
        let ids: Vec<Uuid> = plugs.iter().map(|plug| plug.id).collect();
        self.mark_all(MarkKind::Plug, &ids)?;
        let told = |plug| Event::plug(EventKind::PlugCreated, plug);
        self.tell_all(&plugs.iter().map(told).collect::<Vec<_>>())?;
        numbers.into_iter().map(ordinal).collect()
    }

    /// A statement of several rows, or one that tells what it stored, would keep a copy of every page
    /// that it touches, to undo it alone: a quarter of the time.
    fn store_each(&mut self, plugs: &[Plug]) -> Result<Vec<i64>, StoreError> {
        let given = "SELECT COALESCE(MAX(seq), 0) FROM sqlite_sequence WHERE name = 'plugs'";
        let before: i64 = self.one(given, &[])?;
        for plug in plugs {
            self.execute(&STORE, &values(plug)?)?;
        }
        let last: i64 = self.one(given, &[])?;
        let numbers: Vec<i64> = (before + 1..=last).collect();
        // Each number is higher than all before it: so many, and each part has the next.
        if numbers.len() != plugs.len() {
            return Err(StoreError::Fault(format!(
                "{} numbers were given to {} parts",
                numbers.len(),
                plugs.len()
            )));
        }
        Ok(numbers)
    }

    fn store_many(&mut self, plugs: &[Plug]) -> Result<Vec<i64>, StoreError> {
        let mut numbers = Vec::with_capacity(plugs.len());
        for some in plugs.chunks(AT_ONCE) {
            let mut all = Vec::with_capacity(some.len() * 48);
            for plug in some {
                all.extend(values(plug)?);
            }
            let rows = vec![ROW.as_str(); some.len()].join(", ");
            let sql = format!(
                "INSERT INTO plugs ({}, maker_key, part_key) VALUES {rows} RETURNING ordinal",
                *COLUMNS
            );
            // They rise from row to row; only the order in which they are told is nobody's promise.
            let mut given: Vec<i64> = self.load(&sql, &all)?;
            given.sort_unstable();
            numbers.extend(given);
        }
        Ok(numbers)
    }
}
