//! A part as it lies sealed on the shelf, with what the plugs of a day would cost.

use std::cmp::Ordering;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::attribute::Attr;
use crate::caution::Caution;
use crate::decimal::Length;
use crate::ledger::rules::{pick_leaving, serves};
use crate::ledger::shelf::OnShelf;
use crate::ledger::{Money, Shelf, cost};
use crate::named_part::NamedPart;
use crate::plug::{Plug, Shows};
use crate::requirement::{Requirement, fit_cautions, set_gap_of, unconfirmed_of};
use crate::words::Status;

/// Plugs of one lot in one bin, as an issue would take them now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LotShare {
    /// The lot.
    pub lot_id: Uuid,
    /// Its code, as on the label.
    pub code: String,
    /// The bin.
    pub place_id: Uuid,
    /// Plugs.
    pub quantity: i64,
    /// Their share of the lot's cost by largest remainder; null where nobody said it.
    pub cost: Option<Money>,
}

/// What the plugs cost that are there, up to the quantity.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Cost {
    /// The sum over the lots; null where nothing is there or the cost of a lot is unknown: unknown
    /// is not free.
    pub total: Option<Money>,
    /// The total over the plugs, rounded half up; the total is exact.
    pub per_plug: Option<Money>,
    /// Plugs of which nobody has said what they cost.
    pub unknown_quantity: i64,
}

/// A part that meets the requirement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Offer {
    /// The part.
    pub plug: NamedPart,
    /// Sealed plugs in bins that nobody has reserved; gapped ones do not count, a reading needs
    /// plugs that were sealed.
    pub available: i64,
    /// Whether those are all that the day takes.
    pub enough: bool,
    /// Whether more of it can be ordered: still made, and no other part took its place.
    pub orderable: bool,
    /// Plugs in a box of it, by its record or else its newest lot here; null where nobody knows.
    #[serde(default)]
    pub pack_size: Option<i64>,
    /// The gap to set on it.
    pub set_gap_mm: Option<Length>,
    /// What the plugs cost that are there, up to the quantity.
    pub cost: Cost,
    /// Where they would be taken from: first in, first out, one lot where one is big enough.
    pub lots: Vec<LotShare>,
    /// What nobody could answer for.
    pub unconfirmed: Vec<Attr>,
    /// What to beware of with this part.
    pub cautions: Vec<Caution>,
}

impl Offer {
    /// What a part offers a day that takes so many plugs; costs in another currency than the
    /// shop's count as unknown.
    pub fn of(
        plug: &Plug,
        needed: &Requirement,
        shelf: &Shelf,
        quantity: i64,
        currency: &str,
    ) -> Self {
        let on_shelf = OnShelf::of(shelf);
        let available = on_shelf.available(None, Length::default());
        let lots = shares(shelf, on_shelf.reserved, quantity.min(available), currency);
        Self {
            plug: plug.into(),
            available,
            enough: available >= quantity,
            orderable: plug.data.status == Status::Active && plug.data.superseded_by.is_none(),
            pack_size: pack_size(plug, shelf),
            set_gap_mm: set_gap_of(plug, needed).0,
            cost: Cost::of(&lots, currency),
            lots,
            unconfirmed: unconfirmed_of(plug, needed),
            cautions: fit_cautions(&plug.data, needed),
        }
    }

    fn taken(&self) -> i64 {
        self.lots.iter().map(|share| share.quantity).sum()
    }
}

/// Plugs in a box, by the part's record, else by the newest lot on the shelf that says so.
fn pack_size(plug: &Plug, shelf: &Shelf) -> Option<i64> {
    let by_lot = || shelf.lots.iter().rev().find_map(|lot| lot.pack_size);
    plug.shown(Attr::PackSize).or_else(by_lot)
}

/// The lots that an issue would take sealed plugs from, each with its share of the cost.
fn shares(shelf: &Shelf, reserved: i64, quantity: i64, currency: &str) -> Vec<LotShare> {
    let sealed = |lot: &_, holding: &_| serves(lot, holding, None, Length::default());
    let mut shares: Vec<LotShare> = Vec::new();
    for pick in pick_leaving(reserved, shelf, sealed, quantity) {
        let Some(lot) = shelf.lots.iter().find(|lot| lot.id == pick.lot_id) else {
            continue;
        };
        let here = shelf.holdings.iter().filter(|h| h.lot_id == lot.id);
        let left: i64 = here.map(|h| h.quantity).sum();
        let before: i64 = shares
            .iter()
            .filter(|s| s.lot_id == lot.id)
            .map(|s| s.quantity)
            .sum();
        let gone = (lot.quantity_received - left).max(0) + before;
        let known = lot.total_cost.as_ref().filter(|c| c.currency == currency);
        let cost = known.map(|total| Money {
            minor: cost::share(total.minor, lot.quantity_received, gone, pick.quantity),
            currency: currency.to_owned(),
        });
        shares.push(LotShare {
            lot_id: lot.id,
            code: lot.code.clone(),
            place_id: pick.place.id,
            quantity: pick.quantity,
            cost,
        });
    }
    shares
}

impl Cost {
    fn of(lots: &[LotShare], currency: &str) -> Self {
        let unknown_quantity = lots
            .iter()
            .filter(|share| share.cost.is_none())
            .map(|share| share.quantity)
            .sum();
        let plugs: i64 = lots.iter().map(|share| share.quantity).sum();
        let money = |minor: i64| Money {
            minor,
            currency: currency.to_owned(),
        };
        let total = (plugs > 0 && unknown_quantity == 0).then(|| {
            lots.iter()
                .filter_map(|share| share.cost.as_ref())
                .map(|cost| cost.minor)
                .sum::<i64>()
        });
        Self {
            total: total.map(money),
            per_plug: total.map(|minor| money((2 * minor + plugs) / (2 * plugs))),
            unknown_quantity,
        }
    }
}

/// Puts offers in the order of preference: those that are there in full, the least costly to the
/// plug first, unknown costs behind known ones. Then, where what is missing can come `in_time`,
/// those of which more can be ordered: what is there at all before what is not, the least costly
/// first, more of it first. What cannot be completed stands by how few are missing, then by cost.
/// What stands alike stays in the order that it came in, which is that of fits.
pub fn put_in_order(offers: &mut [Offer], in_time: bool) {
    offers.sort_by(|a, b| compare(a, b, in_time));
}

fn compare(a: &Offer, b: &Offer, in_time: bool) -> Ordering {
    let by_enough = b.enough.cmp(&a.enough);
    if by_enough.is_ne() || a.enough {
        return by_enough.then_with(|| by_cost(a, b));
    }
    let completable = |offer: &Offer| in_time && offer.orderable;
    let fewest_missing = b.available.cmp(&a.available);
    let by_completable = completable(b).cmp(&completable(a));
    by_completable.then_with(|| match completable(a) {
        true => (b.available > 0)
            .cmp(&(a.available > 0))
            .then_with(|| by_cost(a, b))
            .then(fewest_missing),
        false => fewest_missing
            .then_with(|| by_cost(a, b))
            .then(b.orderable.cmp(&a.orderable)),
    })
}

/// Cost to the plug, compared exactly.
fn by_cost(a: &Offer, b: &Offer) -> Ordering {
    match (&a.cost.total, &b.cost.total) {
        (Some(own), Some(other)) => {
            let weighed = |money: &Money, plugs: i64| i128::from(money.minor) * i128::from(plugs);
            weighed(own, b.taken()).cmp(&weighed(other, a.taken()))
        }
        (own, other) => other.is_some().cmp(&own.is_some()),
    }
}
