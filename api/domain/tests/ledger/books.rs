//! A ledger of one part in memory: keeps movements, works every level out of them anew, and shows
//! the rules what a store would show them.

use std::collections::BTreeMap;

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::decimal::Length;
use plugwell_domain::ledger::commands::{Issue, Receipt, Reserve, Return, Scrapping, Transfer};
use plugwell_domain::ledger::rules::{self, Act, Rejected, ReturnPlaces, ScrapSlip};
use plugwell_domain::ledger::{
    Condition, Holding, Lot, Movement, Place, PlaceKind, Plan, Reservation, ReservationState,
    ScrapReason, Shelf,
};
use uuid::Uuid;

/// The part that everything here is about.
pub const PART: Uuid = Uuid::from_u128(1);
/// How far a gapped lot may be off the gap that is wanted: 0.025 mm (common practice, no source).
pub const TOLERANCE: Length = plugwell_domain::decimal::Decimal(250);
/// How long a slip of the scanner can be put right (common practice, no source).
pub const SLIP: TimeDelta = TimeDelta::hours(24);

/// A length in millimetres.
pub fn mm(value: f64) -> Length {
    Length::exact(value).expect("a length of four places")
}

/// The books of one part.
pub struct Books {
    /// Where plugs come from.
    pub supplier: Place,
    /// Two bins.
    pub bins: [Place; 2],
    /// Two jobs.
    pub jobs: [Place; 2],
    /// Set aside.
    pub quarantine: Place,
    /// The scrap drum.
    pub scrap: Place,
    /// The difference account.
    pub difference: Place,
    /// Every lot ever made.
    pub lots: Vec<Lot>,
    /// Every movement ever written.
    pub movements: Vec<Movement>,
    /// Every reservation ever made, in its present state.
    pub reservations: Vec<Reservation>,
    /// The clock; an hour passes with every command.
    pub now: DateTime<Utc>,
    last_id: u128,
}

fn place(number: u128, kind: PlaceKind, name: &str) -> Place {
    Place {
        id: Uuid::from_u128(0x100 + number),
        code: format!("P{number}"),
        kind,
        name: name.to_owned(),
        retired: false,
        version: 1,
        created_at: DateTime::UNIX_EPOCH,
    }
}

impl Books {
    /// Empty books.
    pub fn new() -> Self {
        Self {
            supplier: place(1, PlaceKind::Supplier, "Brackwater Supply"),
            bins: [
                place(2, PlaceKind::Bin, "A1"),
                place(3, PlaceKind::Bin, "A2"),
            ],
            jobs: [
                place(4, PlaceKind::Job, "J-17"),
                place(5, PlaceKind::Job, "J-18"),
            ],
            quarantine: place(6, PlaceKind::Quarantine, "cage"),
            scrap: place(7, PlaceKind::Scrap, "drum"),
            difference: place(8, PlaceKind::Difference, "difference"),
            lots: Vec::new(),
            movements: Vec::new(),
            reservations: Vec::new(),
            now: DateTime::UNIX_EPOCH + TimeDelta::days(20_000),
            last_id: 0x1000,
        }
    }

    /// Books with these sealed lots in the first bin, oldest first.
    pub fn with(sealed: &[i64]) -> Self {
        let mut books = Self::new();
        for quantity in sealed {
            books.receive(0, *quantity, None);
        }
        books
    }

    /// Every place.
    pub fn places(&self) -> Vec<&Place> {
        let single = [
            &self.supplier,
            &self.quarantine,
            &self.scrap,
            &self.difference,
        ];
        self.bins.iter().chain(&self.jobs).chain(single).collect()
    }

    /// Every level, worked out of the movements.
    pub fn levels(&self) -> BTreeMap<(Uuid, Uuid), i64> {
        let mut levels = BTreeMap::new();
        for movement in &self.movements {
            let (lot, quantity) = (movement.lot_id, movement.quantity);
            *levels.entry((lot, movement.from_place_id)).or_default() -= quantity;
            *levels.entry((lot, movement.to_place_id)).or_default() += quantity;
        }
        levels.retain(|_, quantity| *quantity != 0);
        levels
    }

    /// What a lot has in a place.
    pub fn level(&self, lot: usize, place: &Place) -> i64 {
        let key = (self.lots[lot].id, place.id);
        self.levels().get(&key).copied().unwrap_or(0)
    }

