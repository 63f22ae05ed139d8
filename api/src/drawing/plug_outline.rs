//! A plug drawn to scale from its record, another one laid over it on request.

use plugwell_domain::attribute::{Attr, Kind};
use plugwell_domain::decimal::{Length, as_f64};
use plugwell_domain::outline::{Outline, Taken};
use plugwell_domain::plug::Plug;

use crate::drawing::key::{Sample, rows, written};
use crate::drawing::lettering::{BOLD, cut};
use crate::drawing::plug_dimensions::{Columns, dimensions, name, write};
use crate::drawing::svg::{Frame, Svg, words};
use crate::drawing::to_scale::{Hand, Paper};
use crate::shown::{marked, measured};

/// Width of the picture: that of a small telephone.
const WIDTH: f64 = 360.0;
/// Units that the widest part has on either side of the axis.
const ROOM: f64 = 60.0;
/// Units to a millimetre at most.
const LARGEST: f64 = 4.0;
/// What no record holds.
const NEVER_HELD: &str = "Cut open on the right below the seat. Heights of seat and hexagon, diameters of insulator, terminal and \
     electrodes stand in no record and are drawn as usual.";
/// Who knows better.
const MAKER: &str = "The maker's own drawing stands above this one.";

/// A plug with its name.
#[derive(Debug, Clone)]
pub struct Named {
    /// Maker and part number.
    pub name: String,
    /// What is drawn of it.
    pub outline: Outline,
}

impl Named {
    /// What is drawn of a record; `gap` stands for the gap that it comes with.
    pub fn of(plug: &Plug, gap: Option<Length>) -> Self {
        Self {
            name: format!("{} {}", plug.data.maker, plug.data.part_number),
            outline: Outline::of(&plug.data, gap),
        }
    }
}

/// Draws a record, another one over it; the gap is that of the first.
pub fn of_records(
    plug: &Plug,
    over: Option<&Plug>,
    gap: Option<Length>,
    with_dimensions: bool,
) -> String {
    let over = over.map(|over| Named::of(over, None));
    plug_outline(&Named::of(plug, gap), over.as_ref(), with_dimensions)
}

/// Draws a plug, `over` as an outline on top of it, and its dimensions where they are wanted.
fn plug_outline(plug: &Named, over: Option<&Named>, with_dimensions: bool) -> String {
    let drawn = || std::iter::once(plug).chain(over);
    let ends = drawn().map(|named| named.outline.ends());
    let ends = ends.fold([0.0_f64, 0.0], |all, own| {
        [all[0].min(own[0]), all[1].max(own[1])]
    });
    let widest = drawn().map(|named| named.outline.half_width());
    let widest = widest.fold(0.0, f64::max);
    let centre = if with_dimensions { 112.0 } else { 196.0 };
    let paper = Paper::new(ends, centre, (widest, ROOM), LARGEST);
    let mut svg = Svg::default();
    let title = cut(&plug.name, 14.0 * BOLD, WIDTH - 24.0);
    svg.say(words((12.0, 20.0)).class("head"), &title);
    let scale = "Drawn to scale from its record";
    svg.say(words((12.0, 37.0)).class("soft"), scale);
    paper.ruler(&mut svg, centre + widest * paper.scale + 14.0);
    paper.plug(&mut svg, &plug.outline, Hand::Filled);
    if let Some(over) = over {
        paper.plug(&mut svg, &over.outline, Hand::Over);
    }
    let mut bottom = paper.along(ends[1]);
    if with_dimensions {
        let columns = Columns {
            lanes: centre + widest * paper.scale + 8.0,
            words: 216.0,
        };
        let told = dimensions(&plug.outline);
        bottom = bottom.max(write(&mut svg, &paper, &told, columns));
    }
    let key = rows(key(plug, over));
    let bottom = written(&mut svg, bottom + 30.0, &key);
    svg.picture(&Frame {
        width: WIDTH,
        height: bottom,
        zoom: 1.5,
        title: &format!("{}, drawn to scale", plug.name),
        description: &described(plug, over),
    })
}

