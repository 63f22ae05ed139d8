//! Which change of an order is allowed in which state, and what deliveries make of it.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use super::{AskedLine, Delivery, Order, OrderData, OrderLine, OrderRejection, OrderState};
use crate::fault::{Fault, FaultCode};
use crate::ledger::Place;

/// Why an order was not made or changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refused {
    /// What was written is wrong.
    Faults(Vec<Fault>),
    /// The state forbids it.
    Rule(OrderRejection),
}

impl From<OrderRejection> for Refused {
    fn from(rule: OrderRejection) -> Self {
        Self::Rule(rule)
    }
}

/// A new order: a draft, or sent at once. The store gives it its code.
///
/// # Errors
/// `order_nothing_in` for a state that only deliveries lead to, `order_not_sent` for `withdrawn`;
/// a line that names an earlier one.
pub fn draft(
    data: &OrderData,
    supplier: &Place,
    now: DateTime<Utc>,
    new_id: &mut dyn FnMut() -> Uuid,
) -> Result<Order, Refused> {
    let state = data.state.unwrap_or(OrderState::Drafted);
    match state {
        OrderState::Drafted | OrderState::Sent => {}
        OrderState::PartlyIn | OrderState::Closed => return Err(OrderRejection::NothingIn.into()),
        OrderState::Withdrawn => return Err(OrderRejection::NotSent.into()),
    }
    Ok(Order {
        id: new_id(),
        code: String::new(),
        supplier: supplier.name.clone(),
        supplier_id: supplier.id,
        state,
        expected_on: data.expected_on,
        reference: data.reference.clone(),
        note: data.note.clone(),
        lines: lines(&[], &data.lines, new_id)?,
        sent_at: (state == OrderState::Sent).then_some(now),
        closed_at: None,
        version: 1,
        created_at: now,
        updated_at: now,
    })
}

/// An order as it was written anew: a draft changes freely; of what the supplier has, only costs,
/// boxes, dates, notes and the state do. The version is raised.
///
/// # Errors
/// The rejections of [`OrderRejection`]; a line that the order does not have.
pub fn change(
    old: &Order,
    data: &OrderData,
    supplier: &Place,
    now: DateTime<Utc>,
    new_id: &mut dyn FnMut() -> Uuid,
) -> Result<Order, Refused> {
    let state = data.state.unwrap_or(old.state);
    let lines = lines(&old.lines, &data.lines, new_id)?;
    may_become(old, state)?;
    let bound = |line: &OrderLine| (line.id, line.plug_id, line.quantity);
    let same =
        old.supplier_id == supplier.id && lines.iter().map(bound).eq(old.lines.iter().map(bound));
    if old.state != OrderState::Drafted && !same {
        return Err(OrderRejection::AlreadySent.into());
    }
    let ends = matches!(state, OrderState::Closed | OrderState::Withdrawn);
    let sent = state == OrderState::Sent;
    Ok(Order {
        supplier: supplier.name.clone(),
        supplier_id: supplier.id,
        state,
        expected_on: data.expected_on,
        reference: data.reference.clone(),
        note: data.note.clone(),
        lines,
        sent_at: old.sent_at.or_else(|| sent.then_some(now)),
        closed_at: ends.then_some(now),
        version: old.version + 1,
        updated_at: now,
        ..old.clone()
    })
}

/// Whether a state may follow by hand.
fn may_become(old: &Order, next: OrderState) -> Result<(), OrderRejection> {
    use OrderState::{Closed, Drafted, PartlyIn, Sent, Withdrawn};
    match (old.state, next) {
        (Withdrawn, _) => Err(OrderRejection::Withdrawn),
        (Closed, _) => Err(OrderRejection::Closed),
        (Drafted, Drafted | Sent | Withdrawn)
        | (Sent, Sent | Withdrawn)
        | (PartlyIn, PartlyIn | Closed) => Ok(()),
        (Drafted | Sent, PartlyIn | Closed) => Err(OrderRejection::NothingIn),
        (Sent | PartlyIn, Drafted) | (PartlyIn, Sent) => Err(OrderRejection::AlreadySent),
        (PartlyIn, Withdrawn) => Err(OrderRejection::PartlyIn),
    }
}

