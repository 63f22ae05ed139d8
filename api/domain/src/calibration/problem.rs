//! The convex problem behind a calibration: which codes are linked, and the fit of those.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::squares::Squares;
use super::{Code, Statement, Unsolved};
use crate::heat_scale::HeatScaleData;

/// Parts of a point that are kept of an index: where codes tie, finer than this is the solver's
/// noise.
const KEPT: f64 = 1e6;

/// Scales, one of which stands, and what was stated.
pub(super) struct Problem<'a> {
    pub scales: &'a [HeatScaleData],
    pub anchor: usize,
    pub statements: &'a [Statement],
}

/// An index for every code that is determined: the anchor's own, and those linked to them.
pub(super) struct Fit {
    scales: Vec<BTreeMap<usize, f64>>,
}

impl Fit {
    pub fn index(&self, code: Code) -> Option<f64> {
        self.scales[code.scale].get(&code.place).copied()
    }

    /// The nearest determined code before one in its scale: place and index.
    pub fn before(&self, code: Code) -> Option<(usize, f64)> {
        let mut before = self.scales[code.scale].range(..code.place);
        before.next_back().map(|(place, index)| (*place, *index))
    }

    /// The nearest determined code after one in its scale: place and index.
    pub fn after(&self, code: Code) -> Option<(usize, f64)> {
        let mut after = self.scales[code.scale].range(code.place + 1..);
        after.next().map(|(place, index)| (*place, *index))
    }
}

impl Problem<'_> {
    /// The index of a code of the anchor.
    pub fn anchored(&self, code: Code) -> Option<f64> {
        let own = &self.scales[code.scale].codes[code.place];
        (code.scale == self.anchor).then(|| own.heat_index.get())
    }

    /// How much colder `a` of a statement is than `b` in a fit.
    pub fn miss(&self, fit: &Fit, statement: usize) -> Option<f64> {
        let Statement { a, b, .. } = self.statements[statement];
        Some(fit.index(a)? - fit.index(b)?)
    }

    /// All statements that a chain links to the anchor.
    pub fn all_linked(&self) -> Vec<usize> {
        let all: Vec<usize> = (0..self.statements.len()).collect();
        let linked = self.linked(&all);
        let is_linked = |i: &usize| linked.contains(&self.statements[*i].a);
        all.into_iter().filter(is_linked).collect()
    }

    /// Codes that a chain of some statements links to the anchor.
    fn linked(&self, used: &[usize]) -> HashSet<Code> {
        let mut beside: HashMap<Code, Vec<Code>> = HashMap::new();
        for Statement { a, b, .. } in used.iter().map(|i| self.statements[*i]) {
            beside.entry(a).or_default().push(b);
            beside.entry(b).or_default().push(a);
        }
        let anchored = |code: &&Code| code.scale == self.anchor;
        let mut open: Vec<Code> = beside.keys().filter(anchored).copied().collect();
        let mut linked: HashSet<Code> = open.iter().copied().collect();
        while let Some(code) = open.pop() {
            for next in &beside[&code] {
                if linked.insert(*next) {
                    open.push(*next);
                }
            }
        }
        linked
    }

    /// Fits all codes that some of the statements link to the anchor.
    pub fn fit(&self, used: &[usize]) -> Result<Fit, Unsolved> {
        let linked = self.linked(used);
        let mut fit = Fit {
            scales: vec![BTreeMap::new(); self.scales.len()],
        };
        let anchor = self.scales[self.anchor].codes.iter().enumerate();
        fit.scales[self.anchor] = anchor
            .map(|(place, code)| (place, code.heat_index.get()))
            .collect();
        let free = self.by_coldness(&linked);
        let bearing = used
            .iter()
            .map(|i| &self.statements[*i])
            .filter(|s| linked.contains(&s.a));
        let solution = self.squares(&free, bearing).least()?;
        let mut coldest = (self.anchor, 0.0);
        for (code, index) in free.iter().zip(solution) {
            // Along a scale an index never falls: what noise there is goes here.
            let index = (index * KEPT).round() / KEPT;
            let least = if coldest.0 == code.scale {
                coldest.1
            } else {
                index
            };
            coldest = (code.scale, index.max(least));
            fit.scales[code.scale].insert(code.place, coldest.1);
        }
        Ok(fit)
    }

    /// Codes that are to be fitted, scale by scale, in each from the hottest to the coldest.
    fn by_coldness(&self, linked: &HashSet<Code>) -> Vec<Code> {
        let free = linked.iter().filter(|code| code.scale != self.anchor);
        let mut free: Vec<Code> = free.copied().collect();
        free.sort_unstable();
        let scales = free.chunk_by_mut(|x, y| x.scale == y.scale);
        let falling = scales.filter(|codes| !self.scales[codes[0].scale].rises());
        falling.for_each(<[Code]>::reverse);
        free
    }

    /// What statements ask of some codes, which are known by their places here.
    fn squares<'s>(&self, free: &[Code], bearing: impl Iterator<Item = &'s Statement>) -> Squares {
        let lengths = free.chunk_by(|x, y| x.scale == y.scale).map(<[Code]>::len);
        let place: HashMap<Code, usize> = free.iter().enumerate().map(|(i, c)| (*c, i)).collect();
        let mut squares = Squares::of_chains(lengths);
        for Statement { a, b, weight } in bearing {
            match (self.anchored(*a), self.anchored(*b)) {
                (None, None) => squares.between(place[a], place[b], *weight),
                (None, Some(index)) => squares.at(place[a], index, *weight),
                (Some(index), None) => squares.at(place[b], index, *weight),
                // It moves nothing.
                (Some(_), Some(_)) => {}
            }
        }
        squares
    }
}
