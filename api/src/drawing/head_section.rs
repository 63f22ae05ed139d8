//! The head in section, a plug laid in.

use plugwell_domain::attribute::Attr;
use plugwell_domain::caution::CautionCode;
use plugwell_domain::outline::{Outline, Section, SectionCode};
use plugwell_domain::plug::Plug;
use serde_json::Value;

use crate::drawing::key::{Sample, rows, written};
use crate::drawing::lettering::{BOLD, cut};
use crate::drawing::plug_dimensions::{Columns, Place, Told, dimensions, write};
use crate::drawing::plug_outline::{Named, in_words, open};
use crate::drawing::svg::{Frame, Svg, Tag, line, rect, words};
use crate::drawing::to_scale::{Hand, Paper, RULER, TOP};
use crate::shown::{marked, measured};

/// Width of the picture: that of a small telephone.
const WIDTH: f64 = 360.0;
/// Where the axis stands, and the units on either side of it.
const CENTRE: f64 = 126.0;
const ROOM: f64 = 82.0;
/// Units to a millimetre at most.
const LARGEST: f64 = 6.0;
/// So far above the seat the drawing goes at most, mm.
const UPWARDS: f64 = 34.0;
/// Room beyond the last thing that is drawn below, mm.
const BELOW: f64 = 2.5;
/// What stands under every answer to what fits.
const CAUTIONS: [CautionCode; 2] = [
    CautionCode::ConfirmWithHeadMaker,
    CautionCode::MakersStandAbove,
];

/// Draws a head in section, a record laid in.
pub fn of_records(
    section: &Section,
    build: Option<&str>,
    plug: Option<&Plug>,
    with_dimensions: bool,
) -> String {
    let name = plug.map(|plug| format!("{} {}", plug.data.maker, plug.data.part_number));
    head_section(section, build, name.as_deref(), with_dimensions)
}

/// Draws a head in section; `build` and `plug` are their names.
fn head_section(
    section: &Section,
    build: Option<&str>,
    plug: Option<&str>,
    with_dimensions: bool,
) -> String {
    let paper = paper(section);
    let mut svg = Svg::default();
    let build = build.unwrap_or("Plug hole");
    let name = plug.unwrap_or("No plug is laid in");
    let head = words((12.0, 20.0)).class("head");
    svg.say(head, &cut(build, 14.0 * BOLD, WIDTH - 24.0));
    let said = cut(&format!("In section, to scale: {name}"), 12.0, WIDTH - 24.0);
    svg.say(words((12.0, 37.0)).class("soft"), &said);
    patterns(&mut svg, &paper);
    paper.ruler(&mut svg, CENTRE + ROOM + 6.0);
    metal(&mut svg, &paper, section);
    svg.within(Tag::new("g").with("clip-path", "url(#shown)"), |svg| {
        if let Some(outline) = &section.plug {
            paper.plug(svg, outline, Hand::Filled);
        }
        limits(svg, &paper, section);
    });
    let mut told = of_head(section);
    told.extend(section.plug.iter().flat_map(|plug| off(section, plug)));
    if let Some(outline) = section.plug.as_ref().filter(|_| with_dimensions) {
        let shown = |told: &Told| match told.place {
            Place::Along([from, _], _) => from >= 0.0,
            Place::At((_, along)) => along > paper.ends[0],
        };
        told.extend(dimensions(outline).into_iter().filter(shown));
    }
    let columns = Columns {
        lanes: CENTRE + ROOM - 12.0,
        words: 222.0,
    };
    let bottom = write(&mut svg, &paper, &told, columns).max(paper.along(paper.ends[1]));
    let bottom = written(&mut svg, bottom + 30.0, &rows(key(section)));
    svg.picture(&Frame {
        width: WIDTH,
        height: bottom,
        zoom: 1.5,
        title: &format!("{name} in the head of {build}"),
        description: &described(section, name),
    })
}

/// Paper for what is to be seen: the well, the hole, and what stands in the chamber.
fn paper(section: &Section) -> Paper {
    let lowest = section.plug.as_ref().map_or(0.0, |plug| plug.ends()[1]);
    let window = section.head.window().into_iter().flatten();
    let lowest = window.fold(lowest.max(section.head.reach_mm.get()), f64::max);
    let highest = section
        .plug
        .as_ref()
        .map_or(10.0, |plug| plug.measures.shell_mm + 4.0);
    let metal = section.metal[0].iter();
    let half = metal.map(|(x, _)| x.abs()).fold(0.0, f64::max);
    let ends = [-highest.min(UPWARDS), lowest + BELOW];
    Paper::new(ends, CENTRE, (half, ROOM), LARGEST)
}

