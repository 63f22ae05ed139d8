//! Small cases by brute force: every way of tying neighbours, each solved as it stands.

use plugwell_domain::calibration::Statement;
use plugwell_domain::heat_scale::HeatScaleData;
use proptest::prelude::*;

use super::{as_cold, fit_of, scale, steps};

/// Solves a small linear system by elimination; `None` where it has no single solution.
fn solved(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let n = rows.len();
    for column in 0..n {
        let best =
            (column..n).max_by(|i, j| rows[*i][column].abs().total_cmp(&rows[*j][column].abs()))?;
        rows.swap(column, best);
        if rows[column][column].abs() < 1e-9 {
            return None;
        }
        for row in 0..n {
            if row != column {
                let pivot = rows[column].clone();
                let factor = rows[row][column] / pivot[column];
                for (own, other) in rows[row].iter_mut().zip(&pivot) {
                    *own -= factor * other;
                }
            }
        }
    }
    Some((0..n).map(|i| rows[i][n] / rows[i][i]).collect())
}

/// The two free scales of a case, all of whose codes hang on the anchor.
#[derive(Debug)]
struct Case {
    scales: [HeatScaleData; 3],
    statements: Vec<Statement>,
}

const CODES: usize = 3;

impl Case {
    /// Number of a free code in the system; `None` for the anchor's.
    fn unknown(&self, code: plugwell_domain::calibration::Code) -> Option<usize> {
        (code.scale > 0).then(|| (code.scale - 1) * CODES + code.place)
    }

    fn fixed(&self, place: usize) -> f64 {
        self.scales[0].codes[place].heat_index.get()
    }

    /// Sum of weight × difference².
    fn sum(&self, x: &[f64]) -> f64 {
        let value = |code| {
            self.unknown(code)
                .map_or_else(|| self.fixed(code.place), |i| x[i])
        };
        let squares = self
            .statements
            .iter()
            .map(|s| s.weight * (value(s.a) - value(s.b)).powi(2));
        squares.sum()
    }

    /// Whether the unknowns keep the order of both scales.
    fn in_order(&self, x: &[f64]) -> bool {
        (0..2).all(|scale| {
            let own = &x[scale * CODES..(scale + 1) * CODES];
            let rises = self.scales[scale + 1].rises();
            own.windows(2).all(|w| {
                if rises {
                    w[0] <= w[1] + 1e-7
                } else {
                    w[0] >= w[1] - 1e-7
                }
            })
        })
    }

    /// The least with neighbours tied as the bits say.
    fn tied(&self, bits: usize) -> Option<Vec<f64>> {
        let mut group = [0; 2 * CODES];
        let mut count = 0;
        for scale in 0..2 {
            for place in 0..CODES {
                let tied = place > 0 && bits >> (scale * (CODES - 1) + place - 1) & 1 == 1;
                if !tied {
                    count += 1;
                }
                group[scale * CODES + place] = count - 1;
            }
        }
        let mut rows = vec![vec![0.0; count + 1]; count];
        for Statement { a, b, weight } in &self.statements {
            let [i, j] = [a, b].map(|code| self.unknown(*code).map(|i| group[i]));
            for (own, other, code) in [(i, j, b), (j, i, a)] {
                let Some(own) = own else { continue };
                rows[own][own] += weight;
                match other {
                    Some(other) => rows[own][other] -= weight,
                    None => rows[own][count] += weight * self.fixed(code.place),
                }
            }
        }
        let solution = solved(rows)?;
        Some(group.iter().map(|g| solution[*g]).collect())
    }

    /// The least of all ties that keep the order.
    fn least(&self) -> Vec<f64> {
        let all = (0..1usize << (2 * (CODES - 1))).filter_map(|bits| self.tied(bits));
        let ordered = all.filter(|x| self.in_order(x));
        ordered
            .min_by(|x, y| self.sum(x).total_cmp(&self.sum(y)))
            .expect("with all tied there is one")
    }
}

fn case() -> impl Strategy<Value = Case> {
    let statement = (
        1usize..3,
        0..CODES,
        0usize..2,
        0..CODES,
        prop::sample::select(vec![0.5, 1.0, 3.0]),
    );
    let more = prop::collection::vec(statement, 0..8);
    // Every free code is told of once against the anchor, so that everything is determined.
    let firm = prop::collection::vec(0..CODES, 2 * CODES);
    (any::<bool>(), any::<bool>(), firm, more).prop_map(|(first, second, firm, more)| {
        let mut statements: Vec<Statement> = firm
            .iter()
            .enumerate()
            .map(|(i, place)| as_cold((1 + i / CODES, i % CODES), (0, *place), 1.0))
            .collect();
        statements.extend(more.into_iter().map(|(scale, place, other, at, weight)| {
            let other = if other == scale { 0 } else { other };
            as_cold((scale, place), (other, at), weight)
        }));
        let scales = [
            scale("Ferrowick", [300, 550, 700]),
            steps("Tarnholt", CODES as i64, first),
            steps("Quellmar", CODES as i64, second),
        ];
        Case { scales, statements }
    })
}

proptest! {
    /// The fit is the least of every way of tying neighbours.
    #[test]
    fn the_fit_is_the_least_there_is(case in case()) {
        let found = fit_of(&case.scales, &case.statements);
        let least = case.least();
        for (i, truth) in least.iter().enumerate() {
            let own = found.codes[1 + i / CODES][i % CODES].index.expect("an index");
            prop_assert!((own - truth).abs() < 1e-4, "{i}: {own} {truth}");
        }
    }
}
