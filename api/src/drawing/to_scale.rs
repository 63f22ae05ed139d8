//! A plug on paper, to scale: where its millimetres stand, its shapes, and the ruler beside it.

use plugwell_domain::outline::{Outline, Piece, Point};

use crate::drawing::axis::Axis;
use crate::drawing::svg::{Svg, Tag, line, path, words};
use crate::shown::marked;

/// Where the ruler stands.
pub(super) const RULER: f64 = 34.0;
/// Where the first point of a drawing stands.
pub(super) const TOP: f64 = 62.0;
/// Height that a drawing has at most.
const HIGHEST: f64 = 400.0;

/// How a plug is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hand {
    /// Its shapes filled.
    Filled,
    /// As an outline over another.
    Over,
}

/// Paper on which a millimetre is `scale` units.
#[derive(Debug, Clone, Copy)]
pub(super) struct Paper {
    /// Where the plug's axis stands.
    pub centre: f64,
    /// Where the seat stands.
    pub seat: f64,
    /// Units to a millimetre.
    pub scale: f64,
    /// The first and the last place along that is shown, mm.
    pub ends: [f64; 2],
}

impl Paper {
    /// Paper from end to end, at the largest scale up to `most` at which `half` mm have `room` units.
    pub(super) fn new(ends: [f64; 2], centre: f64, (half, room): (f64, f64), most: f64) -> Self {
        let scale = (HIGHEST / (ends[1] - ends[0])).min(room / half).min(most);
        Self {
            centre,
            seat: TOP - ends[0] * scale,
            scale,
            ends,
        }
    }

    /// Where a point stands.
    pub(super) fn at(&self, (across, along): Point) -> (f64, f64) {
        (
            self.centre + across * self.scale,
            self.seat + along * self.scale,
        )
    }

    /// Where a place along stands.
    pub(super) fn along(&self, along: f64) -> f64 {
        self.at((0.0, along)).1
    }

    /// A closed shape.
    pub(super) fn shape(&self, points: &[Point]) -> Tag {
        let placed: Vec<_> = points.iter().map(|point| self.at(*point)).collect();
        path(&placed, true)
    }

    /// The plug.
    pub(super) fn plug(&self, svg: &mut Svg, outline: &Outline, hand: Hand) {
        for shape in &outline.shapes {
            let class = match (hand, shape.known) {
                (Hand::Filled, true) => filled(shape.piece),
                (Hand::Filled, false) => "shape open",
                (Hand::Over, true) => "other",
                (Hand::Over, false) => "other unsure",
            };
            let drawn = self.shape(&shape.points).class(class);
            svg.put(drawn.with("data-piece", shape.piece.word()));
        }
        if hand == Hand::Filled {
            for [from, to] in &outline.edges {
                svg.put(line(self.at(*from), self.at(*to)).class("edge"));
            }
        }
    }

    /// The ruler: millimetres from the seat, into the chamber positive, and the seat's own line.
    pub(super) fn ruler(&self, svg: &mut Svg, right: f64) {
        let [top, bottom] = self.ends.map(|end| self.along(end));
        let axis = Axis {
            values: self.ends,
            places: [top, bottom],
        };
        svg.put(line((RULER, top), (RULER, bottom)));
        for (mm, written) in axis.ticks(36.0) {
            let y = axis.at(mm);
            svg.put(line((RULER, y), (RULER - 4.0, y)));
            let mark = words((RULER - 7.0, y + 4.0)).class("end soft");
            svg.say(mark.with("data-mm", &written), &marked(&written));
        }
        let seat = line((RULER, self.seat), (right, self.seat));
        svg.put(
            seat.class("grid")
                .with("data-axis", &self.centre.to_string()),
        );
        svg.say(words((12.0, top - 8.0)).class("soft"), "mm from the seat");
    }
}

fn filled(piece: Piece) -> &'static str {
    match piece {
        Piece::Thread | Piece::Body | Piece::Hexagon => "shape steel",
        Piece::Nose | Piece::Insulator => "shape porcelain",
        Piece::Seat | Piece::Centre | Piece::Strap | Piece::Terminal => "shape bright",
    }
}
