//! What the books of value are made of: movements part by part, without the words that they carry.

use std::collections::HashMap;

use diesel::deserialize;
use plugwell_domain::instant::Period;
use plugwell_domain::ledger::{Movement, MovementKind, PlaceKind};
use plugwell_domain::valuation::{End, Entry, LotCost};
use uuid::Uuid;

use super::movements::SELECT;
use super::{Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

/// Parts whose movements are read at once.
const PARTS: usize = 250;

/// A part with all that its books of value are made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartBooks {
    /// The part.
    pub plug_id: Uuid,
    /// Maker's name.
    pub maker: String,
    /// The maker's part number as printed.
    pub part_number: String,
    /// Its lots.
    pub lots: Vec<LotCost>,
    /// Its movements in the order of their running numbers.
    pub entries: Vec<Entry>,
}

/// A movement whose places have no kind yet.
struct Bare {
    plug_id: Uuid,
    id: Uuid,
    sequence: i64,
    kind: MovementKind,
    lot_id: Uuid,
    from: Uuid,
    to: Uuid,
    quantity: i64,
    reverses: Option<Uuid>,
    answers: Option<Uuid>,
    pair_id: Option<Uuid>,
    at: chrono::DateTime<chrono::Utc>,
}

impl Record for Bare {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            plug_id: cells.id()?,
            id: cells.id()?,
            sequence: cells.int()?,
            kind: cells.word()?,
            lot_id: cells.id()?,
            from: cells.id()?,
            to: cells.id()?,
            quantity: cells.int()?,
            reverses: cells.id_or_null()?,
            answers: cells.id_or_null()?,
            pair_id: cells.id_or_null()?,
            at: cells.time()?,
        })
    }
}

/// A lot with its part.
struct LotOf(Uuid, LotCost);

impl Record for LotOf {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self(
            cells.id()?,
            LotCost {
                id: cells.id()?,
                from_lot_id: cells.id_or_null()?,
                quantity_received: cells.int()?,
                minor: cells.int_or_null()?,
            },
        ))
    }
}

/// A place with its kind.
struct Placed(Uuid, PlaceKind);

impl Record for Placed {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self(cells.id()?, cells.word()?))
    }
}

impl Session {
    /// Every part that ever had a lot.
    pub fn stocked_parts(&mut self) -> Result<Vec<Uuid>, StoreError> {
        self.load("SELECT DISTINCT plug_id FROM lots ORDER BY plug_id", &[])
    }

    /// Hands over what the books of these parts are made of, part by part in the order of their
    /// identifiers. What a lot cost in another currency than this one counts as not known: it could
    /// not be added up.
    pub fn each_part(
        &mut self,
        parts: &[Uuid],
        currency: &str,
        mut take: impl FnMut(PartBooks),
    ) -> Result<(), StoreError> {
        let kinds: HashMap<Uuid, PlaceKind> = self
            .load::<Placed>("SELECT id, kind FROM places", &[])?
            .into_iter()
            .map(|place| (place.0, place.1))
            .collect();
        let mut parts = parts.to_vec();
        parts.sort_unstable();
        parts.dedup();
        for some in parts.chunks(PARTS) {
            for part in self.parts_of_books(some, currency, &kinds)? {
                take(part);
            }
        }
        Ok(())
    }

