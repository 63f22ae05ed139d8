//! Counts of bins: begun, counted line by line, closed.

use diesel::deserialize;
use plugwell_domain::event::Event;
use plugwell_domain::instant::Period;
use plugwell_domain::ledger::Money;
use plugwell_domain::ledger::counting::{
    ApprovedCount, Count, CountChoice, CountHead, CountLine, CountState, LevelAt, Tally,
};
use uuid::Uuid;

use super::heads::body;
use super::outbox::MarkKind;
use super::{Filtered, Session, listing};
use crate::error::StoreError;
use crate::record::{Cells, Record};
use crate::statement::binds;

const COUNT: &str = "SELECT id, state, made_by, approved_by, approved_at, reason, version, created_at, updated_at FROM counts";
const LINES: &str = "SELECT l.place_id, places.number, l.lot_id, lots.number, l.plug_id, l.on_sheet, l.counted, \
     l.expected, l.level_version, l.counted_by, l.counted_at, l.earlier, l.recount, l.cost_minor, l.cost_currency, \
     l.movement_id FROM count_lines l JOIN places ON places.id = l.place_id JOIN lots ON lots.id = l.lot_id \
     WHERE l.count_id = ? ORDER BY places.number, lots.number";
/// Bins that hold something and that nobody counts, each with what its last approved count knew.
const FREE_BINS: &str = "SELECT b.id FROM (SELECT p.id AS id, p.number AS number, \
     COALESCE((SELECT MAX(c.counted_at) FROM count_places c WHERE c.place_id = p.id), 0) AS counted_at, \
     COALESCE((SELECT MAX(c.up_to) FROM count_places c WHERE c.place_id = p.id), 0) AS up_to \
     FROM places p WHERE p.kind = 'bin' AND EXISTS (SELECT 1 FROM levels l WHERE l.place_id = p.id) \
     AND NOT EXISTS (SELECT 1 FROM count_places o WHERE o.place_id = p.id AND o.open = 1)) AS b";

/// What a list of counts is narrowed by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct CountFilter {
    /// Where it stands.
    pub state: Option<CountState>,
    /// A bin that it counts.
    pub place_id: Option<Uuid>,
}

impl Record for Count {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            id: cells.id()?,
            state: cells.word()?,
            places: Vec::new(),
            lines: Vec::new(),
            made_by: cells.text()?,
            approved_by: cells.text_or_null()?,
            approved_at: cells.time_or_null()?,
            reason: cells.text_or_null()?,
            version: cells.int()?,
            created_at: cells.time()?,
            updated_at: cells.time()?,
        })
    }
}

impl Record for CountHead {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        let count = Count::read(cells)?;
        let (line_count, counted_lines, recount) = (cells.int()?, cells.int()?, cells.int()?);
        Ok(Self {
            id: count.id,
            state: count.state,
            places: Vec::new(),
            line_count,
            counted_lines,
            recount_lines: (count.state != CountState::Open).then_some(recount),
            made_by: count.made_by,
            approved_by: count.approved_by,
            approved_at: count.approved_at,
            version: count.version,
            created_at: count.created_at,
            updated_at: count.updated_at,
        })
    }
}

impl Record for CountLine {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        let (place_id, place_number) = (cells.id()?, cells.int()?);
        let (lot_id, lot_number) = (cells.id()?, cells.int()?);
        let (plug_id, on_sheet) = (cells.id()?, cells.flag()?);
        let numbers = (
            cells.int_or_null()?,
            cells.int_or_null()?,
            cells.int_or_null()?,
        );
        let (counted_by, counted_at) = (cells.text_or_null()?, cells.time_or_null()?);
        let tally = match (numbers, counted_by, counted_at) {
            ((Some(counted), Some(expected), Some(level_version)), Some(by), Some(at)) => {
                Some(Tally {
                    counted,
                    expected,
                    level_version,
                    counted_by: by,
                    counted_at: at,
                })
            }
            _ => None,
        };
        let (earlier, recount) = (cells.json()?, cells.flag()?);
        let cost = cells.int_or_null()?.zip(cells.text_or_null()?);
        Ok(Self {
            place_id,
            place_number,
            lot_id,
            lot_number,
            plug_id,
            on_sheet,
            tally,
            earlier,
            recount,
            cost: cost.map(|(minor, currency)| Money { minor, currency }),
            movement_id: cells.id_or_null()?,
        })
    }
}

impl Record for LevelAt {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            quantity: cells.int()?,
            version: cells.int()?,
        })
    }
}

impl Record for ApprovedCount {
    fn read(cells: &mut impl Cells) -> deserialize::Result<Self> {
        Ok(Self {
            approved_at: cells.time()?,
            lines: cells.int()?,
            exact_lines: cells.int()?,
            expected: cells.int()?,
            missing: cells.int()?,
            found: cells.int()?,
            missing_minor: cells.int()?,
            found_minor: cells.int()?,
            without_cost: cells.int()?,
            reversed_lines: cells.int()?,
        })
    }
}

