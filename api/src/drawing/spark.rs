//! The spark picture: the voltage that a gap needs against what the coil gives.

use plugwell_domain::build::{Build, Engine};
use plugwell_domain::conversion::MM_PER_THOU;
use plugwell_domain::decimal::Length;
use plugwell_domain::requirement::{Curve, SparkCurves};

use crate::drawing::axis::Axis;
use crate::drawing::key::written;
use crate::drawing::lettering::{BOLD, cut, width};
use crate::drawing::spark_key::key;
use crate::drawing::spread::spread;
use crate::drawing::svg::{Frame, Svg, Tag, circle, line, path, rect, words};
use crate::shown::{gap, marked, two_figures};

/// Width of the picture: that of a small telephone.
const WIDTH: f64 = 360.0;
/// Where the plot lies.
const LEFT: f64 = 38.0;
const RIGHT: f64 = 300.0;
const TOP: f64 = 86.0;
const BOTTOM: f64 = 298.0;
/// Height of a line of the key.
const ROW: f64 = 16.0;
/// Points of a curve, the first at no gap.
const POINTS: u32 = 40;
/// The gap axis goes so far beyond the last gap that is marked.
const BEYOND: f64 = 1.25;
/// A physical limit beyond this gap, in mm, is told but not shown: no plug is set so far.
const FARTHEST: f64 = 1.6;
/// Where nothing is known to be marked, the axis shows gaps up to here, in mm.
const USUAL: f64 = 1.1;

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spark<'a> {
    /// The engine, for what is said beside the curves.
    pub engine: &'a Engine,
    /// The figures.
    pub curves: &'a SparkCurves,
}

/// Draws the curves of a build.
pub fn spark(build: &Build, known: &SparkCurves) -> String {
    let spark = Spark {
        engine: &build.engine,
        curves: known,
    };
    let plot = Plot::of(known);
    let mut svg = Svg::default();
    let name = build.name.as_deref().unwrap_or("Spark picture");
    let head = words((LEFT - 26.0, 20.0)).class("head");
    svg.say(head, &cut(name, 14.0 * BOLD, WIDTH - 24.0));
    let said = words((LEFT - 26.0, 37.0)).class("soft");
    svg.say(said, "Voltage at the spark against the gap, an estimate");
    hatching(&mut svg);
    plot.ground(&mut svg, known);
    svg.within(Tag::new("g").with("clip-path", "url(#plot)"), |svg| {
        plot.curves(svg, &known.curves);
    });
    plot.coil(&mut svg, known);
    plot.marks(&mut svg, known);
    plot.ends(&mut svg, &known.curves);
    let bottom = written(&mut svg, BOTTOM + 56.0, &key(&spark));
    let title = format!("Spark picture: {name}");
    svg.picture(&Frame {
        width: WIDTH,
        height: bottom,
        zoom: 1.5,
        title: &title,
        description: &described(known),
    })
}

/// The picture in words.
fn described(known: &SparkCurves) -> String {
    let coil = format!(
        "The coil gives {} kV, of which {} kV are usable with the reserve kept.",
        two_figures(known.coil.kv),
        two_figures(known.coil.available_kv)
    );
    let need = match (known.curves.first(), known.gap.set_mm) {
        (Some(curve), Some(set)) => {
            let need = curve.need(set.get());
            format!(
                "The set gap of {} needs about {} kV.",
                gap(set),
                two_figures(need.needed_kv)
            )
        }
        (Some(_), None) => "No one gap is set.".to_owned(),
        (None, _) => "What a gap needs is not known.".to_owned(),
    };
    let beware = known.cautions.first().map_or(String::new(), |caution| {
        marked(format!(" {}", caution.text))
    });
    format!("Needed voltage rises with the gap and with boost. {need} {coil}{beware}")
}

/// The lines of the practice band's ground, and the edge that curves are cut at.
fn hatching(svg: &mut Svg) {
    svg.within(Tag::new("defs"), |svg| {
        let pattern = Tag::new("pattern")
            .with("id", "hatch")
            .with("patternUnits", "userSpaceOnUse")
            .with("patternTransform", "rotate(45)")
            .number("width", 6.0)
            .number("height", 6.0);
        svg.within(pattern, |svg| {
            svg.put(line((0.0, 0.0), (0.0, 6.0)).class("hatch"));
        });
        svg.within(Tag::new("clipPath").with("id", "plot"), |svg| {
            svg.put(rect((LEFT, TOP), RIGHT - LEFT, BOTTOM - TOP));
        });
    });
}

