//! The catalogue.

use std::sync::LazyLock;

use diesel::deserialize;
use plugwell_domain::attribute::{ATTRIBUTES, Attr, Facts, Kind};
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::plug::{Plug, PlugData};
use uuid::Uuid;

use super::outbox::MarkKind;
use super::plug_filter::PlugFilter;
use super::{Link, Session, key, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::{Bind, binds};

/// Key of the advisory lock on PostgreSQL that a change of a supersession holds ("succeeds").
const SUPERSESSION: i64 = 0x7375_6363_6565_6473;

/// The columns of a plug in the order of [`Record::read`], attributes in that of [`ATTRIBUTES`].
pub(super) static COLUMNS: LazyLock<String> = LazyLock::new(|| {
    let attributes: Vec<&str> = ATTRIBUTES.iter().map(|a| a.attr.word()).collect();
    format!(
        "id, maker, part_number, gtin, description, {}, heat_scale_id, heat_code, status, superseded_by, \
         provenance, retired, version, created_at, updated_at",
        attributes.join(", ")
    )
});

static BY_ID: LazyLock<String> =
    LazyLock::new(|| format!("SELECT {} FROM plugs WHERE id = ?", *COLUMNS));
static BY_NAME: LazyLock<String> = LazyLock::new(|| {
    format!(
        "SELECT {} FROM plugs WHERE maker_key = ? AND part_key = ?",
        *COLUMNS
    )
});
static BY_GTIN: LazyLock<String> =
    LazyLock::new(|| format!("SELECT {} FROM plugs WHERE gtin = ? ORDER BY id", *COLUMNS));
static BY_NUMBER: LazyLock<String> = LazyLock::new(|| {
    format!(
        "SELECT {} FROM plugs WHERE part_key = ? ORDER BY retired, id LIMIT ?",
        *COLUMNS
    )
});
static BY_SCALE: LazyLock<String> = LazyLock::new(|| {
    format!(
        "SELECT {} FROM plugs WHERE heat_scale_id = ? ORDER BY id",
        *COLUMNS
    )
});
static ALL: LazyLock<String> = LazyLock::new(|| {
    format!(
        "SELECT ordinal, {} FROM plugs WHERE ordinal > ? ORDER BY ordinal LIMIT ?",
        *COLUMNS
    )
});
static INSERT: LazyLock<String> = LazyLock::new(|| {
    let columns = format!("{}, maker_key, part_key", *COLUMNS);
    let places = vec!["?"; columns.split(',').count()].join(", ");
    format!("INSERT INTO plugs ({columns}) VALUES ({places}) RETURNING ordinal")
});
static DELETE: LazyLock<String> =
    LazyLock::new(|| format!("DELETE FROM plugs WHERE id = ? RETURNING {}", *COLUMNS));
static UPDATE: LazyLock<String> = LazyLock::new(|| {
    let columns = format!("{}, maker_key, part_key", *COLUMNS).replace(',', " = ?,");
    format!("UPDATE plugs SET {columns} = ? WHERE id = ? AND version = ?")
});

impl Record for Plug {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            data: PlugData {
                maker: cells.text()?,
                part_number: cells.text()?,
                gtin: cells.word_or_null()?,
                description: cells.text_or_null()?,
                facts: facts(cells)?,
                heat_scale_id: cells.id_or_null()?,
                heat_code: cells.text_or_null()?,
                status: cells.word()?,
                superseded_by: cells.id_or_null()?,
                provenance: cells.json()?,
            },
            retired: cells.flag()?,
            version: cells.int()?,
            created_at: cells.time()?,
            updated_at: cells.time()?,
        })
    }
}

fn facts(cells: &mut impl Cells) -> deserialize::Result<Facts> {
    let mut facts = Facts::default();
    for attribute in ATTRIBUTES {
        let raw = match attribute.kind {
            Kind::Choice(words) => match cells.text_or_null()? {
                None => None,
                Some(text) => match words.iter().position(|word| *word == text) {
                    Some(place) => Some(place as i64),
                    None => return Err(format!("{text:?} is no {}", attribute.attr).into()),
                },
            },
            Kind::Number { .. } | Kind::Flag => cells.int_or_null()?,
        };
        facts.set(attribute.attr, raw);
    }
    Ok(facts)
}