/// What the lines are, and what is not known.
fn key(plug: &Named, over: Option<&Named>) -> Vec<(Option<Sample>, String)> {
    let mut told = Vec::new();
    if let Some(over) = over {
        told.push((Some(Sample::Ground("shape steel")), plug.name.clone()));
        let text = format!("over it: {}", over.name);
        told.push((Some(Sample::Line("other")), text));
        told.extend(differences(&plug.outline, &over.outline).map(|text| (None, text)));
    }
    let remarks = |named: &Named| named.outline.remarks.clone();
    let beware = remarks(plug)
        .into_iter()
        .chain(over.map(remarks).unwrap_or_default());
    told.extend(beware.map(|text| (Some(Sample::Beware), marked(text))));
    if let Some(text) = open(&plug.outline) {
        let sample = Some(Sample::Line("shape open"));
        told.push((sample, format!("not known, drawn as usual: {text}")));
    }
    if let Some(text) = over.and_then(|over| open(&over.outline)) {
        let sample = Some(Sample::Line("other unsure"));
        told.push((
            sample,
            format!("not known of the one over it, drawn as usual: {text}"),
        ));
    }
    told.push((None, format!("{NEVER_HELD} {MAKER}")));
    told
}

/// What nobody has established, with the figures that are drawn.
pub(super) fn open(outline: &Outline) -> Option<String> {
    let open: Vec<String> = outline.open().map(one_open).collect();
    (!open.is_empty()).then(|| open.join("; "))
}

fn one_open(taken: &Taken) -> String {
    format!(
        "{} {}",
        taken.attr.declared().label.to_lowercase(),
        figure(taken)
    )
}

/// What is established of both and differs.
fn differences<'a>(one: &'a Outline, other: &'a Outline) -> impl Iterator<Item = String> + 'a {
    one.measures.taken.iter().filter_map(move |own| {
        let theirs = other.measures.taken(own.attr)?;
        (own.known && theirs.known && own.raw != theirs.raw).then(|| difference(own, theirs))
    })
}

fn difference(own: &Taken, theirs: &Taken) -> String {
    let label = name(own.attr);
    let Kind::Number { decimals, .. } = own.attr.declared().kind else {
        let [own, theirs] = [own, theirs].map(figure);
        return format!("{label}: {own}, over it {theirs}.");
    };
    let [mm, over, more] =
        [own.raw, theirs.raw, theirs.raw - own.raw].map(|raw| as_f64(raw, decimals));
    let sign = if more < 0.0 { '−' } else { '+' };
    marked(format!(
        "{label}: {mm} mm, over it {over} mm ({sign}{}).",
        more.abs()
    ))
}

/// A value with its unit, and inches beside millimetres.
fn figure(taken: &Taken) -> String {
    measured(taken.attr.word(), &taken.attr.to_json(taken.raw))
}

/// The picture in words.
fn described(plug: &Named, over: Option<&Named>) -> String {
    let mut told = vec![in_words(plug)];
    if let Some(over) = over {
        told.push(format!("Laid over it: {}", in_words(over)));
        told.extend(differences(&plug.outline, &over.outline));
    }
    told.push(MAKER.to_owned());
    told.join(" ")
}

/// A plug in words: what is established, what does not go together, what is not known.
pub(super) fn in_words(plug: &Named) -> String {
    let known = plug.outline.measures.taken.iter().filter(|t| t.known);
    let known: Vec<String> = known
        .map(|taken| {
            let flats = match taken.attr {
                Attr::Hex => over_corners(&plug.outline),
                _ => String::new(),
            };
            format!(
                "{} {}{flats}",
                name(taken.attr).to_lowercase(),
                figure(taken)
            )
        })
        .collect();
    let mut text = format!("{}: {}.", plug.name, known.join(", "));
    for remark in &plug.outline.remarks {
        text += &marked(format!(" {remark}"));
    }
    if let Some(open) = open(&plug.outline) {
        text += &format!(" Not known and drawn as usual: {open}.");
    }
    text
}

fn over_corners(outline: &Outline) -> String {
    let corners = outline.measures.mm(Attr::Hex) * 2.0 / 3f64.sqrt();
    marked(format!(", {corners:.1} mm over the corners"))
}
