//! What comes back from a job: into a bin where it can, else into the scrap drum.

use uuid::Uuid;

use super::commands::Return;
use super::draft::{Act, Draft};
use super::picking::Spot;
use super::rejection::{Rejected, Rejection};
use super::rules::named;
use super::{Condition, Lot, Movement, MovementKind, Place, Plan, Returned, ScrapReason, Shelf};
use crate::wording::counted;

/// Where what comes back can go.
#[derive(Debug, Clone, Copy)]
pub struct ReturnPlaces<'a> {
    /// The job that it comes from.
    pub job: &'a Place,
    /// The bin it goes to, where it goes back.
    pub bin: Option<&'a Place>,
    /// The scrap drum.
    pub scrap: &'a Place,
    /// The difference account, over which a lot becomes another.
    pub difference: &'a Place,
}

/// Job → bin for what is sealed or gapped, job → scrap drum for anything else.
///
/// `returned` is what has come back of the issue already: the sum of the movements that answer it
/// and stand. The shelf has to show the job.
///
/// # Errors
/// `not_an_issue`, `not_sealed`, `more_than_issued`, `not_enough_stock`.
pub fn give_back(
    shelf: &Shelf,
    back: &Return,
    issued: &Movement,
    returned: i64,
    places: ReturnPlaces<'_>,
    act: &mut Act<'_>,
) -> Result<Plan, Rejected> {
    if issued.kind != MovementKind::Issue {
        return Err(Rejection::NotAnIssue.into());
    }
    // A lot that has nothing left, in the job or elsewhere, is not on the shelf.
    let lot = shelf.lot(issued.lot_id);
    if back.condition == Returned::Sealed && lot.is_some_and(|l| l.condition != Condition::Sealed) {
        return Err(Rejection::NotSealed.into());
    }
    if returned + back.quantity > issued.quantity {
        let told = match issued.quantity - returned {
            ..=0 => "all that went out with that issue have come back already".to_owned(),
            left => format!(
                "{left} of the {} that went out with that issue can still come back",
                counted(issued.quantity, "plug")
            ),
        };
        return Err(Rejected::from(Rejection::MoreThanIssued).since(told));
    }
    let in_job = shelf.sum(|l, h| l.id == issued.lot_id && h.place_id == places.job.id);
    let Some(lot) = lot.filter(|_| in_job >= back.quantity) else {
        return Err(shelf.not_enough_in(in_job, Some(issued.lot_id), places.job));
    };
    let mut made = moved(shelf, lot, back, places, act).ok_or_else(|| {
        let told = "what is not scrapped goes back into a bin: name one";
        shelf.not_enough(0).since(told.to_owned())
    })?;
    for movement in &mut made.movements {
        // Of a pair only what leaves the job answers the issue, so that a sum over the answers
        // counts each plug once.
        movement.answers = (movement.from_place_id == places.job.id).then_some(issued.id);
        movement.job = Some(places.job.name.clone());
    }
    Ok(made)
}

/// What leaves the job and where it goes; `None` where plugs that could go back have no bin to go to:
/// they are never scrapped for want of one.
fn moved(
    shelf: &Shelf,
    lot: &Lot,
    back: &Return,
    places: ReturnPlaces<'_>,
    act: &mut Act<'_>,
) -> Option<Plan> {
    let mut draft = Draft::of(shelf, act);
    let (job, quantity) = (Spot::from(places.job), back.quantity);
    let into_own = back.condition == Returned::Sealed
        || (lot.condition == Condition::Gapped && lot.gap_mm == back.gap_mm);
    match back.condition {
        Returned::Sealed | Returned::Gapped if into_own => {
            draft.take(MovementKind::Return, lot, job, places.bin?.into(), quantity);
        }
        Returned::Sealed | Returned::Gapped => {
            let bin = Spot::from(places.bin?);
            let descended = descend(lot, back, (draft.act.new_id)());
            let pair = Some((draft.act.new_id)());
            let over = Spot::from(places.difference);
            draft
                .take(MovementKind::Return, lot, job, over, quantity)
                .pair_id = pair;
            draft
                .take(MovementKind::Return, &descended, over, bin, quantity)
                .pair_id = pair;
            draft.plan.new_lots.push(descended);
        }
        Returned::Fitted | Returned::Handled | Returned::Dropped => {
            let drum = Spot::from(places.scrap);
            let movement = draft.take(MovementKind::Scrapping, lot, job, drum, quantity);
            movement.reason = Some(scrap_reason(back.condition).word().to_owned());
            movement.dropped_by = named(back.dropped_by.as_deref());
        }
    }
    Some(draft.finish())
}

fn scrap_reason(condition: Returned) -> ScrapReason {
    match condition {
        Returned::Fitted => ScrapReason::Fitted,
        Returned::Dropped => ScrapReason::Dropped,
        Returned::Sealed | Returned::Gapped | Returned::Handled => ScrapReason::Other,
    }
}

fn descend(lot: &Lot, back: &Return, id: Uuid) -> Lot {
    Lot {
        id,
        code: String::new(),
        quantity_received: back.quantity,
        total_cost: None,
        condition: Condition::Gapped,
        gap_mm: back.gap_mm,
        from_lot_id: Some(lot.id),
        order_line_id: None,
        ..lot.clone()
    }
}