/// Where things stand.
struct Plot {
    mm: Axis,
    kv: Axis,
}

impl Plot {
    fn of(known: &SparkCurves) -> Self {
        let need = &known.gap;
        let limit = need.physical_max_mm.map(Length::get);
        let shown = [
            need.practice_max_mm.map(Length::get),
            need.set_mm.map(Length::get),
            limit.map(|mm| mm.min(FARTHEST)),
        ];
        let last = shown.into_iter().flatten().fold(0.0, f64::max);
        let last = if last > 0.0 { last } else { USUAL };
        let to = (last * BEYOND * 10.0).ceil() / 10.0;
        let ends = known.curves.iter().map(|curve| curve.need(to).needed_kv);
        let most = ends.fold(known.coil.kv, f64::max) * 1.08;
        Self {
            mm: Axis {
                values: [0.0, to],
                places: [LEFT, RIGHT],
            },
            kv: Axis {
                values: [0.0, most],
                places: [BOTTOM, TOP],
            },
        }
    }

    fn at(&self, mm: f64, kv: f64) -> (f64, f64) {
        (self.mm.at(mm), self.kv.at(kv))
    }

    /// The practice band, the axes and their lines.
    fn ground(&self, svg: &mut Svg, known: &SparkCurves) {
        if let Some((min, max)) = known.gap.practice_min_mm.zip(known.gap.practice_max_mm) {
            let (from, to) = (self.mm.at(min.get()), self.mm.at(max.get()));
            let band = rect((from, TOP), to - from, BOTTOM - TOP).class("hatched practice");
            svg.put(
                band.with("data-min-mm", &min.to_string())
                    .with("data-max-mm", &max.to_string()),
            );
            for end in [from, to] {
                svg.put(line((end, TOP), (end, BOTTOM)).class("hatch"));
            }
        }
        for (kv, written) in self.kv.ticks(30.0) {
            let y = self.kv.at(kv);
            svg.put(line((LEFT, y), (RIGHT, y)).class("grid"));
            svg.say(
                words((LEFT - 6.0, y + 4.0))
                    .class("end")
                    .with("data-kv", &written),
                &marked(&written),
            );
        }
        for (mm, written) in self.mm.ticks(34.0) {
            let x = self.mm.at(mm);
            svg.put(line((x, BOTTOM), (x, BOTTOM + 4.0)));
            svg.say(
                words((x, BOTTOM + 17.0))
                    .class("middle")
                    .with("data-mm", &written),
                &marked(&written),
            );
        }
        let thou = Axis {
            values: self.mm.values.map(|mm| mm / MM_PER_THOU),
            places: self.mm.places,
        };
        for (value, written) in thou.ticks(34.0) {
            let x = thou.at(value);
            svg.put(line((x, TOP), (x, TOP - 4.0)));
            svg.say(
                words((x, TOP - 8.0))
                    .class("middle")
                    .with("data-thou", &written),
                &marked(&written),
            );
        }
        svg.put(rect((LEFT, TOP), RIGHT - LEFT, BOTTOM - TOP).class("frame"));
        svg.say(words((12.0, TOP - 8.0)).class("soft"), "kV");
        let middle = f64::midpoint(LEFT, RIGHT);
        let above = words((middle, TOP - 24.0)).class("soft middle");
        svg.say(above, "gap, thousandths of an inch");
        let below = words((middle, BOTTOM + 33.0)).class("soft middle");
        svg.say(below, "gap, mm");
    }

    fn curves(&self, svg: &mut Svg, curves: &[Curve]) {
        if curves.is_empty() {
            let middle = (f64::midpoint(LEFT, RIGHT), f64::midpoint(TOP, BOTTOM) + ROW);
            svg.say(
                words(middle).class("halo middle"),
                "What a gap needs is not known.",
            );
        }
        // Closer where the curve bends: near no gap.
        let gaps: Vec<f64> = (0..=POINTS)
            .map(|n| self.mm.values[1] * (f64::from(n) / f64::from(POINTS)).powi(2))
            .collect();
        if let Some(given) = curves.first() {
            let end = |gap: &f64, place: usize| self.at(*gap, given.need(*gap).band_kv[place]);
            let least = gaps.iter().map(|gap| end(gap, 0));
            let most = gaps.iter().rev().map(|gap| end(gap, 1));
            let around: Vec<_> = least.chain(most).collect();
            svg.put(path(&around, true).class("band"));
        }
        for curve in curves {
            let points: Vec<_> = gaps
                .iter()
                .map(|gap| self.at(*gap, curve.need(*gap).needed_kv))
                .collect();
            let drawn = path(&points, false).class(style(curve));
            svg.put(drawn.with("data-boost-kpa", &curve.boost_kpa.to_string()));
        }
    }

