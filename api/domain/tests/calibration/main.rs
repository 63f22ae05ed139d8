//! Calibration of heat scales: against another program, against brute force, against truth, and by
//! what has to hold whatever is stated.

mod answers;
mod contradictions;
mod exhaustive;
mod invariants;
mod isotonic;
mod recovery;
mod requests;

use plugwell_domain::calibration::{Calibration, Code, Statement, calibrate};
use plugwell_domain::decimal::Decimal;
use plugwell_domain::heat_scale::{HeatCode, HeatScaleData};

/// The tolerance of the policy that a shop begins with.
const TOLERANCE: f64 = 5.0;

/// A scale of an invented maker with these indices, in tenths.
fn scale(maker: &str, tenths: impl IntoIterator<Item = i64>) -> HeatScaleData {
    let codes = tenths.into_iter().enumerate();
    HeatScaleData {
        maker: maker.into(),
        name: "numbers".into(),
        codes: codes
            .map(|(place, tenths)| HeatCode {
                code: place.to_string(),
                heat_index: Decimal(tenths),
            })
            .collect(),
    }
}

/// A scale of some codes, one step apart.
fn steps(maker: &str, codes: i64, rises: bool) -> HeatScaleData {
    let at = move |place| if rises { place } else { codes - 1 - place };
    scale(maker, (0..codes).map(move |place| 200 + 100 * at(place)))
}

fn code(scale: usize, place: usize) -> Code {
    Code { scale, place }
}

/// "This code is as cold as that one": scale and place of each.
fn as_cold(a: (usize, usize), b: (usize, usize), weight: f64) -> Statement {
    Statement {
        a: code(a.0, a.1),
        b: code(b.0, b.1),
        weight,
    }
}

/// Fits by the first scale.
#[track_caller]
fn fitted(scales: &[HeatScaleData], statements: &[Statement]) -> Calibration {
    calibrate(scales, 0, statements, TOLERANCE).expect("a fit")
}

/// Fits by the first scale and looks for no contradictions.
#[track_caller]
fn fit_of(scales: &[HeatScaleData], statements: &[Statement]) -> Calibration {
    calibrate(scales, 0, statements, f64::INFINITY).expect("a fit")
}

/// The indices of a scale as they were fitted, not rounded.
fn indices(calibration: &Calibration, scale: usize) -> Vec<Option<f64>> {
    calibration.codes[scale].iter().map(|c| c.index).collect()
}
