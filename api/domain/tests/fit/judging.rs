//! What a demand says of a value, and what that rules out.

use plugwell_domain::attribute::Attr;
use plugwell_domain::fit::{StockMode, Verdict, judge, rules_out};
use plugwell_domain::plug::Shows;
use plugwell_domain::requirement::{Demand, Strength, WhenUnknown};
use plugwell_domain::words::Provenance;
use serde_json::json;

use crate::{plug, requirement};

#[test]
fn a_value_meets_fails_or_is_unknown_and_the_ends_belong_to_the_range() {
    let requirement = requirement();
    let cases = [
        ("heat_index", json!(66.9), Verdict::Fails),
        ("heat_index", json!(67), Verdict::Meets),
        ("heat_index", json!(75), Verdict::Meets),
        ("heat_index", json!(75.1), Verdict::Fails),
        ("heat_index", json!(null), Verdict::Unknown),
        ("reach_mm", json!(18.6999), Verdict::Fails),
        ("reach_mm", json!(18.7), Verdict::Meets),
        ("reach_mm", json!(19.05), Verdict::Meets),
        ("reach_mm", json!(19.3001), Verdict::Fails),
        ("hex_mm", json!(8), Verdict::Meets),
        ("hex_mm", json!(16.2), Verdict::Meets),
        ("hex_mm", json!(16.2001), Verdict::Fails),
        ("resistor", json!(false), Verdict::Fails),
        ("resistor", json!(null), Verdict::Unknown),
        ("seat", json!("conical"), Verdict::Fails),
        ("gap_min_mm", json!(0.8101), Verdict::Fails),
        ("gap_max_mm", json!(0.81), Verdict::Meets),
    ];
    for (name, value, want) in cases {
        let attr: Attr = name.parse().expect("an attribute");
        let demand = requirement.demand(attr, Strength::Must).expect("a must");
        let shown = plug(json!({name: value})).shown(attr);
        assert_eq!(judge(demand, shown), want, "{name} {value}");
    }
}

#[test]
fn only_a_must_rules_out_and_the_unknown_only_where_it_fails() {
    use Verdict::{Fails, Meets, Unknown};
    let of = |strength, unknown| Demand {
        strength,
        unknown,
        ..requirement().demands[0].clone()
    };
    let cases = [
        (
            Strength::Must,
            Some(WhenUnknown::Fails),
            [(Meets, false), (Fails, true), (Unknown, true)],
        ),
        (
            Strength::Must,
            Some(WhenUnknown::Allowed),
            [(Meets, false), (Fails, true), (Unknown, false)],
        ),
        // A must that does not say takes the unknown for no fit.
        (
            Strength::Must,
            None,
            [(Meets, false), (Fails, true), (Unknown, true)],
        ),
        (
            Strength::Prefer,
            None,
            [(Meets, false), (Fails, false), (Unknown, false)],
        ),
    ];
    for (strength, unknown, verdicts) in cases {
        for (verdict, want) in verdicts {
            let demand = of(strength, unknown);
            assert_eq!(
                rules_out(&demand, verdict),
                want,
                "{strength} {unknown:?} {verdict}"
            );
        }
    }
}

#[test]
fn provenance_is_looked_at_one_attribute_at_a_time() {
    let mut record = plug(json!({}));
    record.provenance.insert(Attr::Reach, Provenance::Assumed);
    assert_eq!(record.shown(Attr::Reach), None);
    assert_eq!(record.shown(Attr::Hex), Some(160_000));
    assert_eq!(record.facts.get(Attr::Reach), Some(190_000));
}

#[test]
fn how_many_have_to_be_available() {
    let least = StockMode::ALL
        .iter()
        .map(|mode| (mode.word(), mode.least(9)));
    let want = [("enough", 9), ("some", 1), ("ignore", 0)];
    assert_eq!(least.collect::<Vec<_>>(), want);
}
