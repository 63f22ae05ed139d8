//! Reservations whose time has run out give back what they kept.
//!
//! Every command on a part ends them by the way, so that none ever keeps plugs from an issue. This
//! is for the parts that nobody asks for.

use plugwell_domain::ledger::rules::{self, Act};
use plugwell_store::Session;
use uuid::Uuid;

use super::written;
use crate::service::shop::Touched;
use crate::service::{Refusal, Shop, new_id, now};

/// Who ends a reservation: the service itself.
const ACTOR: &str = "plugwell";

/// Ends every reservation that has run out by now, part by part, and shows at once what that sets
/// free; gives back how many. Harmless where several nodes do it: a reservation ends once.
///
/// # Errors
/// Where the database fails; what was ended before that stays ended.
pub fn expire(shop: &Shop) -> Result<usize, Refusal> {
    let due = shop
        .store
        .read(|s| s.parts_with_due_reservations(now()).map_err(Refusal::from))?;
    let mut ended = 0;
    for plug_id in due {
        let touched = shop.store.write_then(
            |session| Ok::<_, Refusal>((expire_part(session, plug_id)?, session.position())),
            |(touched, position)| {
                touched.iter().for_each(|touched| shop.show(touched));
                shop.wrote(*position);
            },
        )?;
        ended += touched.0.iter().map(|t| t.expired.len()).sum::<usize>();
    }
    Ok(ended)
}

/// Ends those of one part, under its lock; nothing is written where another was quicker.
fn expire_part(session: &mut Session, plug_id: Uuid) -> Result<Vec<Touched>, Refusal> {
    let shelf = session.shelf(plug_id, &[])?;
    let plan = rules::expire(
        &shelf,
        &mut Act {
            now: now(),
            actor: ACTOR,
            new_id: &mut new_id,
        },
    );
    if plan.reservations.is_empty() {
        return Ok(Vec::new());
    }
    Ok(written(session, plug_id, plan)?.1)
}
