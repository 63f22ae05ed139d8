//! The compound key that the documents of a segment are sorted by: thread, seat, resistor, reach
//! family, hex family, projection step, heat, the first the most significant. It is never missing;
//! "unknown" is a value of each of its places.
//!
//! Thread, seat, resistor and heat stand in it exactly. Reach and hex stand in it by family, so
//! that parts which one head takes lie side by side: a family is everything nearer to its nominal
//! size than to any other. Projection stands in it by whole millimetres.

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::Length;
use plugwell_domain::identification::{HEXES, REACHES};
use plugwell_domain::plug::Shows;

/// A step of the projection, in 0.1 µm, and the steps below nought that have a code.
const STEP: i64 = 10_000;
const STEPS_BELOW: i64 = 5;

const HEAT_BITS: u32 = 12;
/// The places of the key between seat and heat.
pub(crate) const PLACES: [Place; 4] = [
    Place {
        attr: Attr::Resistor,
        shift: 13,
        bits: 2,
    },
    Place {
        attr: Attr::Reach,
        shift: 9,
        bits: 4,
    },
    Place {
        attr: Attr::Hex,
        shift: 5,
        bits: 4,
    },
    Place {
        attr: Attr::Projection,
        shift: 0,
        bits: 5,
    },
];
const PLACES_BITS: u32 = 15;
const SEAT_BITS: u32 = 2;

/// The codes of known heats.
pub(crate) const HOTTEST_TO_COLDEST: std::ops::RangeInclusive<u64> = 1..=(1 << HEAT_BITS) - 1;

/// Where in the key an attribute stands.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    pub(crate) attr: Attr,
    shift: u32,
    bits: u32,
}

impl Place {
    /// More than any code of a place.
    pub(crate) const CODES: usize = 32;

    /// The code of a value: 0 unknown, else the greater the greater the value. A value beyond those
    /// that have a code falls on the last that has one.
    pub(crate) fn code(self, shown: Option<i64>) -> usize {
        let Some(raw) = shown else { return 0 };
        let above_unknown = match self.attr {
            Attr::Reach => family(raw, &REACHES),
            Attr::Hex => family(raw, &HEXES),
            Attr::Projection => raw.div_euclid(STEP).saturating_add(STEPS_BELOW),
            _ => raw,
        };
        1 + above_unknown.clamp(0, (1 << self.bits) - 2) as usize
    }
}

/// The family of a size, from 0.
fn family(raw: i64, nominal: &[Length]) -> i64 {
    let borders = nominal.windows(2).map(|pair| (pair[0].0 + pair[1].0) / 2);
    borders.filter(|border| raw >= *border).count() as i64
}

/// The key of a retired record, behind all others.
pub(crate) const RETIRED: u64 = u64::MAX;

/// The key of a record.
pub(crate) fn of(plug: &impl Shows) -> u64 {
    let front =
        choice_code(plug.shown(Attr::Thread)) << SEAT_BITS | choice_code(plug.shown(Attr::Seat));
    let code = |place: &Place| (place.code(plug.shown(place.attr)) as u64) << place.shift;
    let lead = PLACES
        .iter()
        .map(code)
        .fold(front << PLACES_BITS, |lead, code| lead | code);
    lead << HEAT_BITS | plug.shown(Attr::Heat).map_or(0, heat_code)
}

/// The code of a thread or a seat: 0 unknown, else its place in the list and one.
pub(crate) fn choice_code(shown: Option<i64>) -> u64 {
    shown.map_or(0, |raw| raw as u64 + 1)
}

/// The code of a heat, in tenths of the index; what lies outside the scale falls on its ends, so
/// that the end of a range may lie anywhere.
pub(crate) fn heat_code(raw: i64) -> u64 {
    let (hottest, coldest) = HOTTEST_TO_COLDEST.into_inner();
    raw.clamp(0, (coldest - hottest) as i64) as u64 + hottest
}

/// All of the key but the heat: documents that share it form a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Lead(u64);

impl Lead {
    /// The lead of a key.
    pub(crate) fn of(key: u64) -> Self {
        Self(key >> HEAT_BITS)
    }

    /// The least lead of a thread and seat, by their codes.
    pub(crate) fn first(thread: u64, seat: u64) -> Self {
        Self((thread << SEAT_BITS | seat) << PLACES_BITS)
    }