    /// What the rules are shown: bins, quarantine and the places that the command names; lots
    /// that hold nothing there are left out.
    pub fn shelf(&self, also: &[Uuid]) -> Shelf {
        let mut shelf = Shelf::default();
        for ((lot_id, place_id), quantity) in self.levels() {
            let places = self.places();
            let place = places.iter().find(|p| p.id == place_id);
            let place = place.expect("a place of these books");
            let always = matches!(place.kind, PlaceKind::Bin | PlaceKind::Quarantine);
            if always || also.contains(&place_id) {
                shelf.holdings.push(Holding {
                    lot_id,
                    place_id,
                    place_kind: place.kind,
                    place_number: place.code[1..].parse().expect("a running number"),
                    quantity,
                });
            }
        }
        let shown = |lot: &&Lot| shelf.holdings.iter().any(|h| h.lot_id == lot.id);
        shelf.lots = self.lots.iter().filter(shown).cloned().collect();
        let kept =
            |r: &&Reservation| matches!(r.state, ReservationState::Open | ReservationState::Short);
        shelf.reservations = self.reservations.iter().filter(kept).cloned().collect();
        shelf
    }

    /// What has come back of an issue: the sum of the movements that answer it and stand.
    pub fn returned(&self, issue: Uuid) -> i64 {
        let stands = |m: &&Movement| !self.is_reversed(m.id);
        let answers = self.movements.iter().filter(|m| m.answers == Some(issue));
        answers.filter(stands).map(|m| m.quantity).sum()
    }

    fn is_reversed(&self, id: Uuid) -> bool {
        self.movements.iter().any(|m| m.reverses == Some(id))
    }

