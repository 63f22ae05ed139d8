//! Statements that break the rest: found, told apart from their victims, and explained.

use plugwell_domain::calibration::{Calibration, Statement};
use plugwell_domain::heat_scale::HeatScaleData;

use super::{as_cold, code, fitted, scale, steps};

/// An anchor and three scales of eight codes that stand alike.
fn alike() -> Vec<HeatScaleData> {
    let anchor = scale("Ferrowick", (0..8).map(|place| 200 + 100 * place));
    let others = ["Tarnholt", "Quellmar", "Osterbeck"].map(|maker| steps(maker, 8, true));
    std::iter::once(anchor).chain(others).collect()
}

/// Every code of every scale is as cold as the code of the same place in the one before it.
fn right() -> Vec<Statement> {
    let pairs = (1..4).flat_map(|scale| (0..8).map(move |place| (scale, place)));
    pairs
        .map(|(scale, place)| as_cold((scale, place), (scale - 1, place), 1.0))
        .collect()
}

fn found(calibration: &Calibration) -> Vec<usize> {
    let all = calibration.contradictions.iter();
    let mut found: Vec<usize> = all.map(|c| c.statement).collect();
    found.sort_unstable();
    found
}

#[test]
fn where_all_agree_nothing_is_named() {
    let calibration = fitted(&alike(), &right());
    assert!(calibration.all_found);
    assert!(found(&calibration).is_empty());
}

#[test]
fn planted_statements_are_found_and_no_others() {
    for planted in [
        vec![as_cold((1, 1), (0, 6), 1.0)],
        vec![as_cold((3, 7), (2, 3), 1.0), as_cold((1, 0), (0, 4), 1.0)],
        vec![
            as_cold((3, 2), (0, 7), 1.0),
            as_cold((2, 6), (0, 2), 1.0),
            as_cold((1, 0), (3, 5), 1.0),
        ],
    ] {
        let (mut statements, count) = (right(), planted.len());
        let first = statements.len();
        statements.extend(planted);
        let calibration = fitted(&alike(), &statements);
        assert!(calibration.all_found);
        let expected: Vec<usize> = (first..first + count).collect();
        assert_eq!(found(&calibration), expected);
    }
}

#[test]
fn a_contradiction_says_by_how_much_and_by_which_chain() {
    let mut statements = right();
    statements.push(as_cold((2, 1), (0, 6), 1.0));
    let scales = alike();
    let calibration = fitted(&scales, &statements);
    let broken = &calibration.contradictions[0];
    // By the rest it is 50 hotter: the chain leads from the colder, the anchor's, down to it.
    assert!((broken.misses_by + 50.0).abs() < 1e-6, "{broken:?}");
    let chain = &broken.chain;
    assert_eq!(chain.first().map(|s| s.from), Some(code(0, 6)));
    assert_eq!(chain.last().map(|s| s.to), Some(code(2, 1)));
    for pair in chain.windows(2) {
        assert_eq!(pair[0].to, pair[1].from, "a chain hangs together");
    }
    for step in chain {
        match step.statement {
            Some(i) => {
                let ends = (statements[i].a, statements[i].b);
                let way = (step.from, step.to);
                assert!(ends == way || (ends.1, ends.0) == way, "{step:?}");
                assert_ne!(i, broken.statement);
            }
            None => {
                assert_eq!(step.from.scale, step.to.scale);
                assert!(step.from.place > step.to.place, "down: {step:?}");
            }
        }
    }
    let sentence = broken.sentence(&scales, 0, &statements);
    assert!(
        sentence.starts_with(
            "Statement 24 says that Quellmar numbers 1 is as cold as Ferrowick numbers 6. By the rest it is 50.0 hotter: "
        ),
        "{sentence}"
    );
}

#[test]
fn a_heavy_statement_outweighs_several_light_ones() {
    // Two against one: what goes is what misses most from the fit that weighs them.
    let scales = [
        scale("Ferrowick", [200, 400, 600]),
        steps("Tarnholt", 1, true),
    ];
    let statements = [
        as_cold((1, 0), (0, 0), 10.0),
        as_cold((1, 0), (0, 2), 1.0),
        as_cold((1, 0), (0, 2), 1.0),
    ];
    assert_eq!(found(&fitted(&scales, &statements)), [1, 2]);
}
