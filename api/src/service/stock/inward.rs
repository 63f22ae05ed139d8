//! Plugs that come in, change their place or go to scrap.

use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::ledger::commands::{Receipt, Scrapping, Transfer};
use plugwell_domain::ledger::rules::{self, Rejection};
use plugwell_domain::policy::Policy;
use plugwell_domain::words::Role;
use plugwell_store::Session;

use super::beware::of_gap;
use super::refused::{missing, rejected, wrong_place};
use super::{By, Moved, act, open_place, place_of};
use crate::service::{Refusal, new_id, orders};

/// Plugs come in.
///
/// # Errors
/// Unknown part, place or line of an order, wrong currency, `plug_retired`, `place_retired`;
/// `order_withdrawn`, `order_not_sent`.
pub fn receive(session: &mut Session, by: &By<'_>, policy: &Policy, receipt: &Receipt) -> Moved {
    receive_into(session, by, policy, receipt, &[PlaceKind::Bin])
}

/// The same into a place of one of these kinds: a table may say that plugs lie in quarantine.
///
/// # Errors
/// As [`receive`].
pub(in crate::service) fn receive_into(
    session: &mut Session,
    by: &By<'_>,
    policy: &Policy,
    receipt: &Receipt,
    kinds: &[PlaceKind],
) -> Moved {
    let plug = session
        .plug(receipt.plug_id)?
        .ok_or_else(|| missing("plug_id", "part"))?;
    let bin = session
        .place_to_fill(receipt.place_id)?
        .ok_or_else(|| missing("place_id", "place"))?;
    if !kinds.contains(&bin.kind) {
        return Err(wrong_place(
            "place_id",
            &bin,
            "plugs are received into a bin",
        ));
    }
    let cost = receipt.total_cost.as_ref();
    if let Some(fault) = cost.and_then(|cost| policy.currency_fault("total_cost", cost)) {
        return Err(Refusal::fault(fault));
    }
    if plug.retired {
        return Err(rejected(Rejection::PlugRetired.into()));
    }
    if bin.retired {
        return Err(rejected(Rejection::PlaceRetired.into()));
    }
    let supplier = session.place_for(
        PlaceKind::Supplier,
        receipt.supplier.trim(),
        by.at,
        new_id(),
    )?;
    let said = of_gap(&plug, receipt.gap_mm);
    let Some(line_id) = receipt.order_line_id else {
        let done = act(session, by, plug.id, &[], |shelf, act| {
            Ok(rules::receive(shelf, receipt, &supplier, &bin, act))
        });
        return done.map(|(outcome, touched)| (outcome.with(said), touched));
    };
    // The order is locked before the part, here and wherever a receipt is put right.
    let (order, completed) = orders::delivered(session, receipt, line_id)?;
    let unpriced = order.line(line_id).filter(|_| cost.is_none());
    let priced = unpriced
        .and_then(|line| line.priced_as_ordered(receipt.quantity, completed.total_cost.as_ref()));
    let receipt = completed;
    let delivery = orders::take_in(session, by, &order, line_id, receipt.quantity)?;
    let (outcome, touched) = act(session, by, plug.id, &[], |shelf, act| {
        Ok(rules::receive(shelf, &receipt, &supplier, &bin, act))
    })?;
    let mut outcome = outcome.with(said);
    outcome.cautions.extend(priced);
    outcome.delivery = Some(delivery);
    Ok((outcome, touched))
}

/// Plugs change their place.
///
/// # Errors
/// Unknown lot or place; out of quarantine for less than a manager; the rejections of
/// [`rules::transfer`].
pub fn transfer(session: &mut Session, by: &By<'_>, transfer: &Transfer) -> Moved {
    let lot = session
        .lot(transfer.lot_id)?
        .ok_or_else(|| missing("lot_id", "lot"))?;
    let from = place_of(session, transfer.from_place_id, "from_place_id")?;
    let movable = [PlaceKind::Bin, PlaceKind::Quarantine];
    match from.kind {
        PlaceKind::Bin | PlaceKind::Scrap => {}
        PlaceKind::Quarantine if by.actor.role < Role::Manager => {
            return Err(Refusal::Forbidden(
                "only a manager lets plugs out of quarantine".into(),
            ));
        }
        PlaceKind::Quarantine => {}
        _ => {
            return Err(wrong_place(
                "from_place_id",
                &from,
                "a transfer starts at a bin or quarantine",
            ));
        }
    }
    let to = open_place(session, transfer.to_place_id, "to_place_id", &movable)?;
    act(session, by, lot.plug_id, &[], |shelf, act| {
        rules::transfer(shelf, transfer, &from, &to, act)
    })
}

/// Plugs go into the scrap drum.
///
/// # Errors
/// Unknown part, lot, place or job; from a bin for less than a clerk; the rejections of
/// [`rules::discard`].
pub fn discard(session: &mut Session, by: &By<'_>, scrapping: &Scrapping) -> Moved {
    let plug_id = match (scrapping.plug_id, scrapping.lot_id) {
        (_, Some(lot)) => {
            session
                .lot(lot)?
                .ok_or_else(|| missing("lot_id", "lot"))?
                .plug_id
        }
        (Some(plug), None) => {
            session
                .plug(plug)?
                .ok_or_else(|| missing("plug_id", "part"))?
                .id
        }
        (None, None) => return Err(missing("lot_id", "lot")),
    };
    let from = match (scrapping.place_id, scrapping.job.as_deref()) {
        (Some(id), _) => place_of(session, id, "place_id")?,
        (None, Some(job)) => session
            .place_named(PlaceKind::Job, job.trim())?
            .ok_or_else(|| missing("job", "job"))?,
        (None, None) => return Err(missing("place_id", "place")),
    };
    if from.kind != PlaceKind::Job && by.actor.role < Role::Clerk {
        return Err(Refusal::Forbidden(
            "a tuner scraps from a job; from a bin it takes a clerk".into(),
        ));
    }
    if matches!(from.kind, PlaceKind::Supplier | PlaceKind::Difference) {
        return Err(wrong_place(
            "place_id",
            &from,
            "plugs are scrapped from a bin, a job or quarantine",
        ));
    }
    let drum = session.scrap_place()?;
    act(session, by, plug_id, &[from.id], |shelf, act| {
        rules::discard(shelf, scrapping, &from, &drum, act)
    })
}
