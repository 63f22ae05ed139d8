//! Double entry in value: each movement takes slices of cost out of the account of one place and
//! lays them into that of the other.

use std::collections::{BTreeMap, HashMap};

use uuid::Uuid;

use super::parcel::{Parcel, Slice, Which};
use super::{Amount, End, Entry, LotCost, Method};
use crate::ledger::cost::share_beyond;
use crate::ledger::{MovementKind, PlaceKind};

/// Which way a movement went over the border of the stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Border {
    /// Into bins or quarantine.
    In,
    /// Out of them.
    Out,
    /// It stayed inside, or outside.
    Not,
}

/// What a movement moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Booked {
    /// Plugs and their cost; nought for what stays inside, where no value is asked for.
    pub amount: Amount,
    /// Which way.
    pub border: Border,
}

/// A lot that was received, not descended, and what its plugs were given so far.
#[derive(Debug, Clone, Copy)]
struct Root {
    received: i64,
    minor: i64,
    /// The running number of its receipt.
    age: i64,
    /// Plugs received so far.
    come: i64,
    /// Plugs found beyond all that were ever missed.
    surplus: i64,
}

/// The books of one part. Movements are booked in the order of their running numbers.
#[derive(Debug)]
pub struct Books {
    method: Method,
    /// For each lot of known cost the received lot behind it.
    lots: HashMap<Uuid, usize>,
    roots: Vec<Root>,
    /// Plugs inside, of known cost or not.
    quantity: i64,
    inside: Parcel,
    /// What jobs hold of a lot, by the running number of the issue.
    jobs: HashMap<(Uuid, Uuid), BTreeMap<i64, Parcel>>,
    issues: HashMap<Uuid, i64>,
    /// Which issue the plugs had gone out with that left a job by a movement.
    left_job: HashMap<Uuid, i64>,
    /// What the difference account holds of a lot.
    missed: HashMap<Uuid, Parcel>,
    /// What a scrapping brought to the drum.
    scrapped: HashMap<Uuid, Vec<Slice>>,
    /// What a movement brought inside.
    brought: HashMap<Uuid, Vec<Slice>>,
    /// Between the two movements of one act.
    under_way: HashMap<Uuid, Vec<Slice>>,
}

impl Books {
    /// New books of a part with all its lots.
    pub fn of(method: Method, lots: &[LotCost]) -> Self {
        let by_id: HashMap<Uuid, &LotCost> = lots.iter().map(|lot| (lot.id, lot)).collect();
        let mut places: HashMap<Uuid, usize> = HashMap::new();
        let mut books = Self {
            method,
            lots: HashMap::new(),
            roots: Vec::new(),
            quantity: 0,
            inside: Parcel::default(),
            jobs: HashMap::new(),
            issues: HashMap::new(),
            left_job: HashMap::new(),
            missed: HashMap::new(),
            scrapped: HashMap::new(),
            brought: HashMap::new(),
            under_way: HashMap::new(),
        };
        for lot in lots {
            let Some(root) = root_of(lot, &by_id) else {
                continue;
            };
            let Some(minor) = root.minor else { continue };
            let place = *places.entry(root.id).or_insert_with(|| {
                books.roots.push(Root {
                    received: root.quantity_received.max(1),
                    minor,
                    age: 0,
                    come: 0,
                    surplus: 0,
                });
                books.roots.len() - 1
            });
            books.lots.insert(lot.id, place);
        }
        books
    }

    /// What lies inside.
    pub fn stands(&self) -> Amount {
        let (known, minor) = self.inside.sum();
        Amount {
            quantity: self.quantity,
            minor,
            without_cost: self.quantity - known,
        }
    }

    /// Books a movement.
    pub fn book(&mut self, entry: &Entry) -> Booked {
        let border = match (entry.from.is_inside(), entry.to.is_inside()) {
            (true, true) => {
                let amount = Amount::default();
                let border = Border::Not;
                return Booked { amount, border };
            }
            (true, false) => Border::Out,
            (false, true) => Border::In,
            (false, false) => Border::Not,
        };
        let slices = self.withdrawn(entry);
        let (known, minor) = slices.iter().fold((0, 0), |(quantity, minor), slice| {
            (quantity + slice.quantity, minor + slice.minor)
        });
        match border {
            Border::In => self.quantity += entry.quantity,
            Border::Out => self.quantity -= entry.quantity,
            Border::Not => {}
        }
        self.deposit(entry, slices);
        let amount = Amount {
            quantity: entry.quantity,
            minor,
            without_cost: entry.quantity - known,
        };
        Booked { amount, border }
    }

    /// Takes the cost of the plugs out of the account of the place that they leave; nothing where
    /// nobody knows it.
    fn withdrawn(&mut self, entry: &Entry) -> Vec<Slice> {
        let Some(root) = self.lots.get(&entry.lot_id).copied() else {
            return Vec::new();
        };
        match entry.from.kind {
            PlaceKind::Supplier => self.received(entry, root),
            PlaceKind::Bin | PlaceKind::Quarantine => self.taken(entry),
            PlaceKind::Job => self.out_of_job(entry),
            PlaceKind::Difference => match self.under_way_of(entry) {
                Some(slices) => slices,
                None => self.found(entry, root),
            },
            PlaceKind::Scrap => entry
                .reverses
                .and_then(|original| self.scrapped.remove(&original))
                .unwrap_or_default(),
        }
    }

