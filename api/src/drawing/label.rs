//! Labels for packs and bins: Code 128 (ISO/IEC 15417) of the short code, and words beside it. A unit
//! of the drawing is a dot of the printer, so that every bar is a whole number of them.

use std::str::FromStr;

use askama::Template;
use barcoders::sym::code128::Code128;
use plugwell_domain::words::NotInList;

use super::lettering::{BOLD, cut, folded, width};
use super::svg::{Svg, Tag, rect, words};
use crate::service::labels::Label;

/// The one stylesheet of sheets of labels; it stands in them.
pub const STYLE: &str = include_str!("../../templates/label_sheet.css");

/// Modules without a bar on either side of the bars (ISO/IEC 15417).
const QUIET: usize = 10;
/// The widest module, in millimetres: wider ones are read no better. Own figure.
const WIDEST_MM: f64 = 0.5;
/// Bars are so high, as a share of the label's width, for a hand-held reader (common practice, no source).
const HIGH: f64 = 0.15;
/// What stays free around the words, in millimetres.
const MARGIN_MM: f64 = 1.5;
/// The smallest letters, in millimetres; what does not fit even so is cut.
const SMALLEST_MM: f64 = 1.5;
/// The largest letters of the lines below the name, in millimetres.
const LINE_MM: f64 = 2.6;
/// Millimetres to the inch.
const INCH: f64 = 25.4;
/// Where a letter stands on its line, as a share of its size: own figure.
const ASCENT: f64 = 0.8;
/// From line to line, as a share of the letters' size.
const LEADING: f64 = 1.18;

/// Declares a closed list of words of the query with what each stands for.
macro_rules! listed {
    ($(#[$meta:meta])* $name:ident, $what:literal { $($(#[$vmeta:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $name { $($(#[$vmeta])* $variant),+ }

        impl $name {
            /// Every member, in the order of the list.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// The words of the list, in the same order.
            pub const WORDS: &'static [&'static str] = &[$($word),+];

            /// The word that stands for it.
            pub fn word(self) -> &'static str {
                Self::WORDS[self as usize]
            }
        }

        impl FromStr for $name {
            type Err = NotInList;

            fn from_str(text: &str) -> Result<Self, NotInList> {
                let place = Self::WORDS.iter().position(|word| word.eq_ignore_ascii_case(text));
                place.map(|place| Self::ALL[place]).ok_or_else(|| NotInList {
                    what: $what,
                    found: text.to_owned(),
                    words: Self::WORDS,
                })
            }
        }
    };
}

listed! {
    /// Sizes of a label, width by height in millimetres.
    Size, "size of a label" {
        /// 62 by 29 mm.
        L62x29 = "62x29",
        /// 57 by 32 mm.
        L57x32 = "57x32",
        /// 50 by 25 mm.
        L50x25 = "50x25",
    }
}

listed! {
    /// What labels are printed on: a roll of one size, or sheets with labels of 62 by 29 mm.
    Medium, "size of labels or sheet" {
        /// A roll of 62 by 29 mm.
        L62x29 = "62x29",
        /// A roll of 57 by 32 mm.
        L57x32 = "57x32",
        /// A roll of 50 by 25 mm.
        L50x25 = "50x25",
        /// Sheets of 210 by 297 mm (ISO 216).
        A4 = "a4",
        /// Sheets of 8.5 by 11 in.
        Letter = "letter",
    }
}

listed! {
    /// Dots to the inch of the printer.
    Dpi, "resolution of a label printer" {
        /// 203.
        D203 = "203",
        /// 300.
        D300 = "300",
    }
}

impl Size {
    /// Width and height in millimetres.
    pub fn mm(self) -> (f64, f64) {
        match self {
            Self::L62x29 => (62.0, 29.0),
            Self::L57x32 => (57.0, 32.0),
            Self::L50x25 => (50.0, 25.0),
        }
    }
}

impl Dpi {
    /// Dots to the inch.
    pub fn dots(self) -> f64 {
        match self {
            Self::D203 => 203.0,
            Self::D300 => 300.0,
        }
    }
}

impl Medium {
    /// The labels on it, and how many of them one page has.
    fn labels(self) -> (Size, usize) {
        match self {
            Self::L62x29 => (Size::L62x29, 1),
            Self::L57x32 => (Size::L57x32, 1),
            Self::L50x25 => (Size::L50x25, 1),
            // Three beside each other, nine below.
            Self::A4 | Self::Letter => (Size::L62x29, 27),
        }
    }

    /// The resolution where nobody says: a page printer has 600, or 300, dots to the inch.
    pub fn usual_dpi(self) -> Dpi {
        match self {
            Self::A4 | Self::Letter => Dpi::D300,
            _ => Dpi::D203,
        }
    }
}

/// Lengths of a label in dots.
struct Paper {
    width: f64,
    height: f64,
    /// Dots to the millimetre.
    per_mm: f64,
}

impl Paper {
    fn of(size: Size, dpi: Dpi) -> Self {
        let (width, height) = size.mm();
        let per_mm = dpi.dots() / INCH;
        Self {
            width: width * per_mm,
            height: height * per_mm,
            per_mm,
        }
    }

    fn margin(&self) -> f64 {
        MARGIN_MM * self.per_mm
    }

    /// How wide words may run.
    fn room(&self) -> f64 {
        self.width - 2.0 * self.margin()
    }
}

