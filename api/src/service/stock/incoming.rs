//! Incoming checks: a sample of a lot is measured; what contradicts the record is put aside until a
//! manager decides.

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::incoming::{
    CheckState, Decide, Decided, Decision, IncomingCheck, KeptCheck, OutWithJob, SampleVerdict,
    judge,
};
use plugwell_domain::ledger::aside::{SentBack, Settled, set_aside, settle};
use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::{Holding, Lot, Movement, MovementKind, Place, PlaceKind};
use plugwell_domain::order::Order;
use plugwell_domain::policy::Policy;
use plugwell_domain::wording::counted;
use plugwell_store::{IncomingFilter, LevelFilter, Session, Stored};
use uuid::Uuid;

use super::refused::{missing, rejected};
use super::reversal::ordered;
use super::{By, Moved, Outcome, open_place, write};
use crate::service::conflict::Conflict;
use crate::service::shop::Touched;
use crate::service::{Refusal, Shop, new_id, orders};

/// What the first quarantine is called where the shop has none yet.
const QUARANTINE: &str = "Quarantine";

/// An incoming check, or the decision on one, and what it moved.
#[derive(Debug, Clone)]
pub struct Aside {
    /// The check as it stands now.
    pub check: Stored<KeptCheck>,
    /// What was moved.
    pub outcome: Outcome,
}

/// One incoming check.
///
/// # Errors
/// `NotFound`.
pub fn incoming_check(shop: &Shop, id: Uuid) -> Result<Stored<KeptCheck>, Refusal> {
    shop.store.read(|s| {
        s.incoming_check(id)?
            .ok_or(Refusal::NotFound("incoming check"))
    })
}

/// Incoming checks, the newest first.
///
/// # Errors
/// Where the database fails.
pub fn incoming_checks(
    shop: &Shop,
    filter: &IncomingFilter,
    before: Option<Uuid>,
    limit: i64,
) -> Result<Vec<Stored<KeptCheck>>, Refusal> {
    shop.store
        .read(|s| Ok(s.list_incoming_checks(filter, before, limit)?))
}

/// Records what was measured of a lot; where a reading contradicts the record, everything that the lot
/// has in bins goes to quarantine.
///
/// # Errors
/// Unknown lot or place, a sample of more plugs than the lot had, a place that is no quarantine;
/// `place_retired`.
pub fn check(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    asked: &IncomingCheck,
) -> Result<(Aside, Vec<Touched>), Refusal> {
    let lot = session
        .lot(asked.lot_id)?
        .ok_or_else(|| missing("lot_id", "lot"))?;
    let plug = session
        .plug(lot.plug_id)?
        .ok_or_else(|| Refusal::Fault("a lot without its part".into()))?;
    sample_within(asked, &lot)?;
    let named = match asked.quarantine_place_id {
        None => None,
        Some(id) => Some(open_place(
            session,
            id,
            "quarantine_place_id",
            &[PlaceKind::Quarantine],
        )?),
    };
    let judged = judge(asked, &plug, &lot, policy);
    let against = judged
        .iter()
        .any(|sample| sample.verdict == SampleVerdict::Contradicts);
    let mut kept = KeptCheck {
        asked: asked.clone(),
        plug_id: plug.id,
        checked_by: by.actor.name.clone(),
        judged,
        policy_version: policy.version,
        state: CheckState::Passed,
        quarantine_id: None,
        set_aside: 0,
        movement_ids: Vec::new(),
        out_with_jobs: Vec::new(),
        text: String::new(),
        decided: None,
    };
    let (mut outcome, mut touched) = (Outcome::default(), Vec::new());
    if against {
        kept.state = CheckState::Noted;
        let quarantine = quarantine(session, by, named)?;
        (outcome, touched) = put_aside(session, by, &lot, &quarantine)?;
        kept.out_with_jobs = out_with_jobs(session, lot.id)?;
        kept.set_aside = outcome.movements.iter().map(|m| m.quantity).sum();
        kept.movement_ids = outcome.movements.iter().map(|m| m.id).collect();
        if kept.set_aside > 0 {
            kept.state = CheckState::Waiting;
            kept.quarantine_id = Some(quarantine.id);
        }
    }
    kept.text = KeptCheck::told(
        &kept.judged,
        kept.state,
        kept.set_aside,
        &kept.out_with_jobs,
    );
    let check = Stored {
        id: new_id(),
        version: 1,
        created_at: by.at,
        updated_at: by.at,
        data: kept,
    };
    session.insert_incoming_check(&check)?;
    Ok((Aside { check, outcome }, touched))
}

