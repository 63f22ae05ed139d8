//! Statements that break the rest: a small set, found greedily.

use std::cmp::Reverse;

use super::chain::{self, Step};
use super::problem::{Fit, Problem};
use super::{Code, Statement, Unsolved};

/// Most contradictions that are searched for: who has more begins with these.
pub const CONTRADICTIONS_MAX: usize = 100;

/// A statement that breaks the rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Contradiction {
    /// Its place among the statements.
    pub statement: usize,
    /// How much colder its `a` is than its `b` by what the rest says; where the rest leaves a code
    /// some room, by the end that is nearest to the statement, or, where that is within the
    /// tolerance, by what comes out with both.
    pub misses_by: f64,
    /// Where the rest lets its codes be alike but with it another statement breaks: which one, and
    /// how much colder that one's `a` is than its `b` then.
    pub pushes: Option<(usize, f64)>,
    /// From the colder code of the statement that is missed down to the other by what the rest says;
    /// of one that pushes another over, the other's.
    pub chain: Vec<Step>,
}

/// Takes away what misses most until the rest agrees, then puts back what the rest can bear.
///
/// In each round a statement goes that misses by more than every other that speaks of one of its
/// two scales, the anchor not counted: it cannot be the victim of another. What misses alike goes
/// by the smaller weight, then the later place.
pub(super) fn search(
    problem: &Problem<'_>,
    mut fit: Fit,
    tolerance: f64,
) -> Result<(Vec<Contradiction>, bool), Unsolved> {
    let mut used = problem.all_linked();
    let mut taken: Vec<usize> = Vec::new();
    let mut all_found = true;
    loop {
        let mut worst = worst_of_each(problem, &fit, &used, tolerance);
        worst.truncate(CONTRADICTIONS_MAX - taken.len());
        if worst.is_empty() {
            break;
        }
        used.retain(|i| !worst.contains(i));
        taken.extend(worst);
        fit = problem.fit(&used)?;
        if taken.len() == CONTRADICTIONS_MAX {
            all_found = breaking(problem, &fit, &used, tolerance).next().is_none();
            break;
        }
    }
    if all_found {
        put_back(problem, &mut fit, &mut used, &mut taken, tolerance)?;
    }
    let mut found = Vec::with_capacity(taken.len());
    for i in &taken {
        found.push(told(problem, &fit, &used, *i, tolerance)?);
    }
    found.sort_by(|x, y| {
        let worst_first = y.misses_by.abs().total_cmp(&x.misses_by.abs());
        worst_first.then(x.statement.cmp(&y.statement))
    });
    Ok((found, all_found))
}

/// Statements in use that miss by more than the tolerance, with how much.
fn breaking<'a>(
    problem: &'a Problem<'_>,
    fit: &'a Fit,
    used: &'a [usize],
    tolerance: f64,
) -> impl Iterator<Item = (usize, f64)> + 'a {
    let missing = used
        .iter()
        .filter_map(|i| Some((*i, problem.miss(fit, *i)?.abs())));
    missing.filter(move |(_, miss)| *miss > tolerance)
}

fn worst_of_each(problem: &Problem<'_>, fit: &Fit, used: &[usize], tolerance: f64) -> Vec<usize> {
    let mut breaking: Vec<(usize, f64)> = breaking(problem, fit, used, tolerance).collect();
    breaking.sort_by(|(i, x), (j, y)| {
        let weight = |i: usize| problem.statements[i].weight;
        // What differs by less than the solver's noise misses alike.
        let miss = |miss: f64| (miss * 1e6).round();
        let by_weight = weight(*i).total_cmp(&weight(*j));
        let worst_first = miss(*y).total_cmp(&miss(*x)).then(by_weight);
        worst_first.then(Reverse(*i).cmp(&Reverse(*j)))
    });
    let mut spoken_of = vec![false; problem.scales.len()];
    let mut worst = Vec::new();
    for (i, _) in breaking {
        let Statement { a, b, .. } = problem.statements[i];
        let own = [a.scale, b.scale].map(|scale| (scale != problem.anchor).then_some(scale));
        if own.iter().flatten().all(|scale| !spoken_of[*scale]) {
            worst.push(i);
        }
        own.into_iter()
            .flatten()
            .for_each(|scale| spoken_of[scale] = true);
    }
    worst
}

