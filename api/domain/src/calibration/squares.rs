//! Weighted least squares under an order, put to an interior-point solver for convex problems.

use std::collections::BTreeMap;

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettingsBuilder, DefaultSolution, DefaultSolver, IPSolver, SolverStatus, SupportedConeT,
};

use super::Unsolved;

/// How near to its least the solver brings the sum.
const EXACT: f64 = 1e-10;
/// By how much, in index points, the order may be broken and still count as kept.
const NOISE: f64 = 1e-4;

/// What is asked of unknowns that lie in chains, along each of which they may not fall: the sum of
/// weight × difference² over pairs of unknowns, and over pulls towards values, is to be least.
pub(super) struct Squares {
    /// Neighbours in a chain: the first may not be above the second.
    neighbours: Vec<(usize, usize)>,
    /// The upper triangle of half the quadratic form, by row and column.
    quadratic: BTreeMap<(usize, usize), f64>,
    linear: Vec<f64>,
}

impl Squares {
    /// Unknowns in chains of these lengths, nothing asked of them yet.
    pub fn of_chains(lengths: impl Iterator<Item = usize>) -> Self {
        let mut neighbours = Vec::new();
        let mut count = 0;
        for length in lengths {
            neighbours.extend((count + 1..count + length).map(|i| (i - 1, i)));
            count += length;
        }
        Self {
            neighbours,
            quadratic: BTreeMap::new(),
            linear: vec![0.0; count],
        }
    }

    /// Two unknowns had better be alike.
    pub fn between(&mut self, i: usize, j: usize, weight: f64) {
        *self.quadratic.entry((i, i)).or_default() += weight;
        *self.quadratic.entry((j, j)).or_default() += weight;
        *self.quadratic.entry((i.min(j), i.max(j))).or_default() -= weight;
    }

    /// An unknown had better have a value.
    pub fn at(&mut self, i: usize, value: f64, weight: f64) {
        *self.quadratic.entry((i, i)).or_default() += weight;
        self.linear[i] -= weight * value;
    }

    /// Where the sum is least. Every unknown has to hang on a pull by some way.
    ///
    /// The solver settles first which neighbours tie: those that press on each other harder than
    /// they stand apart. With these tied for good and the others free it is a linear problem, of
    /// which the solution is exact but for the arithmetic.
    pub fn least(&self) -> Result<Vec<f64>, Unsolved> {
        if self.linear.is_empty() {
            return Ok(Vec::new());
        }
        let rough = self.solved(&self.neighbours, SupportedConeT::NonnegativeConeT)?;
        let pressed = rough
            .z
            .iter()
            .zip(&rough.s)
            .map(|(press, apart)| press > apart);
        let tied: Vec<(usize, usize)> = self
            .neighbours
            .iter()
            .zip(pressed)
            .filter_map(|(pair, tied)| tied.then_some(*pair))
            .collect();
        let exact = self.solved(&tied, SupportedConeT::ZeroConeT)?.x;
        let falls = |(i, j): &(usize, usize)| exact[*i] > exact[*j] + NOISE;
        // Where it was not clear who presses, the rough solution is the better one.
        Ok(if self.neighbours.iter().any(falls) {
            rough.x
        } else {
            exact
        })
    }

    /// The least sum where the first of each pair, less the second, is what the cone says.
    fn solved(
        &self,
        pairs: &[(usize, usize)],
        cone: fn(usize) -> SupportedConeT<f64>,
    ) -> Result<DefaultSolution<f64>, Unsolved> {
        let (n, m) = (self.linear.len(), pairs.len());
        // Weights count against each other only: the heaviest unknown weighs 1, so that pressing and
        // standing apart are of one size.
        let heaviest = self.quadratic.values().copied().fold(0.0, f64::max);
        let (rows, columns): (Vec<usize>, Vec<usize>) = self.quadratic.keys().copied().unzip();
        let values = self.quadratic.values().map(|v| v / heaviest).collect();
        let form = CscMatrix::new_from_triplets(n, n, rows, columns, values);
        // Lower less upper, and something of the cone, is nothing.
        let rows = (0..m).flat_map(|row| [row, row]).collect();
        let columns = pairs.iter().flat_map(|(i, j)| [*i, *j]).collect();
        let values = [1.0, -1.0].repeat(m);
        let order = CscMatrix::new_from_triplets(m, n, rows, columns, values);
        let settings = DefaultSettingsBuilder::default()
            .verbose(false)
            .tol_gap_abs(EXACT)
            .tol_gap_rel(EXACT)
            .tol_feas(EXACT)
            .build()
            .map_err(|_| Unsolved)?;
        let linear: Vec<f64> = self.linear.iter().map(|v| v / heaviest).collect();
        let bounds = vec![0.0; m];
        let mut solver = DefaultSolver::new(&form, &linear, &order, &bounds, &[cone(m)], settings)
            .map_err(|_| Unsolved)?;
        solver.solve();
        match solver.solution.status {
            SolverStatus::Solved | SolverStatus::AlmostSolved => Ok(solver.solution),
            _ => Err(Unsolved),
        }
    }
}
