//! Fits makers' heat scales to the neutral index from statements "this code is as cold as that one".
//!
//! One scale, the anchor, stands. The codes of the others are the weighted least-squares solution
//! under the order of each scale, ties allowed: a convex problem, with one solution for every code
//! that a chain of statements links to the anchor. With two scales it is isotonic regression. A
//! fitted index never leaves the range of the anchor's own. What no chain links is left open, or,
//! between two fitted codes of its scale, interpolated by its place.

mod applied;
mod chain;
mod contradiction;
mod problem;
mod request;
mod sentence;
mod squares;

pub use applied::{Footing, applied, flattened};
pub use chain::Step;
pub use contradiction::{CONTRADICTIONS_MAX, Contradiction};
pub use request::{
    CalibrationRequest, HeatStatement, Named, STATEMENTS_MAX, ScaleCode, WEIGHT_MAX, WEIGHT_MIN,
};

use crate::decimal::{Decimal, HeatIndex};
use crate::heat_scale::HeatScaleData;
use problem::{Fit, Problem};

/// A code of a scale, by their places.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Code {
    /// Place of the scale among those given.
    pub scale: usize,
    /// Place of the code in the maker's order.
    pub place: usize,
}

/// "Code a is as cold as code b."
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Statement {
    /// One code.
    pub a: Code,
    /// The other.
    pub b: Code,
    /// How much it counts; above zero.
    pub weight: f64,
}

/// A code as it was fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedCode {
    /// Its index, not rounded; `None` where nothing tells.
    pub index: Option<f64>,
    /// Statements that bear on it: those that name it and are linked to the anchor.
    pub determined_by: usize,
    /// Whether no linked statement names it and its index only lies between its neighbours'.
    pub interpolated: bool,
}

impl FittedCode {
    /// Its index to the tenth that is kept, halves upwards; rounding keeps the order of a scale.
    pub fn rounded(&self) -> Option<HeatIndex> {
        let tenths = |index: f64| HeatIndex::exact((index * 10.0 + 0.5).floor() / 10.0).ok();
        self.index.and_then(tenths)
    }
}

/// What a calibration found.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// Codes of every scale, in the order of both.
    pub codes: Vec<Vec<FittedCode>>,
    /// A small set of statements without which the rest agrees within the tolerance, the worst
    /// first: found greedily, not claimed smallest.
    pub contradictions: Vec<Contradiction>,
    /// Whether those are all; the search ends at [`CONTRADICTIONS_MAX`].
    pub all_found: bool,
}

impl Calibration {
    /// A code as it was fitted.
    pub fn code(&self, code: Code) -> &FittedCode {
        &self.codes[code.scale][code.place]
    }

    /// How much colder `a` came out than `b`, from the rounded indices, so that whoever sees those
    /// can check it; `None` where the statement is not linked to the anchor and told nothing.
    pub fn residual(&self, statement: &Statement) -> Option<HeatIndex> {
        let index = |code| {
            let fitted = self.code(code);
            fitted.rounded().filter(|_| fitted.determined_by > 0)
        };
        let (a, b) = (index(statement.a)?, index(statement.b)?);
        Some(Decimal(a.0 - b.0))
    }
}

/// The solver gave up, which nothing within the bounds of a request is known to make it do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the scales could not be fitted to the last place")]
pub struct Unsolved;

/// Fits all scales but the anchor, `scales[anchor]`, with every statement.
///
/// `tolerance` is how far, in index points, a statement may miss before it is looked at as one
/// that breaks the rest. Statements name codes that there are; their order does not matter.
///
/// # Errors
/// [`Unsolved`].
pub fn calibrate(
    scales: &[HeatScaleData],
    anchor: usize,
    statements: &[Statement],
    tolerance: f64,
) -> Result<Calibration, Unsolved> {
    let problem = Problem {
        scales,
        anchor,
        statements,
    };
    let fit = problem.fit(&problem.all_linked())?;
    let codes = problem.codes(&fit);
    let (contradictions, all_found) = contradiction::search(&problem, fit, tolerance)?;
    Ok(Calibration {
        codes,
        contradictions,
        all_found,
    })
}

impl Problem<'_> {
    /// Every code: fixed, fitted, between its neighbours, or left open.
    fn codes(&self, fit: &Fit) -> Vec<Vec<FittedCode>> {
        let places = |scale: usize| 0..self.scales[scale].codes.len();
        let mut codes: Vec<Vec<FittedCode>> = (0..self.scales.len())
            .map(|scale| {
                places(scale)
                    .map(|place| self.filled(fit, Code { scale, place }))
                    .collect()
            })
            .collect();
        for i in self.all_linked() {
            for Code { scale, place } in [self.statements[i].a, self.statements[i].b] {
                codes[scale][place].determined_by += 1;
            }
        }
        codes
    }

    fn filled(&self, fit: &Fit, code: Code) -> FittedCode {
        let own = fit.index(code);
        let between = || {
            let (before, after) = (fit.before(code)?, fit.after(code)?);
            let share = (code.place - before.0) as f64 / (after.0 - before.0) as f64;
            Some(before.1 + (after.1 - before.1) * share)
        };
        let index = own.or_else(between);
        FittedCode {
            index,
            determined_by: 0,
            interpolated: own.is_none() && index.is_some(),
        }
    }
}