/// Grounds of metal and window, and the edge that the drawing is cut at.
fn patterns(svg: &mut Svg, paper: &Paper) {
    svg.within(Tag::new("defs"), |svg| {
        for (id, class, turn) in [
            ("cast", "casting", "rotate(45)"),
            ("hatch", "hatch", "rotate(-45)"),
        ] {
            let pattern = Tag::new("pattern")
                .with("id", id)
                .with("patternUnits", "userSpaceOnUse")
                .with("patternTransform", turn)
                .number("width", 6.0)
                .number("height", 6.0);
            svg.within(pattern, |svg| {
                svg.put(line((0.0, 0.0), (0.0, 6.0)).class(class));
            });
        }
        svg.within(Tag::new("clipPath").with("id", "shown"), |svg| {
            let [top, bottom] = paper.ends.map(|end| paper.along(end));
            svg.put(rect((RULER + 4.0, top), WIDTH, bottom - top));
        });
    });
}

fn metal(svg: &mut Svg, paper: &Paper, section: &Section) {
    let head = &section.head;
    svg.within(Tag::new("g").with("clip-path", "url(#shown)"), |svg| {
        for side in &section.metal {
            let drawn = paper.shape(side).class("cast");
            svg.put(drawn.with("data-piece", "head"));
        }
        let (left, width) = (CENTRE - ROOM, 2.0 * ROOM);
        let reach = head.reach_mm.get();
        let tolerance = head.tolerance_mm.get();
        let [from, to] = [reach - tolerance, reach + tolerance].map(|end| paper.along(end));
        let band = rect((left, from), width, to - from).class("tolerance");
        svg.put(band.with("data-piece", "tolerance"));
        // An end that nobody knows is not drawn.
        if let [Some(from), Some(to)] = head.window() {
            let [from, to] = [from, to].map(|end| paper.along(end));
            let window = rect((left, from), width, to - from).class("hatched");
            svg.put(window.with("data-piece", "window"));
        }
    });
}

/// The ends of the window and the room of the hexagon, over the plug.
fn limits(svg: &mut Svg, paper: &Paper, section: &Section) {
    for along in section.head.window().into_iter().flatten() {
        let y = paper.along(along);
        let end = line((CENTRE - ROOM, y), (CENTRE + ROOM, y)).class("limit");
        svg.put(end.with("data-piece", "window-end"));
    }
    let Some(room) = section.hex_room else { return };
    for side in [-room, room] {
        let (from, to) = (paper.at((side, -UPWARDS)), paper.at((side, -2.0)));
        let wall = line((from.0, from.1.max(TOP)), to).class("limit");
        svg.put(wall.with("data-piece", "hex-room"));
    }
}

fn mm(attribute: Attr, value: f64) -> String {
    measured(attribute.word(), &Value::from(value))
}

fn told(name: &str, figure: String, place: Place) -> Told {
    Told {
        name: name.to_owned(),
        figure,
        place,
        off: false,
    }
}

/// What is told of the head.
fn of_head(section: &Section) -> Vec<Told> {
    let head = &section.head;
    let reach = head.reach_mm.get();
    let tolerance = marked(format!("{reach} ± {} mm", head.tolerance_mm));
    let edge = section.metal[0].iter().map(|(x, _)| *x).fold(0.0, f64::max);
    let mut all = vec![told(
        "Thread of the head",
        tolerance,
        Place::At((edge, reach)),
    )];
    if let (Some(room), Some(max)) = (section.hex_room, head.hex_max_mm) {
        let at = Place::At((room, -12.0));
        all.push(told("Room for a hexagon", mm(Attr::Hex, max.get()), at));
    }
    let figure = match head.window_mm {
        [Some(min), Some(max)] => format!("{min} to {max} mm"),
        [Some(min), None] => format!("from {min} mm on"),
        [None, Some(max)] => format!("up to {max} mm"),
        [None, None] => return all,
    };
    let ends: Vec<f64> = head.window().into_iter().flatten().collect();
    let middle = ends.iter().sum::<f64>() / ends.len() as f64;
    let at = Place::At((edge, middle));
    all.push(told("Window of the spark", marked(figure), at));
    all
}

