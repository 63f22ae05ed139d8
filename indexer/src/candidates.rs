//! Which runs of the sort key a requirement concerns.
//!
//! A must on an attribute of the key can be answered for a whole group, by the same [`judge`] that
//! answers it for a single plug; what is left open is asked of each document.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{judge, rules_out};
use plugwell_domain::requirement::{Demand, Requirement, Test};
use plugwell_domain::thread::Thread;
use plugwell_domain::words::Seat;

use crate::group::{Group, Spread, of_front};
use crate::heat::Heat;
use crate::key::{self, PLACES, Place};

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

/// Whether a must lets a value pass.
pub(crate) fn lets_pass(must: &Demand, shown: Option<i64>) -> bool {
    !rules_out(must, judge(must, shown))
}

/// A must on an attribute that stands in the key, looked at by its codes.
struct Keyed<'a> {
    /// Its place among [`PLACES`].
    place: usize,
    must: &'a Demand,
    by_code: [Together; Place::CODES],
}

impl<'a> Keyed<'a> {
    fn of(place: usize, must: &'a Demand) -> Self {
        let mut by_code = [Together::Fail; Place::CODES];
        let code = |raw: i64| PLACES[place].code(Some(raw));
        match &must.test {
            Test::Range { min, max } => {
                let (first, last) = (min.map_or(1, code), max.map_or(Place::CODES - 1, code));
                by_code
                    .iter_mut()
                    .take(last + 1)
                    .skip(first)
                    .for_each(|of_code| *of_code = Together::Open);
            }
            Test::OneOf(values) => values
                .iter()
                .for_each(|raw| by_code[code(*raw)] = Together::Open),
        }
        by_code[0] = if lets_pass(must, None) {
            Together::Pass
        } else {
            Together::Fail
        };
        Self {
            place,
            must,
            by_code,
        }
    }

    /// How the plugs of a group stand to it. Most groups are told by their code.
    #[inline]
    fn stands(&self, group: &Group) -> Together {
        match self.by_code[group.lead.code(PLACES[self.place])] {
            Together::Open => self.spread(group.spreads[self.place]),
            told => told,
        }
    }

    fn spread(&self, spread: Spread) -> Together {
        let Spread::Known { least, most } = spread else {
            return self.by_code[0];
        };
        let (least, most) = (i64::from(least), i64::from(most));
        let ends = [least, most].map(|raw| lets_pass(self.must, Some(raw)));
        match &self.must.test {
            // What passes a range lies side by side: if both ends pass, so does all between them.
            Test::Range { .. } if ends == [true, true] => Together::Pass,
            Test::Range { min, max }
                if min.is_some_and(|min| most < min) || max.is_some_and(|max| max < least) =>
            {
                Together::Fail
            }
            _ if least < most => Together::Open,
            _ if ends[0] => Together::Pass,
            _ => Together::Fail,
        }
    }
}

/// The musts of a requirement, by how the key answers them.
pub(crate) struct Plan<'a> {
    /// Threads and seats that pass, as codes.
    fronts: Vec<(u64, u64)>,
    keyed: Vec<Keyed<'a>>,
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
    /// Musts that each of its plugs fails.
    pub(crate) fails: usize,
}

impl<'a> Plan<'a> {
    /// The plan for a requirement.
    pub(crate) fn of(requirement: &'a Requirement) -> Self {
        let musts = |attr| requirement.musts().filter(move |d| d.attribute == attr);
        let codes = |attr: Attr, count: usize| -> Vec<u64> {
            let values = std::iter::once(None).chain((0..count as i64).map(Some));
            let passing = values.filter(|shown| musts(attr).all(|d| lets_pass(d, *shown)));
            passing.map(key::choice_code).collect()
        };
        let seats = codes(Attr::Seat, Seat::ALL.len());
        let with_seats = |thread: u64| seats.iter().map(move |seat| (thread, *seat));
        let keyed =
            |place: usize| musts(PLACES[place].attr).map(move |must| Keyed::of(place, must));
        let answered = |demand: &&Demand| match demand.attribute {
            Attr::Thread | Attr::Seat => true,
            Attr::Heat => matches!(demand.test, Test::Range { .. }),
            attr => PLACES.iter().any(|place| place.attr == attr),
        };
        let (heat, not_hotter) = Heat::of(musts(Attr::Heat));
        Self {
            fronts: codes(Attr::Thread, Thread::ALL.len())
                .into_iter()
                .flat_map(with_seats)
                .collect(),
            keyed: (0..PLACES.len()).flat_map(keyed).collect(),
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
        let front = |&(thread, seat): &(u64, u64)| of_front(groups, thread, seat);
        let candidate = move |group: &'s Group| {
            let mut fails = 0;
            for keyed in &self.keyed {
                fails += usize::from(keyed.stands(group) == Together::Fail);
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
        let keyed = self
            .keyed
            .iter()
            .filter(|keyed| keyed.stands(group) == Together::Open);
        keyed
            .map(|keyed| keyed.must)
            .chain(self.open.iter().copied())
    }
}
