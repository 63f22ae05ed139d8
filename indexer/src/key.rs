//! The compound key that the documents of a segment are sorted by: thread, seat, resistor, reach
//! family, hex family, projection step, heat, the first the most significant. It is never missing;
//! "unknown" is a value of each of its places.
//!
//! Thread, seat, resistor and heat stand in it exactly. Reach and hex stand in it by family, so
//! that parts which one head takes lie side by side: a family is everything nearer to its nominal
//! size than to any other. Projection stands in it by whole millimetres.

use plugwell_domain::attribute::Attr;
use plugwell_domain::plug::Shows;

/// Nominal reaches in use, in 0.1 µm (from memory).
const REACHES: [i64; 7] = [95_000, 112_000, 127_000, 175_000, 190_000, 250_000, 265_000];
/// Usual spanner sizes, in 0.1 µm (common practice, no source).
const HEXES: [i64; 5] = [140_000, 160_000, 180_000, 190_000, 208_000];

const HEAT_BITS: u32 = 12;
/// A step of the projection, in 0.1 µm.
const STEP: i64 = 10_000;

const STEP_BITS: u32 = 5;
const FAMILY_BITS: u32 = 4;
const RESISTOR_BITS: u32 = 2;
const SEAT_BITS: u32 = 2;
/// Of the lead, what stands behind the resistor.
const BEHIND_RESISTOR: u32 = 2 * FAMILY_BITS + STEP_BITS;

/// The greatest heat code.
pub(crate) const HOTTEST_TO_COLDEST: std::ops::RangeInclusive<u64> = 1..=(1 << HEAT_BITS) - 1;

/// All of the key but the heat: documents that share it form a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Lead(u64);

/// The key of a record.
pub(crate) fn of(plug: &impl Shows) -> u64 {
    let choice = |attr| choice_code(plug.shown(attr));
    let family = |attr, nominal: &[i64]| plug.shown(attr).map_or(0, |raw| family(raw, nominal));
    let mut key = choice(Attr::Thread);
    key = key << SEAT_BITS | choice(Attr::Seat);
    key = key << RESISTOR_BITS | choice(Attr::Resistor);
    key = key << FAMILY_BITS | family(Attr::Reach, &REACHES);
    key = key << FAMILY_BITS | family(Attr::Hex, &HEXES);
    key = key << STEP_BITS | plug.shown(Attr::Projection).map_or(0, step);
    key << HEAT_BITS | plug.shown(Attr::Heat).map_or(0, heat_code)
}

/// The code of a flag or a word of a list: 0 unknown, else its place and one.
pub(crate) fn choice_code(shown: Option<i64>) -> u64 {
    shown.map_or(0, |raw| raw as u64 + 1)
}

fn family(raw: i64, nominal: &[i64]) -> u64 {
    1 + nominal
        .windows(2)
        .filter(|pair| raw * 2 >= pair[0] + pair[1])
        .count() as u64
}

/// The code of a projection: its whole millimetres, the ends of the scale taking what lies beyond.
fn step(raw: i64) -> u64 {
    1 + (raw.div_euclid(STEP) + 5).clamp(0, (1 << STEP_BITS) - 2) as u64
}

/// The code of a heat, in tenths of the index; what lies outside the scale falls on its ends, so
/// that the end of a range may lie anywhere.
pub(crate) fn heat_code(raw: i64) -> u64 {
    let (hottest, coldest) = HOTTEST_TO_COLDEST.into_inner();
    raw.clamp(0, (coldest - hottest) as i64) as u64 + hottest
}

/// What a key says of one of its exact places.
fn choice_shown(code: u64) -> Option<i64> {
    code.checked_sub(1).map(|place| place as i64)
}

impl Lead {
    /// The lead of a key.
    pub(crate) fn of(key: u64) -> Self {
        Self(key >> HEAT_BITS)
    }

    /// The least lead of a thread and seat, by their codes.
    pub(crate) fn first(thread: u64, seat: u64) -> Self {
        Self((thread << SEAT_BITS | seat) << (RESISTOR_BITS + BEHIND_RESISTOR))
    }

    /// The least lead behind those of a thread and seat.
    pub(crate) fn behind(thread: u64, seat: u64) -> Self {
        Self((thread << SEAT_BITS | seat) + 1 << (RESISTOR_BITS + BEHIND_RESISTOR))
    }

    /// Whether a resistor is fitted, as far as known.
    pub(crate) fn resistor(self) -> Option<i64> {
        choice_shown(self.0 >> BEHIND_RESISTOR & ((1 << RESISTOR_BITS) - 1))
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
    fn a_lead_spans_every_heat_and_its_thread_and_seat_every_lead() {
        let known = plug(&[
            (Attr::Thread, 3),
            (Attr::Seat, Seat::Conical.position()),
            (Attr::Resistor, 0),
            (Attr::Heat, 2000),
        ]);
        let lead = Lead::of(of(&known));
        assert_eq!(of(&known) & *HOTTEST_TO_COLDEST.end(), 2001);
        assert!(Lead::first(4, 2) <= lead && lead < Lead::behind(4, 2));
        assert_eq!(lead.resistor(), Some(0));
        assert_eq!(Lead::of(of(&plug(&[]))), Lead::first(0, 0));
        assert_eq!(Lead::of(0).resistor(), None);
    }

    #[test]
    fn what_one_head_takes_is_of_one_family() {
        // 3/4 in = 19.05 mm, and 19.0 mm with the usual tolerance of 0.3 mm.
        for raw in [187_000, 190_000, 190_500, 193_000] {
            assert_eq!(family(raw, &REACHES), family(190_000, &REACHES), "{raw}");
        }
        assert_ne!(family(175_000, &REACHES), family(190_000, &REACHES));
        // 13/16 in = 20.6375 mm.
        assert_eq!(family(206_375, &HEXES), family(208_000, &HEXES));
        assert_eq!(family(50_000, &REACHES), 1);
        assert_eq!(family(600_000, &REACHES), 7);
    }

    #[test]
    fn projection_keeps_its_order() {
        // From -5 to 15 mm, the bounds of the attribute.
        let raws = [
            -50_000, -40_001, -40_000, -1, 0, 9_999, 10_000, 149_999, 150_000,
        ];
        let steps = raws.map(step);
        assert_eq!(steps, [1, 1, 2, 5, 6, 6, 7, 20, 21]);
        assert_eq!(step(i64::MAX), (1 << STEP_BITS) - 1);
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
