//! Spans of heat, as codes of the key.

use std::ops::RangeInclusive;

use plugwell_domain::requirement::{Demand, Test};

use crate::candidates::lets_pass;
use crate::key::{self, HOTTEST_TO_COLDEST};

/// A span of known heat, and whether unknown heat belongs to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Heat {
    known: RangeInclusive<u64>,
    unknown: bool,
}

impl Heat {
    /// The heat that all of some musts let through, and the heat that none of them finds too hot.
    pub(crate) fn of<'d>(musts: impl Iterator<Item = &'d Demand>) -> (Self, Self) {
        let whole = Self {
            known: HOTTEST_TO_COLDEST,
            unknown: true,
        };
        musts.fold((whole.clone(), whole), |(passing, not_hotter), must| {
            let (hottest, coldest) = match &must.test {
                Test::Range { min, max } => (*min, *max),
                Test::OneOf(values) => (values.iter().min().copied(), values.iter().max().copied()),
            };
            let unknown = lets_pass(must, None);
            (
                passing.narrowed(hottest, coldest, unknown),
                not_hotter.narrowed(hottest, None, unknown),
            )
        })
    }

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

    /// All of it, as spans of codes: unknown is 0.
    pub(crate) fn spans(&self) -> impl Iterator<Item = RangeInclusive<u64>> + use<> {
        self.unknown()
            .into_iter()
            .chain(std::iter::once(self.known.clone()))
    }

    /// Unknown heat, where it belongs to it.
    pub(crate) fn unknown(&self) -> Option<RangeInclusive<u64>> {
        self.unknown.then_some(0..=0)
    }

    /// The known heat in it at a distance from a target, hot side first.
    pub(crate) fn at_distance(
        &self,
        target: i64,
        distance: &RangeInclusive<i64>,
    ) -> Vec<RangeInclusive<u64>> {
        let (near, far) = (*distance.start(), *distance.end());
        let side = |hottest: i64, coldest: i64| {
            self.clone()
                .narrowed(Some(hottest), Some(coldest), false)
                .known
        };
        let (hottest, coldest) = (target.saturating_sub(far), target.saturating_add(far));
        if near == 0 {
            vec![side(hottest, coldest)]
        } else {
            vec![side(hottest, target - near), side(target + near, coldest)]
        }
    }
}
