//! All that lines are made of, read in a few queries.

use std::collections::{BTreeSet, HashMap};

use chrono::{DateTime, TimeDelta, Utc};
use plugwell_domain::attribute::Attr;
use plugwell_domain::calendar::{CalendarPeriod, midnight};
use plugwell_domain::fit::StockMode;
use plugwell_domain::ledger::Money;
use plugwell_domain::order::Supplier;
use plugwell_domain::plug::{Plug, Shows};
use plugwell_domain::policy::Policy;
use plugwell_domain::reorder::{Alike, Known, LeadDays, Lying, Position, Reordering};
use plugwell_domain::requirement::of_part;
use plugwell_indexer::Question;
use plugwell_store::{Bought, OnHand, Parts, Session};
use uuid::Uuid;

use crate::service::{Refusal, Shop};

/// Parts read at a time.
const CHUNK: usize = 5_000;
/// Equivalents that are looked at for a single part.
const EQUIVALENTS: usize = 200;
/// Suppliers read at a time.
const SUPPLIERS: i64 = 1_000;
/// Deliveries further back tell nothing of how long a supplier takes today.
const DELIVERIES_SINCE: TimeDelta = TimeDelta::days(2 * 365);

/// Whole periods that are looked back at: from one to before another, by their numbers.
#[derive(Debug, Clone, Copy)]
struct Window {
    period: CalendarPeriod,
    first: i64,
    end: i64,
}

impl Window {
    fn of(policy: &Policy, at: DateTime<Utc>) -> Self {
        let period = policy.values.demand_period.value;
        let end = period.number(at);
        let first = end - i64::from(policy.values.demand_history_periods.value);
        Self { period, first, end }
    }
}

/// A supplier with the days that its past deliveries took.
struct Delivers {
    supplier: Supplier,
    days: Vec<f64>,
}

/// Every supplier, found by its name, case-blind.
#[derive(Default)]
pub(super) struct Suppliers(HashMap<String, Delivers>);

impl Suppliers {
    fn named(&self, name: Option<&str>) -> Option<&Delivers> {
        self.0.get(&name?.to_lowercase())
    }

    /// What an order has to come to before a supplier delivers.
    pub fn least_order(&self, name: Option<&str>) -> Option<Money> {
        self.named(name)?.supplier.data.least_order.clone()
    }

    /// Whether nothing more is ordered from a supplier.
    pub fn is_retired(&self, name: Option<&str>) -> bool {
        self.named(name).is_some_and(|d| d.supplier.retired)
    }
}

/// All that lines are made of.
pub(super) struct Gathered {
    /// The one part that is asked for, where it is one.
    asked: Option<Uuid>,
    plugs: Vec<Plug>,
    histories: HashMap<Uuid, Vec<i64>>,
    bought: HashMap<Uuid, Bought>,
    on_hand: HashMap<Uuid, OnHand>,
    on_order: HashMap<Uuid, i64>,
    hand: HashMap<Uuid, Reordering>,
    suppliers: Suppliers,
    lying: HashMap<Uuid, Lying>,
    window: Window,
    nothing: Reordering,
}

impl Gathered {
    /// Reads everything: of all parts that were ever bought, ordered, or given something by hand;
    /// or of one part and its equivalents. Of a part without history all others besides: what they
    /// begin with it has to share.
    pub fn of(
        shop: &Shop,
        session: &mut Session,
        policy: &Policy,
        asked: Option<Uuid>,
        at: DateTime<Utc>,
    ) -> Result<Self, Refusal> {
        let today = midnight(at.date_naive());
        let Some(id) = asked else {
            return Self::read(session, policy, None, None, today);
        };
        let around = around(shop, session, policy, id)?;
        let found = Self::read(session, policy, asked, Some(&around), today)?;
        if found
            .asked_for()
            .all(|plug| !found.lacks_history(plug, policy))
        {
            return Ok(found);
        }
        Self::read(session, policy, asked, None, today)
    }