    /// The coil's voltages, labelled where curves are low.
    fn coil(&self, svg: &mut Svg, known: &SparkCurves) {
        let coil = &known.coil;
        let (whole, usable) = (self.kv.at(coil.kv), self.kv.at(coil.available_kv));
        let close = usable - whole < ROW;
        for (class, y, kv, label, below) in [
            ("coil", whole, coil.kv, "coil", false),
            ("usable", usable, coil.available_kv, "usable", close),
        ] {
            let across = line((LEFT, y), (RIGHT, y)).class(class);
            svg.put(across.with("data-kv", &kv.to_string()));
            let y = if below { y + 13.0 } else { y - 4.0 };
            let label = format!("{label} {} kV", two_figures(kv));
            svg.say(words((LEFT + 5.0, y)).class("halo"), &label);
        }
    }

    /// The gap to set and the largest that the coil fires.
    fn marks(&self, svg: &mut Svg, known: &SparkCurves) {
        let given = known.curves.first();
        let shown = |mm: &f64| *mm <= self.mm.values[1];
        let (set, limit) = (
            known.gap.set_mm.map(Length::get),
            known.gap.physical_max_mm.map(Length::get).filter(shown),
        );
        let same = set == limit;
        let limit = limit.filter(|_| !same);
        if let Some(limit) = limit {
            let top = self.at(limit, known.coil.available_kv);
            svg.put(line((top.0, BOTTOM), top).class("limit"));
            svg.put(circle(top, 4.0).class("ring limit-at"));
            // A coil as weak as that leaves no room; the key tells it.
            if BOTTOM - top.1 > 3.0 * ROW {
                let label = marked(format!("limit {limit}"));
                beside(svg, top.0, BOTTOM - 22.0, &label, RIGHT);
            }
        }
        if let Some(set) = set {
            let kv = given.map_or(self.kv.values[1], |curve| curve.need(set).needed_kv);
            let top = self.at(set, kv);
            svg.put(line((top.0, BOTTOM), top).class("set"));
            if given.is_some() {
                svg.put(circle(top, 4.5).class("dot set-at"));
            }
            let label = if same { "set = limit" } else { "set" };
            let next = limit.map(|limit| self.mm.at(limit));
            let end = next.filter(|x| *x > top.0).unwrap_or(RIGHT);
            let label = marked(format!("{label} {set}"));
            beside(svg, top.0, BOTTOM - 7.0, &label, end);
        }
    }

    /// What each curve is, where it ends.
    fn ends(&self, svg: &mut Svg, curves: &[Curve]) {
        let mut ends: Vec<(f64, String)> = curves
            .iter()
            .map(|curve| {
                (
                    self.kv.at(curve.need(self.mm.values[1]).needed_kv),
                    boost_label(curve),
                )
            })
            .collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        let wanted: Vec<f64> = ends.iter().map(|(y, _)| *y).collect();
        let placed = spread(&wanted, 14.0, [TOP + 8.0, BOTTOM]);
        for (y, (_, label)) in placed.into_iter().zip(&ends) {
            svg.say(words((RIGHT + 5.0, y + 4.0)), label);
        }
    }
}

/// A label right of a line, or left of it where something else begins too soon.
fn beside(svg: &mut Svg, x: f64, y: f64, label: &str, end: f64) {
    if x + 8.0 + width(label, 12.0) < end {
        svg.say(words((x + 6.0, y)).class("halo"), label);
    } else {
        svg.say(words((x - 6.0, y)).class("halo end"), label);
    }
}

/// How a curve is drawn.
pub(super) fn style(curve: &Curve) -> &'static str {
    match curve.more {
        more if more < 0.0 => "curve less",
        more if more > 0.0 => "curve more",
        _ => "curve",
    }
}

/// `as built`, `+25 %`.
pub(super) fn boost_label(curve: &Curve) -> String {
    let percent = curve.more.abs() * 100.0;
    match curve.more {
        more if more < 0.0 => format!("−{percent:.0} %"),
        more if more > 0.0 => format!("+{percent:.0} %"),
        _ => "as built".to_owned(),
    }
}
