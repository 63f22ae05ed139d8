//! What happened, for everybody who wants to be told: written with what it tells of, read in an
//! order in which nothing ever appears before what was read.

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::event::{Event, EventKind};
use serde_json::Value;
use uuid::Uuid;

use super::{Filtered, Link, Session, listed_texts};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::{Bind, binds};

/// Events that one statement writes.
const AT_ONCE: usize = 64;
/// Events that get their place, or are forgotten, at a time.
const MANY: i64 = 10_000;
/// Key of the advisory lock on PostgreSQL of whoever gives places ("events").
const PLACES: i64 = 0x6576_656e_7473;
/// Under this name stands the last place of the feed that has been forgotten.
const FORGOTTEN: &str = "events_forgotten";

/// An event as it is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Its place in the feed.
    pub sequence: i64,
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// What happened.
    pub kind: EventKind,
    /// What it happened to.
    pub subject: String,
    /// Which version the subject has since.
    pub version: i64,
    /// When.
    pub created_at: DateTime<Utc>,
    /// Enough of it to act on.
    pub data: Value,
}

impl Record for Told {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            sequence: cells.int()?,
            id: cells.id()?,
            kind: cells.word()?,
            subject: cells.text()?,
            version: cells.int()?,
            created_at: cells.time()?,
            data: cells.json()?,
        })
    }
}

impl Session {
    /// Tells of something that this transaction does: kept if it is, undone with it.
    pub fn tell(&mut self, event: &Event) -> Result<(), StoreError> {
        self.tell_all(std::slice::from_ref(event))
    }

    /// Tells of many things, in few statements.
    pub fn tell_all(&mut self, events: &[Event]) -> Result<(), StoreError> {
        let now = Utc::now();
        for some in events.chunks(AT_ONCE) {
            let rows = vec!["(?, ?, ?, ?, ?, ?)"; some.len()].join(", ");
            let sql = format!(
                "INSERT INTO events (id, kind, subject, version, created_at, data) VALUES {rows}"
            );
            let mut values: Vec<Bind> = Vec::with_capacity(some.len() * 6);
            for event in some {
                values.extend([
                    Uuid::now_v7().into(),
                    event.kind.word().into(),
                    (&event.subject).into(),
                    event.version.into(),
                    now.into(),
                    event.data.to_string().into(),
                ]);
            }
            self.execute(&sql, &values)?;
        }
        Ok(())
    }

    /// Gives events that were committed since their places in the feed; whether there were any.
    ///
    /// On SQLite they have them from the start. On PostgreSQL transactions end in another order than
    /// they write: one that is still open is not waited for, its events come behind those that were
    /// read meanwhile.
    pub fn place_events(&mut self) -> Result<bool, StoreError> {
        if matches!(self.link, Link::Sqlite(_)) {
            return Ok(false);
        }
        // One at a time: whoever comes next sees the places that were given.
        self.batch(&format!("SELECT pg_advisory_xact_lock({PLACES})"))?;
        let last = self.last_event()?;
        let sql = "UPDATE events SET sequence = ? + fresh.place FROM \
                   (SELECT number, row_number() OVER (ORDER BY number) AS place FROM events \
                   WHERE sequence IS NULL ORDER BY number LIMIT ?) AS fresh WHERE events.number = fresh.number";
        Ok(self.execute(sql, binds![last, MANY])? > 0)
    }

    /// Whether an event waits for its place in the feed.
    pub fn any_event_to_place(&mut self) -> Result<bool, StoreError> {
        match self.link {
            Link::Sqlite(_) => Ok(false),
            Link::Postgres(_) => self.any(
                "SELECT number FROM events WHERE sequence IS NULL LIMIT 1",
                &[],
            ),
        }
    }

    /// The events of a stretch of the feed, in order: behind one place, up to and with another; of
    /// some kinds, or of all where none are named. Nothing will ever appear before what is given.
    pub fn events_between(
        &mut self,
        after: i64,
        up_to: i64,
        kinds: &[EventKind],
        limit: i64,
    ) -> Result<Vec<Told>, StoreError> {
        let mut query = Filtered::query(
            "SELECT sequence, id, kind, subject, version, created_at, data FROM events",
        );
        query.and("sequence > ?", after);
        query.and("sequence <= ?", up_to);
        if !kinds.is_empty() {
            let words: Vec<String> = kinds.iter().map(EventKind::to_string).collect();
            query.and(&format!("kind IN {}", self.listed()), listed_texts(&words));
        }
        self.load_filtered(query.page("sequence", limit))
    }

    /// The event with an id.
    pub fn event(&mut self, sequence: i64) -> Result<Option<Told>, StoreError> {
        Ok(self
            .events_between(sequence - 1, sequence, &[], 1)?
            .into_iter()
            .next())
    }

    /// The last place of the feed that was given; 0 at first.
    pub fn last_event(&mut self) -> Result<i64, StoreError> {
        let last: i64 = self.one("SELECT COALESCE(MAX(sequence), 0) FROM events", &[])?;
        Ok(last.max(self.events_forgotten()?))
    }

    /// The last place of the feed whose event is no longer kept; 0 where all are.
    pub fn events_forgotten(&mut self) -> Result<i64, StoreError> {
        let kept = self.meta(FORGOTTEN)?;
        Ok(kept.and_then(|text| text.parse().ok()).unwrap_or(0))
    }

    /// Forgets the oldest events as far as they are older than an instant, with their deliveries;
    /// whether there may be more.
    pub fn forget_events(&mut self, before: DateTime<Utc>) -> Result<bool, StoreError> {
        let sql = "SELECT MAX(sequence) FROM (SELECT sequence, created_at FROM events \
                   WHERE sequence IS NOT NULL ORDER BY sequence LIMIT ?) AS oldest WHERE created_at < ?";
        let Some(last) = self.one::<Option<i64>>(sql, binds![MANY, before])? else {
            return Ok(false);
        };
        let sql = "DELETE FROM delivery_attempts WHERE delivery_id IN (SELECT id FROM deliveries WHERE sequence <= ?)";
        self.execute(sql, binds![last])?;
        self.execute("DELETE FROM deliveries WHERE sequence <= ?", binds![last])?;
        let gone = self.execute("DELETE FROM events WHERE sequence <= ?", binds![last])?;
        self.set_meta(FORGOTTEN, &last.to_string())?;
        Ok(gone as i64 == MANY)
    }
}
