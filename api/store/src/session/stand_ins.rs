//! Signed statements that one part stands in for another.

use diesel::deserialize;
use plugwell_domain::event::{Event, EventKind};
use plugwell_domain::spelling::bare;
use plugwell_domain::stand_in::{PartName, StandIn, StandInData};
use uuid::Uuid;

use super::heads::body;
use super::outbox::MarkKind;
use super::{Filtered, Session, key, listed_texts};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const SELECT: &str = "SELECT id, maker, part_number, for_maker, for_part_number, direction, who, source, note, \
                      recorded_by, created_at FROM stand_ins";

/// What a list of statements is narrowed by; maker and part number are those of one side.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StandInFilter {
    /// A maker on either side, case-blind.
    pub maker: Option<String>,
    /// A part number on either side, case-blind.
    pub part_number: Option<String>,
    /// Who says so, case-blind.
    pub who: Option<String>,
}

impl Record for StandIn {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            data: StandInData {
                part: PartName::new(cells.text()?, cells.text()?),
                stands_in_for: PartName::new(cells.text()?, cells.text()?),
                direction: cells.word()?,
                who: cells.text()?,
                source: cells.text_or_null()?,
                note: cells.text_or_null()?,
            },
            recorded_by: cells.text()?,
            version: Self::VERSION,
            created_at: cells.time()?,
        })
    }
}

/// Both names without case, the smaller first.
fn pair(data: &StandInData) -> Result<String, StoreError> {
    let mut names = [data.part.key(), data.stands_in_for.key()];
    names.sort();
    body(&names)
}

impl Session {
    /// A statement.
    pub fn stand_in(&mut self, id: Uuid) -> Result<Option<StandIn>, StoreError> {
        self.first(&format!("{SELECT} WHERE id = ?"), binds![id])
    }

    /// Statements in the order of their ids.
    pub fn list_stand_ins(
        &mut self,
        filter: &StandInFilter,
        after: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<StandIn>, StoreError> {
        let mut query = Filtered::query(SELECT);
        let named = [
            ("maker_key", filter.maker.as_deref().map(key)),
            ("part_key", filter.part_number.as_deref().map(key)),
        ];
        let named: Vec<_> = named
            .into_iter()
            .filter_map(|(column, name)| Some((column, name?)))
            .collect();
        if !named.is_empty() {
            let side = |prefix: &str| {
                let tests = named
                    .iter()
                    .map(|(column, _)| format!("{prefix}{column} = ?"));
                tests.collect::<Vec<_>>().join(" AND ")
            };
            let either = format!(" AND (({}) OR ({}))", side(""), side("for_"));
            query.sql.push_str(&either);
            let values = named.iter().chain(&named);
            query.binds.extend(values.map(|(_, name)| name.into()));
        }
        query.and_given("who_key = ?", filter.who.as_deref().map(key));
        query.and_given("id > ?", after);
        self.load_filtered(query.page("id", limit))
    }

    /// Every statement that names a part, on either side.
    pub fn stand_ins_of(&mut self, name: &PartName) -> Result<Vec<StandIn>, StoreError> {
        // A part never stands in for itself: no statement comes from both halves.
        let sql = format!(
            "{SELECT} WHERE part_key = ? AND maker_key = ? \
             UNION ALL {SELECT} WHERE for_part_key = ? AND for_maker_key = ? ORDER BY id"
        );
        let (maker, part) = name.key();
        self.load(&sql, binds![&part, &maker, &part, &maker])
    }

    /// Every statement that names a part whose number is spelled like one of these but for case and
    /// separators, on either side; `bare` are [bare] spellings.
    pub fn stand_ins_spelled(&mut self, bare: &[String]) -> Result<Vec<StandIn>, StoreError> {
        let among = self.listed();
        // One statement may name two such parts: it comes once.
        let sql = format!(
            "{SELECT} WHERE part_bare IN {among} UNION {SELECT} WHERE for_part_bare IN {among} ORDER BY id"
        );
        self.load(&sql, &[listed_texts(bare), listed_texts(bare)])
    }

    /// Stores a new statement and marks it.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::StandIn`](crate::Key::StandIn).
    pub fn insert_stand_in(&mut self, stand_in: &StandIn) -> Result<(), StoreError> {
        let data = &stand_in.data;
        let (part, other) = (&data.part, &data.stands_in_for);
        let (own_key, other_key) = (part.key(), other.key());
        self.execute(
            "INSERT INTO stand_ins (id, maker, maker_key, part_number, part_key, part_bare, for_maker, \
             for_maker_key, for_part_number, for_part_key, for_part_bare, pair, direction, who, who_key, source, note, \
             recorded_by, created_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            binds![
                stand_in.id,
                &part.maker,
                own_key.0,
                &part.part_number,
                own_key.1,
                bare(&part.part_number),
                &other.maker,
                other_key.0,
                &other.part_number,
                other_key.1,
                bare(&other.part_number),
                pair(data)?,
                data.direction.word(),
                &data.who,
                key(&data.who),
                data.source.as_deref(),
                data.note.as_deref(),
                &stand_in.recorded_by,
                stand_in.created_at,
            ],
        )?;
        self.mark(MarkKind::StandIn, stand_in.id)?;
        self.tell(&Event::of(
            EventKind::StandInStated,
            stand_in.id,
            stand_in.version,
            stand_in,
        ))
    }

    /// Withdraws a statement; whether there was one.
    pub fn delete_stand_in(&mut self, id: Uuid) -> Result<bool, StoreError> {
        let met = self.execute("DELETE FROM stand_ins WHERE id = ?", binds![id])?;
        if met > 0 {
            self.mark(MarkKind::StandIn, id)?;
            self.tell(&Event::bare(EventKind::StandInRemoved, id, 2))?;
        }
        Ok(met > 0)
    }
}
