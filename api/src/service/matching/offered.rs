//! Plugs that are known beforehand, shown as a match shows its fits.

use plugwell_domain::decimal::Length;
use plugwell_domain::fit::{Standing, StockMode};
use plugwell_domain::ledger::Shelf;
use plugwell_domain::ledger::rules::{self, Pick};
use plugwell_domain::ledger::shelf::OnShelf;
use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::{Requirement, set_gap_of};
use plugwell_indexer::Hit;
use plugwell_store::Session;
use uuid::Uuid;

use super::{Fit, fit};
use crate::service::Refusal;
use crate::service::judged::{Judged, ruled_out};

/// What of a part there is for one match.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stock {
    pub available: i64,
    pub on_hand: i64,
    set_gap_mm: Option<Length>,
    pub standing: Standing,
}

impl From<&Hit> for Stock {
    fn from(hit: &Hit) -> Self {
        Self {
            available: hit.available,
            on_hand: hit.on_hand,
            set_gap_mm: hit.set_gap_mm,
            standing: hit.standing,
        }
    }
}

impl Stock {
    /// What there is of a part by its shelf.
    fn of(plug: &Plug, shelf: &Shelf, requirement: &Requirement, quantity: i64) -> Self {
        let on_shelf = OnShelf::of(shelf);
        let (set_gap_mm, _) = set_gap_of(plug, requirement);
        let tolerance = requirement.gap.tolerance_mm;
        let available = on_shelf.available(set_gap_mm, tolerance);
        let one_lot_enough = on_shelf.one_lot_enough(quantity, set_gap_mm, tolerance);
        Self {
            available,
            on_hand: on_shelf.on_hand(),
            set_gap_mm,
            standing: Standing::of(requirement, plug, available, one_lot_enough),
        }
    }
}

/// Where to take the plugs from: what there is, up to the quantity, as an issue would take it.
pub(super) fn picked(
    shelf: &Shelf,
    stock: &Stock,
    quantity: i64,
    requirement: &Requirement,
) -> Vec<Pick> {
    let tolerance = requirement.gap.tolerance_mm;
    let usable = |lot: &_, holding: &_| rules::serves(lot, holding, stock.set_gap_mm, tolerance);
    let reserved = shelf.reservations.iter().map(|r| r.open_quantity).sum();
    rules::pick_leaving(reserved, shelf, usable, quantity.min(stock.available))
}

/// How one part stands to a requirement, whatever there is of it; plugs that a reservation keeps are there for
/// whoever draws on that one.
///
/// # Errors
/// Where the database fails; the musts that rule it out, if any do.
pub(in crate::service) fn one(
    session: &mut Session,
    plug: Plug,
    requirement: &Requirement,
    quantity: i64,
    own: Option<Uuid>,
) -> Result<Result<Fit, Vec<Judged>>, Refusal> {
    let fails = ruled_out(&plug, requirement);
    if !fails.is_empty() {
        return Ok(Err(fails));
    }
    Ok(Ok(shown(session, plug, requirement, quantity, own)?))
}

/// Shows plugs that fit as a match shows them, those of which the stock condition lets through.
///
/// # Errors
/// Where the database fails.
pub(in crate::service) fn offered(
    session: &mut Session,
    plugs: Vec<Plug>,
    requirement: &Requirement,
    quantity: i64,
    stock: StockMode,
) -> Result<Vec<Fit>, Refusal> {
    let mut fits = Vec::with_capacity(plugs.len());
    for plug in plugs {
        fits.push(shown(session, plug, requirement, quantity, None)?);
    }
    fits.retain(|fit| fit.available >= stock.least(quantity));
    Ok(fits)
}

fn shown(
    session: &mut Session,
    plug: Plug,
    requirement: &Requirement,
    quantity: i64,
    own: Option<Uuid>,
) -> Result<Fit, Refusal> {
    let mut shelf = session.shelf(plug.id, &[])?;
    shelf.reservations.retain(|r| own != Some(r.id));
    let stock = Stock::of(&plug, &shelf, requirement, quantity);
    let picks = picked(&shelf, &stock, quantity, requirement);
    Ok(fit(plug, &stock, picks, requirement))
}
