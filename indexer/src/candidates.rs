//! Which runs of the sort key a requirement concerns.
//!
//! Documents that share thread, seat, resistor, reach and hex family and projection step form a
//! group; within it they stand by heat. A must on one of these can be answered for a whole group, by the same
//! [`judge`] that answers it for a single plug; what is left open is asked of each document.

use std::ops::{Range, RangeInclusive};

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{judge, rules_out};
use plugwell_domain::requirement::{Demand, Requirement, Test};
use tantivy::DocId;

use crate::IndexError;
use crate::key::{self, HOTTEST_TO_COLDEST, Lead};
use crate::view::{BLOCK, Columns};

/// Attributes that stand in the key by families: of each, a group knows how far its values spread.
const BY_FAMILY: [Attr; 3] = [Attr::Reach, Attr::Hex, Attr::Projection];

/// Documents of a segment that share all of the key but the heat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Group {
    lead: Lead,
    pub(crate) docs: Range<DocId>,
    spreads: [Spread; BY_FAMILY.len()],
}

/// The values that the documents of a group have of one attribute: all unknown, or all known and
/// between two of them. Narrow numbers, since a match goes through many groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Spread {
    Unknown,
    Known { least: i32, most: i32 },
}

impl Spread {
    /// Lengths are far from the ends of 32 bits.
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
        let (mut keys, mut kept) = ([0; BLOCK], [[0; BLOCK]; BY_FAMILY.len()]);
        let facts = BY_FAMILY.map(|attr| columns.fact(attr));
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
                let shown: [_; BY_FAMILY.len()] =
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

/// A run of documents cut into blocks.
pub(crate) fn blocks(docs: Range<DocId>) -> impl Iterator<Item = Range<DocId>> {
    let Range { start, end } = docs;
    (start..end)
        .step_by(BLOCK)
        .map(move |first| first..end.min(first + BLOCK as DocId))
}

/// How all plugs of a group stand to a must.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Together {
    /// Each passes.
    Pass,
    /// Each fails.
    Fail,
    /// Ask each of them.
    Open,
}

fn one(demand: &Demand, shown: Option<i64>) -> Together {
    if rules_out(demand, judge(demand, shown)) {
        Together::Fail
    } else {
        Together::Pass
    }
}

fn all(demand: &Demand, spread: Spread) -> Together {
    let (least, most) = match spread {
        Spread::Unknown => return one(demand, None),
        Spread::Known { least, most } => (i64::from(least), i64::from(most)),
    };
    match &demand.test {
        _ if least == most => one(demand, Some(least)),
        // What passes a range lies side by side: if both ends pass, so does all between them.
        Test::Range { min, max } => match (one(demand, Some(least)), one(demand, Some(most))) {
            (Together::Pass, Together::Pass) => Together::Pass,
            _ if min.is_some_and(|min| most < min) || max.is_some_and(|max| max < least) => {
                Together::Fail
            }
            _ => Together::Open,
        },
        Test::OneOf(_) => Together::Open,
    }
}

/// Spans of heat that musts let through, as codes of the key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Heat {
    pub(crate) known: RangeInclusive<u64>,
    pub(crate) unknown: bool,
}

/// The musts of a requirement, by how the key answers them.
pub(crate) struct Plan<'a> {
    /// Threads and seats that pass, as codes.
    fronts: Vec<(u64, u64)>,
    resistor: Vec<&'a Demand>,
    /// Musts on attributes by family, with their places among them.
    by_family: Vec<(usize, &'a Demand)>,
    /// Musts that the key does not answer.
    open: Vec<&'a Demand>,
    /// Heat that passes.
    pub(crate) heat: Heat,
    /// Heat that passes or fails on the cold side.
    pub(crate) not_hotter: Heat,
}

/// A group that may hold what is looked for.
pub(crate) struct Candidate<'s> {
    pub(crate) group: &'s Group,
    /// Musts that each of its plugs fails: at most one.
    pub(crate) fails: usize,
}

