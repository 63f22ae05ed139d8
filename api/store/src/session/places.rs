//! Places that hold plugs.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::ledger::{Place, PlaceKind};
use plugwell_domain::scan::InBin;
use uuid::Uuid;

use super::outbox::MarkKind;
use super::{Filtered, Link, Session, key, listed_texts, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

pub(super) const SELECT: &str =
    "SELECT id, number, kind, name, retired, version, created_at FROM places";
/// What the scrap drum is called at first.
const SCRAP: &str = "Scrap drum";
/// What the difference account is called at first.
const DIFFERENCE: &str = "Count difference";

impl Record for Place {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            code: format!("P{}", cells.int()?),
            kind: cells.word()?,
            name: cells.text()?,
            retired: cells.flag()?,
            version: cells.int()?,
            created_at: cells.time()?,
        })
    }
}

impl Record for InBin {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        let (place_id, number) = (cells.id()?, cells.int()?);
        Ok(Self {
            place_id,
            code: format!("P{number}"),
            number,
            name: cells.text()?,
            quantity: cells.int()?,
        })
    }
}

/// The running number of a code such as `P12`, in either case.
pub(super) fn number_of(code: &str, letter: char) -> Option<i64> {
    let digits = code.strip_prefix([letter, letter.to_ascii_lowercase()])?;
    let plain = digits.bytes().all(|b| b.is_ascii_digit()) && !digits.starts_with('0');
    digits.parse().ok().filter(|_| plain)
}

impl Session {
    /// A place.
    pub fn place(&mut self, id: Uuid) -> Result<Option<Place>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// A place that something is put into: in a write nobody retires it until the commit.
    pub fn place_to_fill(&mut self, id: Uuid) -> Result<Option<Place>, StoreError> {
        self.place_locked(id, "FOR KEY SHARE")
    }

    /// A place that is to be changed: in a write nobody puts anything into it until the commit.
    pub fn place_to_change(&mut self, id: Uuid) -> Result<Option<Place>, StoreError> {
        self.place_locked(id, "FOR UPDATE")
    }

    fn place_locked(&mut self, id: Uuid, lock: &str) -> Result<Option<Place>, StoreError> {
        // SQLite has one writer at a time.
        let lock = match self.link {
            Link::Postgres(_) if self.writing => lock,
            _ => "",
        };
        self.first(&format!("{SELECT} WHERE id = ? {lock}"), binds![id])
    }

    /// Several places, in the order of their codes.
    pub fn places_by_id(&mut self, ids: &[Uuid]) -> Result<Vec<Place>, StoreError> {
        let sql = format!("{SELECT} WHERE id IN {} ORDER BY number", self.listed());
        self.load(&sql, &[listing(ids)])
    }

    /// A place by the code on its label.
    pub fn place_by_code(&mut self, code: &str) -> Result<Option<Place>, StoreError> {
        let Some(number) = number_of(code, 'P') else {
            return Ok(None);
        };
        self.first(&format!("{SELECT} WHERE number = ?"), binds![number])
    }

    /// A place of a kind by its name, compared case-blind.
    pub fn place_named(
        &mut self,
        kind: PlaceKind,
        name: &str,
    ) -> Result<Option<Place>, StoreError> {
        self.first(
            &format!("{SELECT} WHERE kind = ? AND name_key = ?"),
            binds![kind.word(), key(name)],
        )
    }