/// The lines as they are asked for: those that stay keep what came in.
fn lines(
    old: &[OrderLine],
    asked: &[AskedLine],
    new_id: &mut dyn FnMut() -> Uuid,
) -> Result<Vec<OrderLine>, Refused> {
    let mut faults = Vec::new();
    let mut lines = Vec::with_capacity(asked.len());
    for (place, asked) in asked.iter().enumerate() {
        let before = asked.id.map(|id| old.iter().find(|line| line.id == id));
        if before == Some(None) {
            let detail = "the order has no such line; leave it null for a new one";
            faults.push(Fault::at(
                &format!("lines/{place}/id"),
                FaultCode::NotFound,
                detail,
            ));
        }
        let before = before.flatten();
        let line = OrderLine {
            id: before.map_or_else(&mut *new_id, |line| line.id),
            plug_id: asked.plug_id,
            quantity: asked.quantity,
            total_cost: asked.total_cost.clone(),
            pack_size: asked.pack_size,
            received: 0,
            missing: 0,
            too_many: 0,
        };
        lines.push(line.with_received(before.map_or(0, |line| line.received)));
    }
    if faults.is_empty() {
        Ok(lines)
    } else {
        Err(Refused::Faults(faults))
    }
}

/// So many plugs of a line come in: the order is partly in, or closes itself with the last one. What
/// comes late or beyond what was ordered is named, not refused: it stands at the door. The version is
/// raised. `None` where the order has no such line.
///
/// # Errors
/// `order_withdrawn`, `order_not_sent`.
pub fn take_in(
    old: &Order,
    line_id: Uuid,
    quantity: i64,
    now: DateTime<Utc>,
) -> Result<Option<(Order, Delivery)>, OrderRejection> {
    match old.state {
        OrderState::Withdrawn => return Err(OrderRejection::Withdrawn),
        OrderState::Drafted => return Err(OrderRejection::NotSent),
        OrderState::Sent | OrderState::PartlyIn | OrderState::Closed => {}
    }
    Ok(counted(old, line_id, quantity, now))
}

/// A receipt of a line was put right: what came in of it is less by so much. An order that had closed
/// itself is open again; one that was closed by hand stays closed. The version is raised. `None` where
/// the order has no such line.
pub fn take_back(
    old: &Order,
    line_id: Uuid,
    quantity: i64,
    now: DateTime<Utc>,
) -> Option<(Order, Delivery)> {
    counted(old, line_id, -quantity, now)
}

fn counted(
    old: &Order,
    line_id: Uuid,
    change: i64,
    now: DateTime<Utc>,
) -> Option<(Order, Delivery)> {
    let before = old.line(line_id)?.clone();
    let after = before.clone().with_received(before.received + change);
    let mut next = old.clone();
    for line in &mut next.lines {
        if line.id == line_id {
            *line = after.clone();
        }
    }
    let by_hand = old.state == OrderState::Closed && !old.is_full();
    next.state = match (next.is_full(), next.has_any()) {
        _ if by_hand => OrderState::Closed,
        (true, _) => OrderState::Closed,
        (false, true) => OrderState::PartlyIn,
        (false, false) => OrderState::Sent,
    };
    next.closed_at = (next.state == OrderState::Closed).then(|| old.closed_at.unwrap_or(now));
    next.version += 1;
    next.updated_at = now;
    let delivery = Delivery {
        order_id: next.id,
        order_code: next.code.clone(),
        order_line_id: line_id,
        ordered: after.quantity,
        received_before: before.received,
        received_now: change,
        missing: after.missing,
        too_many: after.too_many,
        order_state: next.state,
        text: told(&after, change, next.state),
    };
    Some((next, delivery))
}

fn told(line: &OrderLine, change: i64, state: OrderState) -> String {
    let came = if change < 0 {
        format!(
            "{} were taken back; {} of {} ordered are in",
            -change, line.received, line.quantity
        )
    } else {
        format!(
            "{change} came; {} of {} ordered are in",
            line.received, line.quantity
        )
    };
    let rest = match (line.missing, line.too_many, state) {
        (0, 0, OrderState::Closed) => "the line is full, and so is the order".to_owned(),
        (0, 0, _) => "the line is full".to_owned(),
        (0, more, _) => format!("{more} too many"),
        (less, _, OrderState::Closed) => format!("{less} are missing, and nobody waits for them"),
        (less, ..) => format!("{less} still to come"),
    };
    format!("{came}: {rest}.")
}