/// Refuses a sample of more plugs than the lot came with.
fn sample_within(asked: &IncomingCheck, lot: &Lot) -> Result<(), Refusal> {
    if asked.sample <= lot.quantity_received {
        return Ok(());
    }
    let detail = format!(
        "a sample of {} is more than the {} that lot {} came with",
        asked.sample,
        counted(lot.quantity_received, "plug"),
        lot.code
    );
    Err(Refusal::fault(Fault::at(
        "sample",
        FaultCode::Contradiction,
        detail,
    )))
}

/// The quarantine that was named, else the first in use, else a new one.
fn quarantine(session: &mut Session, by: &By<'_>, named: Option<Place>) -> Result<Place, Refusal> {
    if let Some(named) = named {
        return Ok(named);
    }
    let all = session.list_places(Some(PlaceKind::Quarantine), None, None, i64::MAX)?;
    if let Some(first) = all.into_iter().find(|place| !place.retired) {
        return Ok(first);
    }
    let made = session.place_for(PlaceKind::Quarantine, QUARANTINE, by.at, new_id())?;
    if made.retired {
        return Err(rejected(Rejection::PlaceRetired.into()));
    }
    Ok(made)
}

/// Everything that a lot has in bins to quarantine; nothing is written where nothing lies there.
fn put_aside(session: &mut Session, by: &By<'_>, lot: &Lot, quarantine: &Place) -> Moved {
    let shelf = session.shelf(lot.plug_id, &[])?;
    let lies = |h: &Holding| h.lot_id == lot.id && h.place_kind == PlaceKind::Bin;
    if !shelf.holdings.iter().any(lies) {
        return Ok((Outcome::default(), Vec::new()));
    }
    write(session, by, lot.plug_id, &shelf, |shelf, act| {
        Ok(set_aside(shelf, lot.id, quarantine, act))
    })
}

/// What came back into a bin of a lot that waits in quarantine follows it there: the further movements,
/// as part of the same act.
///
/// # Errors
/// Where the database fails.
pub(super) fn follow_aside(session: &mut Session, by: &By<'_>, done: Moved) -> Moved {
    let (mut outcome, mut touched) = done?;
    let back = |m: &&Movement| matches!(m.kind, MovementKind::Return | MovementKind::Reversal);
    let mut lots: Vec<Uuid> = outcome
        .movements
        .iter()
        .filter(back)
        .map(|m| m.lot_id)
        .collect();
    lots.sort_unstable();
    lots.dedup();
    for lot_id in lots {
        let filter = IncomingFilter {
            state: Some(CheckState::Waiting),
            lot_id: Some(lot_id),
        };
        let waiting = session.list_incoming_checks(&filter, None, 1)?.pop();
        let Some(quarantine) = waiting.and_then(|check| check.data.quarantine_id) else {
            continue;
        };
        let (Some(lot), Some(quarantine)) = (session.lot(lot_id)?, session.place(quarantine)?)
        else {
            return Err(Refusal::Fault("a check without its lot or place".into()));
        };
        let (further, changed) = put_aside(session, by, &lot, &quarantine)?;
        outcome.movements.extend(further.movements);
        outcome.reservations.extend(further.reservations);
        touched.extend(changed);
    }
    Ok((outcome, touched))
}

/// Where plugs of a lot are that have gone out.
fn out_with_jobs(session: &mut Session, lot_id: Uuid) -> Result<Vec<OutWithJob>, Refusal> {
    let filter = LevelFilter {
        lot_id: Some(lot_id),
        kind: Some(PlaceKind::Job),
        ..LevelFilter::default()
    };
    let mut out = Vec::new();
    for level in session.list_levels(&filter, None, i64::MAX)? {
        let job = session.place(level.place_id)?.map(|place| place.name);
        out.push(OutWithJob {
            job: job.unwrap_or_default(),
            quantity: level.quantity,
        });
    }
    Ok(out)
}

/// What the decision needs besides the lot: looked up before the part is locked.
enum Way {
    Release(Place),
    Scrap(Place),
    SendBack(Box<ToSupplier>),
}

/// The receipt that is put right, where it goes, and the order that it was for.
struct ToSupplier {
    receipt: Movement,
    supplier: Place,
    bin: Place,
    order: Option<(Order, Uuid)>,
}

