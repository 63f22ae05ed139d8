//! Which event it is that something happened to a record.

use serde_json::json;

use super::{Event, EventKind};
use crate::ledger::counting::{Count, CountState};
use crate::ledger::{Movement, MovementKind, PlaceKind, Reservation, ReservationState};
use crate::order::{Order, OrderState};
use crate::plug::Plug;

impl Event {
    /// Of a record of the catalogue.
    pub fn plug(kind: EventKind, plug: &Plug) -> Self {
        let data = json!({
            "plug_id": plug.id, "maker": plug.data.maker, "part_number": plug.data.part_number,
            "status": plug.data.status, "retired": plug.retired,
        });
        Self::new(kind, plug.id, plug.version, data)
    }

    /// Of a movement after which the stock of its part has a version.
    pub fn movement(kind: EventKind, movement: &Movement, stock_version: i64) -> Self {
        let data = json!({
            "movement_id": movement.id, "kind": movement.kind, "plug_id": movement.plug_id,
            "lot_id": movement.lot_id, "from_place_id": movement.from_place_id,
            "to_place_id": movement.to_place_id, "quantity": movement.quantity,
            "reason": movement.reason, "job": movement.job, "actor": movement.actor,
            "reverses": movement.reverses,
        });
        Self::new(kind, movement.plug_id, stock_version, data)
    }

    /// Of a reservation in its new state.
    pub fn reservation(reservation: &Reservation) -> Self {
        let kind = match reservation.state {
            _ if reservation.version == 1 => EventKind::ReservationMade,
            ReservationState::Issued => EventKind::ReservationIssued,
            ReservationState::Released => EventKind::ReservationReleased,
            ReservationState::Expired => EventKind::ReservationExpired,
            ReservationState::Open | ReservationState::Short => EventKind::ReservationChanged,
        };
        Self::of(kind, reservation.id, reservation.version, reservation)
    }

    /// Of a count in its new state.
    pub fn count(count: &Count) -> Self {
        let kind = match count.state {
            CountState::Approved => EventKind::CountApproved,
            CountState::Withdrawn => EventKind::CountWithdrawn,
            _ if count.version == 1 => EventKind::CountBegun,
            CountState::Open | CountState::Counted => EventKind::CountChanged,
        };
        let data = json!({
            "count_id": count.id, "state": count.state, "places": count.places,
            "approved_by": count.approved_by,
        });
        Self::new(kind, count.id, count.version, data)
    }

    /// Of an order in its new state, and where it stood before with how many plugs received: a
    /// last delivery closes it as well.
    pub fn order(order: &Order, before: Option<(OrderState, i64)>) -> Vec<Self> {
        let Some((state, received)) = before else {
            return vec![Self::of(
                EventKind::OrderDrafted,
                order.id,
                order.version,
                order,
            )];
        };
        let mut kinds = Vec::new();
        if order.lines.iter().map(|line| line.received).sum::<i64>() > received {
            kinds.push(EventKind::OrderReceived);
        }
        match order.state {
            now if now == state => {}
            OrderState::Sent if state == OrderState::Drafted => kinds.push(EventKind::OrderSent),
            OrderState::Closed => kinds.push(EventKind::OrderClosed),
            OrderState::Withdrawn => kinds.push(EventKind::OrderWithdrawn),
            OrderState::Drafted | OrderState::Sent | OrderState::PartlyIn => {}
        }
        if kinds.is_empty() {
            kinds.push(EventKind::OrderChanged);
        }
        let told = |kind| Self::of(kind, order.id, order.version, order);
        kinds.into_iter().map(told).collect()
    }
}

/// What a movement between such places is told of besides being booked.
pub fn besides(kind: MovementKind, from: PlaceKind, to: PlaceKind) -> Option<EventKind> {
    match (kind, from, to) {
        (MovementKind::Reversal, PlaceKind::Scrap, _) => Some(EventKind::ScrapReversed),
        (_, _, PlaceKind::Quarantine) => Some(EventKind::LotQuarantined),
        (_, PlaceKind::Quarantine, PlaceKind::Bin) => Some(EventKind::LotReleased),
        _ => None,
    }
}