/// How the value of an attribute is kept: a listed word, or the whole number itself.
pub(super) fn kept(attr: Attr, raw: Option<i64>) -> Bind {
    match attr.declared().kind {
        Kind::Choice(words) => Bind::from(
            raw.and_then(|raw| usize::try_from(raw).ok())
                .and_then(|place| words.get(place))
                .copied(),
        ),
        Kind::Number { .. } | Kind::Flag => Bind::Int(raw),
    }
}

/// The values in the order of [`COLUMNS`], then the two keys.
pub(super) fn values(plug: &Plug) -> Result<Vec<Bind>, StoreError> {
    let data = &plug.data;
    let provenance =
        serde_json::to_string(&data.provenance).map_err(|e| StoreError::Fault(e.to_string()))?;
    let mut values: Vec<Bind> = vec![
        plug.id.into(),
        (&data.maker).into(),
        (&data.part_number).into(),
        data.gtin.as_ref().map(|gtin| gtin.as_str()).into(),
        data.description.as_deref().into(),
    ];
    values.extend(
        ATTRIBUTES
            .iter()
            .map(|a| kept(a.attr, data.facts.get(a.attr))),
    );
    values.extend([
        data.heat_scale_id.into(),
        data.heat_code.as_deref().into(),
        data.status.word().into(),
        data.superseded_by.into(),
        provenance.into(),
        plug.retired.into(),
        plug.version.into(),
        plug.created_at.into(),
        plug.updated_at.into(),
        key(&data.maker).into(),
        key(&data.part_number).into(),
    ]);
    Ok(values)
}

pub(super) fn ordinal(number: i64) -> Result<u32, StoreError> {
    u32::try_from(number).map_err(|_| StoreError::Fault(format!("{number} is no ordinal")))
}

impl Session {
    /// A part.
    pub fn plug(&mut self, id: Uuid) -> Result<Option<Plug>, StoreError> {
        self.first(&BY_ID, binds![id])
    }

    /// Parts in the order of their ids here; missing ones are left out.
    pub fn plugs_by_id(&mut self, ids: &[Uuid]) -> Result<Vec<Plug>, StoreError> {
        let sql = format!(
            "SELECT {} FROM plugs WHERE id IN {}",
            *COLUMNS,
            self.listed()
        );
        let found: Vec<Plug> = self.load(&sql, &[listing(ids)])?;
        let mut found: std::collections::HashMap<Uuid, Plug> =
            found.into_iter().map(|p| (p.id, p)).collect();
        Ok(ids.iter().filter_map(|id| found.remove(id)).collect())
    }

    /// The part of a maker, compared case-blind.
    pub fn plug_named(
        &mut self,
        maker: &str,
        part_number: &str,
    ) -> Result<Option<Plug>, StoreError> {
        self.first(&BY_NAME, binds![key(maker), key(part_number)])
    }

    /// Every part with a barcode, compared as printed.
    pub fn plug_with_gtin(&mut self, gtin: &str) -> Result<Vec<Plug>, StoreError> {
        self.load(&BY_GTIN, binds![gtin])
    }

    /// Every part with this part number, whoever makes it, compared case-blind; at most so many.
    pub fn plugs_numbered(
        &mut self,
        part_number: &str,
        limit: i64,
    ) -> Result<Vec<Plug>, StoreError> {
        self.load(&BY_NUMBER, binds![key(part_number), limit])
    }

