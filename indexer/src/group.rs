//! Documents that share all of the key but the heat, and how far their values spread.

use std::ops::{Range, RangeInclusive};

use tantivy::DocId;

use crate::IndexError;
use crate::key::{HOTTEST_TO_COLDEST, Lead, PLACES};
use crate::view::{BLOCK, Columns};

/// Documents of a segment that share thread, seat, resistor, reach and hex family and projection
/// step; within it they stand by heat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Group {
    pub(crate) lead: Lead,
    pub(crate) docs: Range<DocId>,
    /// Of each attribute that stands in the lead behind the seat.
    pub(crate) spreads: [Spread; PLACES.len()],
}

/// The values that the documents of a group have of one attribute: all unknown, or all known and
/// between two of them. Narrow numbers, since a match goes through many groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Spread {
    Unknown,
    Known { least: i32, most: i32 },
}

impl Spread {
    /// Lengths, in 0.1 µm, are far from the ends of 32 bits.
    fn of(shown: Option<i64>) -> Self {
        shown.map_or(Self::Unknown, |raw| Self::Known {
            least: raw as i32,
            most: raw as i32,
        })
    }

    /// Unknown is a family of its own, so known values never meet unknown ones here.
    fn widen(&mut self, shown: Option<i64>) {
        if let (Self::Known { least, most }, Some(raw)) = (self, shown) {
            *least = (raw as i32).min(*least);
            *most = (raw as i32).max(*most);
        }
    }
}

impl Group {
    /// Every group of a segment, in the order of the key.
    pub(crate) fn all(columns: &Columns) -> Result<Vec<Self>, IndexError> {
        let mut groups: Vec<Self> = Vec::new();
        let (mut keys, mut kept) = ([0; BLOCK], [[0; BLOCK]; PLACES.len()]);
        let facts = PLACES.map(|place| columns.fact(place.attr));
        let mut key_before = 0;
        for docs in blocks(0..columns.documents) {
            columns.keys(docs.clone(), &mut keys);
            for (fact, kept) in facts.iter().zip(&mut kept) {
                fact.kept(docs.clone(), kept);
            }
            for (place, (doc, key)) in docs.zip(keys).enumerate() {
                if key < key_before {
                    return Err(IndexError::Unsound(
                        "documents are not in the order of their key".into(),
                    ));
                }
                key_before = key;
                let shown: [_; PLACES.len()] =
                    std::array::from_fn(|i| facts[i].keeping.shown(kept[i][place]));
                let lead = Lead::of(key);
                match groups.last_mut().filter(|group| group.lead == lead) {
                    Some(group) => {
                        group.docs.end = doc + 1;
                        group
                            .spreads
                            .iter_mut()
                            .zip(shown)
                            .for_each(|(spread, shown)| spread.widen(shown));
                    }
                    None => groups.push(Self {
                        lead,
                        docs: doc..doc + 1,
                        spreads: shown.map(Spread::of),
                    }),
                }
            }
        }
        Ok(groups)
    }

    /// The documents of the group within a span of heat.
    pub(crate) fn within(&self, columns: &Columns, heat: &RangeInclusive<u64>) -> Range<DocId> {
        if heat.is_empty() {
            return self.docs.start..self.docs.start;
        }
        let first = |code| columns.first_not_hotter(self.docs.clone(), code);
        let start = if *heat.start() == 0 {
            self.docs.start
        } else {
            first(*heat.start())
        };
        let end = if heat.end() == HOTTEST_TO_COLDEST.end() {
            self.docs.end
        } else {
            first(heat.end() + 1)
        };
        start..end
    }
}

/// The groups of a thread and seat, by their codes.
pub(crate) fn of_front(groups: &[Group], thread: u64, seat: u64) -> &[Group] {
    let start = groups.partition_point(|g| g.lead < Lead::first(thread, seat));
    let rest = &groups[start..];
    &rest[..rest.partition_point(|g| g.lead < Lead::behind(thread, seat))]
}

/// A run of documents cut into blocks.
pub(crate) fn blocks(docs: Range<DocId>) -> impl Iterator<Item = Range<DocId>> {
    let Range { start, end } = docs;
    (start..end)
        .step_by(BLOCK)
        .map(move |first| first..end.min(first + BLOCK as DocId))
}