impl Way {
    fn settled<'a>(&'a self, reversed: bool, why: &'a str) -> Settled<'a> {
        match self {
            Self::Release(bin) => Settled::Release(bin),
            Self::Scrap(drum) => Settled::Scrap(drum, why),
            Self::SendBack(back) => Settled::SendBack(SentBack {
                receipt: &back.receipt,
                reversed,
                supplier: &back.supplier,
                bin: &back.bin,
                reason: why,
            }),
        }
    }
}

/// Decides what becomes of a lot that an incoming check put aside.
///
/// # Errors
/// `NotFound`; an unknown bin, or one of another kind; a lot without a receipt of its own that is to be
/// sent back; `place_retired`, `already_decided`, `already_reversed`, `not_enough_stock`.
pub fn decide(
    session: &mut Session,
    by: &By<'_>,
    id: Uuid,
    decide: &Decide,
) -> Result<(Aside, Vec<Touched>), Refusal> {
    let unknown = Refusal::NotFound("incoming check");
    let found = session.incoming_check(id)?.ok_or(unknown)?;
    let lot = session
        .lot(found.data.asked.lot_id)?
        .ok_or_else(|| Refusal::Fault("a check without its lot".into()))?;
    let way = way(session, &lot, decide)?;
    let shelf = session.shelf(lot.plug_id, &[])?;
    // Read again under the lock: somebody else may have decided meanwhile.
    let mut check = session.incoming_check(id)?.unwrap_or(found);
    let waiting = check.data.state == CheckState::Waiting;
    let Some(quarantine) = check.data.quarantine_id.filter(|_| waiting) else {
        return Err(Refusal::conflict(
            Conflict::AlreadyDecided,
            format!(
                "the check is {}: nothing waits for a decision",
                check.data.state
            ),
        ));
    };
    let quarantine = super::place_of(session, quarantine, "id")?;
    let reversed = match &way {
        Way::SendBack(back) => session.reversal_of(back.receipt.id)?.is_some(),
        Way::Release(_) | Way::Scrap(_) => false,
    };
    let why = decide
        .note
        .clone()
        .unwrap_or_else(|| "incoming check".into());
    let (mut outcome, touched) = write(session, by, lot.plug_id, &shelf, |shelf, act| {
        let settled = way.settled(reversed, &why);
        settle(shelf, lot.id, &quarantine, settled, act)
    })?;
    if let Way::SendBack(back) = &way
        && let Some((order, line_id)) = &back.order
    {
        let taken = orders::take_back(session, by, order, *line_id, back.receipt.quantity)?;
        outcome.delivery = Some(taken);
    }
    check.data.state = decide.decision.leads_to();
    check.data.decided = Some(Decided {
        decision: decide.decision,
        by: by.actor.name.clone(),
        at: by.at,
        note: decide.note.clone(),
        movement_ids: outcome.movements.iter().map(|m| m.id).collect(),
    });
    check.version += 1;
    check.updated_at = by.at;
    session.update_incoming_check(&check)?;
    Ok((Aside { check, outcome }, touched))
}

fn way(session: &mut Session, lot: &Lot, decide: &Decide) -> Result<Way, Refusal> {
    match (decide.decision, decide.place_id) {
        (Decision::Release, Some(id)) => {
            let bin = open_place(session, id, "place_id", &[PlaceKind::Bin])?;
            Ok(Way::Release(bin))
        }
        (Decision::Release, None) => Err(missing("place_id", "place")),
        (Decision::Scrap, _) => Ok(Way::Scrap(session.scrap_place()?)),
        (Decision::SendBack, _) => {
            let receipt = session.receipt_of(lot.id)?.ok_or_else(|| {
                let detail = format!(
                    "{} descends from another lot and has no receipt of its own: release or scrap it",
                    lot.code
                );
                Refusal::fault(Fault::at("decision", FaultCode::Contradiction, detail))
            })?;
            // Locked before the part, as a receipt does it.
            let order = ordered(session, &receipt)?;
            let supplier = super::place_of(session, receipt.from_place_id, "decision")?;
            let bin = super::place_of(session, receipt.to_place_id, "decision")?;
            Ok(Way::SendBack(Box::new(ToSupplier {
                receipt,
                supplier,
                bin,
                order,
            })))
        }
    }
}