    fn deposit(&mut self, entry: &Entry, slices: Vec<Slice>) {
        if slices.is_empty() {
            return;
        }
        match entry.to.kind {
            PlaceKind::Supplier => {}
            PlaceKind::Bin | PlaceKind::Quarantine => {
                self.inside.put(&slices);
                self.brought.insert(entry.id, slices);
            }
            PlaceKind::Job => self.lay_at_job(entry, &slices),
            PlaceKind::Difference => match entry.pair_id {
                Some(pair) => _ = self.under_way.insert(pair, slices),
                None => self.missed.entry(entry.lot_id).or_default().put(&slices),
            },
            PlaceKind::Scrap => _ = self.scrapped.insert(entry.id, slices),
        }
    }

    fn age(&self, sequence: i64) -> i64 {
        match self.method {
            Method::Fifo => sequence,
            Method::MovingAverage => 0,
        }
    }

    fn received(&mut self, entry: &Entry, root: usize) -> Vec<Slice> {
        let age = self.age(entry.sequence);
        let root = &mut self.roots[root];
        if root.come == 0 {
            root.age = age;
        }
        let minor = share_beyond(root.minor, root.received, root.come, entry.quantity);
        root.come += entry.quantity;
        vec![Slice {
            age: root.age,
            quantity: entry.quantity,
            minor,
        }]
    }

    /// Out of bins or quarantine: by the method, but a reversal takes what its original brought.
    fn taken(&mut self, entry: &Entry) -> Vec<Slice> {
        let brought = entry.reverses.and_then(|id| self.brought.remove(&id));
        let Some(brought) = brought else {
            return self.inside.take(entry.quantity, Which::Oldest, self.method);
        };
        // A delivery can be sent back in part.
        let mut whole = Parcel::default();
        whole.put(&brought);
        let brought = whole.take(entry.quantity, Which::Oldest, self.method);
        let (mut slices, missing) = self.inside.take_those(&brought, self.method);
        // Others of another lot went in their stead.
        slices.extend(self.inside.take(missing, Which::Oldest, self.method));
        slices
    }

    /// Out of a job: of the issue that is answered or put right, else of the oldest. What comes
    /// back is what had been taken last, what is thrown away what had been taken first.
    fn out_of_job(&mut self, entry: &Entry) -> Vec<Slice> {
        let which = match entry.to.kind {
            PlaceKind::Scrap => Which::Oldest,
            _ => Which::Newest,
        };
        let named = entry.answers.or(entry.reverses);
        let named = named.and_then(|id| self.issues.get(&id).copied());
        let Some(held) = self.jobs.get_mut(&(entry.from.id, entry.lot_id)) else {
            return Vec::new();
        };
        let (mut slices, mut left, mut first) = (Vec::new(), entry.quantity, None);
        let mut next = named.filter(|sequence| held.contains_key(sequence));
        while left > 0 {
            let Some(sequence) = next.or_else(|| held.keys().next().copied()) else {
                break;
            };
            next = None;
            first.get_or_insert(sequence);
            let Some(parcel) = held.get_mut(&sequence) else {
                break;
            };
            let taken = parcel.take(left, which, self.method);
            left -= taken.iter().map(|slice| slice.quantity).sum::<i64>();
            slices.extend(taken);
            if parcel.is_empty() {
                held.remove(&sequence);
            }
        }
        if let Some(sequence) = named.or(first) {
            self.left_job.insert(entry.id, sequence);
        }
        slices
    }

    fn lay_at_job(&mut self, entry: &Entry, slices: &[Slice]) {
        let back = entry
            .reverses
            .and_then(|id| self.left_job.get(&id).copied());
        let sequence = back.unwrap_or(entry.sequence);
        if entry.kind == MovementKind::Issue {
            self.issues.insert(entry.id, sequence);
        }
        let End { id: job, .. } = entry.to;
        let held = self.jobs.entry((job, entry.lot_id)).or_default();
        held.entry(sequence).or_default().put(slices);
    }

    /// Out of the difference account: what was missed last, and beyond that at the lot's own cost.
    fn found(&mut self, entry: &Entry, root: usize) -> Vec<Slice> {
        let missed = self.missed.entry(entry.lot_id).or_default();
        let mut slices = missed.take(entry.quantity, Which::Newest, self.method);
        let beyond = entry.quantity - slices.iter().map(|slice| slice.quantity).sum::<i64>();
        if beyond > 0 {
            let root = &mut self.roots[root];
            let minor = share_beyond(root.minor, root.received, root.surplus, beyond);
            root.surplus += beyond;
            slices.push(Slice {
                age: root.age,
                quantity: beyond,
                minor,
            });
        }
        slices
    }

    fn under_way_of(&mut self, entry: &Entry) -> Option<Vec<Slice>> {
        self.under_way.remove(&entry.pair_id?)
    }
}

/// The lot that was received; `None` where a lot descends from one that is not there.
fn root_of<'a>(lot: &'a LotCost, by_id: &HashMap<Uuid, &'a LotCost>) -> Option<&'a LotCost> {
    let mut root = lot;
    // A lot descends from an older one: a longer chain than there are lots would be a circle.
    for _ in 0..=by_id.len() {
        match root.from_lot_id {
            None => return Some(root),
            Some(id) => root = by_id.get(&id).copied()?,
        }
    }
    None
}
