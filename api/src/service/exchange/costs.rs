//! What plugs cost that a table writes: what is left of a lot has its share of what the lot cost.

use std::collections::HashMap;

use plugwell_domain::ledger::cost::share;
use plugwell_domain::ledger::family::came_in;
use plugwell_domain::ledger::{Lot, Money, Place};
use plugwell_store::{LevelFilter, Session};
use uuid::Uuid;

use crate::service::Refusal;

/// What is left of a lot that came in: its last plugs, of which each level has its share in turn.
pub(super) struct Left {
    lot: Lot,
    quantity: i64,
}

impl Left {
    /// Nothing of a lot.
    pub(super) fn none(lot: &Lot) -> Self {
        Self {
            lot: lot.clone(),
            quantity: 0,
        }
    }

    /// So many plugs more are left.
    pub(super) fn and(&mut self, quantity: i64) {
        self.quantity += quantity;
    }

    /// The share of the next ones; `None` where nobody said what the lot cost.
    pub(super) fn next(&mut self, quantity: i64) -> Option<Money> {
        let received = self.lot.quantity_received;
        let gone = (received - self.quantity).max(0);
        self.quantity -= quantity;
        let total = self.lot.total_cost.as_ref()?;
        Some(Money {
            minor: share(total.minor, received, gone, quantity),
            currency: total.currency.clone(),
        })
    }
}

/// What is left of lots that others descend from. Those others have their shares before the lot itself.
#[derive(Default)]
pub(super) struct Families {
    /// For each lot that descends from another, the one that came in.
    came_in: HashMap<Uuid, Uuid>,
    left: HashMap<Uuid, Left>,
}

impl Families {
    /// The share of so many plugs of a lot that descends from another; `None` where nobody said what that
    /// one cost.
    pub(super) fn next(
        &mut self,
        session: &mut Session,
        (lot, quantity): (&Lot, i64),
        places: &HashMap<Uuid, Place>,
    ) -> Result<Option<Money>, Refusal> {
        if !self.came_in.contains_key(&lot.id) {
            self.look_up(session, lot, places)?;
        }
        let came_in = self.came_in.get(&lot.id);
        let left = came_in.and_then(|id| self.left.get_mut(id));
        Ok(left.and_then(|left| left.next(quantity)))
    }

    /// Looks a family up, with all that lies of it in some places.
    fn look_up(
        &mut self,
        session: &mut Session,
        lot: &Lot,
        places: &HashMap<Uuid, Place>,
    ) -> Result<(), Refusal> {
        let family = session.lot_family(lot.id)?;
        let Some(first) = came_in(&family) else {
            return Ok(());
        };
        let mut left = Left::none(first);
        for own in &family {
            self.came_in.insert(own.id, first.id);
            let filter = LevelFilter {
                lot_id: Some(own.id),
                ..LevelFilter::default()
            };
            for level in session.list_levels(&filter, None, i64::MAX)? {
                if places.contains_key(&level.place_id) {
                    left.and(level.quantity);
                }
            }
        }
        self.left.insert(first.id, left);
        Ok(())
    }
}
