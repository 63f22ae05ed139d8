//! A plan in the making: movements one after the other, and at the end what they do to the
//! reservations.

use chrono::{DateTime, Utc};
use uuid::Uuid;

use super::picking::Spot;
use super::{
    Condition, Lot, Movement, MovementKind, PlaceKind, Plan, Reservation, ReservationState, Shelf,
};

/// Who does it, when, and where identifiers come from.
pub struct Act<'a> {
    /// The instant that is written.
    pub now: DateTime<Utc>,
    /// Name of the token.
    pub actor: &'a str,
    /// A new identifier at each call.
    pub new_id: &'a mut dyn FnMut() -> Uuid,
}

/// A plan in the making; keeps count of sealed plugs in bins, which reservations live on.
pub(super) struct Draft<'a, 'b> {
    pub(super) shelf: &'a Shelf,
    pub(super) act: &'a mut Act<'b>,
    pub(super) plan: Plan,
    pub(super) sealed_in_bins: i64,
}

impl<'a, 'b> Draft<'a, 'b> {
    pub(super) fn of(shelf: &'a Shelf, act: &'a mut Act<'b>) -> Self {
        Self {
            shelf,
            act,
            plan: Plan::default(),
            sealed_in_bins: shelf.sealed_in_bins(),
        }
    }

    pub(super) fn take(
        &mut self,
        kind: MovementKind,
        lot: &Lot,
        from: Spot,
        to: Spot,
        quantity: i64,
    ) -> &mut Movement {
        if lot.condition == Condition::Sealed {
            let in_bins = |spot: Spot| i64::from(spot.kind == PlaceKind::Bin);
            self.sealed_in_bins += (in_bins(to) - in_bins(from)) * quantity;
        }
        self.plan.movements.push(Movement {
            id: (self.act.new_id)(),
            sequence: 0,
            kind,
            lot_id: lot.id,
            plug_id: lot.plug_id,
            from_place_id: from.id,
            to_place_id: to.id,
            quantity,
            reason: None,
            note: None,
            job: None,
            actor: self.act.actor.to_owned(),
            reverses: None,
            created_at: self.act.now,
            answers: None,
            build_id: None,
            odometer_km: None,
            gap_mm: None,
            dropped_by: None,
            pair_id: None,
        });
        self.plan.movements.last_mut().expect("one was just pushed")
    }

    /// Ends the plan: what can no longer be met is `short`, newest first; what can again is `open`.
    pub(super) fn finish(mut self) -> Plan {
        let mut left = self.sealed_in_bins;
        let changed = std::mem::take(&mut self.plan.reservations);
        let mut known: Vec<Reservation> = self.shelf.reservations.clone();
        for reservation in changed {
            match known.iter_mut().find(|r| r.id == reservation.id) {
                Some(old) => *old = reservation,
                None => known.push(reservation),
            }
        }
        for mut reservation in known {
            let before = self
                .shelf
                .reservations
                .iter()
                .find(|r| r.id == reservation.id);
            if matches!(
                reservation.state,
                ReservationState::Open | ReservationState::Short
            ) {
                left -= reservation.open_quantity;
                reservation.state = if left >= 0 {
                    ReservationState::Open
                } else {
                    ReservationState::Short
                };
            }
            if before != Some(&reservation) {
                reservation.version = before.map_or(1, |b| b.version + 1);
                self.plan.reservations.push(reservation);
            }
        }
        self.plan
    }
}
