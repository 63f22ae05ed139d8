//! The whole life of a lot: from the supplier through bins, jobs and back to an engine or the scrap
//! drum, with what each place had after every step.

mod told;

use std::collections::{BTreeMap, HashMap};

use chrono::{DateTime, NaiveDate, Utc};
use serde::Serialize;
use uuid::Uuid;

use crate::decimal::Length;
use crate::fitted::FittedSet;
use crate::instant;
use crate::ledger::cost::share;
use crate::ledger::family::came_in;
use crate::ledger::{Level, Lot, Money, Movement, MovementKind, Place, PlaceKind};
use crate::order::Order;
use crate::report::life::told::{told, way};

/// A reading of a plug of the lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ReadPlug {
    /// The reading.
    pub reading_id: Uuid,
    /// The issue that the plug went out with.
    #[serde(skip)]
    pub movement_id: Uuid,
    /// When it was recorded.
    #[serde(serialize_with = "instant::serialize")]
    pub at: DateTime<Utc>,
    /// Which run.
    pub run: u32,
    /// Which cylinder.
    pub cylinder: u32,
    /// Whether it counts as evidence.
    pub evidence: bool,
}

/// The engine that plugs went into, as far as the issue tells.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct IntoEngine {
    /// The build.
    pub build_id: Uuid,
    /// What it is called; null where it has no name or is gone.
    pub build_name: Option<String>,
    /// The odometer when they went in; null where nobody said.
    pub odometer_km: Option<i64>,
    /// When a newer whole set replaced the one that they are of; null where none did.
    #[serde(serialize_with = "instant::serialize_option")]
    pub changed_at: Option<DateTime<Utc>>,
    /// How far they ran, by the odometer then; null where either is not known.
    pub distance_km: Option<i64>,
    /// What was read of them.
    pub readings: Vec<ReadPlug>,
}

/// One end of a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct StepEnd {
    /// The place.
    pub place_id: Uuid,
    /// The code on its label.
    pub code: String,
    /// What it is.
    pub kind: PlaceKind,
    /// What people call it.
    pub name: String,
    /// What it has of this lot from then on; below zero only at a supplier and in the difference
    /// account.
    pub balance: i64,
}

/// A movement of the lot or of one of its family.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LifeStep {
    /// The movement.
    pub movement_id: Uuid,
    /// Its running number.
    pub sequence: i64,
    /// When.
    #[serde(serialize_with = "instant::serialize")]
    pub at: DateTime<Utc>,
    /// What it did.
    pub kind: MovementKind,
    /// The lot.
    pub lot_id: Uuid,
    /// The code on its label.
    pub lot_code: String,
    /// Plugs.
    pub quantity: i64,
    /// Where from.
    pub from: StepEnd,
    /// Where to.
    pub to: StepEnd,
    /// Why: the reason of a scrapping or reversal.
    pub reason: Option<String>,
    /// Free text; the reference of a receipt.
    pub note: Option<String>,
    /// Who did it.
    pub actor: String,
    /// The movement that it puts right.
    pub reverses: Option<Uuid>,
    /// The gap that was set.
    pub gap_mm: Option<Length>,
    /// The engine that they went into; null where the issue names none.
    pub engine: Option<IntoEngine>,
    /// The step in words.
    pub text: String,
}

/// The order that a lot came in for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LifeOrder {
    /// The lot.
    pub lot_id: Uuid,
    /// The code on its label.
    pub lot_code: String,
    /// The order.
    pub order_id: Uuid,
    /// The code on the printed order.
    pub order_code: String,
    /// Which of its lines, from 1.
    pub line: usize,
    /// The line.
    pub order_line_id: Uuid,
    /// Plugs that it asked for.
    pub quantity: i64,
    /// When the supplier was expected to deliver; null where nobody said.
    pub expected_on: Option<NaiveDate>,
}

/// What is where now, of the whole family.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LifeEnd {
    /// The kind of place.
    pub kind: PlaceKind,
    /// Plugs.
    pub quantity: i64,
    /// What they cost: the receipt's total over all plugs by largest remainder; null where nobody
    /// said what the lot cost.
    pub cost: Option<Money>,
}

/// The books of the family.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LifeBalance {
    /// The sum over all places and lots: zero, or the books are wrong.
    pub sum: i64,
    /// Whether the steps leave in every place exactly what the stock's levels say.
    pub agrees_with_levels: bool,
}

/// The whole life of a lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LotLife {
    /// The lot that was asked for.
    pub lot: Lot,
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// Its number.
    pub part_number: String,
    /// The lot that it came in with and all that descend from it, itself among them, in the order of
    /// their codes: plugs that come back from a job set to a gap become a lot of their own.
    pub family: Vec<Lot>,
    /// The orders that lots of the family came in for; none where nobody ordered them.
    pub orders: Vec<LifeOrder>,
    /// What happened, in time.
    pub steps: Vec<LifeStep>,
    /// Where its plugs are now, suppliers and the difference account left out.
    pub now: Vec<LifeEnd>,
    /// Whether it adds up.
    pub balance: LifeBalance,
}

/// All that a life is told from.
#[derive(Debug, Clone, Default)]
pub struct LifeBooks {
    /// The family, in the order of their codes.
    pub family: Vec<Lot>,
    /// All their movements, by running number.
    pub movements: Vec<Movement>,
    /// What the stock's levels say of them.
    pub levels: Vec<Level>,
    /// All places that movements name.
    pub places: Vec<Place>,
    /// Names of builds that issues name.
    pub builds: HashMap<Uuid, Option<String>>,
    /// All sets that were in the engines of those builds.
    pub sets: Vec<FittedSet>,
    /// The orders that lots name lines of.
    pub orders: Vec<Order>,
    /// What was read of the plugs.
    pub readings: Vec<ReadPlug>,
}

