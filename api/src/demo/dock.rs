//! What is on order, what came of it today, and a lot that failed its incoming check.

use chrono::{DateTime, Days, Utc};
use plugwell_domain::decimal::Length;
use plugwell_domain::incoming::IncomingCheck;
use plugwell_domain::ledger::commands::Receipt;
use plugwell_domain::ledger::{Money, PlaceKind};
use plugwell_domain::order::{AskedLine, Order, OrderData, OrderState, SupplierData};
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Role;
use plugwell_store::Session;
use serde::Deserialize;
use uuid::Uuid;

use crate::demo::year::back;
use crate::service::stock::{self, By};
use crate::service::{Actor, Refusal, Shop, orders, suppliers};

/// An order of the fixtures: its parts stand by maker and number.
#[derive(Debug, Deserialize)]
pub(super) struct Ordered {
    supplier: String,
    state: OrderState,
    days_ago: u64,
    expected_in: Option<u64>,
    lines: Vec<Line>,
}

#[derive(Debug, Deserialize)]
struct Line {
    maker: String,
    part_number: String,
    quantity: i64,
    total_cost_minor: i64,
    pack_size: i64,
    #[serde(default)]
    comes: Vec<Comes>,
}

#[derive(Debug, Deserialize)]
struct Comes {
    quantity: i64,
    place: String,
    check: Option<Sample>,
}

#[derive(Debug, Deserialize)]
struct Sample {
    sample: i64,
    reach_mm: Vec<Length>,
    note: Option<String>,
}

fn wrong(what: impl std::fmt::Display) -> Refusal {
    Refusal::Fault(format!("fixtures/demo/orders.json: {what}"))
}

/// Enters what is known of a supplier that the year has made.
///
/// # Errors
/// Where the database fails.
pub(super) fn describe(shop: &Shop, data: &SupplierData) -> Result<(), Refusal> {
    let found = suppliers::list(shop, Some(&data.name), None, 1)?.pop();
    let Some(known) = found else {
        return suppliers::create(shop, data).map(drop);
    };
    let patch = serde_json::to_value(data).map_err(wrong)?;
    let members = patch.as_object().ok_or_else(|| wrong("no object"))?;
    suppliers::patch(shop, known.id, |_| Ok(()), members).map(drop)
}

/// Writes an order at its time and receives today what comes of it.
///
/// # Errors
/// Where the fixture or the database fails.
pub(super) fn place(
    session: &mut Session,
    ordered: &Ordered,
    today: DateTime<Utc>,
) -> Result<(), Refusal> {
    let policy = Policy::default();
    let data = asked(session, ordered, &policy, today)?;
    let order = orders::write(session, &policy, &data, back(today, ordered.days_ago, 600))?;
    let actor = Actor {
        token_id: Uuid::nil(),
        name: Role::Clerk.word().to_owned(),
        role: Role::Clerk,
    };
    let by = By {
        actor: &actor,
        at: today,
    };
    for (line, place) in ordered.lines.iter().zip(0..) {
        for comes in &line.comes {
            receive(session, &by, &policy, (&order, place), comes)?;
        }
    }
    Ok(())
}

fn asked(
    session: &mut Session,
    ordered: &Ordered,
    policy: &Policy,
    today: DateTime<Utc>,
) -> Result<OrderData, Refusal> {
    let mut lines = Vec::with_capacity(ordered.lines.len());
    for line in &ordered.lines {
        let part = session.plug_named(&line.maker, &line.part_number)?;
        lines.push(AskedLine {
            id: None,
            plug_id: part
                .ok_or_else(|| wrong(format!("no {}", line.part_number)))?
                .id,
            quantity: line.quantity,
            total_cost: Some(Money {
                minor: line.total_cost_minor,
                currency: policy.values.currency.value.clone(),
            }),
            pack_size: Some(line.pack_size),
        });
    }
    let day = today.date_naive();
    Ok(OrderData {
        supplier: ordered.supplier.clone(),
        state: Some(ordered.state),
        expected_on: ordered.expected_in.map(|days| day + Days::new(days)),
        reference: None,
        note: None,
        lines,
    })
}

fn receive(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    (order, place): (&Order, usize),
    comes: &Comes,
) -> Result<(), Refusal> {
    let line = order
        .lines
        .get(place)
        .ok_or_else(|| wrong("no such line"))?;
    let bin = session.place_named(PlaceKind::Bin, &comes.place)?;
    let receipt = Receipt {
        plug_id: line.plug_id,
        supplier: order.supplier.clone(),
        place_id: bin
            .ok_or_else(|| wrong(format!("no bin {:?}", comes.place)))?
            .id,
        quantity: comes.quantity,
        total_cost: None,
        pack_size: None,
        condition: None,
        gap_mm: None,
        order_line_id: Some(line.id),
        reference: None,
    };
    let (outcome, _) = stock::receive(session, by, policy, &receipt)?;
    let (Some(sample), Some(lot)) = (&comes.check, outcome.lots.first()) else {
        return Ok(());
    };
    let check = IncomingCheck {
        lot_id: lot.id,
        sample: sample.sample,
        resistance_ohm: Vec::new(),
        gap_mm: Vec::new(),
        reach_mm: sample.reach_mm.clone(),
        uncertainty: None,
        quarantine_place_id: None,
        note: sample.note.clone(),
    };
    stock::check(session, by, policy, &check).map(drop)
}
