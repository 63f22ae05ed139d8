//! What follows a scale that changed: the parts that carry its codes, and who holds those.

use std::collections::BTreeMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::{Decimal, HeatIndex};
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::fitted::FittedSet;
use plugwell_domain::heat_scale::HeatScale;
use plugwell_domain::ledger::Reservation;
use plugwell_domain::plug::Plug;
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
    pub(in crate::service) fn plug_ids(&self) -> impl Iterator<Item = Uuid> + '_ {
        self.plugs.iter().map(|plug| plug.plug_id)
    }
}

/// Gives every part that carries a code of the scale the index that the code has now.
///
/// # Errors
/// Every code that parts carry and the scale lacks.
pub(super) fn follow(session: &mut Session, scale: &HeatScale) -> Result<Vec<Reindexed>, Refusal> {
    let plugs = session.plugs_of_scale(scale.id)?;
    let faults = missing(scale, &plugs);
    if !faults.is_empty() {
        return Err(Refusal::Faults(faults));
    }
    let mut followed = Vec::new();
    for mut plug in plugs {
        let code = plug.data.heat_code.as_deref();
        let Some(index) = code.and_then(|code| scale.data.index_of(code)) else {
            continue;
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

/// A fault for each code that parts carry and the scale lacks.
fn missing(scale: &HeatScale, plugs: &[Plug]) -> Vec<Fault> {
    let mut carried: BTreeMap<&str, Vec<&Plug>> = BTreeMap::new();
    for plug in plugs {
        if let Some(code) = plug.data.heat_code.as_deref()
            && scale.data.index_of(code).is_none()
        {
            carried.entry(code).or_default().push(plug);
        }
    }
    let faults = carried.into_iter().map(|(code, plugs)| {
        let first = &plugs[0].data;
        let carry = match plugs.len() {
            1 => format!("{} {} carries it", first.maker, first.part_number),
            many => format!(
                "{many} parts carry it, {} {} first",
                first.maker, first.part_number
            ),
        };
        let detail = format!("code {code:?} cannot go: {carry}");
        Fault::at("codes", FaultCode::Missing, detail)
    });
    faults.collect()
}
