//! What to order: the proposal over all parts, from one consistent state, what is given by hand for
//! single parts, and the orders that are made of it.

mod beginning;
mod crossing;
mod gathered;
mod kept;
mod left_out;
mod ordering;
mod sums;
mod whole;

use std::sync::Arc;

use chrono::{DateTime, Utc};
use plugwell_domain::reorder::{LeftOut, ReorderLine, Reordering};
use plugwell_store::{Session, Stored};
use serde_json::{Map, Value};
use uuid::Uuid;

use crate::service::heads::patched;
use crate::service::{Refusal, Shop, now};
pub use crossing::tell_of_low;
pub use kept::KeptProposal;
pub use ordering::{OrderedProposal, order};
pub use sums::SupplierSum;
use whole::Whole;

/// Which lines are asked for.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Asked {
    /// Only this supplier's, by name, case-blind.
    pub supplier: Option<String>,
    /// Only this part's, whether or not there is anything to order.
    pub plug_id: Option<Uuid>,
    /// Also lines with nothing to order.
    pub all: bool,
}

/// What to order.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// When its lines were made.
    pub at: DateTime<Utc>,
    /// The lines, by supplier (nobody's last), maker, part number and id.
    pub lines: Vec<Arc<ReorderLine>>,
    /// Parts that are due and cannot be ordered.
    pub left_out: Vec<LeftOut>,
    /// What they come to, by supplier.
    pub suppliers: Vec<SupplierSum>,
}

/// Where a line stands in the proposal: by supplier, nobody's last.
pub type LineKey = (bool, String, String, String, Uuid);

/// The key that lines are ordered by.
pub fn key(line: &ReorderLine) -> LineKey {
    let supplier = line.supplier.as_deref().unwrap_or_default().to_lowercase();
    let (maker, number) = (line.maker.to_lowercase(), line.part_number.to_lowercase());
    (
        line.supplier.is_none(),
        supplier,
        maker,
        number,
        line.plug_id,
    )
}

/// What to order, as the shop stands now.
///
/// # Errors
/// `NotFound` for a part that there is not; where database or index fail.
pub fn propose(shop: &Shop, asked: &Asked) -> Result<Proposal, Refusal> {
    let policy = shop.policy();
    let whole = shop.store.read(|session| match asked.plug_id {
        Some(_) => Whole::of(shop, session, &policy, asked.plug_id, now()).map(Arc::new),
        None => shop.proposal.of(shop, session, &policy, now()),
    })?;
    Ok(whole.asked(asked, &policy))
}

/// The line of one part, whatever there is to order.
///
/// # Errors
/// `NotFound` for a part that there is not, or that nothing is ordered of.
pub fn line_of(shop: &Shop, plug_id: Uuid) -> Result<Arc<ReorderLine>, Refusal> {
    let asked = Asked {
        plug_id: Some(plug_id),
        ..Asked::default()
    };
    let mut found = propose(shop, &asked)?;
    found
        .lines
        .pop()
        .ok_or(Refusal::NotFound("line to reorder"))
}

/// What is given by hand for a part; at version 1 and empty where nobody has given anything.
///
/// # Errors
/// `NotFound`.
pub fn given(shop: &Shop, plug_id: Uuid) -> Result<Stored<Reordering>, Refusal> {
    shop.store.read(|s| given_in(s, plug_id))
}

fn given_in(session: &mut Session, plug_id: Uuid) -> Result<Stored<Reordering>, Refusal> {
    let plug = session.plug(plug_id)?.ok_or(Refusal::NotFound("plug"))?;
    Ok(session.reordering(plug_id, plug.created_at)?)
}

/// Changes what is given by hand for a part.
///
/// # Errors
/// `NotFound`, every fault of it as it would become, `Stale`.
pub fn give(
    shop: &Shop,
    plug_id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal> + Send + Sync,
    patch: &Map<String, Value>,
) -> Result<Stored<Reordering>, Refusal> {
    shop.write(|s| {
        let old = given_in(s, plug_id)?;
        let data = patched(&old.data, patch)?;
        expected(old.version)?;
        let next = Stored {
            data,
            version: old.version + 1,
            updated_at: now(),
            ..old
        };
        s.put_reordering(&next)?;
        Ok(next)
    })
}
