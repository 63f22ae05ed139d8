//! What holds whatever is fitted and however it was treated.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::Decimal;
use plugwell_domain::fit::{fits, judge, rules_out};
use plugwell_domain::fitment::{Case, FindingCode, Opinion, Severity, Symptom, Treatment, look};
use plugwell_domain::plug::Shows;
use plugwell_domain::policy::Policy;
use plugwell_domain::requirement::{Requirement, Test, set_gap_of};
use proptest::prelude::*;
use serde_json::json;

use crate::engine;

/// Only what it shows.
#[derive(Debug, Clone, Default)]
struct Shown(BTreeMap<Attr, i64>);

impl Shows for Shown {
    fn shown(&self, attr: Attr) -> Option<i64> {
        self.0.get(&attr).copied()
    }
}

/// Values in and around what the builds below ask for, or nothing; mostly a fit.
fn shown() -> impl Strategy<Value = Shown> {
    let values: [(Attr, &[i64]); 13] = [
        (Attr::Thread, &[3, 3, 3, 3, 2]),
        (Attr::Seat, &[0, 0, 0, 0, 1]),
        (Attr::Reach, &[190_000, 187_000, 193_000, 193_001, 100_000]),
        (Attr::Hex, &[160_000, 140_000, 162_000, 208_000]),
        (Attr::Heat, &[700, 670, 750, 669, 751, 900, 500, 600]),
        (Attr::Projection, &[30_000, 20_000, 40_000, 19_999, 40_001]),
        (Attr::Resistor, &[1, 1, 1, 0]),
        (Attr::Terminal, &[1, 1, 0, 2]),
        (Attr::Electrode, &[0, 3, 5, 6]),
        (Attr::GapPreset, &[8_000, 11_000, 13_000]),
        (Attr::GapMin, &[4_000, 6_000, 8_100, 8_101]),
        (Attr::GapMax, &[15_000, 11_000, 8_100, 8_099]),
        (Attr::ServiceLife, &[30_000, 100_000]),
    ];
    let each: Vec<_> = values
        .into_iter()
        .map(|(attr, values)| {
            let value = prop_oneof![
                9 => proptest::sample::select(values.to_vec()).prop_map(Some),
                1 => Just(None)
            ];
            value.prop_map(move |raw| (attr, raw))
        })
        .collect();
    each.prop_map(|all| {
        let known = all.into_iter().filter_map(|(attr, raw)| Some((attr, raw?)));
        Shown(known.collect())
    })
}

/// Boosted, with the kit maker's gap, with a weak coil, without power, without boost, with little
/// known of the head.
static NEEDS: LazyLock<Vec<(Requirement, bool)>> = LazyLock::new(|| {
    let plain = json!({ "induction": "naturally_aspirated", "power_kw": null, "boost_kpa": null, "head": { "heat_index": 70 } });
    let bare = json!({ "projection_max_mm": null, "hex_max_mm": null, "terminal": "stud_m4" });
    let builds = [
        (json!({}), true),
        (json!({ "gap_mm": 1.2, "electrode": ["iridium"] }), true),
        (json!({ "coil_kv": 24 }), true),
        (json!({ "coil_kv": 14 }), true),
        (
            json!({ "power_kw": null, "head": { "heat_index": 60 } }),
            true,
        ),
        (plain, false),
        (json!({ "electronics": [], "head": bare }), true),
    ];
    builds
        .into_iter()
        .map(|(changes, boosted)| (engine::need(changes), boosted))
        .collect()
});

static POLICY: LazyLock<Policy> = LazyLock::new(Policy::default);

fn need() -> impl Strategy<Value = (Requirement, bool)> {
    proptest::sample::select(NEEDS.as_slice())
}

fn treatment() -> impl Strategy<Value = Treatment> {
    let gap = proptest::option::of((2_000..25_000i64).prop_map(Decimal));
    let distance = proptest::option::of(0.0..200_000.0);
    let dropped = proptest::option::of(0..3u32);
    let changes = proptest::option::of(0..6u32);
    let renewed = proptest::option::of(any::<bool>());
    (gap, distance, dropped, changes, renewed).prop_map(
        |(gap_mm, distance_km, dropped, lead_changes, leads_renewed)| Treatment {
            gap_mm,
            distance_km,
            dropped,
            lead_changes,
            leads_renewed,
        },
    )
}