impl LotLife {
    /// Tells the life of a lot of a part; `None` where the books lack the lot, or a lot or a place
    /// that a movement names.
    pub fn tell(lot_id: Uuid, maker: &str, part_number: &str, books: &LifeBooks) -> Option<Self> {
        let lot = books.family.iter().find(|lot| lot.id == lot_id)?;
        let mut balances: BTreeMap<(Uuid, Uuid), i64> = BTreeMap::new();
        let mut steps = Vec::with_capacity(books.movements.len());
        for movement in &books.movements {
            steps.push(step(movement, books, &mut balances)?);
        }
        balances.retain(|_, quantity| *quantity != 0);
        let booked: BTreeMap<(Uuid, Uuid), i64> = books
            .levels
            .iter()
            .map(|level| ((level.lot_id, level.place_id), level.quantity))
            .collect();
        Some(Self {
            lot: lot.clone(),
            plug_id: lot.plug_id,
            maker: maker.to_owned(),
            part_number: part_number.to_owned(),
            family: books.family.clone(),
            orders: orders(books),
            steps,
            now: now(books, &balances),
            balance: LifeBalance {
                sum: booked.values().sum(),
                agrees_with_levels: booked == balances,
            },
        })
    }
}

/// The orders of the family, in the order of its lots.
fn orders(books: &LifeBooks) -> Vec<LifeOrder> {
    let of_lot = |lot: &Lot| {
        let line_id = lot.order_line_id?;
        let own = |order: &Order| order.lines.iter().position(|line| line.id == line_id);
        let (order, place) = books
            .orders
            .iter()
            .find_map(|order| Some((order, own(order)?)))?;
        Some(LifeOrder {
            lot_id: lot.id,
            lot_code: lot.code.clone(),
            order_id: order.id,
            order_code: order.code.clone(),
            line: place + 1,
            order_line_id: line_id,
            quantity: order.lines[place].quantity,
            expected_on: order.expected_on,
        })
    };
    books.family.iter().filter_map(of_lot).collect()
}

/// A movement as a step, and what it leaves.
fn step(
    movement: &Movement,
    books: &LifeBooks,
    balances: &mut BTreeMap<(Uuid, Uuid), i64>,
) -> Option<LifeStep> {
    let lot = books.family.iter().find(|lot| lot.id == movement.lot_id)?;
    let mut end = |place_id: Uuid, change: i64| {
        let place = books.places.iter().find(|place| place.id == place_id)?;
        let balance = balances.entry((lot.id, place_id)).or_default();
        *balance += change;
        Some(StepEnd {
            place_id,
            code: place.code.clone(),
            kind: place.kind,
            name: place.name.clone(),
            balance: *balance,
        })
    };
    let from = end(movement.from_place_id, -movement.quantity)?;
    let to = end(movement.to_place_id, movement.quantity)?;
    let engine = engine(movement, books);
    Some(LifeStep {
        movement_id: movement.id,
        sequence: movement.sequence,
        at: movement.created_at,
        kind: movement.kind,
        lot_id: lot.id,
        lot_code: lot.code.clone(),
        quantity: movement.quantity,
        reason: movement.reason.clone(),
        note: movement.note.clone(),
        actor: movement.actor.clone(),
        reverses: movement.reverses,
        gap_mm: movement.gap_mm,
        text: told(
            movement,
            way(movement, lot, [&from, &to], books),
            engine.as_ref(),
        ),
        from,
        to,
        engine,
    })
}

/// The engine of an issue, and how far its plugs ran there.
fn engine(issue: &Movement, books: &LifeBooks) -> Option<IntoEngine> {
    let build_id = issue.build_id?;
    let mut sets = books.sets.iter();
    let set = sets.find(|set| set.movement_ids.contains(&issue.id));
    let readings = books.readings.iter();
    Some(IntoEngine {
        build_id,
        build_name: books.builds.get(&build_id).cloned().flatten(),
        odometer_km: issue.odometer_km,
        changed_at: set.and_then(|set| set.replaced_at),
        distance_km: set.and_then(FittedSet::ran_km),
        readings: readings
            .filter(|reading| reading.movement_id == issue.id)
            .cloned()
            .collect(),
    })
}

/// Where the plugs are now and what they cost, by kind of place: shares of the receipt's total, so
/// that they add up to it.
fn now(books: &LifeBooks, balances: &BTreeMap<(Uuid, Uuid), i64>) -> Vec<LifeEnd> {
    let kind_of = |id: Uuid| books.places.iter().find(|p| p.id == id).map(|p| p.kind);
    let root = came_in(&books.family);
    let cost = root.and_then(|lot| Some((lot.total_cost.as_ref()?, lot.quantity_received)));
    let mut gone = 0;
    let kinds = [
        PlaceKind::Job,
        PlaceKind::Bin,
        PlaceKind::Quarantine,
        PlaceKind::Scrap,
    ];
    let ends = kinds.into_iter().map(|kind| {
        let here = balances
            .iter()
            .filter(|((_, place), _)| kind_of(*place) == Some(kind));
        let quantity: i64 = here.map(|(_, quantity)| quantity).sum();
        let own = cost.map(|(total, received)| Money {
            minor: share(total.minor, received, gone, quantity),
            currency: total.currency.clone(),
        });
        gone += quantity;
        LifeEnd {
            kind,
            quantity,
            cost: own,
        }
    });
    ends.filter(|end| end.quantity > 0).collect()
}