impl Session {
    /// A count with its bins and lines.
    pub fn count(&mut self, id: Uuid) -> Result<Option<Count>, StoreError> {
        let Some(mut count) = self.first::<Count>(&format!("{COUNT} WHERE id = ?"), binds![id])?
        else {
            return Ok(None);
        };
        count.places = self.count_places(id)?;
        count.lines = self.load(LINES, binds![id])?;
        Ok(Some(count))
    }

    fn count_places(&mut self, id: Uuid) -> Result<Vec<Uuid>, StoreError> {
        self.load(
            "SELECT c.place_id FROM count_places c JOIN places p ON p.id = c.place_id WHERE c.count_id = ? ORDER BY p.number",
            binds![id],
        )
    }

    /// Counts that a filter leaves, the newest first, without their lines; `before` is the last of the
    /// page before.
    pub fn list_counts(
        &mut self,
        filter: &CountFilter,
        before: Option<Uuid>,
        limit: i64,
    ) -> Result<Vec<CountHead>, StoreError> {
        let lines = "(SELECT COUNT(*) FROM count_lines l WHERE l.count_id = counts.id";
        let select = COUNT.replace(
            " FROM counts",
            &format!(", {lines}), {lines} AND l.counted IS NOT NULL), {lines} AND l.recount = 1) FROM counts"),
        );
        let mut query = Filtered::query(&select);
        query.and_given("state = ?", filter.state.map(CountState::word));
        query.and_given(
            "id IN (SELECT count_id FROM count_places WHERE place_id = ?)",
            filter.place_id,
        );
        query.and_given("id < ?", before);
        let mut heads: Vec<CountHead> = self.load_filtered(query.page("id DESC", limit))?;
        for head in &mut heads {
            head.places = self.count_places(head.id)?;
        }
        Ok(heads)
    }

    /// The bins of these that are being counted, each with the count that does.
    pub fn being_counted(&mut self, places: &[Uuid]) -> Result<Vec<(Uuid, Uuid)>, StoreError> {
        let sql = format!(
            "SELECT place_id, count_id FROM count_places WHERE open = 1 AND place_id IN {} ORDER BY place_id",
            self.listed()
        );
        self.load(&sql, &[listing(places)])
    }

    /// So many bins to count, of those that hold something and that nobody counts.
    pub fn bins_to_count(
        &mut self,
        choice: CountChoice,
        bins: i64,
    ) -> Result<Vec<Uuid>, StoreError> {
        let since = |end: &str| {
            format!(
                "(SELECT COUNT(*) FROM movements m WHERE m.{end} = b.id AND m.sequence > b.up_to)"
            )
        };
        let order = match choice {
            CountChoice::LongestUncounted => "b.counted_at".to_owned(),
            CountChoice::MostMoved => {
                format!("{} + {} DESC", since("from_place_id"), since("to_place_id"))
            }
        };
        self.load(
            &format!("{FREE_BINS} ORDER BY {order}, b.number LIMIT ?"),
            binds![bins],
        )
    }

    /// Begins a count: a line for every lot that its bins hold. Its lines are not handed in.
    ///
    /// # Errors
    /// `Duplicate` with [`Key::CountedPlace`](crate::Key::CountedPlace) where a bin is being counted.
    pub fn insert_count(&mut self, count: &Count) -> Result<(), StoreError> {
        self.execute(
            "INSERT INTO counts (id, state, made_by, version, created_at, updated_at) VALUES (?, ?, ?, ?, ?, ?)",
            binds![
                count.id,
                count.state.word(),
                &count.made_by,
                count.version,
                count.created_at,
                count.updated_at
            ],
        )?;
        for place in &count.places {
            self.execute(
                "INSERT INTO count_places (count_id, place_id, open) VALUES (?, ?, 1)",
                binds![count.id, *place],
            )?;
        }
        let sql = format!(
            "INSERT INTO count_lines (count_id, place_id, lot_id, plug_id, on_sheet, recount, earlier) \
             SELECT c.id, l.place_id, l.lot_id, l.plug_id, 1, 0, '[]' FROM levels l JOIN counts c ON c.id = ? \
             WHERE l.place_id IN {} AND l.quantity <> 0",
            self.listed()
        );
        self.execute(&sql, &[count.id.into(), listing(&count.places)])?;
        self.mark(MarkKind::Count, count.id)?;
        self.tell(&Event::count(count))
    }

    /// Stores a count's new state, version already raised, over the one before it, and those of its
    /// lines that changed; a closed count lets its bins go.
    pub fn update_count(
        &mut self,
        count: &Count,
        changed: &[(Uuid, Uuid)],
    ) -> Result<(), StoreError> {
        self.write_over(
            "UPDATE counts SET state = ?, approved_by = ?, approved_at = ?, reason = ?, version = ?, updated_at = ? \
             WHERE id = ? AND version = ?",
            binds![
                count.state.word(),
                count.approved_by.as_deref(),
                count.approved_at,
                count.reason.as_deref(),
                count.version,
                count.updated_at,
                count.id,
                count.version - 1
            ],
        )?;
        for line in count
            .lines
            .iter()
            .filter(|line| changed.contains(&line.key()))
        {
            self.put_count_line(count.id, line)?;
        }
        if count.state.is_closed() {
            self.close_count_places(count)?;
        }
        self.mark(MarkKind::Count, count.id)?;
        self.tell(&Event::count(count))
    }

