//! A match: the candidates of a plan, judged, joined with the live shelves, the best kept.

use std::cell::OnceCell;
use std::ops::{Range, RangeInclusive};

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{Standing, judge, near_miss};
use plugwell_domain::ledger::shelf::{Level, ShelfTable};
use plugwell_domain::plug::Shows;
use plugwell_domain::requirement::{Demand, Requirement, Strength, set_gap_of};
use tantivy::DocId;

use crate::alive::living_of;
use crate::best::{Best, Offer};
use crate::candidates::{Candidate, Plan};
use crate::filter::Filter;
use crate::group::blocks;
use crate::heat::Heat;
use crate::view::{BLOCK, Column, Fetched, Row, Segment, View};
use crate::{Found, Hit, IndexError, Question};

/// Answers a question.
pub(crate) fn search(
    view: &View,
    question: &Question<'_>,
    shelves: &ShelfTable,
) -> Result<Found, IndexError> {
    let scan = Scan {
        view,
        question,
        shelves,
        plan: Plan::of(question.requirement),
        least: question.stock.least(question.quantity),
    };
    let (fits, totals) = scan.fits()?;
    let near_misses = if question.near_misses == 0 {
        Vec::new()
    } else {
        scan.near_misses()?
    };
    let fails = near_misses.iter().filter_map(|offer| offer.fails);
    Ok(Found {
        fits: scan.hits(&fits),
        near_misses: scan.hits(&near_misses).into_iter().zip(fails).collect(),
        fits_in_catalogue: totals.in_catalogue,
        fits_in_stock: totals.in_stock,
        candidates: totals.candidates,
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
    candidates: u64,
}

/// Parts that are joined with the shelves at once, if there are as many.
const JOINED_AT_ONCE: usize = 1000;

/// The steps outwards from the target in which near misses are looked for, in tenths of the heat
/// index: most are found in the first, and then the rest need not be looked at.
const RINGS: [RangeInclusive<i64>; 3] = [0..=0, 1..=63, 64..=i64::MAX - 1];

/// Parts of one segment that pass every must and still have to be joined with the shelves.
#[derive(Default)]
struct Passed {
    docs: Vec<DocId>,
    ordinals: Vec<u32>,
    levels: Vec<Level>,
    fetched: Fetched,
}

impl Passed {
    /// Makes room for parts, and for what their order needs of them.
    fn of(requirement: &Requirement) -> Self {
        let preferred = requirement
            .demands
            .iter()
            .filter(|d| d.strength == Strength::Prefer);
        let mut attrs = vec![Attr::Heat, Attr::Projection];
        attrs.extend(preferred.map(|d| d.attribute));
        Self {
            fetched: Fetched::of(attrs),
            ..Self::default()
        }
    }
}

impl<'a> Scan<'a> {
    fn fits(&self) -> Result<(Vec<Offer>, Totals), IndexError> {
        let mut best = Best::of(self.view, self.question.limit);
        let mut totals = Totals::default();
        let mut passed = Passed::of(self.question.requirement);
        for (place, segment) in self.view.segments.iter().enumerate() {
            let mut of_segment = best.of_segment();
            for candidate in self.plan.candidates(&segment.columns.groups, 0) {
                let group = candidate.group;
                let filter = |demand: &'a Demand| {
                    let column = segment.columns.fact(demand.attribute);
                    (Filter::of(demand, column.keeping), column)
                };
                let open: Vec<_> = self.plan.open(group).map(filter).collect();
                for heat in self.plan.heat.spans() {
                    for docs in blocks(group.within(&segment.columns, &heat)) {
                        totals.candidates += docs.len() as u64;
                        let bits = passing(&open, docs.clone());
                        totals.in_catalogue += self.gather(segment, docs, bits, &mut passed);
                        if passed.docs.len() > JOINED_AT_ONCE {
                            self.join(place, &mut passed, &mut totals, &mut of_segment)?;
                        }
                    }
                }
            }
            self.join(place, &mut passed, &mut totals, &mut of_segment)?;
            best.take_over(of_segment)?;
        }
        Ok((best.into_offers(), totals))
    }

    /// Gathers the plugs of a block that pass every must and live, but for those of which nothing
    /// could be available where something has to be; the number of all that live.
    fn gather(&self, segment: &Segment, docs: Range<DocId>, bits: u64, passed: &mut Passed) -> u64 {
        let (mut living, mut ordinals) = ([0; BLOCK], [0; BLOCK]);
        let count = living_of(segment, docs.start, bits, &mut living);
        let (living, ordinals) = (&living[..count], &mut ordinals[..count]);
        segment.columns.ordinals_of(living, ordinals);
        let needed = self.least.min(self.question.quantity) > 0;
        for (doc, ordinal) in living.iter().zip(ordinals) {
            let ordinal = *ordinal as u32;
            if !needed || self.shelves.any(ordinal) {
                passed.docs.push(*doc);
                passed.ordinals.push(ordinal);
            }
        }
        count as u64
    }

    /// Joins what was gathered with the shelves: counts it and offers what the stock lets through.
    fn join(
        &self,
        segment: usize,
        passed: &mut Passed,
        totals: &mut Totals,
        best: &mut Best<'_>,
    ) -> Result<(), IndexError> {
        let of_segment = &self.view.segments[segment];
        passed.levels.extend(
            passed
                .ordinals
                .iter()
                .map(|ordinal| self.shelves.level(*ordinal)),
        );
        passed.fetched.fetch(&of_segment.columns, &passed.docs);
        for (place, level) in passed.levels.iter().enumerate() {
            if level.at_most() < self.least.min(self.question.quantity) {
                continue;
            }
            let (doc, ordinal) = (passed.docs[place], passed.ordinals[place]);
            let row = passed.fetched.row(of_segment.row(doc), place);
            let stock = self.stock(&row, ordinal, *level);
            totals.in_stock += u64::from(stock.available >= self.question.quantity);
            if stock.available >= self.least {
                best.offer(self.offer((segment, doc), ordinal, &row, &stock, None))?;
            }
        }
        passed.docs.clear();
        passed.ordinals.clear();
        passed.levels.clear();
        Ok(())
    }

    fn near_misses(&self) -> Result<Vec<Offer>, IndexError> {
        let mut best = Best::of(self.view, self.question.near_misses);
        let candidates: Vec<Vec<Candidate<'_>>> = self
            .view
            .segments
            .iter()
            .map(|s| self.plan.candidates(&s.columns.groups, 1).collect())
            .collect();
        let Some(target) = self.question.requirement.heat.target_index else {
            self.near_misses_within(&candidates, |heat| heat.spans().collect(), &mut best)?;
            return Ok(best.into_offers());
        };
        for ring in &RINGS {
            if !best.admits(&Standing {
                heat_distance: *ring.start(),
                ..BEST_OF_ALL
            }) {
                return Ok(best.into_offers());
            }
            self.near_misses_within(
                &candidates,
                |heat| heat.at_distance(target.0, ring),
                &mut best,
            )?;
        }
        // Unknown heat stands behind all others.
        self.near_misses_within(
            &candidates,
            |heat| heat.unknown().into_iter().collect(),
            &mut best,
        )?;
        Ok(best.into_offers())
    }

    /// Offers the near misses within some spans of heat. Stock is looked at first: most parts are
    /// not on the shelf, and none of them needs judging.
    fn near_misses_within(
        &self,
        candidates: &[Vec<Candidate<'_>>],
        spans: impl Fn(&Heat) -> Vec<RangeInclusive<u64>>,
        best: &mut Best<'_>,
    ) -> Result<(), IndexError> {
        let (in_window, not_hotter) = (spans(&self.plan.heat), spans(&self.plan.not_hotter));
        let mut ordinals = [0; BLOCK];
        for (place, (segment, candidates)) in self.view.segments.iter().zip(candidates).enumerate()
        {
            let mut of_segment = best.of_segment();
            for candidate in candidates {
                // Where a must fails already, heat may not.
                let spans = if candidate.fails == 0 {
                    &not_hotter
                } else {
                    &in_window
                };
                for docs in spans
                    .iter()
                    .flat_map(|heat| blocks(candidate.group.within(&segment.columns, heat)))
                {
                    segment.columns.ordinals(docs.clone(), &mut ordinals);
                    for (doc, ordinal) in docs.zip(ordinals) {
                        self.offer_near_miss(place, doc, ordinal as u32, &mut of_segment)?;
                    }
                }
            }
            best.take_over(of_segment)?;
        }
        Ok(())
    }

    fn offer_near_miss(
        &self,
        segment: usize,
        doc: DocId,
        ordinal: u32,
        best: &mut Best<'_>,
    ) -> Result<(), IndexError> {
        let part = &self.view.segments[segment];
        if (self.least > 0 && !self.shelves.any(ordinal)) || !part.lives(doc) {
            return Ok(());
        }
        let row = part.row(doc);
        let Some(fails) = near_miss(self.question.requirement, &row) else {
            return Ok(());
        };
        let stock = self.stock(&row, ordinal, self.shelves.level(ordinal));
        if stock.available < self.least {
            return Ok(());
        }
        best.offer(self.offer((segment, doc), ordinal, &row, &stock, Some(fails)))
    }

    /// What of a part is available for the gap that it is set to. Without gapped lots its level
    /// tells, and the shelf itself need not be fetched.
    fn stock(&self, plug: &impl Shows, ordinal: u32, level: Level) -> Stock {
        if !level.varies() {
            let one_lot_enough = level.sealed_lot_enough(self.question.quantity);
            return Stock {
                available: level.at_most(),
                one_lot_enough,
            };
        }
        let requirement = self.question.requirement;
        let (set_gap, _) = set_gap_of(plug, requirement);
        let tolerance = requirement.gap.tolerance_mm;
        let shelf = self.shelves.get(ordinal);
        Stock {
            available: shelf.available(set_gap, tolerance),
            one_lot_enough: shelf.one_lot_enough(self.question.quantity, set_gap, tolerance),
        }
    }

    fn offer(
        &self,
        (segment, doc): (usize, DocId),
        ordinal: u32,
        plug: &impl Shows,
        stock: &Stock,
        fails: Option<Attr>,
    ) -> Offer {
        let Stock {
            available,
            one_lot_enough,
        } = *stock;
        let standing = Standing::of(self.question.requirement, plug, available, one_lot_enough);
        Offer {
            segment,
            doc,
            standing,
            ordinal,
            fails,
            name: OnceCell::new(),
        }
    }

    /// What is shown of some offers, in their order. Column by column: the offers lie far apart in
    /// each, and are fetched side by side.
    fn hits(&self, offers: &[Offer]) -> Vec<Hit> {
        let requirement = self.question.requirement;
        let rows: Vec<Row<'_>> = offers
            .iter()
            .map(|o| self.view.segments[o.segment].row(o.doc))
            .collect();
        let hit = |(offer, row): (&Offer, &Row<'_>)| Hit {
            id: row.id(),
            ordinal: offer.ordinal,
            standing: offer.standing,
            available: offer.standing.available.0,
            on_hand: self.shelves.level(offer.ordinal).on_hand(),
            set_gap_mm: set_gap_of(row, requirement).0,
            verdicts: Vec::with_capacity(requirement.demands.len()),
        };
        let mut hits: Vec<Hit> = offers.iter().zip(&rows).map(hit).collect();
        for demand in &requirement.demands {
            for (hit, row) in hits.iter_mut().zip(&rows) {
                hit.verdicts
                    .push(judge(demand, row.shown(demand.attribute)));
            }
        }
        hits
    }
}

/// What of a part is there for a question.
struct Stock {
    available: i64,
    one_lot_enough: bool,
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