    /// Lets an hour pass, runs a rule on the shelf and writes what it plans.
    pub fn act(
        &mut self,
        also: &[Uuid],
        rule: impl FnOnce(&Self, &Shelf, &mut Act<'_>) -> Result<Plan, Rejected>,
    ) -> Result<Plan, Rejected> {
        self.now += TimeDelta::hours(1);
        let mut last = self.last_id;
        let mut new_id = || {
            last += 1;
            Uuid::from_u128(last)
        };
        let mut act = Act {
            now: self.now,
            actor: "counter",
            new_id: &mut new_id,
        };
        let plan = rule(self, &self.shelf(also), &mut act);
        self.last_id = last;
        if let Ok(plan) = &plan {
            self.apply(plan);
        }
        plan
    }

    pub fn apply(&mut self, plan: &Plan) {
        self.lots.extend(plan.new_lots.iter().cloned());
        self.movements.extend(plan.movements.iter().cloned());
        for changed in &plan.reservations {
            match self.reservations.iter_mut().find(|r| r.id == changed.id) {
                Some(old) => {
                    assert_eq!(changed.version, old.version + 1, "a change counts one up");
                    *old = changed.clone();
                }
                None => {
                    assert_eq!(changed.version, 1);
                    self.reservations.push(changed.clone());
                }
            }
        }
    }

    /// Receives a lot into a bin, sealed or set to a gap; gives its place in `lots`.
    pub fn receive(&mut self, bin: usize, quantity: i64, gap: Option<f64>) -> usize {
        let receipt = Receipt {
            plug_id: PART,
            supplier: self.supplier.name.clone(),
            place_id: self.bins[bin].id,
            quantity,
            total_cost: None,
            pack_size: Some(4),
            condition: gap.map(|_| Condition::Gapped),
            gap_mm: gap.map(mm),
            order_line_id: None,
            reference: Some("delivery note 12".to_owned()),
        };
        self.act(&[], |books, shelf, act| {
            let (supplier, bin) = (&books.supplier, &books.bins[bin]);
            Ok(rules::receive(shelf, &receipt, supplier, bin, act))
        })
        .expect("a receipt is never rejected here");
        self.lots.len() - 1
    }

    /// Issues to a job.
    pub fn issue(&mut self, issue: &Issue) -> Result<Plan, Rejected> {
        let job = self
            .jobs
            .iter()
            .find(|j| Some(&j.name) == issue.job.as_ref());
        let job = job.expect("a job of these books").clone();
        let named = self
            .reservations
            .iter()
            .find(|r| Some(r.id) == issue.reservation_id);
        let named = named.cloned();
        self.act(&[], |_, shelf, act| {
            rules::issue(shelf, issue, &job, named.as_ref(), TOLERANCE, act)
        })
    }

    /// Issues to the first job; gives the movements.
    pub fn issued(&mut self, quantity: i64) -> Vec<Movement> {
        let plan = self.issue(&crate::asking::issue_of(quantity));
        plan.expect("enough for the issue").movements
    }

    /// Takes back what went out with a movement, into a bin or the drum.
    pub fn give_back(&mut self, back: &Return) -> Result<Plan, Rejected> {
        let issued = self.movement(back.movement_id).clone();
        let returned = self.returned(issued.id);
        let bin = self.bins.iter().find(|b| Some(b.id) == back.place_id);
        let (bin, job) = (bin.cloned(), self.place(issued.to_place_id).clone());
        self.act(&[job.id], |books, shelf, act| {
            let places = ReturnPlaces {
                job: &job,
                bin: bin.as_ref(),
                scrap: &books.scrap,
                difference: &books.difference,
            };
            rules::give_back(shelf, back, &issued, returned, places, act)
        })
    }

    /// Moves a quantity of a lot from one place to another.
    pub fn transfer(
        &mut self,
        lot: usize,
        from: Uuid,
        to: Uuid,
        quantity: i64,
    ) -> Result<Plan, Rejected> {
        let transfer = Transfer {
            lot_id: self.lots[lot].id,
            from_place_id: from,
            to_place_id: to,
            quantity,
        };
        self.act(&[from], |books, shelf, act| {
            rules::transfer(shelf, &transfer, books.place(from), books.place(to), act)
        })
    }

    /// Throws away, from any lot or a named one.
    pub fn discard(
        &mut self,
        lot: Option<usize>,
        from: Uuid,
        quantity: i64,
    ) -> Result<Plan, Rejected> {
        let lot_id = lot.map(|place| self.lots[place].id);
        let scrapping = Scrapping {
            plug_id: lot_id.is_none().then_some(PART),
            lot_id,
            place_id: Some(from),
            job: None,
            quantity,
            reason: ScrapReason::Dropped,
            note: Some("fell off the bench".to_owned()),
            dropped_by: Some(" Odile ".to_owned()),
        };
        self.act(&[from], |books, shelf, act| {
            rules::discard(shelf, &scrapping, books.place(from), &books.scrap, act)
        })
    }

    /// Puts a movement right, with its pair.
    pub fn reverse(&mut self, id: Uuid, manager: bool) -> Result<Plan, Rejected> {
        let named = self.movement(id).clone();
        let paired =
            |m: &&Movement| m.id == id || (m.pair_id.is_some() && m.pair_id == named.pair_id);
        let originals: Vec<Movement> = self.movements.iter().filter(paired).cloned().collect();
        let reversed = originals.iter().any(|m| self.is_reversed(m.id));
        let ends = originals
            .iter()
            .flat_map(|m| [m.from_place_id, m.to_place_id]);
        let also: Vec<Uuid> = ends.collect();
        let places: Vec<Place> = also.iter().map(|id| self.place(*id).clone()).collect();
        let slip = ScrapSlip {
            manager,
            within: SLIP,
        };
        self.act(&also, |_, shelf, act| {
            rules::reverse(
                shelf,
                &originals,
                reversed,
                &places,
                "wrong scan",
                slip,
                act,
            )
        })
    }

    /// Keeps plugs for the first job; gives the reservation's place in `reservations`.
    pub fn reserve(&mut self, quantity: i64) -> Result<usize, Rejected> {
        let asked = Reserve {
            plug_id: PART,
            quantity,
            job: "  J-17 ".to_owned(),
            expires_at: None,
            build_id: None,
        };
        self.act(&[], |_, shelf, act| rules::reserve(shelf, &asked, act))?;
        Ok(self.reservations.len() - 1)
    }

    /// Gives a reservation back.
    pub fn release(&mut self, reservation: usize) -> Result<Plan, Rejected> {
        let id = self.reservations[reservation].id;
        self.act(&[], |_, shelf, act| rules::release(shelf, id, act))
    }

    /// A movement by its identifier.
    pub fn movement(&self, id: Uuid) -> &Movement {
        let found = self.movements.iter().find(|m| m.id == id);
        found.expect("a movement of these books")
    }

    /// A place by its identifier.
    pub fn place(&self, id: Uuid) -> &Place {
        let found = self.places().into_iter().find(|p| p.id == id);
        found.expect("a place of these books")
    }

    /// The states of all reservations.
    pub fn states(&self) -> Vec<ReservationState> {
        self.reservations.iter().map(|r| r.state).collect()
    }
}
