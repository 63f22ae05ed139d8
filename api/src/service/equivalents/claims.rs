//! What statements say stands in for a part, and what it stands in for.

use std::collections::HashMap;

use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::{Requirement, set_gap_of};
use plugwell_domain::stand_in::{Hop, PartName, Served, served_by};
use plugwell_store::Session;
use uuid::Uuid;

use super::Asked;
use crate::service::{Refusal, Shop, stand_ins};

/// The way by which statements lead to a part.
#[derive(Debug, Clone)]
pub struct Way {
    /// Who signed the statements, from the part that was asked for outwards.
    pub signed_by: Vec<String>,
    /// The steps, in the same order.
    pub path: Vec<Step>,
}

/// One step of a way.
#[derive(Debug, Clone)]
pub struct Step {
    /// Where it leads, and the statements.
    pub hop: Hop,
    /// That part in the catalogue; `None` where the catalogue lacks it.
    pub plug_id: Option<Uuid>,
}

/// A part of the catalogue that statements lead to; retired ones are only passed through.
pub(super) struct Claim {
    pub(super) plug: Plug,
    pub(super) way: Way,
}

/// A part that statements lead to and the catalogue lacks: nothing is known of it but what they say.
#[derive(Debug, Clone)]
pub struct Elsewhere {
    /// Its name.
    pub name: PartName,
    /// The statements.
    pub way: Way,
}

/// Where statements lead from a part, nearest first.
#[derive(Default)]
pub(super) struct Claims {
    /// To parts of the catalogue.
    pub(super) here: Vec<Claim>,
    /// To parts that it lacks.
    pub(super) elsewhere: Vec<Elsewhere>,
}

/// A part that the named one stands in for.
#[derive(Debug, Clone)]
pub struct ServedPart {
    /// The part, and the statements.
    pub served: Served,
    /// That part in the catalogue; `None` where the catalogue lacks it.
    pub plug_id: Option<Uuid>,
    /// What is said, and what is not said by it.
    pub text: String,
}

/// A part and what there is of it.
#[derive(Debug, Clone)]
pub struct Stocked {
    /// The record.
    pub plug: Plug,
    /// Plugs that nobody has reserved.
    pub available: i64,
    /// Plugs in bins.
    pub on_hand: i64,
}

/// A part that statements name, without a word on whether it fits.
#[derive(Debug, Clone)]
pub struct Asserted {
    /// The part.
    pub part: Stocked,
    /// The statements.
    pub way: Way,
}

/// The claims of statements for a part, nearest first.
pub(super) fn of(session: &mut Session, name: &PartName) -> Result<Claims, Refusal> {
    let mut known: HashMap<(String, String), Option<Plug>> = HashMap::new();
    let mut claims = Claims::default();
    for chain in stand_ins::leading_from(session, name)? {
        let signed_by = chain.signed_by().into_iter().map(str::to_owned).collect();
        // Every step but the last was the end of a chain before.
        let part = &chain.part;
        let plug = session.plug_named(&part.maker, &part.part_number)?;
        known.insert(part.key(), plug.clone());
        let plug_of = |hop: &Hop| known.get(&hop.part.key()).and_then(Option::as_ref);
        let path = chain.hops.into_iter().map(|hop| Step {
            plug_id: plug_of(&hop).map(|plug| plug.id),
            hop,
        });
        let way = Way {
            signed_by,
            path: path.collect(),
        };
        match plug {
            Some(plug) if plug.retired => {}
            Some(plug) => claims.here.push(Claim { plug, way }),
            None => claims.elsewhere.push(Elsewhere {
                name: chain.part,
                way,
            }),
        }
    }
    Ok(claims)
}

/// What statements say that a part stands in for.
pub(super) fn served(session: &mut Session, name: &PartName) -> Result<Vec<ServedPart>, Refusal> {
    let mut parts = Vec::new();
    for served in served_by(name, session.stand_ins_of(name)?) {
        let known = session.plug_named(&served.part.maker, &served.part.part_number)?;
        parts.push(ServedPart {
            plug_id: known.map(|plug| plug.id),
            text: served.words(name),
            served,
        });
    }
    Ok(parts)
}

/// Parts with their places in the table of shelves, and what goes with each; those that were deleted
/// meanwhile are left out.
fn placed<T>(shop: &Shop, parts: Vec<(Plug, T)>) -> Result<Vec<(u32, Plug, T)>, Refusal> {
    if parts.is_empty() {
        return Ok(Vec::new());
    }
    shop.store.read(|s| {
        let mut placed = Vec::with_capacity(parts.len());
        for (plug, with) in parts {
            if let Some(ordinal) = s.ordinal_of(plug.id)? {
                placed.push((ordinal, plug, with));
            }
        }
        Ok(placed)
    })
}

/// Parts with what there is of them for the gap that a requirement sets, without one of sealed plugs,
/// and what goes with each.
pub(super) fn stocked<T>(
    shop: &Shop,
    parts: Vec<(Plug, T)>,
    requirement: Option<&Requirement>,
) -> Result<Vec<(Stocked, T)>, Refusal> {
    let placed = placed(shop, parts)?;
    let tolerance = shop.policy().values.gap_tolerance_mm.value;
    let shelves = shop.shelves.read();
    let stocked = placed.into_iter().map(|(ordinal, plug, with)| {
        let on_shelf = shelves.get(ordinal);
        let gap = requirement.and_then(|need| set_gap_of(&plug, need).0);
        let part = Stocked {
            available: on_shelf.available(gap, tolerance),
            on_hand: on_shelf.on_hand(),
            plug,
        };
        (part, with)
    });
    Ok(stocked.collect())
}

/// Claims without a word on whether they fit, those of which the stock condition lets through.
pub(super) fn asserted(
    shop: &Shop,
    claims: Vec<Claim>,
    asked: Asked,
) -> Result<Vec<Asserted>, Refusal> {
    let claims = claims.into_iter().map(|claim| (claim.plug, claim.way));
    let parts = stocked(shop, claims.collect(), None)?;
    let mut all: Vec<Asserted> = parts
        .into_iter()
        .map(|(part, way)| Asserted { part, way })
        .collect();
    all.retain(|one| one.part.available >= asked.stock.least(asked.quantity));
    all.truncate(asked.limit);
    Ok(all)
}