    fn read(
        session: &mut Session,
        policy: &Policy,
        asked: Option<Uuid>,
        parts: Parts<'_>,
        today: DateTime<Utc>,
    ) -> Result<Self, Refusal> {
        let window = Window::of(policy, today);
        let lots = session.bought(parts)?.into_iter();
        let mut bought: HashMap<Uuid, Bought> = lots.map(|known| (known.plug_id, known)).collect();
        for known in session.bought_by_order(parts)? {
            bought
                .entry(known.plug_id)
                .and_modify(|own| own.complete(&known))
                .or_insert(known);
        }
        let hand = session.all_reordering(parts)?;
        let on_order: HashMap<Uuid, i64> = session.expected(parts)?.into_iter().collect();
        let ids: BTreeSet<Uuid> = (bought.keys().chain(hand.keys()).chain(on_order.keys()))
            .chain(parts.into_iter().flatten())
            .chain(asked.iter())
            .copied()
            .collect();
        let ids: Vec<Uuid> = ids.into_iter().collect();
        let mut plugs = Vec::with_capacity(ids.len());
        for chunk in ids.chunks(CHUNK) {
            plugs.extend(session.plugs_by_id(chunk)?);
        }
        plugs.retain(|plug| !plug.retired || asked == Some(plug.id));
        let mut gathered = Self {
            asked,
            histories: histories(session, window, &bought, parts)?,
            on_hand: session.on_hand(parts)?,
            suppliers: suppliers(session, today)?,
            plugs,
            bought,
            on_order,
            hand,
            lying: HashMap::new(),
            window,
            nothing: Reordering::default(),
        };
        gathered.lying = gathered.lying_unsold(session, policy, today)?;
        Ok(gathered)
    }

    /// The parts that lines are asked of.
    pub fn asked_for(&self) -> impl Iterator<Item = &Plug> {
        self.plugs
            .iter()
            .filter(|plug| self.asked.is_none_or(|id| id == plug.id))
    }

    /// Every part that was read.
    pub fn plugs(&self) -> &[Plug] {
        &self.plugs
    }

    /// A part's demand by whole period since its first receipt; empty where it has none.
    pub fn history(&self, plug_id: Uuid) -> &[i64] {
        self.histories.get(&plug_id).map_or(&[], Vec::as_slice)
    }

    /// Whether a part has too little history for a forecast.
    pub fn lacks_history(&self, plug: &Plug, policy: &Policy) -> bool {
        self.history(plug.id).len() < policy.values.demand_least_periods.value as usize
    }

    /// What is known of a part for its line.
    pub fn known<'a>(&'a self, plug: &'a Plug, policy: &Policy) -> Known<'a> {
        let bought = self.bought.get(&plug.id);
        let hand = self.hand.get(&plug.id).unwrap_or(&self.nothing);
        let supplier = hand.supplier.as_deref().map(str::trim);
        let supplier = supplier.or_else(|| bought?.supplier.as_deref());
        let delivers = self.suppliers.named(supplier);
        // As the shop writes it, whatever was typed.
        let supplier = delivers.map(|d| d.supplier.data.name.as_str()).or(supplier);
        let promised = delivers.and_then(|d| d.supplier.data.lead_time_days);
        let past = delivers.map_or(&[][..], |d| d.days.as_slice());
        let on_hand = self.on_hand.get(&plug.id).copied().unwrap_or_default();
        Known {
            plug,
            last_period: self.window.end - 1,
            history: self.history(plug.id),
            start: None,
            hand,
            supplier: supplier.map(str::to_owned),
            lead: LeadDays::of(hand, past, promised, &policy.values),
            unit_cost: bought
                .and_then(|b| b.cost)
                .map(|(minor, plugs)| nearest(minor, plugs)),
            pack_size: hand
                .pack_size
                .or_else(|| bought?.pack_size)
                .or_else(|| own_pack(plug)),
            position: Position {
                on_hand: on_hand.in_bins,
                reserved: on_hand.reserved,
                on_order: self.on_order.get(&plug.id).copied().unwrap_or(0),
            },
            use_first: Vec::new(),
        }
    }

