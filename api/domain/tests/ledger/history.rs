//! What happened to one part, day by day, as the books of value are told it.

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::ledger::{MovementKind, PlaceKind};
use plugwell_domain::valuation::{Amount, Booked, Books, Border, End, Entry, LotCost, Method};
use uuid::Uuid;

const fn end(number: u128, kind: PlaceKind) -> End {
    End {
        id: Uuid::from_u128(number),
        kind,
    }
}

pub const SUPPLIER: End = end(1, PlaceKind::Supplier);
pub const BIN: End = end(2, PlaceKind::Bin);
pub const HOLD: End = end(3, PlaceKind::Quarantine);
pub const JOB: End = end(4, PlaceKind::Job);
pub const DRUM: End = end(5, PlaceKind::Scrap);
pub const ACCOUNT: End = end(6, PlaceKind::Difference);

/// What happened to one part, a day after the other.
#[derive(Default)]
pub struct History {
    pub lots: Vec<LotCost>,
    pub entries: Vec<Entry>,
}

pub fn day(number: usize) -> DateTime<Utc> {
    DateTime::UNIX_EPOCH + TimeDelta::days(number as i64)
}

impl History {
    pub fn add(
        &mut self,
        kind: MovementKind,
        lot: usize,
        from: End,
        to: End,
        quantity: i64,
    ) -> &mut Entry {
        let number = self.entries.len();
        self.entries.push(Entry {
            id: Uuid::from_u128(0x1000 + number as u128),
            sequence: number as i64 + 1,
            kind,
            lot_id: self.lots[lot].id,
            from,
            to,
            quantity,
            reverses: None,
            answers: None,
            pair_id: None,
            at: day(number),
        });
        &mut self.entries[number]
    }

    /// A new lot; its place in the list.
    pub fn receive(&mut self, quantity: i64, minor: Option<i64>) -> usize {
        self.lots.push(LotCost {
            id: Uuid::from_u128(0x100 + self.lots.len() as u128),
            from_lot_id: None,
            quantity_received: quantity,
            minor,
        });
        let lot = self.lots.len() - 1;
        self.add(MovementKind::Receipt, lot, SUPPLIER, BIN, quantity);
        lot
    }

    pub fn issue(&mut self, lot: usize, quantity: i64) -> Uuid {
        self.add(MovementKind::Issue, lot, BIN, JOB, quantity).id
    }

    pub fn give_back(&mut self, lot: usize, issue: Uuid, quantity: i64) -> Uuid {
        let entry = self.add(MovementKind::Return, lot, JOB, BIN, quantity);
        entry.answers = Some(issue);
        entry.id
    }

    pub fn reverse(&mut self, id: Uuid) -> Uuid {
        let original = *self
            .entries
            .iter()
            .find(|e| e.id == id)
            .expect("a movement");
        let lot = self
            .lots
            .iter()
            .position(|l| l.id == original.lot_id)
            .expect("a lot");
        let (from, to) = (original.to, original.from);
        let entry = self.add(MovementKind::Reversal, lot, from, to, original.quantity);
        entry.reverses = Some(id);
        entry.id
    }

    pub fn booked(&self, method: Method) -> (Vec<Booked>, Amount) {
        let mut books = Books::of(method, &self.lots);
        let booked = self.entries.iter().map(|entry| books.book(entry)).collect();
        (booked, books.stands())
    }

    /// What each movement out cost, and what is left.
    pub fn costs(&self, method: Method) -> (Vec<i64>, i64) {
        let (booked, stands) = self.booked(method);
        let out = booked.iter().filter(|b| b.border == Border::Out);
        (out.map(|b| b.amount.minor).collect(), stands.minor)
    }

    pub fn stands(&self, method: Method) -> Amount {
        self.booked(method).1
    }
}

pub fn amount(quantity: i64, minor: i64, without_cost: i64) -> Amount {
    Amount {
        quantity,
        minor,
        without_cost,
    }
}
