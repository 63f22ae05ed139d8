//! The life of a lot: a lane for each kind of place along time, as high as it had plugs, and an arrow
//! for every step from lane to lane, where several of one kind follow on one day for all of them.

use plugwell_domain::ledger::PlaceKind;
use plugwell_domain::report::life::{LifeStep, LotLife};

use crate::drawing::axis::Axis;
use crate::drawing::lettering::{BOLD, cut, width};
use crate::drawing::spread::spread;
use crate::drawing::svg::{Frame, Svg, Tag, circle, line, path, words};
use crate::shown::{day, instant, marked};

/// Letters.
const SIZE: f64 = 12.0;
/// Where the lanes begin, right of their names.
const LEFT: f64 = 112.0;
/// Right of the lanes: what is there now.
const RIGHT: f64 = 76.0;
/// Where the first lane begins.
const TOP: f64 = 52.0;
/// From one lane to the next, and the highest that a lane gets.
const LANE: f64 = 58.0;
const HIGH: f64 = 36.0;
/// Below the lanes: the days.
const BELOW: f64 = 30.0;
/// Least length of the lanes; so far marks stand apart, unless they are too many for a wide sheet.
const LEAST: f64 = 300.0;
const APART: f64 = 18.0;
const MOST: f64 = 1500.0;
/// Closer than this and quantities would cover each other.
const LEGIBLE: f64 = 12.0;
/// Days along the axis stand so far apart.
const DAYS_APART: f64 = 84.0;
/// Steps that the alternative in words tells; the table beside the picture has them all.
const TOLD: usize = 60;

/// Lanes from the top.
const ORDER: [PlaceKind; 6] = [
    PlaceKind::Supplier,
    PlaceKind::Difference,
    PlaceKind::Quarantine,
    PlaceKind::Bin,
    PlaceKind::Job,
    PlaceKind::Scrap,
];

/// Steps of one kind between the same kinds of places that follow each other on one day.
type Mark<'a> = &'a [LifeStep];

/// Steps as they are marked.
fn marks(steps: &[LifeStep]) -> Vec<Mark<'_>> {
    let of = |step: &LifeStep| {
        (
            step.kind,
            step.from.kind,
            step.to.kind,
            step.at.date_naive(),
        )
    };
    steps.chunk_by(|one, next| of(one) == of(next)).collect()
}

/// The lanes of a life, and where its marks stand.
struct Lanes<'a> {
    marks: Vec<Mark<'a>>,
    kinds: Vec<PlaceKind>,
    /// Where each mark stands along time.
    at: Vec<f64>,
    end: f64,
    apart: f64,
    /// Plugs to the full height of a lane.
    most: i64,
}

/// Draws the life of a lot.
pub fn lot_life(life: &LotLife) -> String {
    let lanes = Lanes::of(&life.steps);
    let title = format!("The life of lot {}", life.lot.code);
    let part = format!("{} {}", life.maker, life.part_number);
    let mut svg = Svg::default();
    svg.say(words((12.0, 20.0)).class("head"), &title);
    let under = cut(&part, SIZE, lanes.end + RIGHT - 24.0);
    svg.say(words((12.0, 37.0)).class("soft"), &under);
    lanes.draw(&mut svg);
    svg.picture(&Frame {
        width: lanes.end + RIGHT,
        height: lanes.bottom() + BELOW,
        zoom: 1.0,
        title: &title,
        description: &described(life),
    })
}

fn described(life: &LotLife) -> String {
    let told = life.steps.iter().take(TOLD);
    let mut sentences: Vec<String> = vec![format!("{} {}.", life.maker, life.part_number)];
    sentences.extend(told.map(|step| format!("{}: {}.", instant(step.at), marked(&step.text))));
    let more = life.steps.len().saturating_sub(TOLD);
    if more > 0 {
        sentences.push(format!("And {more} more steps."));
    }
    sentences.join(" ")
}

/// Whether plugs of the lot lie in places of a kind: suppliers and the difference account only
/// balance the books.
fn holds(kind: PlaceKind) -> bool {
    !matches!(kind, PlaceKind::Supplier | PlaceKind::Difference)
}

/// Plugs of a mark.
fn plugs(mark: Mark<'_>) -> i64 {
    mark.iter().map(|step| step.quantity).sum()
}

/// What a mark changes in places of a kind.
fn change(mark: Mark<'_>, kind: PlaceKind) -> i64 {
    let here = |own: PlaceKind| i64::from(own == kind) * plugs(mark);
    here(mark[0].to.kind) - here(mark[0].from.kind)
}

