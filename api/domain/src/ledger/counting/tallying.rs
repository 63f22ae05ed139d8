//! Counting a line: against what, at what cost, and whether once is enough.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use super::{Count, CountLine, Tally};
use crate::ledger::{Lot, Money, PlaceKind, Shelf, cost};
use crate::policy::Values;

/// What a lot has in a bin at an instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LevelAt {
    /// Plugs.
    pub quantity: i64,
    /// Running number of the last movement that they are the sum of.
    pub version: i64,
}

/// What plugs of a lot cost, and how many of them have left the stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotCost {
    total: Money,
    received: i64,
    gone: i64,
}

impl LotCost {
    /// Of a lot on the shelf of its part, bins and quarantine together; `None` where nobody said what
    /// it cost.
    ///
    /// `origin` is the lot that it descends from: plugs that were set to a gap still cost what they
    /// were received for, the dearer shares first.
    pub fn of(lot: &Lot, origin: Option<&Lot>, shelf: &Shelf) -> Option<Self> {
        let costed = [Some(lot), origin];
        let costed = costed.into_iter().flatten();
        let source = costed.into_iter().find(|lot| lot.total_cost.is_some())?;
        let in_stock = |kind| matches!(kind, PlaceKind::Bin | PlaceKind::Quarantine);
        let here = shelf.holdings.iter();
        let here = here.filter(|h| h.lot_id == lot.id && in_stock(h.place_kind));
        let left: i64 = here.map(|h| h.quantity).sum();
        let own = source.id == lot.id;
        Some(Self {
            total: source.total_cost.clone()?,
            received: source.quantity_received,
            gone: if own {
                source.quantity_received - left
            } else {
                0
            },
        })
    }

    /// What a difference costs, whichever way it goes: the shares of the plugs that are missing, or of
    /// those that were taken for gone.
    pub fn of_difference(&self, difference: i64) -> Money {
        let (before, after) = (
            self.of_first(self.gone),
            self.of_first(self.gone - difference),
        );
        Money {
            minor: (before - after).abs(),
            currency: self.total.currency.clone(),
        }
    }

    /// The shares of so many plugs from the dearest on; more in the bins than were ever received, each
    /// of them costs as much as the dearest.
    fn of_first(&self, plugs: i64) -> i64 {
        let first = |plugs| cost::share(self.total.minor, self.received, 0, plugs);
        if plugs < 0 {
            plugs * first(1)
        } else {
            first(plugs)
        }
    }

    /// The same once a difference is booked, so that the differences of a lot in several bins add up.
    pub fn after(&mut self, difference: i64) {
        self.gone -= difference;
    }
}

/// From where on a line is counted once more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecountLimits {
    /// Up to so many plugs the share does not ask for it.
    pub plugs: i64,
    /// Share of what is expected.
    pub share: f64,
    /// What a difference may cost, in whole minor units.
    pub cost_minor: i64,
}

impl From<&Values> for RecountLimits {
    fn from(values: &Values) -> Self {
        Self {
            plugs: i64::from(values.count_recount_plugs.value),
            share: values.count_recount_share.value,
            cost_minor: i64::from(values.count_recount_cost_minor.value),
        }
    }
}

impl RecountLimits {
    /// Whether a difference is so large that it is counted once more.
    pub fn exceeded(&self, tally: &Tally, cost: Option<&Money>) -> bool {
        let off = tally.difference().abs();
        let by_share = off > self.plugs && off as f64 > self.share * tally.expected as f64;
        by_share || cost.is_some_and(|cost| cost.minor > self.cost_minor)
    }
}

impl CountLine {
    /// Counts the line, once more where it was counted before: against its level of this instant.
    ///
    /// A difference beyond the limits asks for another counting, until two in a row find the same.
    pub fn count(
        &mut self,
        counted: i64,
        level: LevelAt,
        cost: Option<&LotCost>,
        limits: &RecountLimits,
        by: &str,
        at: DateTime<Utc>,
    ) {
        self.take_back();
        let tally = Tally {
            counted,
            expected: level.quantity,
            level_version: level.version,
            counted_by: by.to_owned(),
            counted_at: at,
        };
        self.cost = cost.map(|cost| cost.of_difference(tally.difference()));
        let before = self.earlier.last().map(Tally::difference);
        let confirmed = before == Some(tally.difference());
        self.recount = !confirmed && limits.exceeded(&tally, self.cost.as_ref());
        self.tally = Some(tally);
    }

    /// Takes the number back: the line is to be counted.
    pub fn take_back(&mut self) {
        self.earlier.extend(self.tally.take());
        self.recount = false;
        self.cost = None;
    }
}

impl Count {
    /// Lays what the differences of a lot cost to its lines, one behind the other, so that in several
    /// bins they come to what they cost together. It is what an approval books as well: what moves
    /// after a line was counted changes no cost that was shown.
    pub fn lay_cost(&mut self, lot_id: Uuid, mut cost: LotCost) {
        let own = self.lines.iter_mut().filter(|line| line.lot_id == lot_id);
        for line in own.filter(|line| line.tally.is_some()) {
            let difference = line.difference();
            line.cost = Some(cost.of_difference(difference));
            cost.after(difference);
        }
    }
}