    fn parts_of_books(
        &mut self,
        ids: &[Uuid],
        currency: &str,
        kinds: &HashMap<Uuid, PlaceKind>,
    ) -> Result<Vec<PartBooks>, StoreError> {
        let list = self.listed();
        let sql =
            format!("SELECT id, maker, part_number FROM plugs WHERE id IN {list} ORDER BY id");
        let named: Vec<(Uuid, String, String)> = self.load(&sql, &[listing(ids)])?;
        let mut found: Vec<PartBooks> = named
            .into_iter()
            .map(|(plug_id, maker, part_number)| PartBooks {
                plug_id,
                maker,
                part_number,
                lots: Vec::new(),
                entries: Vec::new(),
            })
            .collect();
        let places: HashMap<Uuid, usize> = (0..).zip(&found).map(|(n, p)| (p.plug_id, n)).collect();
        let sql = format!(
            "SELECT plug_id, id, from_lot_id, quantity_received, \
             CASE WHEN cost_currency = ? THEN cost_minor END FROM lots WHERE plug_id IN {list}"
        );
        for LotOf(plug_id, lot) in self.load::<LotOf>(&sql, &[currency.into(), listing(ids)])? {
            if let Some(place) = places.get(&plug_id) {
                found[*place].lots.push(lot);
            }
        }
        let sql = format!(
            "SELECT plug_id, id, sequence, kind, lot_id, from_place_id, to_place_id, quantity, reverses, answers, \
             pair_id, created_at FROM movements WHERE plug_id IN {list}"
        );
        for bare in self.load::<Bare>(&sql, &[listing(ids)])? {
            if let Some(place) = places.get(&bare.plug_id) {
                found[*place].entries.push(bare.entry(kinds)?);
            }
        }
        // Each part's lie in the index in this order already, so this is one look through them; a sort in the
        // query would be one of all parts.
        for part in &mut found {
            part.entries.sort_by_key(|entry| entry.sequence);
        }
        Ok(found)
    }

    /// What was scrapped in a period, in the order of the running numbers.
    pub fn scrapped_in(&mut self, period: Period) -> Result<Vec<Movement>, StoreError> {
        let sql = format!(
            "{SELECT} WHERE kind = 'scrapping' AND created_at >= ? AND created_at < ? ORDER BY sequence"
        );
        let (from, to) = ends(period);
        self.load(&sql, binds![from, to])
    }

    /// What was taken back out of the drum in a period, each with the scrapping that it put right.
    pub fn taken_back_in(
        &mut self,
        period: Period,
    ) -> Result<Vec<(Movement, Movement)>, StoreError> {
        // Nothing but reversals leaves the drum.
        let drum = self.scrap_place()?.id;
        let sql = format!(
            "{SELECT} WHERE from_place_id = ? AND created_at >= ? AND created_at < ? ORDER BY sequence"
        );
        let (from, to) = ends(period);
        let reversals: Vec<Movement> = self.load(&sql, binds![drum, from, to])?;
        let ids: Vec<Uuid> = reversals.iter().filter_map(|m| m.reverses).collect();
        let sql = format!("{SELECT} WHERE id IN {}", self.listed());
        let originals: Vec<Movement> = self.load(&sql, &[listing(&ids)])?;
        let originals: HashMap<Uuid, Movement> = originals.into_iter().map(|m| (m.id, m)).collect();
        let pairs = reversals.into_iter().filter_map(|reversal| {
            let original = originals.get(&reversal.reverses?)?.clone();
            Some((reversal, original))
        });
        Ok(pairs.collect())
    }
}

/// The ends of a period in microseconds; open ends are further than any movement.
fn ends(period: Period) -> (i64, i64) {
    (
        period.from.map_or(i64::MIN, |from| from.timestamp_micros()),
        period.to.map_or(i64::MAX, |to| to.timestamp_micros()),
    )
}

impl Bare {
    fn entry(self, kinds: &HashMap<Uuid, PlaceKind>) -> Result<Entry, StoreError> {
        let end = |id: Uuid| match kinds.get(&id) {
            Some(kind) => Ok(End { id, kind: *kind }),
            None => Err(StoreError::Fault(format!(
                "movement {} is at no place",
                self.id
            ))),
        };
        Ok(Entry {
            id: self.id,
            sequence: self.sequence,
            kind: self.kind,
            lot_id: self.lot_id,
            from: end(self.from)?,
            to: end(self.to)?,
            quantity: self.quantity,
            reverses: self.reverses,
            answers: self.answers,
            pair_id: self.pair_id,
            at: self.at,
        })
    }
}
