//! What a command is refused with, in sentences.

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::ledger::Place;
use plugwell_domain::ledger::rules::{Rejected, Rejection};
use serde_json::{Map, Value};

use crate::service::Refusal;
use crate::service::conflict::Conflict;

/// Something that a body names and that is not there.
pub(super) fn missing(field: &str, what: &str) -> Refusal {
    Refusal::fault(Fault::at(
        field,
        FaultCode::NotFound,
        format!("there is no such {what}"),
    ))
}

/// A place of the wrong kind.
pub(super) fn wrong_place(field: &str, place: &Place, wanted: &str) -> Refusal {
    let detail = format!("{} is of kind {}; {wanted}", place.name, place.kind);
    Refusal::fault(Fault::at(field, FaultCode::Contradiction, detail))
}

/// A rejection of the rules, with what there is.
pub(super) fn rejected(rejected: Rejected) -> Refusal {
    let mut members = Map::new();
    if let (Some(available), Some(on_hand)) = (rejected.available, rejected.on_hand) {
        members.insert("available".into(), Value::from(available));
        members.insert("on_hand".into(), Value::from(on_hand));
    }
    let detail = rejected.detail;
    let detail = detail.unwrap_or_else(|| sentence(rejected.rule).to_owned());
    Refusal::Conflict {
        conflict: Conflict::Ledger(rejected.rule),
        detail,
        members,
    }
}

/// What a rejection means and what to do.
pub fn sentence(rule: Rejection) -> &'static str {
    match rule {
        Rejection::PlugRetired => "the part is retired; bring it back before receiving more of it",
        Rejection::PlaceRetired => "the place is retired; take another",
        Rejection::ScrapIsFinal => {
            "what is in the scrap drum stays there; a slip of the scanner can be reversed by a manager within the policy's time"
        }
        Rejection::NotAnIssue => "only what was issued can be returned; name the issue",
        Rejection::ReversalIsFinal => "a reversal stands; make the movement anew",
        Rejection::AlreadyReversed => "the movement has been reversed already",
        Rejection::ReservationClosed => "the reservation is issued, released or expired",
        Rejection::NotSealed => {
            "the lot was set to a gap, so it cannot come back sealed; return it as gapped"
        }
        Rejection::WrongGap => "the lot is set to another gap than the one wanted",
        Rejection::MoreThanIssued => "more would come back than went out with that issue",
        Rejection::NotEnoughStock => "there are not as many",
    }
}