/// The plug with a value that passes wherever a must rules it out.
fn mended(need: &Requirement, mut plug: Shown) -> Shown {
    for demand in need.musts() {
        if rules_out(demand, judge(demand, plug.shown(demand.attribute))) {
            let passing = match &demand.test {
                Test::OneOf(values) => values.first().copied(),
                Test::Range { min, max } => min.or(*max),
            };
            plug.0.extend(passing.map(|raw| (demand.attribute, raw)));
        }
    }
    plug
}

fn opinion(
    (need, boosted): &(Requirement, bool),
    plug: &Shown,
    treatment: &Treatment,
    complaints: &[Symptom],
) -> Opinion {
    let case = Case {
        requirement: need,
        policy: &POLICY,
        boosted: *boosted,
        plug,
        resistance: None,
        treatment,
    };
    look(case, complaints)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// A fit with the gap that a match says, fresh and undropped, needs nothing done to it.
    #[test]
    fn what_a_match_offers_is_never_faulted(need in need(), plug in shown()) {
        let plug = mended(&need.0, plug);
        prop_assert!(fits(&need.0, &plug));
        let fresh = Treatment {
            gap_mm: set_gap_of(&plug, &need.0).0,
            distance_km: Some(0.0),
            dropped: Some(0),
            lead_changes: Some(0),
            leads_renewed: None,
        };
        let found = opinion(&need, &plug, &fresh, Symptom::ALL);
        // A gap that the caller asked for and the coil does not fire is named all the same.
        let unfired = need.0.gap.physical_max_mm.is_some_and(|most| fresh.gap_mm.is_some_and(|gap| gap > most));
        let codes: Vec<FindingCode> = found.findings.iter().map(|f| f.code).collect();
        let expected = if unfired { vec![FindingCode::GapTooLarge] } else { vec![] };
        prop_assert_eq!(codes, expected, "{:?}", found);
    }

    /// A must has a finding of its attribute exactly where a match would rule the plug out by it;
    /// unknown values share one, which is never any other, and each is asked for.
    #[test]
    fn findings_and_verdicts_are_one(need in need(), plug in shown(), treatment in treatment()) {
        let found = opinion(&need, &plug, &treatment, &[]);
        let mut unknown = Vec::new();
        for demand in need.0.musts() {
            let shown = plug.shown(demand.attribute);
            let out = rules_out(demand, judge(demand, shown));
            if out && shown.is_none() {
                unknown.push(demand.attribute.word());
                continue;
            }
            let own: Vec<_> = found.findings.iter()
                .filter(|f| f.attribute == demand.attribute.word() && f.code != FindingCode::NotEstablished)
                .collect();
            prop_assert_eq!(own.len(), usize::from(out), "{:?}", demand);
            for finding in own {
                prop_assert_eq!(&finding.needed, &demand.test.to_json(demand.attribute));
            }
        }
        let open: Vec<_> = found.findings.iter().filter(|f| f.code == FindingCode::NotEstablished).collect();
        prop_assert_eq!(open.first().map(|f| f.attribute), unknown.first().copied());
        prop_assert_eq!(open.len(), unknown.len().min(1));
        for attribute in unknown {
            prop_assert!(found.not_judged.iter().any(|n| n.attribute == attribute), "{}", attribute);
        }
        let urgent = found.findings.iter().any(|f| f.severity == Severity::Stop);
        prop_assert!(!urgent || !fits(&need.0, &plug));
    }

    /// Every complaint is explained or said to be unexplained, never both, never twice.
    #[test]
    fn complaints_are_explained_or_said_not_to_be(
        need in need(), plug in shown(), treatment in treatment(),
        complaints in proptest::collection::vec(proptest::sample::select(Symptom::ALL), 0..6),
    ) {
        let found = opinion(&need, &plug, &treatment, &complaints);
        let explained = |symptom: &Symptom| found.findings.iter().any(|f| f.explains.contains(symptom));
        for symptom in Symptom::ALL {
            let times = found.unexplained.iter().filter(|s| *s == symptom).count();
            let said = complaints.contains(symptom) && !explained(symptom);
            prop_assert_eq!(times, usize::from(said), "{}", symptom);
        }
        for finding in &found.findings {
            let reported: Vec<_> = finding.explains.iter().filter(|s| complaints.contains(s)).copied().collect();
            prop_assert_eq!(&finding.reported, &reported);
        }
        prop_assert!(found.findings.is_sorted_by_key(|f| f.severity));
        prop_assert_eq!(found.look_next.len(), found.unexplained.len());
    }
}
