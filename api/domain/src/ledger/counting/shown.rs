//! A count as it is shown: blind while it is open, and to those who count a line once more.

use chrono::{DateTime, Utc};
use serde::Serialize;
use uuid::Uuid;

use super::{Count, CountLine, CountState, Tally};
use crate::ledger::Money;
use crate::words::Role;

/// A lot in a bin, as it is shown. It is blind while the count is open, and, below a manager, while it
/// is to be counted once more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ShownCountLine {
    /// The lot.
    pub lot_id: Uuid,
    /// `L` and a running number, as on its label.
    pub lot_code: String,
    /// The bin.
    pub place_id: Uuid,
    /// `P` and a running number.
    pub place_code: String,
    /// The part.
    pub plug_id: Uuid,
    /// Whether the sheet had it; if not, somebody found it.
    pub on_sheet: bool,
    /// Plugs that were counted; null where nobody has counted it.
    pub counted: Option<i64>,
    /// Plugs that the books had there at the instant it was counted; null while blind.
    pub expected: Option<i64>,
    /// `counted` less `expected`; null while blind.
    pub difference: Option<i64>,
    /// What the difference costs, whichever way it goes: by the lot's own cost; null while blind, and
    /// where nobody said what the lot cost.
    pub cost: Option<Money>,
    /// Running number of the last movement that `expected` holds; null while blind.
    pub level_version: Option<i64>,
    /// The difference is so large that it is to be counted once more; false while open.
    pub recount: bool,
    /// Name of the token that counted it.
    pub counted_by: Option<String>,
    /// When.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub counted_at: Option<DateTime<Utc>>,
    /// Countings before the last one; empty while blind.
    pub earlier: Vec<Tally>,
    /// The movement that booked the difference.
    pub movement_id: Option<Uuid>,
}

/// Plugs that do not agree one way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CountSide {
    /// Plugs.
    pub quantity: i64,
    /// What they cost, as far as it is known.
    pub cost: Money,
    /// Plugs of lots of which nobody said what they cost.
    #[cfg_attr(feature = "schema", schema(minimum = 0))]
    pub quantity_without_cost: i64,
}

/// What a count found, summed up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CountTotals {
    /// Lines.
    pub lines: i64,
    /// Lines without a difference.
    pub exact_lines: i64,
    /// Lines that are to be counted once more.
    pub recount_lines: i64,
    /// What the books have and the bins do not.
    pub missing: CountSide,
    /// What the bins have and the books do not.
    pub found: CountSide,
}

/// A count of bins. While it is open nobody is told what is expected; while a line is to be counted
/// once more, nobody below a manager is told it of that line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ShownCount {
    /// UUID v7 made by the service.
    pub id: Uuid,
    /// Where it stands.
    pub state: CountState,
    /// The bins, in the order of their running numbers.
    pub places: Vec<Uuid>,
    /// Its lines, in the order of bins and lots.
    pub lines: Vec<ShownCountLine>,
    /// What it found; null while open, and, below a manager, while lines are to be counted once more.
    pub totals: Option<CountTotals>,
    /// Name of the token that began it.
    pub made_by: String,
    /// Name of the token that approved it.
    pub approved_by: Option<String>,
    /// When it was approved.
    #[serde(serialize_with = "crate::instant::serialize_option")]
    pub approved_at: Option<DateTime<Utc>>,
    /// Why it was approved over lines that were to be counted again.
    pub reason: Option<String>,
    /// Counts the changes, from 1.
    pub version: i64,
    /// When it was begun.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub created_at: DateTime<Utc>,
    /// When it last changed.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub updated_at: DateTime<Utc>,
}

impl ShownCount {
    /// Shows a count to one of a role; sums of money are in the shop's currency.
    ///
    /// Whoever counts once more must not know what is wanted; a manager has to, who may approve over it.
    pub fn of(count: &Count, currency: &str, role: Role) -> Self {
        let open = count.state == CountState::Open;
        let counts_again = count.state == CountState::Counted && role < Role::Manager;
        let blind = |line: &CountLine| open || counts_again && line.recount;
        let told = !(open || counts_again && count.to_recount().next().is_some());
        let lines = count.lines.iter();
        Self {
            id: count.id,
            state: count.state,
            places: count.places.clone(),
            lines: lines.map(|line| shown(line, open, blind(line))).collect(),
            totals: told.then(|| CountTotals::of(&count.lines, currency)),
            made_by: count.made_by.clone(),
            approved_by: count.approved_by.clone(),
            approved_at: count.approved_at,
            reason: count.reason.clone(),
            version: count.version,
            created_at: count.created_at,
            updated_at: count.updated_at,
        }
    }
}

fn shown(line: &CountLine, open: bool, blind: bool) -> ShownCountLine {
    let tally = line.tally.as_ref();
    let seen = tally.filter(|_| !blind);
    ShownCountLine {
        lot_id: line.lot_id,
        lot_code: format!("L{}", line.lot_number),
        place_id: line.place_id,
        place_code: format!("P{}", line.place_number),
        plug_id: line.plug_id,
        on_sheet: line.on_sheet,
        counted: tally.map(|t| t.counted),
        expected: seen.map(|t| t.expected),
        difference: seen.map(Tally::difference),
        cost: line.cost.clone().filter(|_| !blind),
        level_version: seen.map(|t| t.level_version),
        recount: line.recount && !open,
        counted_by: tally.map(|t| t.counted_by.clone()),
        counted_at: tally.map(|t| t.counted_at),
        earlier: if blind {
            Vec::new()
        } else {
            line.earlier.clone()
        },
        movement_id: line.movement_id,
    }
}

impl CountTotals {
    fn of(lines: &[CountLine], currency: &str) -> Self {
        let counted = |which: fn(&CountLine) -> bool| {
            let some = lines.iter().filter(|line| which(line)).count();
            i64::try_from(some).unwrap_or(i64::MAX)
        };
        let side = |sign: i64| {
            let off = lines
                .iter()
                .filter(|line| line.difference().signum() == sign);
            let mut side = CountSide {
                quantity: 0,
                cost: Money {
                    minor: 0,
                    currency: currency.to_owned(),
                },
                quantity_without_cost: 0,
            };
            for line in off {
                let plugs = line.difference().abs();
                side.quantity += plugs;
                match line.cost.as_ref().filter(|cost| cost.currency == currency) {
                    Some(cost) => side.cost.minor += cost.minor,
                    None => side.quantity_without_cost += plugs,
                }
            }
            side
        };
        Self {
            lines: counted(|line| line.on_sheet || line.tally.is_some()),
            exact_lines: counted(|line| line.tally.is_some() && line.difference() == 0),
            recount_lines: counted(|line| line.recount),
            missing: side(-1),
            found: side(1),
        }
    }
}
