//! What took the place of what: followed to the end, and kept free of loops.

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::plug::Plug;
use plugwell_store::Session;
use uuid::Uuid;

use crate::service::Refusal;

/// The part `first`, what took its place, and so on to the end. A loop, which no write lets in, would
/// end where it begins anew.
pub(super) fn line(session: &mut Session, first: Option<Uuid>) -> Result<Vec<Plug>, Refusal> {
    let mut line: Vec<Plug> = Vec::new();
    let mut next = first;
    while let Some(id) = next.filter(|id| line.iter().all(|plug| plug.id != *id)) {
        let Some(plug) = session.plug(id)? else {
            break;
        };
        next = plug.data.superseded_by;
        line.push(plug);
    }
    Ok(line)
}

/// What is wrong with `next` taking the place of a part, if anything: it has to be there, and must
/// not lead back to `own`, the part itself where it is stored already.
pub(super) fn fault(
    session: &mut Session,
    next: Uuid,
    own: Option<Uuid>,
) -> Result<Option<Fault>, Refusal> {
    if own.is_some() {
        // Another command could close the loop from its other side.
        session.lock_supersession()?;
    }
    let line = line(session, Some(next))?;
    let at = |code, detail| Some(Fault::at("superseded_by", code, detail));
    if own.is_some_and(|own| line.iter().any(|plug| plug.id == own)) {
        let detail = "the supersession would lead back to this part";
        return Ok(at(FaultCode::Contradiction, detail));
    }
    if line.is_empty() {
        return Ok(at(FaultCode::NotFound, "there is no such part"));
    }
    Ok(None)
}
