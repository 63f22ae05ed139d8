//! Dimensions of a plug: lines beside it and figures in millimetres and inches.

use plugwell_domain::attribute::Attr;
use plugwell_domain::outline::{Outline, Point};

use crate::drawing::spread::spread;
use crate::drawing::svg::{Svg, line, words};
use crate::drawing::to_scale::{Paper, TOP};
use crate::shown::measured;

/// Height of a figure with its name.
const HIGH: f64 = 30.0;
/// How far one dimension line stands from the next.
const LANE: f64 = 9.0;

/// What is told beside a drawing.
#[derive(Debug, Clone)]
pub(super) struct Told {
    /// What it is.
    pub name: String,
    /// Its figure, or what it means.
    pub figure: String,
    /// The place on the drawing that it is told of.
    pub place: Place,
    /// Whether it rules the plug out.
    pub off: bool,
}

/// What is measured.
#[derive(Debug, Clone, Copy)]
pub(super) enum Place {
    /// From one place along to another, on a lane beside the drawing.
    Along([f64; 2], u8),
    /// At a point.
    At(Point),
}

/// The established lengths of a plug.
pub(super) fn dimensions(outline: &Outline) -> Vec<Told> {
    let measures = &outline.measures;
    let reach = measures.mm(Attr::Reach);
    let top = -measures.shell_mm;
    let hex_at = (measures.mm(Attr::Hex) / 3f64.sqrt(), top + 5.5);
    let [from, to] = outline.gap;
    let beside = (f64::midpoint(from.0, to.0), f64::midpoint(from.1, to.1));
    let along = |attr: Attr| measures.mm(attr);
    let placed = [
        (Attr::Overall, Place::Along([-along(Attr::Overall), 0.0], 2)),
        (
            Attr::Insulator,
            Place::Along([top - along(Attr::Insulator), top], 0),
        ),
        (Attr::Hex, Place::At(hex_at)),
        (Attr::Reach, Place::Along([0.0, reach], 0)),
        (
            Attr::Projection,
            Place::Along([reach, reach + along(Attr::Projection)], 0),
        ),
        (Attr::GapPreset, Place::At(beside)),
        (
            Attr::StrapExtent,
            Place::Along([reach, reach + along(Attr::StrapExtent)], 1),
        ),
    ];
    let known = placed.into_iter().filter_map(|(attr, place)| {
        let taken = measures.taken(attr).filter(|taken| taken.known)?;
        Some(Told {
            name: name(attr).to_owned(),
            figure: measured(attr.word(), &attr.to_json(taken.raw)),
            place,
            off: false,
        })
    });
    known.collect()
}

/// What a length is called beside its line.
pub(super) fn name(attr: Attr) -> &'static str {
    match attr {
        Attr::Hex => "Hexagon, across flats",
        Attr::GapPreset => "Gap",
        other => other.declared().label,
    }
}

/// Where the lines and the words of what is told begin.
#[derive(Debug, Clone, Copy)]
pub(super) struct Columns {
    /// The first lane.
    pub lanes: f64,
    /// The words.
    pub words: f64,
}

/// Writes what is told, each with its line; where the last ends.
pub(super) fn write(svg: &mut Svg, paper: &Paper, told: &[Told], columns: Columns) -> f64 {
    let mut told: Vec<(f64, &Told)> = told
        .iter()
        .map(|told| {
            let middle = match told.place {
                Place::Along([from, to], _) => f64::midpoint(from, to),
                Place::At((_, along)) => along,
            };
            (paper.along(middle), told)
        })
        .collect();
    told.sort_by(|a, b| a.0.total_cmp(&b.0));
    let wanted: Vec<f64> = told.iter().map(|(y, _)| *y).collect();
    let placed = spread(&wanted, HIGH, [TOP + 8.0, f64::INFINITY]);
    for ((y, told), at) in told.iter().zip(&placed) {
        let from = match told.place {
            Place::Along(ends, lane) => {
                let x = columns.lanes + f64::from(lane) * LANE;
                measure(svg, paper, (x, told.off), ends);
                (x, *y)
            }
            Place::At(point) => paper.at(point),
        };
        svg.put(line(from, (columns.words - 4.0, *at)).class("leader"));
        let class = if told.off { "strong" } else { "soft" };
        svg.say(words((columns.words, at - 2.0)).class(class), &told.name);
        svg.say(words((columns.words, at + 11.0)), &told.figure);
    }
    placed.last().map_or(TOP, |last| last + HIGH / 2.0)
}

/// A dimension line with its two ends.
fn measure(svg: &mut Svg, paper: &Paper, (x, off): (f64, bool), ends: [f64; 2]) {
    let class = if off { "off" } else { "leader" };
    let [from, to] = ends.map(|end| paper.along(end));
    let drawn = line((x, from), (x, to)).class(class);
    svg.put(
        drawn
            .with("data-from-mm", &short(ends[0]))
            .with("data-to-mm", &short(ends[1])),
    );
    for y in [from, to] {
        svg.put(line((x - 3.0, y), (x + 3.0, y)).class(class));
    }
}

fn short(mm: f64) -> String {
    format!("{}", (mm * 1e4).round() / 1e4 + 0.0)
}
