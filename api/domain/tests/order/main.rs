//! Orders: which change is allowed when, and what deliveries make of them.

mod deliveries;
mod property;
mod states;

use chrono::{DateTime, Utc};
use plugwell_domain::ledger::{Money, Place, PlaceKind};
use plugwell_domain::order::{AskedLine, Order, OrderData, OrderState, draft};
use uuid::Uuid;

/// An hour of one day.
fn at(hour: u32) -> DateTime<Utc> {
    DateTime::from_timestamp(1_767_225_600 + i64::from(hour) * 3600, 0).expect("an instant")
}

fn supplier(name: &str) -> Place {
    Place {
        id: Uuid::from_u128(0x500 + name.len() as u128),
        code: "P1".into(),
        kind: PlaceKind::Supplier,
        name: name.into(),
        retired: false,
        version: 1,
        created_at: at(0),
    }
}

/// Ids in order.
fn ids() -> impl FnMut() -> Uuid {
    let mut last = 0;
    move || {
        last += 1;
        Uuid::from_u128(last)
    }
}

/// An order for so many of each part, in a state that a new one may have.
fn ordered(quantities: &[i64], state: OrderState) -> Order {
    let line = |(part, quantity): (usize, &i64)| AskedLine {
        id: None,
        plug_id: Uuid::from_u128(0x900 + part as u128),
        quantity: *quantity,
        total_cost: Some(Money {
            minor: 1_000 * quantity + 1,
            currency: "USD".into(),
        }),
        pack_size: Some(4),
    };
    let data = OrderData {
        supplier: "Hollis".into(),
        state: Some(state),
        expected_on: None,
        reference: None,
        note: None,
        lines: quantities.iter().enumerate().map(line).collect(),
    };
    draft(&data, &supplier("Hollis"), at(0), &mut ids()).expect("an order")
}
