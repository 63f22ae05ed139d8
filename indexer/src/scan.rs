//! A match: the candidates of a plan, judged, joined with the live shelves, the best kept.

use std::cell::OnceCell;
use std::ops::{Range, RangeInclusive};

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{Standing, judge, near_miss};
use plugwell_domain::ledger::shelf::ShelfTable;
use plugwell_domain::plug::Shows;
use plugwell_domain::requirement::{Demand, set_gap_of};
use tantivy::DocId;

use crate::best::{Best, Offer};
use crate::candidates::{Heat, Plan, blocks};
use crate::filter::Filter;
use crate::view::{BLOCK, Column, Row, Segment, View};
use crate::{Found, Hit, IndexError, Question};

/// Answers a question.
pub(crate) fn search(view: &View, question: &Question<'_>, shelves: &ShelfTable) -> Result<Found, IndexError> {
    let scan = Scan { view, question, shelves, plan: Plan::of(question.requirement), least: question.stock.least(question.quantity) };
    let (fits, totals) = scan.fits()?;
    let near_misses = if question.near_misses == 0 { Vec::new() } else { scan.near_misses()? };
    Ok(Found {
        fits: fits.into_iter().map(|offer| scan.hit(&offer)).collect(),
        near_misses: near_misses.into_iter().filter_map(|o| o.fails.map(|attr| (scan.hit(&o), attr))).collect(),
        fits_in_catalogue: totals.in_catalogue,
        fits_in_stock: totals.in_stock,
    })
}

/// One question on its way through a view.
struct Scan<'a> {
    view: &'a View,
    question: &'a Question<'a>,
    shelves: &'a ShelfTable,
    plan: Plan<'a>,
    /// Plugs that have to be available for a part to be offered.
    least: i64,
}

#[derive(Default)]
struct Totals {
    in_catalogue: u64,
    in_stock: u64,
}

/// The steps outwards from the target in which near misses are looked for, in tenths of the heat
/// index: most are found in the first, and then the rest need not be looked at.
const RINGS: [RangeInclusive<i64>; 5] = [0..=0, 1..=15, 16..=63, 64..=255, 256..=i64::MAX - 1];

