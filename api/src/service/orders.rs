//! Purchase orders: written, sent, called off; what receipts bring in for them.

use plugwell_domain::caution::Caution;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::ledger::commands::Receipt;
use plugwell_domain::ledger::{Lot, Movement, Place, PlaceKind};
use plugwell_domain::order::{self, Delivery, Order, OrderData, OrderRejection, Refused};
use plugwell_domain::policy::Policy;
use plugwell_store::{OrderFilter, Session};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::conflict::Conflict;
use crate::service::heads::patched;
use crate::service::stock::By;
use crate::service::{Refusal, Shop, new_id, now};

/// One order.
///
/// # Errors
/// `NotFound`.
pub fn get(shop: &Shop, id: Uuid) -> Result<Order, Refusal> {
    shop.store
        .read(|s| s.order(id)?.ok_or(Refusal::NotFound("order")))
}

/// The order that a line belongs to.
///
/// # Errors
/// `NotFound`.
pub fn of_line(shop: &Shop, line_id: Uuid) -> Result<Order, Refusal> {
    shop.store.read(|s| {
        let order = match s.order_of_line(line_id)? {
            Some(id) => s.order(id)?,
            None => None,
        };
        order.ok_or(Refusal::NotFound("line of an order"))
    })
}

/// Orders, the newest first.
///
/// # Errors
/// Where the database fails.
pub fn list(
    shop: &Shop,
    filter: &OrderFilter,
    before: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Order>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_orders(filter, before, limit)?))
}

/// Writes a new order, now: a draft, or sent at once.
///
/// # Errors
/// As [`write()`].
pub fn create(shop: &Shop, data: &OrderData) -> Result<Order, Refusal> {
    let policy = shop.policy();
    shop.write(|session| write(session, &policy, data, now()))
}

/// Writes a new order: a draft, or sent at once.
///
/// # Errors
/// Parts that there are not, another currency; `plug_retired`, `place_retired`; the rejections of
/// [`order::draft`].
pub fn write(
    session: &mut Session,
    policy: &Policy,
    data: &OrderData,
    at: chrono::DateTime<chrono::Utc>,
) -> Result<Order, Refusal> {
    let supplier = named(session, policy, data, &[], at)?;
    let order = order::draft(data, &supplier, at, &mut new_id).map_err(refused)?;
    Ok(session.insert_order(&order)?)
}

