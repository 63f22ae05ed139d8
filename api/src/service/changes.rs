//! The feed of what happened: read from a place on, never with a gap.

use std::sync::LazyLock;

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::event::EventKind;
use plugwell_domain::instant;
use plugwell_store::{Session, Target, Told};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::{Refusal, Shop, now};

/// How long events are kept where nobody says.
pub const KEPT: TimeDelta = TimeDelta::days(90);
/// Places of the feed that are looked through at a time.
const SPAN: i64 = 10_000;
/// How often that is done for one answer.
const SPANS: usize = 50;

/// A place in the feed of one database.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cursor {
    /// Which database, and since when it has its places.
    #[serde(rename = "l")]
    pub lineage: String,
    /// The place.
    #[serde(rename = "s")]
    pub sequence: i64,
}

/// Where to begin to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum After {
    /// With the oldest event that is kept.
    Nothing,
    /// With what happens from now on.
    Now,
    /// Behind a place.
    Cursor(Cursor),
}

/// What is asked of the feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// Where to begin.
    pub after: After,
    /// The types that are wanted; all where there are none.
    pub types: Vec<EventKind>,
    /// Events at the most.
    pub limit: i64,
}

/// What is found.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// Events in order, perhaps none, and where to go on.
    Events(Vec<ChangeEvent>, Cursor),
    /// What stands behind the cursor is not known any more; where to begin again.
    Gone {
        /// Why.
        why: &'static str,
        /// The place before the oldest event that is kept.
        oldest: Cursor,
    },
}

/// One event, as a CloudEvents 1.0 envelope.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct ChangeEvent {
    /// `1.0`.
    #[schema(value_type = String)]
    pub specversion: &'static str,
    /// Unique over all events: what tells an event that comes a second time.
    pub id: Uuid,
    /// Which shop: a URN that is another where a database was restored from a copy.
    pub source: String,
    /// What happened.
    #[serde(rename = "type")]
    pub kind: EventKind,
    /// What it happened to: the path of the entity under `/v1/`; `plugs/{id}/stock` for the stock of a part.
    pub subject: String,
    /// When.
    #[serde(serialize_with = "instant::serialize")]
    pub time: DateTime<Utc>,
    /// `application/json`.
    #[schema(value_type = String)]
    pub datacontenttype: &'static str,
    /// Which version the subject has since (an extension): whatever has come with a higher one of the
    /// same subject is newer. Events of one act share it.
    pub entityversion: i64,
    /// Place in the feed (the CloudEvents extension of that name): sorts as text.
    pub sequence: String,
    /// Enough of it to act on; its members go with the type.
    #[schema(value_type = Object)]
    pub data: Value,
}

impl ChangeEvent {
    /// The envelope of an event of a database.
    pub fn of(told: Told, lineage: &str) -> Self {
        Self {
            specversion: "1.0",
            id: told.id,
            source: format!("urn:plugwell:shop:{lineage}"),
            kind: told.kind,
            subject: told.subject,
            time: told.created_at,
            datacontenttype: "application/json",
            entityversion: told.version,
            sequence: format!("{:016}", told.sequence),
            data: told.data,
        }
    }
}

/// An example of an envelope, for the document.
pub static EXAMPLE: LazyLock<Value> = LazyLock::new(|| {
    json!({
        "specversion": "1.0", "id": "0197f3a2-5b1e-7c40-9d3a-2f6b8e1c4d70",
        "source": "urn:plugwell:shop:0197e0c1-0d2f-7a11-8f4e-6b0a9c2d3e5f",
        "type": "plugwell.policy.changed.v1", "subject": "policy", "time": "2026-03-02T09:14:07.120000Z",
        "datacontenttype": "application/json", "entityversion": 4, "sequence": "0000000000001207",
        "data": { "version": 4 },
    })
});

/// Reads events; never waits.
///
/// # Errors
/// Where the database fails.
pub fn read(shop: &Shop, asked: &Asked) -> Result<Found, Refusal> {
    settle(shop)?;
    shop.store.read(|s| {
        let (lineage, last, forgotten) = (s.lineage()?, s.last_event()?, s.events_forgotten()?);
        let at = |sequence| Cursor {
            lineage: lineage.clone(),
            sequence,
        };
        let after = match &asked.after {
            After::Nothing => forgotten,
            After::Now => last,
            After::Cursor(cursor) => match lost(cursor, &lineage, forgotten, last) {
                None => cursor.sequence,
                Some(why) => {
                    return Ok(Found::Gone {
                        why,
                        oldest: at(forgotten),
                    });
                }
            },
        };
        let (found, reached) = gathered(s, asked, after, last)?;
        let told = found
            .into_iter()
            .map(|told| ChangeEvent::of(told, &lineage));
        Ok(Found::Events(told.collect(), at(reached)))
    })
}

/// Why a cursor leads nowhere.
fn lost(cursor: &Cursor, lineage: &str, forgotten: i64, last: i64) -> Option<&'static str> {
    if cursor.lineage != lineage || cursor.sequence > last {
        Some("the cursor is of another database, or of this one before it was restored from a copy")
    } else if cursor.sequence < forgotten {
        Some("events behind the cursor are older than this shop keeps them")
    } else {
        None
    }
}

/// The wanted events behind a place, and how far they have been looked for.
fn gathered(
    session: &mut Session,
    asked: &Asked,
    after: i64,
    last: i64,
) -> Result<(Vec<Told>, i64), Refusal> {
    let most = usize::try_from(asked.limit).unwrap_or_default();
    let (mut found, mut reached) = (Vec::new(), after);
    for _ in 0..SPANS {
        let up_to = last.min(reached + SPAN);
        let left = asked.limit - found.len() as i64;
        found.extend(session.events_between(reached, up_to, &asked.types, left)?);
        if found.len() >= most {
            reached = found.last().map_or(up_to, |told| told.sequence);
            break;
        }
        reached = up_to;
        if reached == last {
            break;
        }
    }
    Ok((found, reached))
}

/// Gives committed events their places in the feed, so that a reader sees all that was answered
/// before, and rings the bell where another node told of something.
///
/// # Errors
/// Where the database fails.
pub fn settle(shop: &Shop) -> Result<(), Refusal> {
    if matches!(shop.store.target(), Target::Sqlite(_)) {
        return Ok(());
    }
    while shop.store.read(Session::any_event_to_place)? {
        shop.store.write(Session::place_events)?;
    }
    let last = shop.store.read(Session::last_event)?;
    if shop.hears_of(last) {
        shop.bell.ring();
    }
    Ok(())
}

/// Forgets events that are older than the shop keeps them.
///
/// # Errors
/// Where the database fails.
pub fn forget(shop: &Shop, kept: TimeDelta) -> Result<(), Refusal> {
    let before = now() - kept;
    while shop.store.write(|s| s.forget_events(before))? {}
    Ok(())
}