    /// Parts that a filter leaves, in the order of their ids.
    pub fn list_plugs(
        &mut self,
        filter: &PlugFilter,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Plug>, StoreError> {
        let mut query = filter.query(&format!("SELECT {} FROM plugs", *COLUMNS), self.listed());
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Every part with its ordinal, retired ones too, for building the index anew.
    pub fn all_plugs(
        &mut self,
        after_ordinal: i64,
        limit: i64,
    ) -> Result<Vec<(u32, Plug)>, StoreError> {
        let rows: Vec<(i64, Plug)> = self.load(&ALL, binds![after_ordinal, limit])?;
        rows.into_iter()
            .map(|(number, plug)| Ok((ordinal(number)?, plug)))
            .collect()
    }

    /// The running number of a part.
    pub fn ordinal_of(&mut self, id: Uuid) -> Result<Option<u32>, StoreError> {
        let number: Option<i64> =
            self.first("SELECT ordinal FROM plugs WHERE id = ?", binds![id])?;
        number.map(ordinal).transpose()
    }

    /// How many parts there are, retired ones too.
    pub fn count_plugs(&mut self) -> Result<i64, StoreError> {
        self.one("SELECT COUNT(*) FROM plugs", &[])
    }

    /// Stores a new part and marks it; gives back its running number.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::PlugName`](crate::Key::PlugName).
    pub fn insert_plug(&mut self, plug: &Plug) -> Result<u32, StoreError> {
        let number = self.one(&INSERT, &values(plug)?)?;
        self.mark(MarkKind::Plug, plug.id)?;
        self.tell(&Event::plug(EventKind::PlugCreated, plug))?;
        ordinal(number)
    }

    /// Stores a part's new state, version already raised, over the one before it, and marks it.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::PlugName`](crate::Key::PlugName).
    pub fn update_plug(&mut self, plug: &Plug) -> Result<(), StoreError> {
        let kind = match plug.retired && !self.was_retired(plug.id)? {
            true => EventKind::PlugRetired,
            false => EventKind::PlugChanged,
        };
        let mut values = values(plug)?;
        values.extend([plug.id.into(), (plug.version - 1).into()]);
        self.write_over(&UPDATE, &values)?;
        self.mark(MarkKind::Plug, plug.id)?;
        self.tell(&Event::plug(kind, plug))
    }

    fn was_retired(&mut self, id: Uuid) -> Result<bool, StoreError> {
        self.any(
            "SELECT ordinal FROM plugs WHERE id = ? AND retired <> 0",
            binds![id],
        )
    }

    /// Deletes a part that nothing names, and its barcodes; whether there was one.
    pub fn delete_plug(&mut self, id: Uuid) -> Result<bool, StoreError> {
        self.execute("DELETE FROM barcodes WHERE plug_id = ?", binds![id])?;
        let Some(mut plug) = self.first::<Plug>(&DELETE, binds![id])? else {
            return Ok(false);
        };
        self.mark(MarkKind::Plug, id)?;
        plug.version += 1;
        self.tell(&Event::plug(EventKind::PlugRemoved, &plug))?;
        Ok(true)
    }

    /// Until the end of the transaction nobody else changes what takes the place of what: whoever
    /// looks for a loop sees every supersession that could close one.
    pub fn lock_supersession(&mut self) -> Result<(), StoreError> {
        match self.link {
            // There is one writer at a time.
            Link::Sqlite(_) => Ok(()),
            Link::Postgres(_) => {
                self.batch(&format!("SELECT pg_advisory_xact_lock({SUPERSESSION})"))
            }
        }
    }

    /// Whether lots, reservations, successors, builds, tuning days or orders name the part.
    pub fn plug_has_history(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let sql = "SELECT CAST(1 AS bigint) WHERE EXISTS (SELECT 1 FROM lots WHERE plug_id = ?) \
                   OR EXISTS (SELECT 1 FROM reservations WHERE plug_id = ?) \
                   OR EXISTS (SELECT 1 FROM plugs WHERE superseded_by = ?) \
                   OR EXISTS (SELECT 1 FROM builds WHERE base_plug_id = ?) \
                   OR EXISTS (SELECT 1 FROM tuning_days WHERE plug_id = ?) \
                   OR EXISTS (SELECT 1 FROM order_lines WHERE plug_id = ?)";
        self.any(sql, binds![id, id, id, id, id, id])
    }

    /// Every part whose heat code belongs to a scale.
    pub fn plugs_of_scale(&mut self, scale_id: Uuid) -> Result<Vec<Plug>, StoreError> {
        self.load(&BY_SCALE, binds![scale_id])
    }
}