    /// What lies unsold, to be found by the parts that it can stand in for.
    pub fn unsold(&self) -> Alike<'_, Lying> {
        let lying = self.plugs.iter().filter(|plug| !plug.retired);
        lying
            .filter_map(|plug| Some((plug, *self.lying.get(&plug.id)?)))
            .collect()
    }

    /// Every supplier.
    pub fn into_suppliers(self) -> Suppliers {
        self.suppliers
    }

    fn lying_unsold(
        &self,
        session: &mut Session,
        policy: &Policy,
        today: DateTime<Utc>,
    ) -> Result<HashMap<Uuid, Lying>, Refusal> {
        let days = i64::from(policy.values.dead_stock_days.value);
        let before = today - TimeDelta::days(days);
        let old = |id: &Uuid| {
            self.bought
                .get(id)
                .is_some_and(|b| b.first_at.is_some_and(|first| first < before))
        };
        let there: Vec<(Uuid, i64)> = self
            .on_hand
            .iter()
            .map(|(id, on_hand)| (*id, on_hand.sealed - on_hand.reserved))
            .filter(|(id, available)| *available > 0 && old(id))
            .collect();
        let ids: Vec<Uuid> = there.iter().map(|(id, _)| *id).collect();
        let issued = session.last_issued(&ids)?;
        let lying = there.into_iter().filter_map(|(id, available)| {
            let first = self.bought.get(&id)?.first_at?;
            let since = issued.get(&id).copied().unwrap_or(first);
            (since < before).then_some((id, Lying { available, since }))
        });
        Ok(lying.collect())
    }
}

/// A plug's cost from that of so many, to the nearest minor unit.
fn nearest(minor: i64, plugs: i64) -> i64 {
    (2 * minor + plugs).div_euclid(2 * plugs.max(1))
}

/// The box that the maker's sheet gives.
fn own_pack(plug: &Plug) -> Option<i64> {
    plug.shown(Attr::PackSize)
}

/// A part and what could be equal to it.
fn around(
    shop: &Shop,
    session: &mut Session,
    policy: &Policy,
    id: Uuid,
) -> Result<Vec<Uuid>, Refusal> {
    let plug = session.plug(id)?.ok_or(Refusal::NotFound("plug"))?;
    let mut ids = vec![id];
    if let Ok(requirement) = of_part(&plug, policy) {
        let question = Question {
            requirement: &requirement,
            quantity: 1,
            stock: StockMode::Ignore,
            limit: EQUIVALENTS,
            near_misses: 0,
        };
        let shelves = shop.shelves.read();
        let found = shop.index.search(&question, &shelves)?;
        ids.extend(
            found
                .fits
                .iter()
                .map(|hit| hit.id)
                .filter(|other| *other != id),
        );
    }
    Ok(ids)
}

/// Demand by whole period of every part, from that of its first receipt on.
fn histories(
    session: &mut Session,
    window: Window,
    bought: &HashMap<Uuid, Bought>,
    parts: Parts<'_>,
) -> Result<HashMap<Uuid, Vec<i64>>, Refusal> {
    let Window { period, first, end } = window;
    let length = |from: i64| usize::try_from(end - from.max(first)).unwrap_or(0);
    let mut histories: HashMap<Uuid, Vec<i64>> = bought
        .values()
        .filter_map(|known| {
            Some((
                known.plug_id,
                vec![0; length(period.number(known.first_at?))],
            ))
        })
        .collect();
    let asked = session.demand(period, period.begins(first), period.begins(end), parts)?;
    for asked in asked.into_values().flatten() {
        let own = histories.entry(asked.plug_id).or_default();
        let back = length(asked.period);
        if own.len() < back {
            // Asked for before its first receipt: what counting found, for instance.
            own.splice(0..0, std::iter::repeat_n(0, back - own.len()));
        }
        let place = own.len() - back;
        if let Some(entry) = own.get_mut(place) {
            *entry += asked.quantity;
        }
    }
    Ok(histories)
}

/// Every supplier by name, with how long its deliveries took.
fn suppliers(session: &mut Session, today: DateTime<Utc>) -> Result<Suppliers, Refusal> {
    let mut all = HashMap::new();
    let mut after = None;
    loop {
        let page = session.list_suppliers(None, after, SUPPLIERS)?;
        after = page.last().map(|supplier| supplier.id);
        let last = (page.len() as i64) < SUPPLIERS;
        for supplier in page {
            let took = session.lead_times(supplier.id, Some(today - DELIVERIES_SINCE))?;
            let days = took.iter().map(|delivery| delivery.days()).collect();
            all.insert(
                supplier.data.name.to_lowercase(),
                Delivers { supplier, days },
            );
        }
        if last {
            return Ok(Suppliers(all));
        }
    }
}