/// Draws a label.
///
/// # Errors
/// A code that is no text of Code 128.
pub fn label(label: &Label, size: Size, dpi: Dpi) -> Result<String, String> {
    let paper = Paper::of(size, dpi);
    let mut svg = Svg::default();
    svg.put(rect((0.0, 0.0), paper.width, paper.height).with("fill", "#ffffff"));
    let top = bars(&mut svg, &label.code, &paper)?;
    written(&mut svg, label, &paper, top - paper.per_mm);
    let (width, height) = size.mm();
    let root = Tag::new("svg")
        .with("xmlns", "http://www.w3.org/2000/svg")
        .with(
            "viewBox",
            &format!("0 0 {:.4} {:.4}", paper.width, paper.height),
        )
        .with("width", &format!("{width}mm"))
        .with("height", &format!("{height}mm"))
        .with("role", "img")
        .with("font-family", "Liberation Sans, Arial, sans-serif")
        .with("fill", "#000000");
    let title = format!("Label {}: {}", label.code, label.name);
    Ok(svg.printed(root, &title, &label.lines.join("; ")))
}

/// Draws the bars with the code below them; gives back where they begin.
fn bars(svg: &mut Svg, code: &str, paper: &Paper) -> Result<f64, String> {
    // Set B from the first sign to the last: what a keyboard has, no functions.
    let plain = code.bytes().all(|sign| (b' '..=b'~').contains(&sign));
    let modules = match Code128::new(format!("\u{181}{code}")) {
        Ok(symbol) if plain => symbol.encode(),
        _ => return Err(format!("{code:?} is no code of a label")),
    };
    let widest = (WIDEST_MM * paper.per_mm).floor();
    let room = (paper.width / (modules.len() + 2 * QUIET) as f64).floor();
    if room < 1.0 {
        return Err(format!("{code:?} has no room on the label"));
    }
    let module = room.min(widest);
    let left = ((paper.width - module * modules.len() as f64) / 2.0).floor();
    let size = LINE_MM * paper.per_mm;
    let foot = paper.height - paper.per_mm;
    let bottom = (foot - size * LEADING).floor();
    let top = (bottom - HIGH * paper.width).floor();
    let mut at = 0;
    for run in modules.chunk_by(|a, b| a == b) {
        if run[0] == 1 {
            let corner = (left + module * at as f64, top);
            let bar = rect(corner, module * run.len() as f64, bottom - top);
            svg.put(bar.class("bar").with("shape-rendering", "crispEdges"));
        }
        at += run.len();
    }
    let below = words((paper.width / 2.0, bottom + size * (LEADING - 1.0 + ASCENT)))
        .number("font-size", size)
        .with("text-anchor", "middle")
        .class("code");
    svg.say(below, code);
    Ok(top)
}

/// Writes the name as large as it fits, and the lines below it.
fn written(svg: &mut Svg, label: &Label, paper: &Paper, bottom: f64) {
    let (top, room) = (paper.margin(), paper.room());
    let smallest = SMALLEST_MM * paper.per_mm;
    let count = label.lines.len() as f64;
    // A name alone has the label to itself; below it the lines take what they need.
    let line = (LINE_MM * paper.per_mm).min((bottom - top) * 0.19 / LEADING * 3.0 / count.max(3.0));
    let lines_from = bottom - count * line * LEADING;
    let (size, name) = largest(&label.name, room, lines_from - top, smallest);
    for (place, text) in name.iter().enumerate() {
        let y = top + size * (place as f64 * LEADING + ASCENT);
        let tag = words((paper.margin(), y)).number("font-size", size);
        svg.say(tag.with("font-weight", "700").class("name"), text);
    }
    for (place, text) in label.lines.iter().enumerate() {
        let fitting = line * (room / width(text, line)).min(1.0);
        let size = fitting.max(smallest.min(line));
        let y = lines_from + line * (place as f64 * LEADING + ASCENT);
        let tag = words((paper.margin(), y)).number("font-size", size);
        svg.say(tag.class("line"), &cut(text, size, room));
    }
}

/// The largest letters in which bold words have room, and their lines; in the smallest they are cut.
fn largest(words: &str, room: f64, height: f64, smallest: f64) -> (f64, Vec<String>) {
    let room = room / BOLD;
    let lines_in = |size: f64| ((height / size - 1.0) / LEADING).floor() as usize + 1;
    let mut size = height;
    while size > smallest {
        let lines = folded(words, size, room);
        let whole = lines
            .iter()
            .map(|line| line.matches('…').count())
            .sum::<usize>()
            == words.matches('…').count();
        if whole && lines.len() <= lines_in(size) {
            return (size, lines);
        }
        size *= 0.96;
    }
    let mut lines = folded(words, smallest, room);
    let most = lines_in(smallest).max(1);
    if lines.len() > most {
        let rest = lines.split_off(most - 1).join(" ");
        lines.push(cut(&format!("{rest} …"), smallest, room));
    }
    (smallest, lines)
}

#[derive(Template)]
#[template(path = "label_sheet.html")]
struct Sheet {
    style: &'static str,
    medium: &'static str,
    count: usize,
    pages: Vec<Vec<String>>,
}

/// A page for print with labels: each on a page of its own on a roll, side by side on sheets.
///
/// # Errors
/// A code that is no text of Code 128; a template that cannot be filled in.
pub fn sheet(labels: &[Label], medium: Medium, dpi: Dpi) -> Result<String, String> {
    let (size, per_page) = medium.labels();
    let drawn: Vec<String> = labels
        .iter()
        .map(|one| label(one, size, dpi))
        .collect::<Result<_, _>>()?;
    let sheet = Sheet {
        style: STYLE,
        medium: medium.word(),
        count: labels.len(),
        pages: drawn.chunks(per_page).map(<[String]>::to_vec).collect(),
    };
    sheet.render().map_err(|e| e.to_string())
}
