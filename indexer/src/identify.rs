//! Which records an unmarked plug can be: every record whose thread, seat and reach are not ruled
//! out is judged, all counted, the likeliest kept. Retired records are judged too, each of them:
//! a plug on the bench may well be older than the catalogue.

use std::cell::OnceCell;
use std::ops::Range;

use plugwell_domain::attribute::Attr;
use plugwell_domain::identification::{Agreement, Crowd, Judged, Reading, Sought, Tally};
use plugwell_domain::thread::Thread;
use plugwell_domain::words::Seat;
use tantivy::DocId;

use crate::best::{Best, Offer};
use crate::group::{Group, Spread, blocks, of_front};
use crate::key::{self, PLACES};
use crate::view::{BLOCK, Column, Columns, View};
use crate::{Identified, IndexError, Likely};

/// Answers readings.
pub(crate) fn search(view: &View, sought: &Sought, limit: usize) -> Result<Identified, IndexError> {
    let fronts = fronts(sought);
    let mut crowd = Crowd::default();
    let mut best = Best::of(view, limit);
    for (place, segment) in view.segments.iter().enumerate() {
        let mut of_segment = best.of_segment();
        let columns = &segment.columns;
        let mut judges: Vec<Judge<'_>> = sought
            .readings
            .iter()
            .map(|reading| Judge::of(sought, reading, columns))
            .collect();
        let groups = fronts
            .iter()
            .flat_map(|(thread, seat)| of_front(&columns.groups, *thread, *seat))
            .filter(|group| !ruled_out(sought, group));
        let runs = groups.map(|group| group.docs.clone());
        let runs = runs.chain([columns.retired.clone()]);
        for docs in runs.flat_map(blocks) {
            let tallies = tallied(&mut judges, docs.clone());
            for (doc, tally) in docs.zip(tallies) {
                if !tally.can_be() || !segment.lives(doc) {
                    continue;
                }
                crowd.add(tally.cost);
                if of_segment.admits(&tally.cost) {
                    of_segment.offer(Offer {
                        segment: place,
                        doc,
                        standing: tally.cost,
                        ordinal: columns.ordinal(doc),
                        fails: None,
                        name: OnceCell::new(),
                    })?;
                }
            }
        }
        best.take_over(of_segment)?;
    }
    let likely = |offer: Offer<u32>| Likely {
        id: view.segments[offer.segment].row(offer.doc).id(),
        ordinal: offer.ordinal,
        cost: offer.standing,
    };
    Ok(Identified {
        likeliest: best.into_offers().into_iter().map(likely).collect(),
        crowd,
    })
}

/// Threads and seats, as codes of the key, that no reading rules out.
fn fronts(sought: &Sought) -> Vec<(u64, u64)> {
    let codes = |attr: Attr, count: usize| -> Vec<u64> {
        let of_attr = |reading: &&Reading| reading.measurement.attr() == attr;
        let values = std::iter::once(None).chain((0..count as i64).map(Some));
        let left = values.filter(|shown| {
            sought.readings.iter().filter(of_attr).all(|reading| {
                sought.judge_shown(reading, *shown, None).verdict != Agreement::Contradicts
            })
        });
        left.map(key::choice_code).collect()
    };
    let seats = codes(Attr::Seat, Seat::ALL.len());
    codes(Attr::Thread, Thread::ALL.len())
        .into_iter()
        .flat_map(|thread| seats.iter().map(move |seat| (thread, *seat)))
        .collect()
}

/// Whether a reading rules all documents of a group out, by how far their values spread.
fn ruled_out(sought: &Sought, group: &Group) -> bool {
    PLACES.iter().zip(&group.spreads).any(|(place, spread)| {
        let Spread::Known { least, most } = *spread else {
            return false;
        };
        let of_place = |reading: &&Reading| reading.measurement.attr() == place.attr;
        sought
            .readings
            .iter()
            .filter(of_place)
            .any(|reading| sought.rules_out_between(reading, i64::from(least), i64::from(most)))
    })
}

/// One reading, put to the documents of a segment.
struct Judge<'a> {
    sought: &'a Sought,
    reading: &'a Reading,
    column: &'a Column,
    otherwise: Option<&'a Column>,
    /// The verdict on the last document: neighbours in the key mostly show the same.
    last: ((u64, u64), Judged),
}

impl<'a> Judge<'a> {
    fn of(sought: &'a Sought, reading: &'a Reading, columns: &'a Columns) -> Self {
        Self {
            sought,
            reading,
            column: columns.fact(reading.measurement.attr()),
            otherwise: reading.otherwise.map(|attr| columns.fact(attr)),
            last: ((0, 0), sought.judge_shown(reading, None, None)),
        }
    }

    fn verdict(&mut self, kept: u64, otherwise: u64) -> Judged {
        if self.last.0 != (kept, otherwise) {
            let shown = self.column.keeping.shown(kept);
            let other = self.otherwise.and_then(|c| c.keeping.shown(otherwise));
            let judged = self.sought.judge_shown(self.reading, shown, other);
            self.last = ((kept, otherwise), judged);
        }
        self.last.1
    }
}

/// How the documents of a block stand to all readings.
fn tallied(judges: &mut [Judge<'_>], docs: Range<DocId>) -> [Tally; BLOCK] {
    let mut tallies = [Tally::default(); BLOCK];
    let (mut kept, mut otherwise) = ([0; BLOCK], [0; BLOCK]);
    for judge in judges {
        judge.column.kept(docs.clone(), &mut kept);
        if let Some(column) = judge.otherwise {
            column.kept(docs.clone(), &mut otherwise);
        } else {
            otherwise = [0; BLOCK];
        }
        for (tally, (kept, other)) in tallies
            .iter_mut()
            .zip(kept.iter().zip(otherwise))
            .take(docs.len())
        {
            tally.add(judge.reading.measurement, judge.verdict(*kept, other));
        }
    }
    tallies
}
