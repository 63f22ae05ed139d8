//! Whatever a plug shows: what a fit passes, and what a near miss fails.

use std::collections::BTreeMap;

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{fits, near_miss};
use plugwell_domain::plug::Shows;
use plugwell_domain::requirement::{Demand, WhenUnknown};
use proptest::prelude::*;

use crate::requirement;

/// Only what it shows.
#[derive(Debug, Clone, Default)]
struct Shown(BTreeMap<Attr, i64>);

impl Shows for Shown {
    fn shown(&self, attr: Attr) -> Option<i64> {
        self.0.get(&attr).copied()
    }
}

/// Values in and around what is demanded, or nothing.
fn shown() -> impl Strategy<Value = Shown> {
    let near = |attr: Attr, values: Vec<i64>| {
        (
            Just(attr),
            prop_oneof![5 => proptest::sample::select(values).prop_map(Some), 1 => Just(None)],
        )
    };
    let values = (
        near(Attr::Thread, vec![3, 3, 3, 2]),
        near(Attr::Seat, vec![0, 0, 0, 1]),
        near(Attr::Reach, vec![190_000, 187_000, 193_000, 193_001]),
        near(Attr::Hex, vec![160_000, 140_000, 208_000]),
        near(Attr::Heat, vec![700, 670, 750, 669, 751]),
        near(Attr::Projection, vec![30_000, 20_000, 40_000, 19_999]),
        near(Attr::Resistor, vec![1, 1, 0]),
        near(Attr::Terminal, vec![1, 1, 0, 2]),
        near(Attr::GapMin, vec![6_000, 8_100, 8_101]),
        near(Attr::GapMax, vec![11_000, 8_100, 8_099]),
    );
    values.prop_map(|(a, b, c, d, e, f, g, h, i, j)| {
        let all = [a, b, c, d, e, f, g, h, i, j];
        Shown(
            all.into_iter()
                .filter_map(|(attr, raw)| raw.map(|r| (attr, r)))
                .collect(),
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// A near miss is ruled out, and would fit if only the must that it names were left out.
    #[test]
    fn a_near_miss_fails_one_must_alone(plug in shown()) {
        let requirement = requirement();
        let Some(missed) = near_miss(&requirement, &plug) else { return Ok(()) };
        prop_assert!(!fits(&requirement, &plug));
        let gap = |attr| matches!(attr, Attr::GapMin | Attr::GapMax);
        let mut without = requirement.clone();
        without.demands.retain(|d| d.attribute != missed && !(gap(missed) && gap(d.attribute)));
        prop_assert!(fits(&without, &plug));
    }

    /// What fits shows a value for every must that an unknown one fails, and passes its test.
    #[test]
    fn a_fit_passes_every_must(plug in shown()) {
        let requirement = requirement();
        let passes = |d: &Demand| match plug.shown(d.attribute) {
            Some(raw) => d.test.passes(raw),
            None => d.unknown == Some(WhenUnknown::Allowed),
        };
        prop_assert_eq!(fits(&requirement, &plug), requirement.musts().all(passes));
    }
}