/// Puts back, one by one and the mildest first, what was a victim of others; again while that
/// helps, since what is put back can make room for more.
fn put_back(
    problem: &Problem<'_>,
    fit: &mut Fit,
    used: &mut Vec<usize>,
    taken: &mut Vec<usize>,
    tolerance: f64,
) -> Result<(), Unsolved> {
    let against = |fit: &Fit, i: usize| difference(problem, fit, problem.statements[i]).abs();
    loop {
        let before = taken.len();
        let mut mild: Vec<usize> = taken.clone();
        mild.sort_by(|i, j| against(fit, *i).total_cmp(&against(fit, *j)).then(i.cmp(j)));
        for i in mild {
            if against(fit, i) > tolerance {
                continue;
            }
            let mut more = used.clone();
            more.push(i);
            let tried = problem.fit(&more)?;
            if breaking(problem, &tried, &more, tolerance).next().is_none() {
                taken.retain(|t| *t != i);
                (*fit, *used) = (tried, more);
            }
        }
        if taken.len() == before {
            return Ok(());
        }
    }
}

/// Between which ends a fit leaves a code.
fn room(problem: &Problem<'_>, fit: &Fit, code: Code) -> (f64, f64) {
    if let Some(index) = fit.index(code) {
        return (index, index);
    }
    let (before, after) = (fit.before(code), fit.after(code));
    let (hotter, colder) = match problem.scales[code.scale].rises() {
        true => (before, after),
        false => (after, before),
    };
    let end = |side: Option<(usize, f64)>, open| side.map_or(open, |(_, index)| index);
    (end(hotter, f64::NEG_INFINITY), end(colder, f64::INFINITY))
}

/// How much colder `a` of a statement is than `b` at least, by what a fit says; 0 where it lets
/// them be alike.
fn difference(problem: &Problem<'_>, fit: &Fit, statement: Statement) -> f64 {
    let (a, b) = (
        room(problem, fit, statement.a),
        room(problem, fit, statement.b),
    );
    if a.0 > b.1 {
        a.0 - b.1
    } else if a.1 < b.0 {
        a.1 - b.0
    } else {
        0.0
    }
}

fn told(
    problem: &Problem<'_>,
    fit: &Fit,
    used: &[usize],
    statement: usize,
    tolerance: f64,
) -> Result<Contradiction, Unsolved> {
    let misses_by = difference(problem, fit, problem.statements[statement]);
    if misses_by.abs() > tolerance {
        return Ok(Contradiction {
            statement,
            misses_by,
            pushes: None,
            chain: chain_of(problem, used, statement, misses_by),
        });
    }
    // What the rest leaves open may be shut by a chain of codes that hang on nothing else.
    let mut with: Vec<usize> = used.to_vec();
    with.push(statement);
    let tried = problem.fit(&with)?;
    let worst = breaking(problem, &tried, &with, tolerance);
    let worst = worst.max_by(|(_, x), (_, y)| x.total_cmp(y));
    let (missed, miss) = match worst {
        Some((i, _)) => (i, problem.miss(&tried, i).unwrap_or(misses_by)),
        None => (statement, misses_by),
    };
    with.retain(|i| *i != missed);
    let chain = chain_of(problem, &with, missed, miss);
    let itself = missed == statement;
    Ok(Contradiction {
        statement,
        misses_by: if itself { miss } else { misses_by },
        pushes: (!itself).then_some((missed, miss)),
        chain,
    })
}

/// The chain of some statements that one breaks, its `a` coming out so much colder than its `b`.
fn chain_of(problem: &Problem<'_>, used: &[usize], statement: usize, misses_by: f64) -> Vec<Step> {
    let Statement { a, b, .. } = problem.statements[statement];
    let (colder, other) = if misses_by < 0.0 { (b, a) } else { (a, b) };
    chain::between(problem, used, colder, other)
}
