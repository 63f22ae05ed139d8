//! Scales of which the truth is known come back from noisy statements.

use plugwell_domain::calibration::Statement;
use plugwell_domain::heat_scale::HeatScaleData;
use proptest::prelude::*;

use super::{as_cold, fit_of, scale};

const CODES: usize = 12;
/// Statements of each code against the anchor.
const TOLD: usize = 24;
/// A statement names an anchor code whose index is off the truth by at most so much, evenly.
const NOISE: f64 = 8.0;

/// An anchor of 181 codes, a half point apart, so that a statement can miss by any amount.
fn anchor() -> HeatScaleData {
    scale("Ferrowick", (0..181).map(|place| 50 + 5 * place))
}

proptest! {
    /// The mean of n errors that are even within ±8 has a deviation of 8/√(3n): 0.94 for 24. Order
    /// only brings the fit nearer. Five deviations, 4.8 with a rounding of a quarter, hold for each
    /// of a dozen codes in all but one of some 150 000 runs; the typed-in scale is 30 off.
    #[test]
    fn the_truth_comes_back(
        steps in prop::collection::vec(0i64..=9, CODES),
        noise in prop::collection::vec(-NOISE..NOISE, CODES * TOLD),
    ) {
        let mut at = 150;
        let truth: Vec<f64> = steps
            .iter()
            .map(|step| {
                at += 5 * step;
                at as f64 / 10.0
            })
            .collect();
        let wrong = scale("Tarnholt", (0..CODES as i64).map(|place| 700 + 10 * place));
        let statements: Vec<Statement> = noise
            .iter()
            .enumerate()
            .map(|(i, noise)| {
                let code = i % CODES;
                let said = ((truth[code] + noise - 5.0) * 2.0).round().clamp(0.0, 180.0);
                as_cold((1, code), (0, said as usize), 1.0)
            })
            .collect();
        let found = fit_of(&[anchor(), wrong], &statements);
        for (code, truth) in found.codes[1].iter().zip(&truth) {
            let index = code.index.expect("an index");
            prop_assert!((index - truth).abs() < 4.95, "{} for {}", index, truth);
            prop_assert_eq!(code.determined_by, TOLD);
        }
    }
}
