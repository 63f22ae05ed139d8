//! What pictures of plugs to scale are drawn from.

use plugwell_domain::build::Build;
use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::outline::{HeadMeasures, Section, section};
use plugwell_domain::plug::Plug;
use plugwell_store::Session;
use uuid::Uuid;

use crate::service::{Refusal, Shop, builds, matching};

/// A part, and the one that is laid over it.
///
/// # Errors
/// `NotFound`; a fault of `over` where there is no such part.
pub fn plugs(shop: &Shop, id: Uuid, over: Option<Uuid>) -> Result<(Plug, Option<Plug>), Refusal> {
    shop.store.read(|s| {
        let plug = s.plug(id)?.ok_or(Refusal::NotFound("part"))?;
        let over = over.map(|over| named(s, over, "over")).transpose()?;
        Ok((plug, over))
    })
}

/// The head of a build in section, with the part that is laid in.
///
/// # Errors
/// Faults where it points to records that there are not, of `plug_id` where there is no such part.
pub fn laid_in(
    shop: &Shop,
    build: &Build,
    plug: Option<Uuid>,
) -> Result<(Section, Option<Plug>), Refusal> {
    let policy = shop.policy();
    shop.store.read(|s| {
        let (head, _) = builds::resolved(s, build)?;
        let needed = matching::requirement_of(s, build, &policy)?;
        let plug = plug.map(|id| named(s, id, "plug_id")).transpose()?;
        let measures = HeadMeasures::of(&head, policy.values.reach_tolerance_mm.value);
        let drawn = section(measures, &needed, plug.as_ref().map(|plug| &plug.data));
        Ok((drawn, plug))
    })
}

fn named(session: &mut Session, id: Uuid, member: &str) -> Result<Plug, Refusal> {
    session.plug(id)?.ok_or_else(|| {
        let detail = "there is no such part";
        Refusal::fault(Fault::at(member, FaultCode::NotFound, detail))
    })
}
