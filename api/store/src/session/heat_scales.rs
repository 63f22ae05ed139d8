//! Makers' heat codes.

use diesel::deserialize;
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::heat_scale::{HeatScale, HeatScaleData};
use uuid::Uuid;

use super::heads::body;
use super::outbox::MarkKind;
use super::{Filtered, Link, Session, key};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT id, maker, name, codes, calibrated_at, version, created_at, updated_at FROM heat_scales";

impl Record for HeatScale {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            data: HeatScaleData {
                maker: cells.text()?,
                name: cells.text()?,
                codes: cells.json()?,
            },
            calibrated_at: cells.time_or_null()?,
            version: cells.int()?,
            created_at: cells.time()?,
            updated_at: cells.time()?,
        })
    }
}

impl Session {
    /// A scale.
    pub fn scale(&mut self, id: Uuid) -> Result<Option<HeatScale>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// A scale that this write is about to change, or that it needs to be as it was read: nobody
    /// else can change it until the commit.
    pub fn scale_for_change(&mut self, id: Uuid) -> Result<Option<HeatScale>, StoreError> {
        self.locked_scale(id, "FOR NO KEY UPDATE")
    }

    /// A scale of which a record of this write is made up: it cannot be changed until the commit,
    /// but others can rely on it too.
    pub fn scale_to_rely_on(&mut self, id: Uuid) -> Result<Option<HeatScale>, StoreError> {
        self.locked_scale(id, "FOR SHARE")
    }

    /// On SQLite a write is alone anyway.
    fn locked_scale(&mut self, id: Uuid, lock: &str) -> Result<Option<HeatScale>, StoreError> {
        let lock = match self.link {
            Link::Postgres(_) if self.writing => lock,
            _ => "",
        };
        self.first(&format!("{SELECT} WHERE id = ? {lock}"), binds![id])
    }

    /// The scale of a maker by its name, compared case-blind.
    pub fn scale_named(
        &mut self,
        maker: &str,
        name: &str,
    ) -> Result<Option<HeatScale>, StoreError> {
        self.first(
            &format!("{SELECT} WHERE maker_key = ? AND name_key = ?"),
            binds![key(maker), key(name)],
        )
    }

    /// Scales in the order of their ids, all or those of a maker (case-blind).
    pub fn list_scales(
        &mut self,
        maker: Option<&str>,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<HeatScale>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("maker_key = ?", maker.map(key));
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Stores a new scale and marks it.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::ScaleName`](crate::Key::ScaleName).
    pub fn insert_scale(&mut self, scale: &HeatScale) -> Result<(), StoreError> {
        let data = &scale.data;
        self.execute(
            "INSERT INTO heat_scales (id, maker, maker_key, name, name_key, codes, calibrated_at, version, \
             created_at, updated_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            binds![
                scale.id,
                &data.maker,
                key(&data.maker),
                &data.name,
                key(&data.name),
                body(&data.codes)?,
                scale.calibrated_at,
                scale.version,
                scale.created_at,
                scale.updated_at,
            ],
        )?;
        self.mark(MarkKind::HeatScale, scale.id)?;
        self.tell(&Event::of(
            EventKind::HeatScaleCreated,
            scale.id,
            scale.version,
            scale,
        ))
    }

    /// Stores a scale's new state, version already raised, over the one before it, and marks it.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::ScaleName`](crate::Key::ScaleName).
    pub fn update_scale(&mut self, scale: &HeatScale) -> Result<(), StoreError> {
        let data = &scale.data;
        self.write_over(
            "UPDATE heat_scales SET maker = ?, maker_key = ?, name = ?, name_key = ?, codes = ?, calibrated_at = ?, \
             version = ?, updated_at = ? WHERE id = ? AND version = ?",
            binds![
                &data.maker,
                key(&data.maker),
                &data.name,
                key(&data.name),
                body(&data.codes)?,
                scale.calibrated_at,
                scale.version,
                scale.updated_at,
                scale.id,
                scale.version - 1,
            ],
        )?;
        self.mark(MarkKind::HeatScale, scale.id)?;
        self.tell(&Event::of(
            EventKind::HeatScaleChanged,
            scale.id,
            scale.version,
            scale,
        ))
    }

    /// Deletes a scale that no part's heat code belongs to; whether there was one.
    pub fn delete_scale(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let sql = "DELETE FROM heat_scales WHERE id = ? RETURNING version";
        let Some(version) = self.first::<i64>(sql, binds![id])? else {
            return Ok(false);
        };
        self.mark(MarkKind::HeatScale, id)?;
        self.tell(&Event::bare(EventKind::HeatScaleRemoved, id, version + 1))?;
        Ok(true)
    }

    /// Whether a part's heat code belongs to the scale.
    pub fn scale_in_use(&mut self, id: Uuid) -> Result<bool, StoreError> {
        self.any(
            "SELECT CAST(1 AS bigint) FROM plugs WHERE heat_scale_id = ? LIMIT 1",
            binds![id],
        )
    }
}