    fn close_count_places(&mut self, count: &Count) -> Result<(), StoreError> {
        let approved = count.state == CountState::Approved;
        let last: i64 = self.one("SELECT COALESCE(MAX(sequence), 0) FROM movements", &[])?;
        for place in &count.places {
            self.execute(
                "UPDATE count_places SET open = 0, counted_at = ?, up_to = ? WHERE count_id = ? AND place_id = ?",
                binds![
                    approved.then(|| count.counted_at(*place)),
                    approved.then_some(last),
                    count.id,
                    *place
                ],
            )?;
        }
        Ok(())
    }

    fn put_count_line(&mut self, count_id: Uuid, line: &CountLine) -> Result<(), StoreError> {
        let tally = line.tally.as_ref();
        self.execute(
            "INSERT INTO count_lines (count_id, place_id, lot_id, plug_id, on_sheet, counted, expected, level_version, \
             counted_by, counted_at, recount, cost_minor, cost_currency, earlier, movement_id) \
             VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (count_id, place_id, lot_id) DO UPDATE SET \
             counted = excluded.counted, expected = excluded.expected, level_version = excluded.level_version, \
             counted_by = excluded.counted_by, counted_at = excluded.counted_at, recount = excluded.recount, \
             cost_minor = excluded.cost_minor, cost_currency = excluded.cost_currency, earlier = excluded.earlier, \
             movement_id = excluded.movement_id",
            binds![
                count_id,
                line.place_id,
                line.lot_id,
                line.plug_id,
                line.on_sheet,
                tally.map(|t| t.counted),
                tally.map(|t| t.expected),
                tally.map(|t| t.level_version),
                tally.map(|t| &t.counted_by),
                tally.map(|t| t.counted_at),
                line.recount,
                line.cost.as_ref().map(|cost| cost.minor),
                line.cost.as_ref().map(|cost| &cost.currency),
                body(&line.earlier)?,
                line.movement_id,
            ],
        )
        .map(drop)
    }

    /// What a lot has in a place, with the running number of the last movement that it is the sum of.
    /// In a write it holds until the commit where the part's shelf was read before.
    pub fn level_at(
        &mut self,
        plug_id: Uuid,
        lot_id: Uuid,
        place_id: Uuid,
    ) -> Result<LevelAt, StoreError> {
        let sql = "SELECT quantity, version FROM levels WHERE plug_id = ? AND lot_id = ? AND place_id = ?";
        if let Some(level) = self.first(sql, binds![plug_id, lot_id, place_id])? {
            return Ok(level);
        }
        // An empty level has no row: its last movement tells.
        let sql = "SELECT CAST(0 AS bigint), \
                   COALESCE(MAX(CASE WHEN ? IN (from_place_id, to_place_id) THEN sequence END), 0) \
                   FROM movements WHERE lot_id = ?";
        self.one(sql, binds![place_id, lot_id])
    }

    /// Approved counts within a time, in the order of their approval, each summed up over its lines: in
    /// one query. A difference that was reversed counts as none.
    pub fn approved_counts(&mut self, period: Period) -> Result<Vec<ApprovedCount>, StoreError> {
        let sum = |what: &str| format!("CAST(COALESCE(SUM({what}), 0) AS bigint)");
        let off = |sign: &str, what: &str| {
            sum(&format!(
                "CASE WHEN r.id IS NULL AND l.counted {sign} l.expected THEN {what} ELSE 0 END"
            ))
        };
        let select = format!(
            "SELECT c.approved_at, COUNT(l.lot_id), {}, {}, {}, {}, {}, {}, {}, COUNT(r.id) FROM counts c \
             LEFT JOIN count_lines l ON l.count_id = c.id AND l.counted IS NOT NULL LEFT JOIN movements r ON r.reverses = l.movement_id",
            sum("CASE WHEN r.id IS NOT NULL OR l.counted = l.expected THEN 1 ELSE 0 END"),
            sum("l.expected"),
            off("<", "l.expected - l.counted"),
            off(">", "l.counted - l.expected"),
            off("<", "COALESCE(l.cost_minor, 0)"),
            off(">", "COALESCE(l.cost_minor, 0)"),
            off(
                "<>",
                "CASE WHEN l.cost_minor IS NULL THEN ABS(l.counted - l.expected) ELSE 0 END"
            ),
        );
        let mut query = Filtered::query(&select);
        query.sql.push_str(" AND c.approved_at IS NOT NULL");
        query.and_given("c.approved_at >= ?", period.from);
        query.and_given("c.approved_at < ?", period.to);
        query
            .sql
            .push_str(" GROUP BY c.id, c.approved_at ORDER BY c.approved_at, c.id");
        self.load_filtered(query)
    }
}
