//! Two scales are isotonic regression: compared with scikit-learn's, computed beforehand, to a
//! millionth of a point; a tenth is kept.

use plugwell_domain::calibration::Statement;
use serde::Deserialize;

use super::{as_cold, fitted, scale, steps};

/// Made by `isotonic.py` beside it, which says with which versions.
const CASES: &str = include_str!("../../../../fixtures/checks/isotonic.json");

#[derive(Deserialize)]
struct Cases {
    source: String,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    codes: i64,
    rises: bool,
    statements: Vec<Reading>,
    fitted: std::collections::BTreeMap<usize, f64>,
}

#[derive(Deserialize)]
struct Reading {
    code: usize,
    anchor_index: f64,
    weight: f64,
}

#[test]
fn a_scale_against_the_anchor_is_isotonic_regression() {
    let cases: Cases = serde_json::from_str(CASES).expect("fixtures/checks/isotonic.json");
    assert!(
        cases.source.starts_with("scikit-learn 1.9.1"),
        "{}",
        cases.source
    );
    assert_eq!(cases.cases.len(), 6);
    for case in cases.cases {
        let tenths = |index: f64| (index * 10.0).round() as i64;
        let mut stops: Vec<i64> = case
            .statements
            .iter()
            .map(|s| tenths(s.anchor_index))
            .collect();
        stops.sort_unstable();
        stops.dedup();
        let place = |index: f64| stops.binary_search(&tenths(index)).expect("a stop");
        let statements: Vec<Statement> = case
            .statements
            .iter()
            .map(|s| as_cold((1, s.code), (0, place(s.anchor_index)), s.weight))
            .collect();
        let anchor = scale("Ferrowick", stops.iter().copied());
        let scales = [anchor, steps("Tarnholt", case.codes, case.rises)];
        let found = fitted(&scales, &statements);
        for (place, code) in found.codes[1].iter().enumerate() {
            match case.fitted.get(&place) {
                Some(theirs) => {
                    let ours = code.index.expect("an index");
                    assert!((ours - theirs).abs() < 1e-6, "{place}: {ours} {theirs}");
                    assert!(!code.interpolated);
                }
                None => assert_eq!(code.determined_by, 0, "{place}"),
            }
        }
    }
}
