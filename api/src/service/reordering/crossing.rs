//! Parts whose stock comes to their reorder point, told once until it has risen above it again.
//!
//! A reorder point rests on the demand of months, on lead times and on the policy: to work it out with
//! every movement would cost more than the movement. So the shop is looked at on a schedule, by the same
//! proposal that people see; what falls and rises again between two looks is not told.

use std::collections::HashSet;
use std::sync::Arc;

use plugwell_domain::reorder::ReorderLine;
use uuid::Uuid;

use crate::service::{Refusal, Shop, now};

/// Parts that are told of in one transaction.
const AT_ONCE: usize = 200;

/// Tells of every part that has come to its reorder point since it was looked last; of those that were
/// there at the first look as well. Harmless where several nodes do it: each is told once.
///
/// # Errors
/// Where database or index fail.
pub fn tell_of_low(shop: &Shop) -> Result<(), Refusal> {
    let policy = shop.policy();
    let (whole, told) = shop.store.read(|s| {
        let whole = shop.proposal.of(shop, s, &policy, now())?;
        Ok::<_, Refusal>((whole, s.parts_low()?))
    })?;
    let due: Vec<&Arc<ReorderLine>> = whole.lines().iter().filter(|line| line.due).collect();
    let low: HashSet<Uuid> = due.iter().map(|line| line.plug_id).collect();
    let fresh: Vec<_> = due
        .into_iter()
        .filter(|line| !told.contains(&line.plug_id))
        .collect();
    for some in fresh.chunks(AT_ONCE) {
        shop.write(|s| {
            some.iter()
                .try_for_each(|line| s.tell_low(line.plug_id, &figures(line)))
                .map_err(Refusal::from)
        })?;
    }
    let risen: Vec<Uuid> = told.difference(&low).copied().collect();
    if !risen.is_empty() {
        shop.store.write(|s| s.not_low(&risen))?;
    }
    Ok(())
}

fn figures(line: &ReorderLine) -> serde_json::Value {
    serde_json::json!({
        "plug_id": line.plug_id, "maker": line.maker, "part_number": line.part_number,
        "reorder_point": line.reorder_point, "on_hand": line.on_hand, "reserved": line.reserved,
        "on_order": line.on_order,
    })
}
