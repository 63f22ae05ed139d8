//! Many parts at once: looked up by their names, and stored, in few statements.

use std::sync::LazyLock;

use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::plug::Plug;
use uuid::Uuid;

use super::outbox::MarkKind;
use super::plugs::{COLUMNS, values};
use super::{Link, Session, key};
use crate::error::StoreError;
use crate::statement::Bind;

/// Parts that one statement stores: their values have to stay below the 32 766 that SQLite takes.
const AT_ONCE: usize = 64;

/// One row of values.
static ROW: LazyLock<String> = LazyLock::new(|| {
    let places = vec!["?"; COLUMNS.split(',').count() + 2].join(", ");
    format!("({places})")
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

    /// Stores new parts and marks them.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::PlugName`](crate::Key::PlugName).
    pub fn insert_plugs(&mut self, plugs: &[Plug]) -> Result<(), StoreError> {
        for some in plugs.chunks(AT_ONCE) {
            let rows = vec![ROW.as_str(); some.len()].join(", ");
            let sql = format!(
                "INSERT INTO plugs ({}, maker_key, part_key) VALUES {rows}",
                *COLUMNS
            );
            let mut all = Vec::with_capacity(some.len() * 48);
            for plug in some {
                all.extend(values(plug)?);
            }
            self.execute(&sql, &all)?;
        }
        let ids: Vec<Uuid> = plugs.iter().map(|plug| plug.id).collect();
        self.mark_all(MarkKind::Plug, &ids)?;
        let told = |plug| Event::plug(EventKind::PlugCreated, plug);
        self.tell_all(&plugs.iter().map(told).collect::<Vec<_>>())
    }
}
