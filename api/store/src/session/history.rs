//! What the movements come to over time, summed up by the database: what a report is made of.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use diesel::deserialize;
use plugwell_domain::calendar::DAY_MICROS;
use plugwell_domain::instant::Period;
use plugwell_domain::report::dead_stock::InStock;
use plugwell_domain::report::stock_outs::InBins;
use plugwell_domain::report::usage::Flow;
use plugwell_domain::stand_in::PartName;
use uuid::Uuid;

use super::{Filtered, Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

/// Changes read at a time.
const CHANGES: i64 = 20_000;

impl Record for Flow {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            kind: cells.word()?,
            reversal: cells.flag()?,
            from: cells.word()?,
            to: cells.word()?,
            quantity: cells.int()?,
        })
    }
}

/// A change of what a part has in bins, with its running number.
struct Change {
    sequence: i64,
    in_bins: InBins,
}

impl Record for Change {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            sequence: cells.int()?,
            in_bins: InBins {
                plug_id: cells.id()?,
                at: cells.time()?,
                change: cells.int()?,
            },
        })
    }
}

impl Record for InStock {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            plug_id: cells.id()?,
            on_hand: cells.int()?,
            received_at: cells.time()?,
            last_issue_at: cells.time_or_null()?,
        })
    }
}

/// A part by its name.
struct Named {
    id: Uuid,
    name: PartName,
}

impl Record for Named {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        let id = cells.id()?;
        let (maker, part_number) = (cells.text()?, cells.text()?);
        Ok(Self {
            id,
            name: PartName { maker, part_number },
        })
    }
}

impl Session {
    /// When the first movement was made.
    pub fn first_movement_at(&mut self) -> Result<Option<DateTime<Utc>>, StoreError> {
        let micros: Option<i64> = self.one("SELECT MIN(created_at) FROM movements", &[])?;
        Ok(micros.and_then(DateTime::from_timestamp_micros))
    }

    /// What moved in a period, by day: days since 1970-01-01.
    pub fn flows_by_day(&mut self, period: Period) -> Result<Vec<(i64, Flow)>, StoreError> {
        self.flows(&format!("m.created_at / {DAY_MICROS}"), period)
    }

    /// What moved in a period, by part.
    pub fn flows_by_part(&mut self, period: Period) -> Result<Vec<(Uuid, Flow)>, StoreError> {
        self.flows("m.plug_id", period)
    }

    /// What moved in a period, by job.
    pub fn flows_by_job(
        &mut self,
        period: Period,
    ) -> Result<Vec<(Option<String>, Flow)>, StoreError> {
        self.flows("m.job", period)
    }

    /// Issues, returns and scrappings, and what put them right, summed up by a key, by what they did
    /// and by the kinds of their places. A reversal is of the kind of what it puts right.
    fn flows<K: Record>(
        &mut self,
        key: &str,
        period: Period,
    ) -> Result<Vec<(K, Flow)>, StoreError> {
        // An issue is from bin to job: most movements need no look at their places.
        let mut query = Filtered::query(&format!(
            "SELECT {key} AS k, CASE WHEN m.reverses IS NULL THEN m.kind \
             ELSE (SELECT o.kind FROM movements o WHERE o.id = m.reverses) END AS did, \
             CASE WHEN m.reverses IS NULL THEN 0 ELSE 1 END AS reversal, \
             CASE WHEN m.kind = 'issue' THEN 'bin' \
             ELSE (SELECT p.kind FROM places p WHERE p.id = m.from_place_id) END AS f, \
             CASE WHEN m.kind = 'issue' THEN 'job' \
             ELSE (SELECT p.kind FROM places p WHERE p.id = m.to_place_id) END AS t, \
             m.quantity AS quantity FROM movements m"
        ));
        query
            .sql
            .push_str(" AND m.kind IN ('issue', 'return', 'scrapping', 'reversal')");
        query.and_given("m.created_at >= ?", period.from);
        query.and_given("m.created_at < ?", period.to);
        query.sql = format!(
            "SELECT k, did, CAST(reversal AS bigint), f, t, CAST(SUM(quantity) AS bigint) \
             FROM ({}) AS s GROUP BY k, did, reversal, f, t",
            query.sql
        );
        self.load_filtered(query)
    }

    /// Hands over every change of what parts have in all bins together, before an instant: part by
    /// part and, of a part, by running number.
    pub fn each_change_in_bins(
        &mut self,
        before: DateTime<Utc>,
        mut take: impl FnMut(InBins),
    ) -> Result<(), StoreError> {
        let sql = "SELECT m.sequence, m.plug_id, m.created_at, \
             CASE WHEN t.kind = 'bin' THEN m.quantity ELSE -m.quantity END FROM movements m \
             JOIN places f ON f.id = m.from_place_id JOIN places t ON t.id = m.to_place_id \
             WHERE (m.plug_id, m.sequence) > (?, ?) AND +m.created_at < ? \
             AND (f.kind = 'bin') <> (t.kind = 'bin') ORDER BY m.plug_id, m.sequence LIMIT ?";
        let mut last = (String::new(), 0);
        loop {
            let changes: Vec<Change> =
                self.load(sql, binds![last.0.as_str(), last.1, before, CHANGES])?;
            changes.iter().for_each(|change| take(change.in_bins));
            match changes.last() {
                Some(change) if changes.len() as i64 == CHANGES => {
                    last = (change.in_bins.plug_id.to_string(), change.sequence);
                }
                _ => return Ok(()),
            }
        }
    }

    /// Parts that lie in bins, by id, each with its last issue that stands.
    pub fn parts_in_stock(&mut self) -> Result<Vec<InStock>, StoreError> {
        let sql = "SELECT s.plug_id, s.quantity, s.received_at, \
             (SELECT m.created_at FROM movements m WHERE m.plug_id = s.plug_id AND m.kind = 'issue' \
             AND NOT EXISTS (SELECT 1 FROM movements r WHERE r.reverses = m.id) \
             ORDER BY m.sequence DESC LIMIT 1) \
             FROM (SELECT l.plug_id AS plug_id, CAST(SUM(l.quantity) AS bigint) AS quantity, \
             MIN(lots.received_at) AS received_at FROM levels l JOIN lots ON lots.id = l.lot_id \
             WHERE l.place_kind = 'bin' GROUP BY l.plug_id) AS s ORDER BY s.plug_id";
        self.load(sql, &[])
    }

    /// What parts are called.
    pub fn part_names(&mut self, ids: &[Uuid]) -> Result<HashMap<Uuid, PartName>, StoreError> {
        let sql = format!(
            "SELECT id, maker, part_number FROM plugs WHERE id IN {}",
            self.listed()
        );
        let named: Vec<Named> = self.load(&sql, &[listing(ids)])?;
        Ok(named
            .into_iter()
            .map(|named| (named.id, named.name))
            .collect())
    }

    /// The codes on the labels of lots.
    pub fn lot_codes(&mut self, ids: &[Uuid]) -> Result<HashMap<Uuid, String>, StoreError> {
        let sql = format!("SELECT id, number FROM lots WHERE id IN {}", self.listed());
        let numbers: Vec<(Uuid, i64)> = self.load(&sql, &[listing(ids)])?;
        Ok(numbers
            .into_iter()
            .map(|(id, number)| (id, super::lots::code(number)))
            .collect())
    }
}
