//! The chain of other statements and of scales' own order that a contradictory statement breaks.

use std::collections::{HashMap, VecDeque};

use super::problem::Problem;
use super::{Code, Statement};

/// One step of a chain: what it leads to is never colder than where it comes from, but for what a
/// statement itself misses by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// Where it comes from.
    pub from: Code,
    /// Where it leads to.
    pub to: Code,
    /// The statement that says so; `None` where the order of the scale does.
    pub statement: Option<usize>,
}

/// The shortest way down from a code to one that is hotter, through what some statements say and
/// through the order of scales; empty where there is none.
///
/// There is one wherever the fit of those statements puts the first code above the other. For
/// otherwise take all that can be reached from it: no statement leads out of that set, no code of
/// it has a hotter one of its scale outside, so its part of the anchor is hotter than the rest of
/// the anchor, and so is all of it.
pub(super) fn between(
    problem: &Problem<'_>,
    used: &[usize],
    colder: Code,
    other: Code,
) -> Vec<Step> {
    let mut beside: HashMap<Code, Vec<(Code, usize)>> = HashMap::new();
    for i in used {
        let Statement { a, b, .. } = problem.statements[*i];
        beside.entry(a).or_default().push((b, *i));
        beside.entry(b).or_default().push((a, *i));
    }
    let mut came: HashMap<Code, Step> = HashMap::new();
    let mut open = VecDeque::from([colder]);
    while let Some(from) = open.pop_front() {
        if from == other {
            break;
        }
        let stated = beside.get(&from).into_iter().flatten();
        let stated = stated.map(|(to, i)| (*to, Some(*i)));
        let along = hotter_neighbour(problem, from).map(|to| (to, None));
        for (to, statement) in stated.chain(along) {
            if to != colder && !came.contains_key(&to) {
                came.insert(
                    to,
                    Step {
                        from,
                        to,
                        statement,
                    },
                );
                open.push_back(to);
            }
        }
    }
    let mut chain: Vec<Step> = Vec::new();
    let mut code = other;
    while let Some(step) = came.get(&code) {
        code = step.from;
        match chain.last_mut() {
            // Neighbour after neighbour of one scale is one step.
            Some(next) if next.statement.is_none() && step.statement.is_none() => next.from = code,
            _ => chain.push(*step),
        }
    }
    chain.reverse();
    chain
}

fn hotter_neighbour(problem: &Problem<'_>, code: Code) -> Option<Code> {
    let scale = &problem.scales[code.scale];
    let place = match scale.rises() {
        true => code.place.checked_sub(1)?,
        false => code.place + 1,
    };
    (place < scale.codes.len()).then_some(Code { place, ..code })
}
