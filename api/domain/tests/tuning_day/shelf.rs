//! Shelves of one part, made up.

use chrono::{DateTime, TimeDelta};
use plugwell_domain::decimal::Decimal;
use plugwell_domain::ledger::{
    Condition, Holding, Lot, Money, PlaceKind, Reservation, ReservationState, Shelf,
};
use plugwell_domain::plug::Plug;
use plugwell_domain::tuning_day::Offer;
use serde_json::{Value, json};
use uuid::Uuid;

/// The shop's currency here.
pub const OWN: &str = "USD";

/// A lot in one bin: plugs received, plugs left, what all of it cost, condition.
pub type Made = (i64, i64, Option<i64>, Condition);

/// Sealed lots of which nothing has gone yet.
pub fn sealed(lots: &[(i64, Option<i64>)]) -> Shelf {
    let made: Vec<Made> = lots
        .iter()
        .map(|(n, cost)| (*n, *n, *cost, Condition::Sealed))
        .collect();
    shelf(&made, 0)
}

/// A shelf with these lots, oldest first, and so many plugs reserved for another job.
pub fn shelf(lots: &[Made], reserved: i64) -> Shelf {
    let mut shelf = Shelf::default();
    for (place, (received, left, cost, condition)) in lots.iter().enumerate() {
        let id = Uuid::from_u128(100 + place as u128);
        shelf.lots.push(Lot {
            id,
            code: format!("L{place}"),
            plug_id: Uuid::nil(),
            supplier: "Brackwater Supply".into(),
            received_at: DateTime::UNIX_EPOCH + TimeDelta::days(place as i64),
            quantity_received: *received,
            total_cost: cost.map(|minor| Money {
                minor,
                currency: OWN.into(),
            }),
            pack_size: None,
            condition: *condition,
            gap_mm: (*condition == Condition::Gapped).then_some(Decimal(8100)),
            from_lot_id: None,
            order_line_id: None,
        });
        shelf.holdings.push(Holding {
            lot_id: id,
            place_id: Uuid::from_u128(7),
            place_kind: PlaceKind::Bin,
            place_number: 1,
            quantity: *left,
        });
    }
    if reserved > 0 {
        shelf.reservations.push(Reservation {
            id: Uuid::from_u128(8),
            plug_id: Uuid::nil(),
            job: "J-17".into(),
            quantity: reserved,
            open_quantity: reserved,
            issued_quantity: 0,
            build_id: None,
            state: ReservationState::Open,
            expires_at: None,
            version: 1,
            created_at: DateTime::UNIX_EPOCH,
        });
    }
    shelf
}

/// A part that fits the standard build, with some members changed.
pub fn part(number: u128, over: Value) -> Plug {
    let mut members = json!({
        "part_number": format!("FW-{number}"), "thread": "M14x1.25", "seat": "gasket", "reach_mm": 19.0,
        "hex_mm": 16.0, "heat_index": 70, "projection_mm": 3.0, "resistor": true, "gap_min_mm": 0.6,
        "gap_max_mm": 1.1, "electrode": "nickel"
    });
    members
        .as_object_mut()
        .unwrap()
        .extend(over.as_object().unwrap().clone());
    Plug {
        id: Uuid::from_u128(number),
        ..crate::engine::plug(members)
    }
}

/// What a part with such a shelf offers a day that takes so many.
pub fn offer(number: u128, shelf: &Shelf, quantity: i64) -> Offer {
    let needed = crate::engine::need(json!({}));
    Offer::of(&part(number, json!({})), &needed, shelf, quantity, OWN)
}
