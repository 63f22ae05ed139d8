//! A plug drawn to scale: its outline in millimetres, from its attributes alone.
//!
//! Points are (across, along): across is the distance from the plug's axis, to the right positive; along is
//! counted from the seat (the gasket's face, or the plane where the taper starts), into the chamber positive.
//! What nobody has established is drawn at the trade's usual figure, marked as open and listed. What no record
//! holds at all (the height of the hexagon, the diameter of the insulator and the like) is drawn as usual too:
//! those figures stand in `usual`.

mod above;
mod findings;
mod firing_end;
mod measures;
mod section;
mod shell;
mod usual;

use crate::attribute::Attr;
use crate::decimal::Length;
use crate::plug::PlugData;
use crate::words::closed_list;

pub use findings::{SectionCode, SectionFinding};
pub use measures::{Measures, Taken};
pub use section::{HeadMeasures, Section, section};

/// A place on the drawing: across and along, in mm.
pub type Point = (f64, f64);

closed_list! {
    /// What a shape of an outline is.
    Piece, "piece of a plug" {
        /// Nose of the insulator.
        Nose = "nose",
        /// Centre electrode.
        Centre = "centre",
        /// Ground strap.
        Strap = "strap",
        /// Threaded end of the shell.
        Thread = "thread",
        /// Gasket or taper.
        Seat = "seat",
        /// The shell between seat and insulator, but for the hexagon.
        Body = "body",
        /// Spanner faces.
        Hexagon = "hexagon",
        /// The insulator above the shell.
        Insulator = "insulator",
        /// Connection.
        Terminal = "terminal",
    }
}

/// A closed shape of the outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// What it is.
    pub piece: Piece,
    /// Its corners, in order.
    pub points: Vec<Point>,
    /// Whether every attribute that it is drawn from is established.
    pub known: bool,
}

/// A plug as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Shapes, the hindmost first.
    pub shapes: Vec<Shape>,
    /// Edges and thread lines that are seen on the shapes.
    pub edges: Vec<[Point; 2]>,
    /// What it was drawn from.
    pub measures: Measures,
    /// From where to where the spark jumps.
    pub gap: [Point; 2],
    /// What does not go together, in words.
    pub remarks: Vec<String>,
}

impl Outline {
    /// Draws a plug; `gap` stands for the gap that it comes with.
    pub fn of(plug: &PlugData, gap: Option<Length>) -> Self {
        let (measures, remarks) = Measures::of(plug, gap);
        let mut outline = Self {
            shapes: Vec::new(),
            edges: Vec::new(),
            gap: [(0.0, 0.0); 2],
            measures,
            remarks,
        };
        firing_end::draw(&mut outline);
        shell::draw(&mut outline);
        above::draw(&mut outline);
        outline
    }

    /// What nobody has established, with the figure or word that is drawn in its place.
    pub fn open(&self) -> impl Iterator<Item = &Taken> {
        self.measures.taken.iter().filter(|taken| !taken.known)
    }

    /// Every point of its shapes.
    fn points(&self) -> impl Iterator<Item = &Point> {
        self.shapes.iter().flat_map(|shape| &shape.points)
    }

    /// The farthest points along, upmost and lowest.
    pub fn ends(&self) -> [f64; 2] {
        let along = || self.points().map(|(_, along)| *along);
        [
            along().fold(f64::INFINITY, f64::min),
            along().fold(f64::NEG_INFINITY, f64::max),
        ]
    }

    /// The farthest point from the axis.
    pub fn half_width(&self) -> f64 {
        self.points().map(|(x, _)| x.abs()).fold(0.0, f64::max)
    }

    /// Adds a shape that is drawn from these attributes.
    fn add(&mut self, piece: Piece, points: Vec<Point>, from: &[Attr]) {
        let known = self.measures.known(from);
        self.shapes.push(Shape {
            piece,
            points,
            known,
        });
    }

    /// Adds an edge on both sides of the axis.
    fn edge_both(&mut self, x: f64, [from, to]: [f64; 2]) {
        for x in [-x, x] {
            self.edges.push([(x, from), (x, to)]);
        }
    }
}

/// A turned shape by its right side, from the top down: closed over the axis.
fn turned(right: &[Point]) -> Vec<Point> {
    let left = right.iter().rev().map(|(x, along)| (-x, *along));
    right.iter().copied().chain(left).collect()
}
