//! What a period did to the value of the stock.

use super::{Amount, Books, Border, Entry};
use crate::instant::Period;
use crate::ledger::MovementKind;

/// Opening + receipts − issues + returns − scrapped + differences + reversals = closing, of plugs
/// and of money, over bins and quarantine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Flows {
    /// Before the period.
    pub opening: Amount,
    /// From suppliers.
    pub receipts: Amount,
    /// To jobs.
    pub issues: Amount,
    /// Back from jobs.
    pub returns: Amount,
    /// Out of bins and quarantine into the drum; what jobs scrapped had left before.
    pub scrapped: Amount,
    /// Found less missed.
    pub differences: Amount,
    /// What reversals brought in less what they took out.
    pub reversals: Amount,
    /// After the period.
    pub closing: Amount,
}

impl Flows {
    /// What opening and all that happened come to.
    pub fn comes_to(&self) -> Amount {
        self.opening + self.receipts - self.issues + self.returns - self.scrapped
            + self.differences
            + self.reversals
    }

    /// Whether nothing lay there and nothing happened.
    pub fn is_nothing(&self) -> bool {
        *self == Self::default()
    }

    fn add(&mut self, kind: MovementKind, inwards: Amount) {
        match kind {
            MovementKind::Receipt => self.receipts += inwards,
            MovementKind::Issue => self.issues += -inwards,
            MovementKind::Return => self.returns += inwards,
            MovementKind::Scrapping => self.scrapped += -inwards,
            MovementKind::Reversal => self.reversals += inwards,
            // A transfer stays inside; one that did not would be a difference.
            MovementKind::Difference | MovementKind::Transfer => self.differences += inwards,
        }
    }
}

impl std::ops::AddAssign for Flows {
    fn add_assign(&mut self, other: Self) {
        self.opening += other.opening;
        self.receipts += other.receipts;
        self.issues += other.issues;
        self.returns += other.returns;
        self.scrapped += other.scrapped;
        self.differences += other.differences;
        self.reversals += other.reversals;
        self.closing += other.closing;
    }
}

/// Books the movements of a part, in the order of their running numbers, as far as the period
/// goes.
///
/// Commands that arrive together may have got their running number in another order than their
/// instant, by a hair: a movement counts from the instant on at which all before it had happened,
/// so that a moment always shows the beginning of the books and never a piece out of them.
pub fn flows(mut books: Books, entries: &[Entry], period: Period) -> Flows {
    let mut flows = Flows::default();
    let Some(first) = entries.first() else {
        return flows;
    };
    let mut latest = first.at;
    for entry in entries {
        latest = latest.max(entry.at);
        if period.is_before(latest) {
            break;
        }
        let booked = books.book(entry);
        if period.is_after(latest) {
            flows.opening = books.stands();
            continue;
        }
        match booked.border {
            Border::In => flows.add(entry.kind, booked.amount),
            Border::Out => flows.add(entry.kind, -booked.amount),
            Border::Not => {}
        }
    }
    flows.closing = books.stands();
    flows
}