    /// The least lead behind those of a thread and seat.
    pub(crate) fn behind(thread: u64, seat: u64) -> Self {
        Self(((thread << SEAT_BITS | seat) + 1) << PLACES_BITS)
    }

    /// The code that stands in a place.
    #[inline]
    pub(crate) fn code(self, place: Place) -> usize {
        (self.0 >> place.shift & ((1 << place.bits) - 1)) as usize
    }
}

#[cfg(test)]
mod tests {
    use plugwell_domain::plug::PlugData;
    use plugwell_domain::words::Seat;

    use super::*;
    use crate::schema;

    fn plug(values: &[(Attr, i64)]) -> PlugData {
        let mut data = PlugData::named("Ferrowick", "FW-1");
        for (attr, raw) in values {
            data.facts.set(*attr, Some(*raw));
        }
        data
    }

    #[test]
    fn every_place_of_the_key_has_its_own_bits() {
        let mut next = 0;
        for place in PLACES.iter().rev() {
            assert_eq!(place.shift, next);
            assert!(1 << place.bits <= Place::CODES);
            next += place.bits;
        }
        assert_eq!(next, PLACES_BITS);
    }

    #[test]
    fn a_lead_tells_what_stands_in_it_and_belongs_to_its_thread_and_seat() {
        let known = plug(&[
            (Attr::Thread, 3),
            (Attr::Seat, Seat::Conical.position()),
            (Attr::Resistor, 0),
            (Attr::Reach, 190_500),
            (Attr::Projection, -1),
            (Attr::Heat, 2000),
        ]);
        let lead = Lead::of(of(&known));
        assert_eq!(of(&known) & *HOTTEST_TO_COLDEST.end(), 2001);
        assert!(Lead::first(4, 2) <= lead && lead < Lead::behind(4, 2));
        assert_eq!(PLACES.map(|place| lead.code(place)), [1, 5, 0, 5]);
        assert_eq!(Lead::of(of(&plug(&[]))), Lead::first(0, 0));
    }

    #[test]
    fn what_one_head_takes_is_of_one_family() {
        let [_, reach, hex, _] = PLACES;
        // 3/4 in = 19.05 mm, and 19.0 mm with the usual tolerance of 0.3 mm.
        for raw in [187_000, 190_000, 190_500, 193_000] {
            assert_eq!(reach.code(Some(raw)), reach.code(Some(190_000)), "{raw}");
        }
        assert_ne!(reach.code(Some(175_000)), reach.code(Some(190_000)));
        // 13/16 in = 20.6375 mm.
        assert_eq!(hex.code(Some(206_375)), hex.code(Some(208_000)));
        assert_eq!([50_000, 600_000].map(|raw| reach.code(Some(raw))), [1, 7]);
    }

    #[test]
    fn codes_rise_with_their_values_whatever_these_are() {
        let raws = [
            i64::MIN,
            -50_000,
            -40_001,
            -40_000,
            -1,
            0,
            1,
            9_999,
            10_000,
            149_999,
            150_000,
            i64::MAX,
        ];
        for place in PLACES {
            let codes = raws.map(|raw| place.code(Some(raw)));
            assert!(
                codes.is_sorted() && codes[0] > place.code(None),
                "{place:?} {codes:?}"
            );
            assert!(codes[11] < 1 << place.bits, "{place:?} {codes:?}");
        }
        // From -5 to 15 mm, the bounds of the attribute.
        assert_eq!(
            raws.map(|raw| PLACES[3].code(Some(raw)))[1..11],
            [1, 1, 2, 5, 6, 6, 6, 7, 20, 21]
        );
    }

    #[test]
    fn heat_keeps_its_order_and_its_ends_may_lie_outside() {
        assert_eq!(heat_code(-50), heat_code(0));
        assert!(heat_code(0) < heat_code(1));
        assert_eq!(heat_code(i64::MAX), *HOTTEST_TO_COLDEST.end());
        assert_ne!(heat_code(0), 0);
        // A search by heat reads the column of the attribute instead of the key.
        let heat = schema::schema().1.facts[Attr::Heat as usize].keeping;
        for raw in [0, 1, 694, 2000] {
            assert_eq!(heat.keep(Some(raw)), Some(heat_code(raw)));
        }
    }
}
