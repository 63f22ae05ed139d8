//! What a contradiction says, for people.

use super::{Code, Contradiction, Statement, Step};
use crate::heat_scale::HeatScaleData;

impl Contradiction {
    /// What the statement says, and by which chain the rest says otherwise.
    pub fn sentence(
        &self,
        scales: &[HeatScaleData],
        anchor: usize,
        statements: &[Statement],
    ) -> String {
        let Statement { a, b, .. } = statements[self.statement];
        let [first, second] = [a, b].map(|code| name(scales, code));
        let own = format!(
            "Statement {} says that {first} is as cold as {second}.",
            self.statement
        );
        let steps: Vec<String> = self
            .chain
            .iter()
            .map(|step| said(scales, anchor, step))
            .collect();
        let than = |miss: f64| if miss < 0.0 { "hotter" } else { "colder" };
        match self.pushes {
            Some((other, miss)) => format!(
                "{own} The rest bears that alone, but with it statement {other} misses: its first code comes out {:.1} {}: {}.",
                miss.abs(),
                than(miss),
                steps.join("; ")
            ),
            None => format!(
                "{own} By the rest it is {:.1} {}: {}.",
                self.misses_by.abs(),
                than(self.misses_by),
                steps.join("; ")
            ),
        }
    }
}

fn name(scales: &[HeatScaleData], code: Code) -> String {
    let scale = &scales[code.scale];
    format!(
        "{} {} {}",
        scale.maker, scale.name, scale.codes[code.place].code
    )
}

fn said(scales: &[HeatScaleData], anchor: usize, step: &Step) -> String {
    let [from, to] = [step.from, step.to].map(|code| name(scales, code));
    let index = |code: Code| scales[code.scale].codes[code.place].heat_index;
    match step.statement {
        Some(statement) => format!("{from} is as cold as {to} (statement {statement})"),
        None if step.from.scale == anchor => {
            format!(
                "{from} stands at {}, {to} at {}",
                index(step.from),
                index(step.to)
            )
        }
        None => format!("{from} is at least as cold as {to} in its maker's order"),
    }
}