impl<'a> Plan<'a> {
    /// The plan for a requirement.
    pub(crate) fn of(requirement: &'a Requirement) -> Self {
        let musts = |attr| requirement.musts().filter(move |d| d.attribute == attr);
        let codes = |attr: Attr, count: usize| -> Vec<u64> {
            let values = std::iter::once(None).chain((0..count as i64).map(Some));
            let pass = values.filter(|shown| musts(attr).all(|d| one(d, *shown) == Together::Pass));
            pass.map(key::choice_code).collect()
        };
        let threads = codes(Attr::Thread, plugwell_domain::thread::Thread::ALL.len());
        let seats = codes(Attr::Seat, plugwell_domain::words::Seat::ALL.len());
        let (heat, not_hotter) = heat(musts(Attr::Heat));
        let answered = |demand: &&Demand| match demand.attribute {
            Attr::Thread | Attr::Seat | Attr::Resistor => true,
            attr if BY_FAMILY.contains(&attr) => true,
            Attr::Heat => matches!(demand.test, Test::Range { .. }),
            _ => false,
        };
        Self {
            fronts: threads
                .iter()
                .flat_map(|t| seats.iter().map(|s| (*t, *s)))
                .collect(),
            resistor: musts(Attr::Resistor).collect(),
            by_family: (0..BY_FAMILY.len())
                .flat_map(|i| musts(BY_FAMILY[i]).map(move |d| (i, d)))
                .collect(),
            open: requirement.musts().filter(|d| !answered(d)).collect(),
            heat,
            not_hotter,
        }
    }

    /// The groups of a segment whose plugs pass thread and seat and fail at most so many musts each.
    pub(crate) fn candidates<'s>(
        &'s self,
        groups: &'s [Group],
        may_fail: usize,
    ) -> impl Iterator<Item = Candidate<'s>> {
        let front = |&(thread, seat): &(u64, u64)| {
            let start = groups.partition_point(|g| g.lead < Lead::first(thread, seat));
            let rest = &groups[start..];
            &rest[..rest.partition_point(|g| g.lead < Lead::behind(thread, seat))]
        };
        let candidate = move |group: &'s Group| {
            let shown = group.lead.resistor();
            let resistor = self.resistor.iter().map(|d| one(d, shown));
            let by_family = self
                .by_family
                .iter()
                .map(|(i, d)| all(d, group.spreads[*i]));
            let mut fails = 0;
            for together in resistor.chain(by_family) {
                fails += usize::from(together == Together::Fail);
                if fails > may_fail {
                    return None;
                }
            }
            Some(Candidate { group, fails })
        };
        self.fronts.iter().flat_map(front).filter_map(candidate)
    }

    /// The musts to be asked of each plug of a group that fails none as a whole.
    pub(crate) fn open<'p>(
        &'p self,
        group: &'p Group,
    ) -> impl Iterator<Item = &'a Demand> + use<'a, 'p> {
        let open = self
            .by_family
            .iter()
            .filter(|(i, d)| all(d, group.spreads[*i]) == Together::Open);
        open.map(|(_, d)| *d).chain(self.open.iter().copied())
    }
}

/// The heat that all of some musts let through, and the heat that none of them finds too hot.
fn heat<'d>(musts: impl Iterator<Item = &'d Demand>) -> (Heat, Heat) {
    let whole = Heat {
        known: HOTTEST_TO_COLDEST,
        unknown: true,
    };
    musts.fold((whole.clone(), whole), |(pass, not_hotter), demand| {
        let (hottest, coldest) = match &demand.test {
            Test::Range { min, max } => (*min, *max),
            Test::OneOf(values) => (values.iter().min().copied(), values.iter().max().copied()),
        };
        let unknown = one(demand, None) == Together::Pass;
        (
            pass.narrowed(hottest, coldest, unknown),
            not_hotter.narrowed(hottest, None, unknown),
        )
    })
}

impl Heat {
    fn narrowed(self, hottest: Option<i64>, coldest: Option<i64>, unknown: bool) -> Self {
        let (start, end) = self.known.into_inner();
        // A heat below 0 is no code: nothing is as hot as that.
        let end = match coldest {
            Some(raw) if raw < 0 => 0,
            Some(raw) => end.min(key::heat_code(raw)),
            None => end,
        };
        let start = hottest.map_or(start, |raw| start.max(key::heat_code(raw)));
        Self {
            known: start..=end,
            unknown: self.unknown && unknown,
        }
    }

    /// The part of the span at a distance from a target, hot side first.
    pub(crate) fn at_distance(
        &self,
        target: i64,
        distance: &RangeInclusive<i64>,
    ) -> [RangeInclusive<u64>; 2] {
        let (near, far) = (*distance.start(), *distance.end());
        let side = |hot: Option<i64>, cold: Option<i64>| {
            Self {
                known: self.known.clone(),
                unknown: false,
            }
            .narrowed(hot, cold, false)
            .known
        };
        let hottest = target.saturating_sub(far);
        let coldest = target.saturating_add(far);
        if near == 0 {
            [side(Some(hottest), Some(coldest)), empty()]
        } else {
            [
                side(Some(hottest), Some(target - near)),
                side(Some(target + near), Some(coldest)),
            ]
        }
    }
}

#[allow(clippy::reversed_empty_ranges)] // an empty span is what is meant
fn empty() -> RangeInclusive<u64> {
    1..=0
}