    /// Places in the order of their ids, narrowed by kind and code.
    pub fn list_places(
        &mut self,
        kind: Option<PlaceKind>,
        code: Option<&str>,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<Place>, StoreError> {
        let mut query = Filtered::query(SELECT);
        query.and_given("kind = ?", kind.map(PlaceKind::word));
        // No place has the number 0: a text that is no code finds nothing.
        query.and_given(
            "number = ?",
            code.map(|code| number_of(code, 'P').unwrap_or(0)),
        );
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Makes a place; the database gives it its code.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::PlaceName`](crate::Key::PlaceName), or with
    /// [`Key::SinglePlace`](crate::Key::SinglePlace) for a second scrap drum or difference account.
    pub fn insert_place(
        &mut self,
        id: Uuid,
        kind: PlaceKind,
        name: &str,
        now: DateTime<Utc>,
    ) -> Result<Place, StoreError> {
        let sql = "INSERT INTO places (id, kind, name, name_key, retired, version, created_at) \
                   VALUES (?, ?, ?, ?, 0, 1, ?) \
                   RETURNING id, number, kind, name, retired, version, created_at";
        let place = self.one(sql, binds![id, kind.word(), name, key(name), now])?;
        self.mark(MarkKind::Place, id)?;
        self.tell(&Event::of(EventKind::PlaceCreated, id, 1, &place))?;
        Ok(place)
    }

    /// The place of a kind by its name, made where there is none: suppliers and jobs are made on
    /// first use.
    pub fn place_for(
        &mut self,
        kind: PlaceKind,
        name: &str,
        now: DateTime<Utc>,
        new_id: Uuid,
    ) -> Result<Place, StoreError> {
        if let Some(place) = self.place_named(kind, name)? {
            return Ok(place);
        }
        let sql = "INSERT INTO places (id, kind, name, name_key, retired, version, created_at) \
                   VALUES (?, ?, ?, ?, 0, 1, ?) ON CONFLICT DO NOTHING";
        let made = self.execute(sql, binds![new_id, kind.word(), name, key(name), now])?;
        let place = self
            .place_named(kind, name)?
            .ok_or_else(|| StoreError::Fault(format!("no {kind} was made for {name:?}")))?;
        if made > 0 {
            self.mark(MarkKind::Place, new_id)?;
            self.tell(&Event::of(EventKind::PlaceCreated, new_id, 1, &place))?;
        }
        Ok(place)
    }

    /// Stores a place's new name or standing, version already raised, over the one before it.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::PlaceName`](crate::Key::PlaceName).
    pub fn update_place(&mut self, place: &Place) -> Result<(), StoreError> {
        let sql = "UPDATE places SET name = ?, name_key = ?, retired = ?, version = ? WHERE id = ? AND version = ?";
        let before = place.version - 1;
        let values = binds![
            &place.name,
            key(&place.name),
            place.retired,
            place.version,
            place.id,
            before
        ];
        self.write_over(sql, values)?;
        self.mark(MarkKind::Place, place.id)?;
        self.tell(&Event::of(
            EventKind::PlaceChanged,
            place.id,
            place.version,
            place,
        ))
    }

    /// The bins in use where a part lies, with how much of it.
    pub fn bins_of(&mut self, plug_id: Uuid) -> Result<Vec<InBin>, StoreError> {
        let sql = "SELECT p.id, p.number, p.name, CAST(SUM(l.quantity) AS bigint) FROM levels l \
                   JOIN places p ON p.id = l.place_id WHERE l.plug_id = ? AND l.place_kind = 'bin' \
                   AND p.retired = 0 GROUP BY p.id, p.number, p.name ORDER BY p.number";
        self.load(sql, binds![plug_id])
    }

    /// The bin in use where a part last lay.
    pub fn last_bin_of(&mut self, plug_id: Uuid) -> Result<Option<InBin>, StoreError> {
        let sql = "SELECT p.id, p.number, p.name, CAST(0 AS bigint) FROM movements m \
                   JOIN places p ON p.id IN (m.to_place_id, m.from_place_id) WHERE m.plug_id = ? \
                   AND p.kind = 'bin' AND p.retired = 0 \
                   ORDER BY m.sequence DESC, CASE WHEN p.id = m.to_place_id THEN 0 ELSE 1 END LIMIT 1";
        self.first(sql, binds![plug_id])
    }

    /// Places of any kind with a name, compared case-blind.
    pub fn places_called(&mut self, name: &str) -> Result<Vec<Place>, StoreError> {
        let kinds: Vec<String> = PlaceKind::WORDS.iter().map(|w| (*w).to_owned()).collect();
        let sql = format!(
            "{SELECT} WHERE kind IN {} AND name_key = ? ORDER BY number",
            self.listed()
        );
        self.load(&sql, &[listed_texts(&kinds), key(name).into()])
    }

    /// The scrap drum.
    pub fn scrap_place(&mut self) -> Result<Place, StoreError> {
        self.one(&format!("{SELECT} WHERE kind = 'scrap'"), &[])
    }

    /// The account that balances what counting finds.
    pub fn difference_place(&mut self) -> Result<Place, StoreError> {
        self.one(&format!("{SELECT} WHERE kind = 'difference'"), &[])
    }

    /// Makes the two places of which there is one, where they are missing.
    pub(crate) fn settle_places(&mut self) -> Result<(), StoreError> {
        for (kind, name) in [
            (PlaceKind::Scrap, SCRAP),
            (PlaceKind::Difference, DIFFERENCE),
        ] {
            let known =
                self.first::<Place>(&format!("{SELECT} WHERE kind = ?"), binds![kind.word()])?;
            if known.is_none() {
                self.place_for(kind, name, Utc::now(), Uuid::now_v7())?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::number_of;

    #[test]
    fn only_the_printed_form_is_a_code() {
        assert_eq!(number_of("P12", 'P'), Some(12));
        assert_eq!(number_of("p12", 'P'), Some(12));
        for text in [
            "",
            "P",
            "12",
            "L12",
            "P0",
            "P012",
            "P-1",
            "P+1",
            "P1x",
            "P99999999999999999999",
        ] {
            assert_eq!(number_of(text, 'P'), None, "{text}");
        }
    }
}