/// Changes an order.
///
/// # Errors
/// `NotFound`; every fault of the order as it would become; `Stale`; the rejections of
/// [`order::change`].
pub fn patch(
    shop: &Shop,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Order, Refusal> {
    let policy = shop.policy();
    shop.write(|session| change(session, &policy, id, &expected, patch))
}

/// Changes an order within a transaction.
///
/// # Errors
/// As [`patch()`].
pub fn change(
    session: &mut Session,
    policy: &Policy,
    id: Uuid,
    expected: &dyn Fn(i64) -> Result<(), Refusal>,
    patch: &Map<String, Value>,
) -> Result<Order, Refusal> {
    let old = session.order(id)?.ok_or(Refusal::NotFound("order"))?;
    let before = OrderData::of(&old);
    let data = patched(&before, patch)?;
    let at = now();
    // Made before the order is locked, as everything is that is made on first use.
    let supplier = named(session, policy, &data, &before.lines, at)?;
    let old = session
        .order_locked(id)?
        .ok_or(Refusal::NotFound("order"))?;
    expected(old.version)?;
    let next = order::change(&old, &data, &supplier, at, &mut new_id).map_err(refused)?;
    session.update_order(&next)?;
    Ok(next)
}

/// The movements that brought in what an order asks for, and those that put one right, in the order that
/// they were booked.
///
/// # Errors
/// `NotFound`.
pub fn deliveries(shop: &Shop, id: Uuid) -> Result<Vec<Movement>, Refusal> {
    shop.store.read(|session| {
        let order = session.order(id)?.ok_or(Refusal::NotFound("order"))?;
        let lines: Vec<Uuid> = order.lines.iter().map(|line| line.id).collect();
        let lots = session.lots_of_lines(&lines)?;
        let mut movements = session.movements_of_lots(&lots)?;
        let of_supplier =
            |m: &Movement| [m.from_place_id, m.to_place_id].contains(&order.supplier_id);
        movements.retain(of_supplier);
        Ok(movements)
    })
}

/// The supplier of an order whose parts and costs are looked at besides: every fault at once. Parts of
/// lines that stood before may have been retired since.
fn named(
    session: &mut Session,
    policy: &Policy,
    data: &OrderData,
    before: &[order::AskedLine],
    at: chrono::DateTime<chrono::Utc>,
) -> Result<Place, Refusal> {
    let ids: Vec<Uuid> = data.lines.iter().map(|line| line.plug_id).collect();
    let parts = session.plugs_by_id(&ids)?;
    let mut faults = Vec::new();
    let mut retired = None;
    for (place, line) in data.lines.iter().enumerate() {
        let known = before.iter().any(|l| l.plug_id == line.plug_id);
        match parts.iter().find(|plug| plug.id == line.plug_id) {
            None => faults.push(Fault::at(
                &format!("lines/{place}/plug_id"),
                FaultCode::NotFound,
                "there is no such part",
            )),
            Some(plug) if plug.retired && !known => {
                retired.get_or_insert_with(|| plug.data.part_number.clone());
            }
            Some(_) => {}
        }
        let cost = line.total_cost.as_ref();
        faults.extend(
            cost.and_then(|cost| policy.currency_fault(&format!("lines/{place}/total_cost"), cost)),
        );
    }
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    if let Some(part) = retired {
        return Err(Refusal::conflict(
            Conflict::Ledger(plugwell_domain::ledger::rules::Rejection::PlugRetired),
            format!("{part} is retired; bring it back before ordering more of it"),
        ));
    }
    let supplier = session.place_for(PlaceKind::Supplier, data.supplier.trim(), at, new_id())?;
    if supplier.retired && before.is_empty() {
        return Err(Refusal::conflict(
            Conflict::Ledger(plugwell_domain::ledger::rules::Rejection::PlaceRetired),
            format!(
                "{} is retired: nothing more is ordered from it",
                supplier.name
            ),
        ));
    }
    Ok(supplier)
}

/// The order that a receipt is for, locked until the commit, and the receipt as the order completes it:
/// with its share of the line's cost, and the box, where it says nothing itself.
///
/// # Errors
/// A line that there is not, or of another part or supplier.
pub(in crate::service) fn delivered(
    session: &mut Session,
    receipt: &Receipt,
    line_id: Uuid,
) -> Result<(Order, Receipt), Refusal> {
    let missing = || {
        let detail = "there is no such line of an order";
        Refusal::fault(Fault::at("order_line_id", FaultCode::NotFound, detail))
    };
    let order_id = session.order_of_line(line_id)?.ok_or_else(missing)?;
    let order = session.order_locked(order_id)?.ok_or_else(missing)?;
    let line = order.line(line_id).ok_or_else(missing)?;
    let mut faults = Vec::new();
    if line.plug_id != receipt.plug_id {
        let detail = format!("that line of {} asks for another part", order.code);
        faults.push(Fault::at("plug_id", FaultCode::Contradiction, detail));
    }
    if receipt.supplier.trim().to_lowercase() != order.supplier.to_lowercase() {
        let detail = format!("{} was sent to {}", order.code, order.supplier);
        faults.push(Fault::at("supplier", FaultCode::Contradiction, detail));
    }
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    let given = receipt.total_cost.clone();
    let completed = Receipt {
        total_cost: given.or_else(|| line.cost_of_next(receipt.quantity)),
        pack_size: receipt.pack_size.or(line.pack_size),
        ..receipt.clone()
    };
    Ok((order, completed))
}

/// What is said of a receipt for the line of an order where it brought more than was ordered at the
/// order's price, as the order is now.
///
/// # Errors
/// Where the database fails.
pub(in crate::service) fn priced_as_ordered(
    session: &mut Session,
    receipt: &Movement,
    lot: &Lot,
) -> Result<Option<Caution>, Refusal> {
    let Some(line_id) = lot.order_line_id else {
        return Ok(None);
    };
    let order = match session.order_of_line(line_id)? {
        Some(id) => session.order(id)?,
        None => None,
    };
    let Some(line) = order.as_ref().and_then(|order| order.line(line_id)) else {
        return Ok(None);
    };
    let lots = session.lots_of_lines(&[line_id])?;
    let before = session.movements_of_lots(&lots)?;
    let supplier = receipt.from_place_id;
    let came = |m: &Movement| match (m.from_place_id == supplier, m.to_place_id == supplier) {
        (true, _) => m.quantity,
        (_, true) => -m.quantity,
        _ => 0,
    };
    let earlier = before.iter().filter(|m| m.sequence < receipt.sequence);
    let line = line.clone().with_received(earlier.map(came).sum());
    Ok(line.priced_as_ordered(receipt.quantity, lot.total_cost.as_ref()))
}

/// Counts what came in on a line of a locked order.
///
/// # Errors
/// `order_withdrawn`, `order_not_sent`.
pub(in crate::service) fn take_in(
    session: &mut Session,
    by: &By<'_>,
    order: &Order,
    line_id: Uuid,
    quantity: i64,
) -> Result<Delivery, Refusal> {
    let taken = order::take_in(order, line_id, quantity, by.at).map_err(rejected)?;
    counted(session, taken)
}

/// Takes back from a line of a locked order what a receipt that is put right had brought.
///
/// # Errors
/// Where the database fails.
pub(in crate::service) fn take_back(
    session: &mut Session,
    by: &By<'_>,
    order: &Order,
    line_id: Uuid,
    quantity: i64,
) -> Result<Delivery, Refusal> {
    counted(session, order::take_back(order, line_id, quantity, by.at))
}

fn counted(session: &mut Session, taken: Option<(Order, Delivery)>) -> Result<Delivery, Refusal> {
    let (next, delivery) =
        taken.ok_or_else(|| Refusal::Fault("an order without its line".into()))?;
    session.update_order(&next)?;
    Ok(delivery)
}

fn refused(refused: Refused) -> Refusal {
    match refused {
        Refused::Faults(faults) => Refusal::Faults(faults),
        Refused::Rule(rule) => rejected(rule),
    }
}

fn rejected(rule: OrderRejection) -> Refusal {
    let detail = match rule {
        OrderRejection::Withdrawn => {
            "the order was withdrawn; draft another, or receive without one"
        }
        OrderRejection::Closed => "the order is closed; draft another",
        OrderRejection::NotSent => "the supplier does not have the order yet; send it first",
        OrderRejection::AlreadySent => {
            "the supplier has the order: supplier, parts and quantities stay, and it is no draft again"
        }
        OrderRejection::PartlyIn => "some of it has come in; close it instead",
        OrderRejection::NothingIn => {
            "nothing has come in: withdraw it, or book the receipt, which says itself what is in"
        }
    };
    Refusal::conflict(Conflict::Order(rule), detail)
}
