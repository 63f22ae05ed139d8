//! What follows a scale that changed: the parts that carry its codes, and who holds those.

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::{Decimal, HeatIndex};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::heat_scale::HeatScale;
use plugwell_domain::ledger::{FittedSet, Reservation};
use plugwell_store::Session;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::service::{Refusal, now};

/// A part that got another index.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Reindexed {
    /// The part.
    pub plug_id: Uuid,
    /// Its maker.
    pub maker: String,
    /// The maker's part number.
    pub part_number: String,
    /// Its index before.
    pub was: Option<HeatIndex>,
    /// Its index now.
    pub heat_index: HeatIndex,
}

/// Parts that got another index, and what holds them: look whether they still fit there.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, ToSchema)]
pub struct Followed {
    /// The parts.
    pub plugs: Vec<Reindexed>,
    /// Open and short reservations of them.
    pub reservations: Vec<Reservation>,
    /// Engines that they are in.
    pub fitted_sets: Vec<FittedSet>,
}

impl Followed {
    /// Looks up what holds some parts.
    ///
    /// # Errors
    /// Where the database fails.
    pub(super) fn of(session: &mut Session, plugs: Vec<Reindexed>) -> Result<Self, Refusal> {
        let ids: Vec<Uuid> = plugs.iter().map(|plug| plug.plug_id).collect();
        Ok(Self {
            reservations: session.waiting_reservations_of(&ids)?,
            fitted_sets: session.fitted_sets_of(&ids)?,
            plugs,
        })
    }

    /// The parts, for the index.
    pub(super) fn plug_ids(&self) -> impl Iterator<Item = Uuid> + '_ {
        self.plugs.iter().map(|plug| plug.plug_id)
    }
}

/// Gives every part that carries a code of the scale the index that the code has now.
///
/// # Errors
/// A code that a part carries and the scale lacks.
pub(super) fn follow(session: &mut Session, scale: &HeatScale) -> Result<Vec<Reindexed>, Refusal> {
    let mut followed = Vec::new();
    for mut plug in session.plugs_of_scale(scale.id)? {
        let Some(code) = plug.data.heat_code.clone() else {
            continue;
        };
        let Some(index) = scale.data.index_of(&code) else {
            let detail = format!(
                "{} {} carries code {code:?}",
                plug.data.maker, plug.data.part_number
            );
            return Err(Refusal::fault(Fault::at(
                "codes",
                FaultCode::Missing,
                detail,
            )));
        };
        let was = plug.data.facts.get(Attr::Heat);
        if was == Some(index.0) {
            continue;
        }
        plug.data.facts.set(Attr::Heat, Some(index.0));
        plug.version += 1;
        plug.updated_at = now();
        session.update_plug(&plug)?;
        followed.push(Reindexed {
            plug_id: plug.id,
            maker: plug.data.maker,
            part_number: plug.data.part_number,
            was: was.map(Decimal),
            heat_index: index,
        });
    }
    Ok(followed)
}
