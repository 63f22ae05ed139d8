//! Bodies of commands that name nothing but what they have to.

use plugwell_domain::ledger::commands::{Issue, Return};
use plugwell_domain::ledger::{Place, Returned};
use uuid::Uuid;

use crate::books::PART;

/// An issue to the first job that names nothing else.
pub fn issue_of(quantity: i64) -> Issue {
    Issue {
        plug_id: PART,
        quantity,
        job: Some("J-17".to_owned()),
        reservation_id: None,
        lot_id: None,
        place_id: None,
        build_id: None,
        odometer_km: None,
        gap_mm: None,
    }
}

/// A return of what went out with a movement, into a bin.
pub fn return_of(issue: Uuid, quantity: i64, condition: Returned, bin: &Place) -> Return {
    Return {
        movement_id: issue,
        quantity,
        place_id: Some(bin.id),
        condition,
        gap_mm: None,
        dropped_by: None,
    }
}
