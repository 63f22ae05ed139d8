//! What has to hold whatever is stated.

use plugwell_domain::calibration::{Calibration, Statement};
use plugwell_domain::heat_scale::HeatScaleData;
use proptest::prelude::*;

use super::{TOLERANCE, as_cold, fit_of, fitted, scale, steps};

const CODES: usize = 6;

fn scales(rises: [bool; 3]) -> Vec<HeatScaleData> {
    let anchor = scale(
        "Ferrowick",
        (0..CODES as i64).map(|place| 250 + 130 * place),
    );
    let makers = ["Tarnholt", "Quellmar", "Osterbeck"].into_iter().zip(rises);
    let others = makers.map(|(maker, rises)| steps(maker, CODES as i64, rises));
    std::iter::once(anchor).chain(others).collect()
}

fn statements() -> impl Strategy<Value = Vec<Statement>> {
    let weight = prop::sample::select(vec![0.25, 1.0, 2.0]);
    let one = (0usize..4, 0..CODES, 1usize..4, 0..CODES, weight);
    let one = one.prop_map(|(a, i, by, j, weight)| as_cold((a, i), ((a + by) % 4, j), weight));
    prop::collection::vec(one, 1..25)
}

/// The indices of all scales, those that nothing tells of as not a number.
fn all(calibration: &Calibration) -> Vec<f64> {
    let codes = calibration.codes.iter().flatten();
    codes.map(|c| c.index.unwrap_or(f64::NAN)).collect()
}

fn same(a: &Calibration, b: &Calibration) -> bool {
    let pairs = all(a).into_iter().zip(all(b));
    let mut near = pairs.map(|(x, y)| (x - y).abs() < 1e-4 || (x.is_nan() && y.is_nan()));
    near.all(|near| near)
}

proptest! {
    /// Every scale keeps its maker's order, also rounded, and nothing leaves the anchor's range.
    #[test]
    fn order_and_range_are_kept(rises in any::<[bool; 3]>(), statements in statements()) {
        let scales = scales(rises);
        let found = fit_of(&scales, &statements);
        for (own, codes) in scales.iter().zip(&found.codes) {
            let known: Vec<_> = codes.iter().filter_map(|c| Some((c.index?, c.rounded()?))).collect();
            for pair in known.windows(2) {
                let (first, second) = if own.rises() { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
                prop_assert!(first.0 <= second.0 && first.1 <= second.1, "{:?}", pair);
            }
            for (index, _) in known {
                prop_assert!((25.0 - 1e-6..=90.0 + 1e-6).contains(&index), "{}", index);
            }
        }
    }

    /// Order of statements, which code comes first, and the unit of weight do not matter.
    #[test]
    fn what_does_not_matter_changes_nothing(rises in any::<[bool; 3]>(), statements in statements()) {
        let scales = scales(rises);
        let found = fit_of(&scales, &statements);
        let mut turned: Vec<Statement> = statements
            .iter()
            .map(|s| Statement { a: s.b, b: s.a, weight: s.weight })
            .collect();
        turned.reverse();
        prop_assert!(same(&found, &fit_of(&scales, &turned)));
        let heavy: Vec<Statement> = statements.iter().map(|s| Statement { weight: 40.0 * s.weight, ..*s }).collect();
        prop_assert!(same(&found, &fit_of(&scales, &heavy)));
    }

    /// Without the statements that are named the rest agrees within the tolerance.
    #[test]
    fn the_rest_agrees(rises in any::<[bool; 3]>(), statements in statements()) {
        let scales = scales(rises);
        let found = fitted(&scales, &statements);
        prop_assert!(found.all_found);
        let named: Vec<usize> = found.contradictions.iter().map(|c| c.statement).collect();
        let kept = statements.iter().enumerate().filter(|(i, _)| !named.contains(i));
        let rest: Vec<Statement> = kept.map(|(_, s)| *s).collect();
        let without = fitted(&scales, &rest);
        for statement in &rest {
            let index = |code| without.code(code).index.filter(|_| without.code(code).determined_by > 0);
            if let (Some(a), Some(b)) = (index(statement.a), index(statement.b)) {
                prop_assert!((a - b).abs() <= TOLERANCE + 1e-4, "{} {}", a, b);
            }
        }
    }

    /// Statements that are all true leave nothing over.
    #[test]
    fn what_is_true_has_no_residual(pairs in prop::collection::vec((0usize..4, 0usize..4, 0..CODES), 1..20)) {
        let scales: Vec<HeatScaleData> = (0..4)
            .map(|_| scale("Alike", (0..CODES as i64).map(|place| 250 + 130 * place)))
            .collect();
        let statements: Vec<Statement> = pairs
            .into_iter()
            .filter(|(a, b, _)| a != b)
            .map(|(a, b, place)| as_cold((a, place), (b, place), 1.0))
            .collect();
        let found = fitted(&scales, &statements);
        prop_assert!(found.contradictions.is_empty());
        for statement in &statements {
            prop_assert!(found.residual(statement).is_none_or(|r| r.0 == 0));
        }
    }

    /// Every statement that is named says what it breaks, by a chain that hangs together.
    #[test]
    fn every_contradiction_has_its_chain(rises in any::<[bool; 3]>(), statements in statements()) {
        let scales = scales(rises);
        let found = fitted(&scales, &statements);
        for broken in &found.contradictions {
            let missed = broken.pushes.map_or(broken.statement, |(other, _)| other);
            let miss = broken.pushes.map_or(broken.misses_by, |(_, miss)| miss);
            prop_assert!(miss.abs() > TOLERANCE - 1e-4, "{:?}", broken);
            let (Some(first), Some(last)) = (broken.chain.first(), broken.chain.last()) else {
                return Err(TestCaseError::fail(format!("no chain: {broken:?}")));
            };
            let ends = [first.from, last.to];
            let Statement { a, b, .. } = statements[missed];
            prop_assert!(ends == [a, b] || ends == [b, a], "{:?}", broken);
            for pair in broken.chain.windows(2) {
                prop_assert_eq!(pair[0].to, pair[1].from);
            }
        }
    }
}