impl<'a> Scan<'a> {
    fn fits(&self) -> Result<(Vec<Offer>, Totals), IndexError> {
        let mut best = Best::of(self.view, self.question.limit);
        let mut totals = Totals::default();
        for (place, segment) in self.view.segments.iter().enumerate() {
            let mut of_segment = best.of_segment();
            for candidate in self.plan.candidates(&segment.columns.groups).filter(|c| c.fails == 0) {
                let group = candidate.group;
                let filter = |demand: &'a Demand| {
                    let column = segment.columns.fact(demand.attribute);
                    (Filter::of(demand, column.keeping), column)
                };
                let open: Vec<_> = self.plan.open(group).map(filter).collect();
                for heat in spans(&self.plan.heat) {
                    for docs in blocks(group.within(&segment.columns, &heat)) {
                        let passing = passing(&open, docs.clone());
                        self.count(place, segment, docs, passing, &mut totals, &mut of_segment)?;
                    }
                }
            }
            best.take_over(of_segment)?;
        }
        Ok((best.into_offers(), totals))
    }

    /// Counts the plugs of a block that pass every must and offers those that the stock lets through.
    fn count(
        &self,
        place: usize,
        segment: &Segment,
        docs: Range<DocId>,
        mut passing: u64,
        totals: &mut Totals,
        best: &mut Best<'_>,
    ) -> Result<(), IndexError> {
        while passing != 0 {
            let doc = docs.start + passing.trailing_zeros();
            passing &= passing - 1;
            if !segment.lives(doc) {
                continue;
            }
            totals.in_catalogue += 1;
            let ordinal = segment.columns.ordinal(doc);
            let at_most = self.shelves.at_most(ordinal);
            if at_most < self.least.min(self.question.quantity) {
                continue;
            }
            let row = segment.row(doc);
            if at_most < self.question.quantity
                && !best.admits(&Standing::of(self.question.requirement, &row, at_most, true))
            {
                continue;
            }
            let offer = self.offer(place, row, doc, ordinal, None);
            let available = offer.standing.available.0;
            totals.in_stock += u64::from(available >= self.question.quantity);
            if available >= self.least {
                best.offer(offer)?;
            }
        }
        Ok(())
    }

    fn near_misses(&self) -> Result<Vec<Offer>, IndexError> {
        let mut best = Best::of(self.view, self.question.near_misses);
        let Some(target) = self.question.requirement.heat.target_index else {
            self.near_misses_within(|heat| spans(heat).collect(), &mut best)?;
            return Ok(best.into_offers());
        };
        for ring in &RINGS {
            if !best.admits(&Standing { heat_distance: *ring.start(), ..BEST_OF_ALL }) {
                return Ok(best.into_offers());
            }
            self.near_misses_within(|heat| heat.at_distance(target.0, ring).to_vec(), &mut best)?;
        }
        // Unknown heat stands behind all others.
        self.near_misses_within(|heat| unknown(heat).into_iter().collect(), &mut best)?;
        Ok(best.into_offers())
    }

    /// Offers the near misses within some spans of heat. Stock is looked at first: most parts are
    /// not on the shelf, and none of them needs judging.
    fn near_misses_within(
        &self,
        spans: impl Fn(&Heat) -> Vec<RangeInclusive<u64>>,
        best: &mut Best<'_>,
    ) -> Result<(), IndexError> {
        let (in_window, not_hotter) = (spans(&self.plan.heat), spans(&self.plan.not_hotter));
        let mut ordinals = [0; BLOCK];
        for (place, segment) in self.view.segments.iter().enumerate() {
            let mut of_segment = best.of_segment();
            for candidate in self.plan.candidates(&segment.columns.groups) {
                // Where a must fails already, heat may not.
                let spans = if candidate.fails == 0 { &not_hotter } else { &in_window };
                for docs in spans.iter().flat_map(|heat| blocks(candidate.group.within(&segment.columns, heat))) {
                    segment.columns.ordinals(docs.clone(), &mut ordinals);
                    for (doc, ordinal) in docs.zip(ordinals) {
                        self.offer_near_miss(place, segment, doc, ordinal as u32, &mut of_segment)?;
                    }
                }
            }
            best.take_over(of_segment)?;
        }
        Ok(())
    }

    fn offer_near_miss(
        &self,
        place: usize,
        segment: &Segment,
        doc: DocId,
        ordinal: u32,
        best: &mut Best<'_>,
    ) -> Result<(), IndexError> {
        if self.shelves.at_most(ordinal) < self.least || !segment.lives(doc) {
            return Ok(());
        }
        let row = segment.row(doc);
        let Some(fails) = near_miss(self.question.requirement, &row) else { return Ok(()) };
        let offer = self.offer(place, row, doc, ordinal, Some(fails));
        if offer.standing.available.0 >= self.least { best.offer(offer) } else { Ok(()) }
    }

    fn offer(&self, segment: usize, row: Row<'_>, doc: DocId, ordinal: u32, fails: Option<Attr>) -> Offer {
        let requirement = self.question.requirement;
        let (set_gap, _) = set_gap_of(&row, requirement);
        let tolerance = requirement.gap.tolerance_mm;
        let shelf = self.shelves.get(ordinal);
        let available = shelf.available(set_gap, tolerance);
        let one_lot_enough = shelf.one_lot_enough(self.question.quantity, set_gap, tolerance);
        let standing = Standing::of(requirement, &row, available, one_lot_enough);
        Offer { segment, doc, standing, ordinal, on_hand: shelf.on_hand(), set_gap, fails, name: OnceCell::new() }
    }

    fn hit(&self, offer: &Offer) -> Hit {
        let segment = &self.view.segments[offer.segment];
        let row = segment.row(offer.doc);
        Hit {
            id: segment.columns.id(offer.doc),
            ordinal: offer.ordinal,
            standing: offer.standing,
            available: offer.standing.available.0,
            on_hand: offer.on_hand,
            set_gap_mm: offer.set_gap,
            verdicts: self.question.requirement.demands.iter().map(|d| judge(d, row.shown(d.attribute))).collect(),
        }
    }
}

/// No plug stands before this.
const BEST_OF_ALL: Standing = Standing {
    heat_distance: 0,
    projection_distance: 0,
    preferences_missed: 0,
    several_lots: false,
    available: std::cmp::Reverse(i64::MAX),
};

/// The documents of a block that pass some musts, a bit for each.
fn passing(musts: &[(Filter<'_>, &Column)], docs: Range<DocId>) -> u64 {
    let mut passing = u64::MAX >> (BLOCK - docs.len());
    let mut buffer = [0; BLOCK];
    for (filter, column) in musts {
        column.kept(docs.clone(), &mut buffer);
        passing &= filter.passing(&buffer);
        if passing == 0 {
            break;
        }
    }
    passing
}

fn unknown(heat: &Heat) -> Option<RangeInclusive<u64>> {
    heat.unknown.then_some(0..=0)
}

fn spans(heat: &Heat) -> impl Iterator<Item = RangeInclusive<u64>> {
    unknown(heat).into_iter().chain(std::iter::once(heat.known.clone()))
}
