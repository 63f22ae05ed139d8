//! A manager's approval: what a count found is booked.

use std::collections::BTreeMap;

use plugwell_domain::ledger::counting::{
    Count, CountApproval, CountState, Overtaken, Settled, overtaken, settle,
};
use plugwell_domain::ledger::rules::Rejection;
use plugwell_domain::ledger::{Movement, Reservation, Shelf};
use plugwell_domain::wording::{agreeing, counted};
use plugwell_store::Session;
use serde_json::json;
use uuid::Uuid;

use super::counting::{closed, incomplete, named};
use super::{found, refused};
use crate::service::Refusal;
use crate::service::conflict::Conflict;
use crate::service::shop::Touched;
use crate::service::stock::{self, By};

/// What an approval did.
#[derive(Debug, Clone)]
pub struct ApprovedNow {
    /// The count as it is now.
    pub count: Count,
    /// The differences that were booked.
    pub movements: Vec<Movement>,
    /// Reservations whose state changed with them.
    pub reservations: Vec<Reservation>,
}

/// A part with its shelf under lock, and what is to be booked of it.
struct Part {
    plug_id: Uuid,
    shelf: Shelf,
    /// Each with its place among the count's lines.
    differences: Vec<(usize, Settled)>,
}

/// Books what a count found, whatever has moved since it was counted.
///
/// # Errors
/// `NotFound`; what `expected` refuses; `count_closed`, `count_incomplete`; `recount_asked` where no reason is given;
/// `count_overtaken` with every line whose missing plugs went out since.
pub fn approve(
    session: &mut Session,
    by: &By<'_>,
    id: Uuid,
    expected: impl Fn(i64) -> Result<(), Refusal>,
    approval: &CountApproval,
) -> Result<(ApprovedNow, Vec<Touched>), Refusal> {
    let mut count = found(session, id)?;
    expected(count.version)?;
    may_be_approved(&count, approval)?;
    let parts = parts(session, &count)?;
    let gone: Vec<Overtaken> = parts
        .iter()
        .flat_map(|part| overtaken(&part.shelf, &part.settled()))
        .collect();
    if !gone.is_empty() {
        return Err(went_out(&gone));
    }
    let (mut movements, mut reservations, mut touched) = (Vec::new(), Vec::new(), Vec::new());
    let mut changed = Vec::new();
    for part in parts {
        changed.extend(
            part.differences
                .iter()
                .map(|(at, _)| count.lines[*at].key()),
        );
        let (booked, shown) = book(session, by, &mut count, &part)?;
        movements.extend(booked.movements);
        reservations.extend(booked.reservations);
        touched.extend(shown);
    }
    count.state = CountState::Approved;
    count.approved_by = Some(by.actor.name.clone());
    count.approved_at = Some(by.at);
    count.reason = approval
        .reason
        .as_deref()
        .map(|text| text.trim().to_owned());
    count.version += 1;
    count.updated_at = by.at;
    session.update_count(&count, &changed)?;
    let done = ApprovedNow {
        count: found(session, id)?,
        movements,
        reservations,
    };
    Ok((done, touched))
}

fn may_be_approved(count: &Count, approval: &CountApproval) -> Result<(), Refusal> {
    if count.state.is_closed() {
        return Err(closed(count));
    }
    if count.state == CountState::Open || !count.is_complete() {
        return Err(incomplete(count));
    }
    let again = named(count.to_recount());
    if again.is_empty() || approval.reason.is_some() {
        return Ok(());
    }
    let detail = format!(
        "{} of {} {} by more than the policy lets pass after one counting",
        again.len(),
        counted(count.lines.len(), "line"),
        agreeing(again.len(), "differs", "differ")
    );
    Err(refused(Conflict::RecountAsked, detail, "lines", again))
}

/// The parts with differences, each with its shelf under lock; always in the same order, so that two
/// counts never wait for each other's parts.
fn parts(session: &mut Session, count: &Count) -> Result<Vec<Part>, Refusal> {
    let mut by_part: BTreeMap<Uuid, Vec<usize>> = BTreeMap::new();
    for (at, line) in count.lines.iter().enumerate() {
        if line.difference() != 0 {
            by_part.entry(line.plug_id).or_default().push(at);
        }
    }
    let mut parts = Vec::with_capacity(by_part.len());
    for (plug_id, lines) in by_part {
        let shelf = session.shelf(plug_id, &[])?;
        let mut differences = Vec::with_capacity(lines.len());
        for at in lines {
            let line = &count.lines[at];
            let lot = session
                .lot(line.lot_id)?
                .ok_or_else(|| Refusal::Fault("a counted line without lot".into()))?;
            let settled = Settled {
                lot,
                place_id: line.place_id,
                difference: line.difference(),
            };
            differences.push((at, settled));
        }
        parts.push(Part {
            plug_id,
            shelf,
            differences,
        });
    }
    Ok(parts)
}

impl Part {
    fn settled(&self) -> Vec<Settled> {
        self.differences.iter().map(|(_, s)| s.clone()).collect()
    }
}

/// Books the differences of a part, and notes the movements on their lines; what they cost was shown
/// when they were counted.
fn book(
    session: &mut Session,
    by: &By<'_>,
    count: &mut Count,
    part: &Part,
) -> Result<(stock::Outcome, Vec<Touched>), Refusal> {
    let account = session.difference_place()?;
    let note = format!("count {}", count.id);
    let done = stock::write(session, by, part.plug_id, &part.shelf, |shelf, act| {
        // What is overtaken was refused before, with every line of it.
        settle(shelf, &part.settled(), &account, &note, act)
            .map_err(|_| Rejection::NotEnoughStock.into())
    });
    // What was found can be of a lot that waits in quarantine; it follows behind the differences.
    let (outcome, touched) = stock::follow_aside(session, by, done)?;
    for ((at, _), movement) in part.differences.iter().zip(&outcome.movements) {
        count.lines[*at].movement_id = Some(movement.id);
    }
    Ok((outcome, touched))
}

fn went_out(gone: &[Overtaken]) -> Refusal {
    let lines = gone.iter().map(|line| {
        json!({
            "lot_id": line.lot_id, "place_id": line.place_id,
            "missing": line.missing, "on_hand": line.on_hand,
        })
    });
    let detail = format!(
        "in {} line(s) more was found missing than the books still have: count them again",
        gone.len()
    );
    refused(Conflict::CountOvertaken, detail, "lines", lines.collect())
}
