//! The best few of the parts that a scan comes by, in the order of fits, or of what else they stand by.

use std::cell::OnceCell;
use std::cmp::Ordering;

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{Name, Standing};
use tantivy::DocId;

use crate::IndexError;
use crate::view::View;

/// A part that a scan came by.
pub(crate) struct Offer<S = Standing> {
    /// Its segment's place in the view.
    pub(crate) segment: usize,
    pub(crate) doc: DocId,
    pub(crate) standing: S,
    pub(crate) ordinal: u32,
    /// The must that it fails, where it is a near miss.
    pub(crate) fails: Option<Attr>,
    /// Looked up where its standing is that of a part of another segment.
    pub(crate) name: OnceCell<Name>,
}

/// The best offers, in order, at most so many.
pub(crate) struct Best<'v, S = Standing> {
    view: &'v View,
    limit: usize,
    offers: Vec<Offer<S>>,
    /// Where the last of all segments before stands, once there are enough.
    bar: Option<S>,
}

impl<'v, S: Ord + Copy> Best<'v, S> {
    pub(crate) fn of(view: &'v View, limit: usize) -> Self {
        Self {
            view,
            limit,
            offers: Vec::new(),
            bar: None,
        }
    }

    /// Whether an offer of this standing could still find a place, by its name where it stands as
    /// the last does.
    pub(crate) fn admits(&self, standing: &S) -> bool {
        let last = self
            .offers
            .last()
            .filter(|_| self.offers.len() >= self.limit);
        let bar = last.map(|offer| &offer.standing).or(self.bar.as_ref());
        self.limit > 0 && bar.is_none_or(|bar| standing <= bar)
    }

    /// Takes an offer in where it is among the best.
    pub(crate) fn offer(&mut self, offer: Offer<S>) -> Result<(), IndexError> {
        if !self.admits(&offer.standing) {
            return Ok(());
        }
        // Most of those that stand as the last does stand behind it by their name.
        if let Some(last) = self.offers.last()
            && self.offers.len() >= self.limit
            && compare(self.view, last, &offer)? == Ordering::Less
        {
            return Ok(());
        }
        let (mut low, mut high) = (0, self.offers.len());
        while low < high {
            let middle = low + (high - low) / 2;
            if compare(self.view, &self.offers[middle], &offer)? == Ordering::Less {
                low = middle + 1;
            } else {
                high = middle;
            }
        }
        if low < self.limit {
            self.offers.truncate(self.limit - 1);
            self.offers.insert(low, offer);
        }
        Ok(())
    }

    /// An empty list for one segment, whose offers are then [taken over](Self::take_over): within
    /// a segment part numbers are compared by their places, so that only the best of each have
    /// theirs looked up.
    pub(crate) fn of_segment(&self) -> Self {
        let last = self
            .offers
            .last()
            .filter(|_| self.offers.len() >= self.limit);
        Self {
            bar: last.map(|offer| offer.standing),
            ..Self::of(self.view, self.limit)
        }
    }

    /// Takes over the best of a segment.
    pub(crate) fn take_over(&mut self, segment: Self) -> Result<(), IndexError> {
        segment
            .offers
            .into_iter()
            .try_for_each(|offer| self.offer(offer))
    }

    /// The best, in order.
    pub(crate) fn into_offers(self) -> Vec<Offer<S>> {
        self.offers
    }
}

/// The order of offers: standing, then part number byte by byte, then id.
fn compare<S: Ord>(view: &View, left: &Offer<S>, right: &Offer<S>) -> Result<Ordering, IndexError> {
    let by_standing = left.standing.cmp(&right.standing);
    if by_standing.is_ne() {
        return Ok(by_standing);
    }
    let columns = |offer: &Offer<S>| &view.segments[offer.segment].columns;
    if left.segment == right.segment {
        let place = |offer: &Offer<S>| {
            let columns = columns(offer);
            (columns.part_number_place(offer.doc), columns.id(offer.doc))
        };
        return Ok(place(left).cmp(&place(right)));
    }
    let beginning = |offer: &Offer<S>| columns(offer).part_number_beginning(offer.doc);
    let by_beginning = beginning(left).cmp(&beginning(right));
    if by_beginning.is_ne() {
        return Ok(by_beginning);
    }
    Ok(left.name(view)?.cmp(right.name(view)?))
}

impl<S> Offer<S> {
    fn name(&self, view: &View) -> Result<&Name, IndexError> {
        if self.name.get().is_none() {
            let columns = &view.segments[self.segment].columns;
            let name = Name {
                part_number: columns.part_number(self.doc)?,
                id: columns.id(self.doc),
            };
            return Ok(self.name.get_or_init(|| name));
        }
        Ok(self
            .name
            .get_or_init(|| unreachable!("it was looked up above")))
    }
}
