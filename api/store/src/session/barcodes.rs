//! Barcodes that the shop attached to parts.

use diesel::deserialize;
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::scan::barcode::{Barcode, BarcodeData, key};
use uuid::Uuid;

use super::outbox::MarkKind;
use super::{Filtered, Session, listed_texts};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT id, plug_id, code, plugs, recorded_by, created_at FROM barcodes";

impl Record for Barcode {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            plug_id: cells.id()?,
            data: BarcodeData {
                code: cells.text()?,
                plugs: cells.int_or_null()?,
            },
            recorded_by: cells.text()?,
            version: Self::VERSION,
            created_at: cells.time()?,
        })
    }
}

impl Session {
    /// A barcode.
    pub fn barcode(&mut self, id: Uuid) -> Result<Option<Barcode>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// The barcode that a scanner reads; of a GTIN whatever noughts stand in front.
    pub fn barcode_read(&mut self, code: &str) -> Result<Option<Barcode>, StoreError> {
        self.first(&format!("{SELECT} WHERE code_key = ?"), binds![key(code)])
    }

    /// The barcodes that somebody who scans or types one of these texts can mean: the same number in
    /// whatever length, or the same letters whatever their case.
    pub fn barcodes_like(&mut self, texts: &[&str]) -> Result<Vec<Barcode>, StoreError> {
        let keys: Vec<String> = texts
            .iter()
            .map(|text| key(text).to_lowercase())
            // No barcode has other characters.
            .filter(|key| key.bytes().all(|b| b.is_ascii_graphic()))
            .collect();
        let sql = format!("{SELECT} WHERE lower(code_key) IN {}", self.listed());
        self.load(&sql, &[listed_texts(&keys)])
    }

    /// The barcodes of a part in the order that they were attached in.
    pub fn list_barcodes(
        &mut self,
        plug_id: Uuid,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Barcode>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and("plug_id = ?", plug_id);
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Attaches a barcode and marks it.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::Barcode`](crate::Key::Barcode).
    pub fn insert_barcode(&mut self, barcode: &Barcode) -> Result<(), StoreError> {
        self.execute(
            "INSERT INTO barcodes (id, plug_id, code, code_key, plugs, recorded_by, created_at) \
             VALUES (?, ?, ?, ?, ?, ?, ?)",
            binds![
                barcode.id,
                barcode.plug_id,
                &barcode.data.code,
                key(&barcode.data.code),
                barcode.data.plugs,
                &barcode.recorded_by,
                barcode.created_at,
            ],
        )?;
        self.mark(MarkKind::Barcode, barcode.id)?;
        self.tell(&Event::of(
            EventKind::BarcodeAttached,
            barcode.id,
            barcode.version,
            barcode,
        ))
    }

    /// Takes a barcode off; whether there was one.
    pub fn delete_barcode(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let met = self.execute("DELETE FROM barcodes WHERE id = ?", binds![id])?;
        if met > 0 {
            self.mark(MarkKind::Barcode, id)?;
            self.tell(&Event::bare(EventKind::BarcodeRemoved, id, 2))?;
        }
        Ok(met > 0)
    }
}
