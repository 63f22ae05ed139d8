//! The key below a picture: samples of what is drawn, and the lines that explain them.

use crate::drawing::lettering::folded;
use crate::drawing::svg::{Svg, circle, line, rect, words};

/// Height of a line.
const LINE: f64 = 16.0;
/// Room for a line with a sample before it, and without.
const ROOM: [f64; 2] = [290.0, 322.0];

/// A piece of what is explained.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sample {
    /// A line of a style.
    Line(&'static str),
    /// A ground of a style.
    Ground(&'static str),
    /// A mark of a style.
    Mark(&'static str),
    /// Something to beware of.
    Beware,
}

impl Sample {
    /// Draws it, its left end here.
    fn draw(self, svg: &mut Svg, (x, y): (f64, f64)) {
        match self {
            Self::Line(class) => svg.put(line((x, y), (x + 28.0, y)).class(class)),
            Self::Ground(class) => svg.put(rect((x, y - 6.0), 28.0, 11.0).class(class)),
            Self::Mark(class) => svg.put(circle((x + 14.0, y), 4.5).class(class)),
            Self::Beware => {
                svg.put(circle((x + 14.0, y), 7.0).class("ring"));
                svg.say(words((x + 14.0, y + 4.0)).class("strong middle"), "!");
            }
        }
    }
}

/// A row: a sample and the lines that explain it.
pub(super) type Row = (Option<Sample>, Vec<String>);

/// Rows as they are told, their words folded to the room that they have.
pub(super) fn rows(told: Vec<(Option<Sample>, String)>) -> Vec<Row> {
    let row = |(sample, text): (Option<Sample>, String)| {
        let room = ROOM[usize::from(sample.is_none())];
        (sample, folded(&text, 12.0, room))
    };
    told.into_iter().map(row).collect()
}

/// Writes the rows from a line on; where they end.
pub(super) fn written(svg: &mut Svg, from: f64, rows: &[Row]) -> f64 {
    let mut y = from;
    for (sample, lines) in rows {
        if let Some(sample) = sample {
            sample.draw(svg, (12.0, y - 4.0));
        }
        let left = if sample.is_some() { 48.0 } else { 12.0 };
        for line in lines {
            svg.say(words((left, y)), line);
            y += LINE;
        }
        y += 2.0;
    }
    y
}
