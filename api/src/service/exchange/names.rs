//! What the rows of a table of parts name: heat scales, and each other.

use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::hash::{BuildHasher, RandomState};

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::heat_scale::HeatScale;
use plugwell_store::Session;
use uuid::Uuid;

use super::forms;
use super::rows::Row;
use crate::service::Refusal;

/// Maker and own name as they are compared.
pub(super) type Name = (String, String);

pub(super) fn key(maker: &str, name: &str) -> Name {
    (maker.to_lowercase(), name.to_lowercase())
}

/// The heat scales, by name and by identifier.
pub(super) struct Scales {
    named: HashMap<Name, Uuid>,
    /// Those that records rely on: held until the commit.
    held: HashMap<Uuid, Option<HeatScale>>,
}

impl Scales {
    pub(super) fn of(session: &mut Session) -> Result<Self, Refusal> {
        let all = session.list_scales(None, None, i64::MAX)?;
        let named = all
            .into_iter()
            .map(|scale| (key(&scale.data.maker, &scale.data.name), scale.id));
        Ok(Self {
            named: named.collect(),
            held: HashMap::new(),
        })
    }

    /// Puts the scale's identifier in the place of its name.
    pub(super) fn refer(&self, row: &mut Row) -> Option<Fault> {
        let named = row.cells.shift_remove("heat_scale")?;
        let name = named.as_str().and_then(forms::parted);
        let id = name.and_then(|(maker, name)| self.named.get(&key(&maker, name)));
        let value = id.map(|id| id.to_string()).into();
        row.cells.insert("heat_scale_id".into(), value);
        (!named.is_null() && id.is_none()).then(|| {
            let detail =
                format!("there is no heat scale {named}; write maker/name of one that is stored");
            Fault::at("heat_scale_id", FaultCode::NotFound, detail)
        })
    }

    pub(super) fn relied_on(
        &mut self,
        session: &mut Session,
        id: Uuid,
    ) -> Result<Option<&HeatScale>, Refusal> {
        let scale = match self.held.entry(id) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(free) => free.insert(session.scale_to_rely_on(id)?),
        };
        Ok(scale.as_ref())
    }
}

/// The names of a file, each with its row: two hashes in the place of the name, so that a million take
/// little room. That two names have both alike does not happen: 128 bits.
#[derive(Default)]
pub(super) struct Names {
    rows: HashMap<(u64, u64), u32>,
    hashes: [RandomState; 2],
}

impl Names {
    fn hash(&self, name: &Name) -> (u64, u64) {
        (self.hashes[0].hash_one(name), self.hashes[1].hash_one(name))
    }

    /// The row that had the name before; a row without a name is told elsewhere.
    pub(super) fn seen(&mut self, name: &Name, row: u64) -> Option<u32> {
        if name.0.is_empty() || name.1.is_empty() {
            return None;
        }
        let row = u32::try_from(row).unwrap_or(u32::MAX);
        match self.rows.entry(self.hash(name)) {
            Entry::Occupied(earlier) => Some(*earlier.get()),
            Entry::Vacant(free) => {
                free.insert(row);
                None
            }
        }
    }

    pub(super) fn knows(&self, name: &Name) -> bool {
        self.rows.contains_key(&self.hash(name))
    }
}
