//! Marks of what changed: for the index, the live table of other nodes, the change feed.

use std::fmt;
use std::str::FromStr;

use diesel::deserialize;
use uuid::Uuid;

use super::{Link, Session};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::{Bind, binds};

/// Marks that one statement makes.
const AT_ONCE: usize = 64;

/// What changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum MarkKind {
    /// A record of the catalogue.
    Plug,
    /// The stock of a part.
    Stock,
    /// A cylinder head.
    Head,
    /// A build.
    Build,
    /// A heat scale.
    HeatScale,
    /// A statement that a part stands in for another.
    StandIn,
    /// A place.
    Place,
    /// The policy.
    Policy,
    /// A tuning day.
    TuningDay,
    /// A reading.
    Reading,
    /// A count of bins.
    Count,
    /// A purchase order.
    Order,
    /// What is given by hand for the reordering of a part.
    Reordering,
    /// A barcode of a part.
    Barcode,
    /// An incoming check.
    IncomingCheck,
    /// A job that waits for plugs: asked, grown less, or called off.
    WaitingJob,
}

impl MarkKind {
    /// Every kind.
    pub const ALL: &'static [Self] = &[
        Self::Plug,
        Self::Stock,
        Self::Head,
        Self::Build,
        Self::HeatScale,
        Self::StandIn,
        Self::Place,
        Self::Policy,
        Self::TuningDay,
        Self::Reading,
        Self::Count,
        Self::Order,
        Self::Reordering,
        Self::Barcode,
        Self::IncomingCheck,
        Self::WaitingJob,
    ];

    /// The word that stands for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Plug => "plug",
            Self::Stock => "stock",
            Self::Head => "head",
            Self::Build => "build",
            Self::HeatScale => "heat_scale",
            Self::StandIn => "stand_in",
            Self::Place => "place",
            Self::Policy => "policy",
            Self::TuningDay => "tuning_day",
            Self::Reading => "reading",
            Self::Count => "count",
            Self::Order => "order",
            Self::Reordering => "reordering",
            Self::Barcode => "barcode",
            Self::IncomingCheck => "incoming_check",
            Self::WaitingJob => "waiting_job",
        }
    }
}

impl fmt::Display for MarkKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl FromStr for MarkKind {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        Self::ALL
            .iter()
            .copied()
            .find(|k| k.word() == text)
            .ok_or_else(|| format!("{text:?} is no kind of mark"))
    }
}

/// That something changed; its state is to be read anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// Where it stands; several marks of one transaction may share it.
    pub position: i64,
    /// What changed.
    pub kind: MarkKind,
    /// Which one.
    pub id: Uuid,
}

impl Record for Mark {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            position: cells.int()?,
            kind: cells.word()?,
            id: cells.id()?,
        })
    }
}

impl Session {
    /// Marks something as changed; gives back the position of the mark.
    pub fn mark(&mut self, kind: MarkKind, id: Uuid) -> Result<i64, StoreError> {
        let sql = "INSERT INTO outbox (kind, id) VALUES (?, ?) RETURNING position";
        self.position = self.one(sql, binds![kind.word(), id])?;
        Ok(self.position)
    }

    /// Marks many things as changed, in few statements.
    pub fn mark_all(&mut self, kind: MarkKind, ids: &[Uuid]) -> Result<(), StoreError> {
        for some in ids.chunks(AT_ONCE) {
            let rows = vec!["(?, ?)"; some.len()].join(", ");
            let sql = format!("INSERT INTO outbox (kind, id) VALUES {rows} RETURNING position");
            let values: Vec<Bind> = some
                .iter()
                .flat_map(|id| [Bind::from(kind.word()), Bind::from(*id)])
                .collect();
            let positions: Vec<i64> = self.load(&sql, &values)?;
            self.position = positions.into_iter().fold(self.position, i64::max);
        }
        Ok(())
    }

    /// How many marks of a kind stand behind a position; counted no further than `most`.
    pub fn marks_behind(
        &mut self,
        position: i64,
        kind: MarkKind,
        most: i64,
    ) -> Result<i64, StoreError> {
        // As far as marks are given: see `marks_after`.
        let given = match self.link {
            Link::Sqlite(_) => "",
            Link::Postgres(_) => {
                "AND position < pg_snapshot_xmin(pg_current_snapshot())::text::bigint"
            }
        };
        let sql = format!(
            "SELECT COUNT(*) FROM (SELECT 1 FROM outbox WHERE position > ? AND kind = ? {given} LIMIT ?) AS behind"
        );
        self.one(&sql, binds![position, kind.word(), most])
    }

    /// How many marks of every kind stand behind a position, also those that [`Session::marks_after`]
    /// does not give yet; counted no further than `most`.
    pub fn outbox_depth(&mut self, position: i64, most: i64) -> Result<i64, StoreError> {
        let sql =
            "SELECT COUNT(*) FROM (SELECT 1 FROM outbox WHERE position > ? LIMIT ?) AS behind";
        self.one(sql, binds![position, most])
    }

    /// The position of the last mark that this write made; `None` where it made none.
    pub fn position(&self) -> Option<i64> {
        (self.position > 0).then_some(self.position)
    }

    /// The marks behind a position, in order, all marks of a transaction together: `limit` may be
    /// exceeded by the rest of the last one. Nothing will ever appear before what is given.
    pub fn marks_after(&mut self, position: i64, limit: i64) -> Result<Vec<Mark>, StoreError> {
        let sql = match self.link {
            Link::Sqlite(_) => {
                "SELECT position, kind, id FROM outbox WHERE position > ? ORDER BY position LIMIT ?"
            }
            // A transaction that is still running may yet write under its number; those below the
            // oldest running one are done.
            Link::Postgres(_) => {
                "SELECT position, kind, id FROM outbox \
                 WHERE position > ? AND position < pg_snapshot_xmin(pg_current_snapshot())::text::bigint \
                 ORDER BY position FETCH FIRST (?) ROWS WITH TIES"
            }
        };
        self.load(sql, binds![position, limit])
    }

    /// What tells the state that this session sees from every other: where it is the same, so is all that
    /// is marked when it changes.
    pub fn state(&mut self) -> Result<String, StoreError> {
        let sql = match self.link {
            Link::Sqlite(_) => "SELECT CAST(COALESCE(MAX(position), 0) AS TEXT) FROM outbox",
            // A mark of a transaction that is still running may yet appear below others.
            Link::Postgres(_) => "SELECT CAST(pg_current_snapshot() AS text)",
        };
        self.one(sql, &[])
    }

    /// The position up to which the state that this session sees holds everything; 0 at first.
    pub fn last_mark(&mut self) -> Result<i64, StoreError> {
        let sql = match self.link {
            Link::Sqlite(_) => "SELECT COALESCE(MAX(position), 0) FROM outbox",
            Link::Postgres(_) => {
                "SELECT COALESCE(MAX(position), 0) FROM outbox \
                 WHERE position < pg_snapshot_xmin(pg_current_snapshot())::text::bigint"
            }
        };
        self.one(sql, &[])
    }
}
