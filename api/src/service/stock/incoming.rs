//! Incoming checks: a sample of a lot is measured; what contradicts the record is put aside, with all that
//! descends from it, until a manager decides.

use plugwell_domain::fault::{Fault, FaultCode};
use plugwell_domain::incoming::{
    CheckState, Decide, Decided, Decision, DescendedAside, IncomingCheck, KeptCheck, OutWithJob,
    SampleVerdict, judge,
};
use plugwell_domain::ledger::aside::{SentBack, Settled, settle};
use plugwell_domain::ledger::family::{descended, forebears};
use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::{Lot, Movement, Place, PlaceKind};
use plugwell_domain::order::Order;
use plugwell_domain::policy::Policy;
use plugwell_domain::wording::counted;
use plugwell_store::{IncomingFilter, LevelFilter, Session, Stored};
use uuid::Uuid;

use super::family::{not_reached, put_aside, reached};
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

/// Records what was measured of a lot; where a reading contradicts the record, everything that the lot,
/// and what descends from it, has in bins goes to quarantine.
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
        descended: Vec::new(),
        movement_ids: Vec::new(),
        out_with_jobs: Vec::new(),
        text: String::new(),
        decided: None,
    };
    let (mut outcome, mut touched) = (Outcome::default(), Vec::new());
    if against {
        let quarantine = quarantine(session, by, named)?;
        (outcome, touched) = contradicted(session, by, &lot, &quarantine, &mut kept)?;
    }
    kept.text = kept.told();
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

/// Puts a lot aside of which a reading contradicts the record, and notes that on the check.
fn contradicted(
    session: &mut Session,
    by: &By<'_>,
    lot: &Lot,
    quarantine: &Place,
    kept: &mut KeptCheck,
) -> Moved {
    kept.state = CheckState::Noted;
    let (outcome, touched) = put_aside(session, by, (lot.plug_id, lot.id), quarantine)?;
    kept.out_with_jobs = out_with_jobs(session, lot.id)?;
    kept.descended = descended_aside(session, lot.id, &outcome.movements)?;
    kept.set_aside = outcome.movements.iter().map(|m| m.quantity).sum();
    kept.movement_ids = outcome.movements.iter().map(|m| m.id).collect();
    if kept.set_aside > 0 {
        kept.state = CheckState::Waiting;
        kept.quarantine_id = Some(quarantine.id);
    }
    Ok((outcome, touched))
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

/// Where plugs of a lot, and of what descends from it, are that have gone out.
fn out_with_jobs(session: &mut Session, lot_id: Uuid) -> Result<Vec<OutWithJob>, Refusal> {
    let mut out: Vec<OutWithJob> = Vec::new();
    for id in descended(lot_id, &session.lot_family(lot_id)?) {
        let filter = LevelFilter {
            lot_id: Some(id),
            kind: Some(PlaceKind::Job),
            ..LevelFilter::default()
        };
        for level in session.list_levels(&filter, None, i64::MAX)? {
            let job = session.place(level.place_id)?.map(|place| place.name);
            let job = job.unwrap_or_default();
            match out.iter_mut().find(|known| known.job == job) {
                Some(known) => known.quantity += level.quantity,
                None => out.push(OutWithJob {
                    job,
                    quantity: level.quantity,
                }),
            }
        }
    }
    Ok(out)
}

/// What was put aside of lots that descend from the one that was measured.
fn descended_aside(
    session: &mut Session,
    lot_id: Uuid,
    moved: &[Movement],
) -> Result<Vec<DescendedAside>, Refusal> {
    let mut aside: Vec<DescendedAside> = Vec::new();
    for movement in moved.iter().filter(|m| m.lot_id != lot_id) {
        if let Some(known) = aside.iter_mut().find(|own| own.lot_id == movement.lot_id) {
            known.quantity += movement.quantity;
            continue;
        }
        let lot = session.lot(movement.lot_id)?;
        aside.push(DescendedAside {
            lot_id: movement.lot_id,
            lot_code: lot.map_or_else(String::new, |lot| lot.code),
            quantity: movement.quantity,
        });
    }
    Ok(aside)
}

/// What the decision needs besides the lot: looked up before the part is locked.
enum Way {
    Release(Place),
    Scrap(Place),
    SendBack(Box<ToSupplier>),
}

/// The receipt that is put right, where it goes, and the order that it was for.
struct ToSupplier {
    lot: Lot,
    receipt: Movement,
    difference: Place,
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
                lot: &back.lot,
                difference: &back.difference,
                receipt: &back.receipt,
                reversed,
                supplier: &back.supplier,
                bin: &back.bin,
                reason: why,
            }),
        }
    }
}

/// Decides what becomes of what an incoming check put aside: of the lot, and of what descends from it.
///
/// # Errors
/// `NotFound`; an unknown bin, or one of another kind; a lot without a receipt of its own that is to be
/// sent back; `place_retired`, `already_decided`, `forebear_waits`, `already_reversed`, `not_enough_stock`.
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
                "{}: nothing of this check waits for a decision",
                check
                    .data
                    .state
                    .settled()
                    .unwrap_or("nothing was put aside")
            ),
        ));
    };
    let quarantine = super::place_of(session, quarantine, "id")?;
    if decide.decision == Decision::Release {
        no_forebear_waits(session, &lot)?;
    }
    let family = reached(session, lot.id)?;
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
        settle(shelf, &family, &quarantine, settled, act)
    })?;
    let moved = gone(&outcome.movements, &quarantine);
    if let Way::SendBack(back) = &way
        && let Some((order, line_id)) = &back.order
    {
        outcome.delivery = Some(orders::take_back(session, by, order, *line_id, moved)?);
    }
    let not_reached = not_reached(session, lot.id, &outcome.movements)?;
    check.data.state = decide.decision.leads_to();
    check.data.decided = Some(Decided {
        decision: decide.decision,
        by: by.actor.name.clone(),
        at: by.at,
        note: decide.note.clone(),
        movement_ids: outcome.movements.iter().map(|m| m.id).collect(),
        text: Decided::told(decide.decision, moved, &not_reached),
        not_reached,
    });
    check.data.text = check.data.told();
    check.version += 1;
    check.updated_at = by.at;
    session.update_incoming_check(&check)?;
    Ok((Aside { check, outcome }, touched))
}

/// Plugs that left a quarantine, less those that came into it on the way.
fn gone(moved: &[Movement], quarantine: &Place) -> i64 {
    let change = moved.iter().map(|m| {
        let out = i64::from(m.from_place_id == quarantine.id);
        (out - i64::from(m.to_place_id == quarantine.id)) * m.quantity
    });
    change.sum()
}

/// What descends from a lot that waits is not let out before that is decided.
fn no_forebear_waits(session: &mut Session, lot: &Lot) -> Result<(), Refusal> {
    let above = forebears(lot.id, &session.lot_family(lot.id)?);
    let Some(check) = session.waiting_checks_of(&above)?.pop() else {
        return Ok(());
    };
    let waits = session.lot(check.data.asked.lot_id)?;
    let waits = waits.map_or_else(String::new, |lot| lot.code);
    Err(Refusal::conflict(
        Conflict::ForebearWaits,
        format!(
            "{} descends from {waits}, which waits in quarantine by check {}: decide on that one first",
            lot.code, check.id
        ),
    ))
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
                lot: lot.clone(),
                difference: session.difference_place()?,
                receipt,
                supplier,
                bin,
                order,
            })))
        }
    }
}