/// What is off, measured where it is off.
fn off(section: &Section, plug: &Outline) -> Vec<Told> {
    let reach = section.head.reach_mm.get();
    let own = plug.measures.mm(Attr::Reach);
    let tip = plug.measures.tip_mm();
    let seen = |code| section.findings.iter().any(|finding| finding.code == code);
    let window = section.head.window();
    let mut all = Vec::new();
    let mut put = |code, name: &str, attr: Attr, ends: [f64; 2]| {
        if seen(code) {
            let place = Place::Along([ends[0].min(ends[1]), ends[0].max(ends[1])], 0);
            let figure = mm(attr, rounded((ends[1] - ends[0]).abs()));
            all.push(Told {
                off: true,
                ..told(name, figure, place)
            });
        }
    };
    put(SectionCode::TooLong, "Too long", Attr::Reach, [reach, own]);
    put(
        SectionCode::TooShort,
        "Too short",
        Attr::Reach,
        [own, reach],
    );
    if !seen_any(section, &[SectionCode::TooLong, SectionCode::TooShort]) {
        let [begins, ends] = window;
        // The projection counts from the plug's own end; within the tolerance that is the head's.
        let shift = own - reach;
        if let Some(begins) = begins {
            put(
                SectionCode::Shrouded,
                "Shrouded",
                Attr::Projection,
                [tip, begins + shift],
            );
        }
        if let Some(ends) = ends {
            put(
                SectionCode::Protrudes,
                "Beyond the window",
                Attr::Projection,
                [ends + shift, tip],
            );
        }
    }
    if let (true, Some(max)) = (seen(SectionCode::HexTooLarge), section.head.hex_max_mm) {
        let across = plug.measures.mm(Attr::Hex);
        let corner = (across / 3f64.sqrt(), 5.5 - plug.measures.shell_mm);
        let figure = mm(Attr::Hex, rounded(across - max.get()));
        all.push(Told {
            off: true,
            ..told("Hexagon too large", figure, Place::At(corner))
        });
    }
    all
}

fn seen_any(section: &Section, codes: &[SectionCode]) -> bool {
    let mut findings = section.findings.iter();
    findings.any(|finding| codes.contains(&finding.code))
}

fn rounded(mm: f64) -> f64 {
    (mm * 1e4).round() / 1e4
}

/// How they go together, and what the grounds mean.
fn key(section: &Section) -> Vec<(Option<Sample>, String)> {
    let findings = section.findings.iter();
    let mut all: Vec<(Option<Sample>, String)> = findings
        .map(|finding| {
            let sample = match finding.code {
                code if code.rules_out() => Some(Sample::Beware),
                SectionCode::PlugUnknown => Some(Sample::Line("shape open")),
                SectionCode::HeadUnknown => Some(Sample::Mark("ring")),
                _ => Some(Sample::Mark("dot")),
            };
            (sample, marked(&finding.text))
        })
        .collect();
    if let Some(plug) = &section.plug {
        let remarks = plug.remarks.iter().cloned();
        all.extend(remarks.map(|text| (Some(Sample::Beware), marked(text))));
        if let Some(text) = open(plug) {
            let text = format!("not known of the plug, drawn as usual: {text}");
            all.push((Some(Sample::Line("shape open")), text));
        }
    }
    let tolerance = "where the plug's thread has to end".to_owned();
    all.push((Some(Sample::Ground("tolerance")), tolerance));
    if let [Some(_), Some(_)] = section.head.window_mm {
        let window = "window in which the spark has to stand".to_owned();
        all.push((Some(Sample::Ground("hatched")), window));
    }
    if section.hex_room.is_some() {
        let room = "room for the hexagon, over its corners".to_owned();
        all.push((Some(Sample::Line("limit")), room));
    }
    let text = "Heat, gap, resistor and terminal are not judged here. Shape and size of well and chamber are drawn as usual.";
    all.push((None, text.to_owned()));
    all.extend(CAUTIONS.map(|code| (None, code.sentence().to_owned())));
    all
}

/// The picture in words.
fn described(section: &Section, name: &str) -> String {
    let head = &section.head;
    let mut all = vec![marked(format!(
        "The head: thread {}, {} ± {} mm deep, {} seat.",
        head.thread, head.reach_mm, head.tolerance_mm, head.seat
    ))];
    all.extend(section.findings.iter().map(|finding| marked(&finding.text)));
    if let Some(outline) = &section.plug {
        all.push(in_words(&Named {
            name: name.to_owned(),
            outline: outline.clone(),
        }));
    }
    all.extend(CAUTIONS.map(|code| code.sentence().to_owned()));
    all.join(" ")
}