/// What places of a kind have after each mark.
fn levels(marks: &[Mark<'_>], kind: PlaceKind) -> Vec<i64> {
    let running = marks.iter().scan(0, |sum, mark| {
        *sum += change(mark, kind);
        Some(*sum)
    });
    running.collect()
}

impl<'a> Lanes<'a> {
    fn of(steps: &'a [LifeStep]) -> Self {
        let named = |kind: &PlaceKind| {
            let mut ends = steps.iter().flat_map(|step| [step.from.kind, step.to.kind]);
            ends.any(|own| own == *kind)
        };
        let kinds: Vec<PlaceKind> = ORDER.into_iter().filter(named).collect();
        let marks = marks(steps);
        let spaces = marks.len().saturating_sub(1).max(1) as f64;
        let apart = APART.min(MOST / spaces);
        let length = LEAST.max(apart * spaces);
        let instants: Vec<f64> = marks
            .iter()
            .map(|mark| mark[0].at.timestamp_micros() as f64)
            .collect();
        let (first, last) = match (instants.first(), instants.last()) {
            (Some(first), Some(last)) if last > first => (*first, *last),
            (Some(first), _) => (*first, first + 1.0),
            (None, _) => (0.0, 1.0),
        };
        let start = LEFT + 14.0;
        let time = Axis {
            values: [first, last],
            places: [start, start + length],
        };
        let wanted: Vec<f64> = instants.into_iter().map(|at| time.at(at)).collect();
        let held = kinds.iter().filter(|kind| holds(**kind));
        let most = held.flat_map(|kind| levels(&marks, *kind)).max();
        Self {
            marks,
            at: spread(&wanted, apart, time.places),
            end: start + length + 26.0,
            apart,
            most: most.unwrap_or(1).max(1),
            kinds,
        }
    }

    /// Where a lane stands: its lower edge.
    fn edge(&self, kind: PlaceKind) -> f64 {
        let place = self.kinds.iter().position(|own| *own == kind);
        TOP + (place.unwrap_or(0) + 1) as f64 * LANE - 12.0
    }

    fn bottom(&self) -> f64 {
        TOP + self.kinds.len() as f64 * LANE
    }

    fn draw(&self, svg: &mut Svg) {
        for kind in &self.kinds {
            self.lane(svg, *kind);
        }
        for (mark, x) in self.marks.iter().zip(&self.at) {
            self.mark(svg, mark, *x);
        }
        self.days(svg);
    }

    /// A lane: its name, how much it had all along, and how much it has now.
    fn lane(&self, svg: &mut Svg, kind: PlaceKind) {
        let edge = self.edge(kind);
        svg.put(line((LEFT, edge), (self.end, edge)).class("grid"));
        svg.say(words((12.0, edge - 2.0)).class("strong"), kind.word());
        if !holds(kind) {
            return;
        }
        let high = |quantity: i64| edge - HIGH * quantity as f64 / self.most as f64;
        let levels = levels(&self.marks, kind);
        let mut outline = vec![(LEFT, edge)];
        let mut before = 0;
        for (x, level) in self.at.iter().zip(&levels) {
            if *level != before {
                outline.extend([(*x, high(before)), (*x, high(*level))]);
                before = *level;
            }
        }
        outline.extend([(self.end, high(before)), (self.end, edge)]);
        svg.put(path(&outline, true).class("band"));
        svg.put(path(&outline[1..outline.len() - 1], false).class("rail"));
        let there = format!("{before} now");
        svg.say(
            words((self.end + 8.0, edge - 2.0))
                .class("strong")
                .with("data-now", &before.to_string()),
            &there,
        );
    }

    /// A mark: an arrow from lane to lane with its plugs and, of several steps, how many they are, or a
    /// ring where it stays in its lane.
    fn mark(&self, svg: &mut Svg, mark: Mark<'_>, x: f64) {
        let step = &mark[0];
        let (from, to) = (self.edge(step.from.kind), self.edge(step.to.kind));
        let told = mark
            .iter()
            .map(|step| format!("{}: {}", instant(step.at), marked(&step.text)));
        let told = told.collect::<Vec<_>>().join("; ");
        let quantity = plugs(mark).to_string();
        let label = match mark.len() {
            1 => quantity.clone(),
            steps => format!("{quantity} in {steps}"),
        };
        let group = Tag::new("g").class("step");
        svg.within(group.with("data-quantity", &quantity), |svg| {
            svg.say(Tag::new("title"), &told);
            if from == to {
                svg.put(circle((x, from), 3.5).class("ring"));
                return;
            }
            let way = (to - from).signum();
            let style = if step.to.kind == PlaceKind::Scrap {
                "limit"
            } else {
                "set"
            };
            svg.put(circle((x, from), 2.5).class("dot"));
            svg.put(line((x, from), (x, to - 6.0 * way)).class(style));
            let tip = [
                (x, to),
                (x - 4.0, to - 7.0 * way),
                (x + 4.0, to - 7.0 * way),
            ];
            svg.put(path(&tip, true).class("filled"));
            if self.apart >= LEGIBLE {
                let at = words((x + 4.0, to - 14.0 * way + 4.0)).class("halo");
                svg.say(at, &label);
            }
        });
    }

    /// Days below the lanes, as many as have room.
    fn days(&self, svg: &mut Svg) {
        let y = self.bottom() + 14.0;
        let mut free = f64::NEG_INFINITY;
        for (mark, x) in self.marks.iter().zip(&self.at) {
            if *x < free {
                continue;
            }
            let day = day(mark[0].at);
            let long = width(&day, SIZE * BOLD);
            // The last day must not run out of the picture.
            let at = x.min(self.end + RIGHT - long - 4.0);
            svg.put(line((*x, self.bottom() - 8.0), (*x, self.bottom() - 2.0)));
            svg.say(words((at, y)).class("soft"), &day);
            free = x + DAYS_APART.max(long + 8.0);
        }
    }
}
