//! Bars, one below the other: months or anything else that is counted, each with its value in words.

use crate::drawing::axis::Axis;
use crate::drawing::lettering::{BOLD, cut, folded, width};
use crate::drawing::svg::{Frame, Svg, Tag, line, rect, words};
use crate::shown::marked;

/// A bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// What is counted.
    pub label: String,
    /// How much, in the unit of the axis; may be below zero.
    pub value: f64,
    /// The same as people read it.
    pub written: String,
}

/// What a chart shows.
#[derive(Debug, Clone, Copy)]
pub struct Bars<'a> {
    /// What it is about.
    pub title: &'a str,
    /// Sentences below the title.
    pub notes: &'a [String],
    /// What the axis counts: "USD", "plugs".
    pub unit: &'a str,
    /// The bars, from the top.
    pub bars: &'a [Bar],
}

/// Letters of labels and values.
const SIZE: f64 = 12.0;
/// Width of the picture.
const WIDTH: f64 = 460.0;
/// At the edges.
const MARGIN: f64 = 12.0;
/// Most room for labels and for values.
const LABEL_ROOM: f64 = 120.0;
const VALUE_ROOM: f64 = 200.0;
/// From one bar to the next, and how thick they are.
const STEP: f64 = 22.0;
const THICK: f64 = 13.0;
/// Between words and bars.
const GAP: f64 = 8.0;
/// From one line of notes to the next.
const LINE: f64 = 15.0;
/// Below the title.
const NOTES_TOP: f64 = 37.0;
/// Least distance of two marks of the axis.
const MARKS_APART: f64 = 44.0;

/// Draws the chart; without bars its title and notes stand alone.
pub fn bars(chart: &Bars<'_>) -> String {
    let notes: Vec<String> = chart.notes.iter().map(marked).collect();
    let as_read = |bar: &Bar| Bar {
        label: bar.label.clone(),
        value: bar.value,
        written: marked(&bar.written),
    };
    let chart = &Bars {
        notes: &notes,
        bars: &chart.bars.iter().map(as_read).collect::<Vec<_>>(),
        ..*chart
    };
    let mut svg = Svg::default();
    let room = WIDTH - 2.0 * MARGIN;
    svg.say(
        words((MARGIN, 20.0)).class("head"),
        &cut(chart.title, 14.0 * BOLD, room),
    );
    let lines: Vec<String> = chart
        .notes
        .iter()
        .flat_map(|note| folded(note, SIZE, room))
        .collect();
    for (place, note) in lines.iter().enumerate() {
        let y = NOTES_TOP + place as f64 * LINE;
        svg.say(words((MARGIN, y)).class("soft"), note);
    }
    let top = NOTES_TOP + lines.len() as f64 * LINE + 10.0;
    let height = if chart.bars.is_empty() {
        top
    } else {
        drawn(&mut svg, chart, top)
    };
    svg.picture(&Frame {
        width: WIDTH,
        height,
        zoom: 1.0,
        title: chart.title,
        description: &described(chart),
    })
}

fn described(chart: &Bars<'_>) -> String {
    let told = chart
        .bars
        .iter()
        .map(|bar| format!("{}: {}.", bar.label, bar.written));
    let all: Vec<String> = chart.notes.iter().cloned().chain(told).collect();
    if all.is_empty() {
        "There is nothing to show.".into()
    } else {
        all.join(" ")
    }
}

/// The widest of some words, as far as there is room.
fn widest<'a>(texts: impl Iterator<Item = &'a str>, most: f64) -> f64 {
    // A hair more, so that what just fits is not cut.
    texts
        .map(|text| width(text, SIZE) + 0.5)
        .fold(0.0, f64::max)
        .min(most)
}

/// Draws axis, bars, labels and values from there down; where the picture ends.
fn drawn(svg: &mut Svg, chart: &Bars<'_>, top: f64) -> f64 {
    let labels = widest(chart.bars.iter().map(|bar| bar.label.as_str()), LABEL_ROOM);
    let values = widest(
        chart.bars.iter().map(|bar| bar.written.as_str()),
        VALUE_ROOM,
    );
    let left = MARGIN + labels + GAP;
    let right = WIDTH - MARGIN - values - GAP;
    let axis = Axis {
        values: ends(chart.bars),
        places: [left, right],
    };
    let bottom = top + chart.bars.len() as f64 * STEP + 4.0;
    for (value, written) in axis.ticks(MARKS_APART) {
        let x = axis.at(value);
        svg.put(line((x, top), (x, bottom)).class("grid"));
        let mark = words((x, bottom + LINE)).class("soft middle");
        svg.say(mark.with("data-value", &written), &marked(&written));
    }
    for (place, bar) in chart.bars.iter().enumerate() {
        let middle = top + (place as f64 + 0.5) * STEP + 2.0;
        svg.within(Tag::new("g").class("bar"), |svg| {
            svg.say(
                Tag::new("title"),
                &format!("{}: {}", bar.label, bar.written),
            );
            let label = cut(&bar.label, SIZE, labels);
            svg.say(words((left - GAP, middle + 4.0)).class("end"), &label);
            let ends = [axis.at(0.0), axis.at(bar.value)];
            let (from, to) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
            let corner = (from, middle - THICK / 2.0);
            svg.put(
                rect(corner, to - from, THICK)
                    .class("filled")
                    .with("data-label", &bar.label),
            );
            let written = cut(&bar.written, SIZE, values);
            svg.say(
                words((axis.at(bar.value.max(0.0)) + GAP, middle + 4.0)).class("halo"),
                &written,
            );
        });
    }
    let nought = axis.at(0.0);
    svg.put(line((nought, top), (nought, bottom)));
    svg.say(words((left, bottom + 2.0 * LINE)).class("soft"), chart.unit);
    bottom + 2.0 * LINE + 10.0
}

/// From the least value to the greatest, nought between them.
fn ends(bars: &[Bar]) -> [f64; 2] {
    let values = || bars.iter().map(|bar| bar.value);
    let (low, high) = (values().fold(0.0, f64::min), values().fold(0.0, f64::max));
    if high > low { [low, high] } else { [0.0, 1.0] }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(label: &str, value: f64) -> Bar {
        Bar {
            label: label.into(),
            value,
            written: format!("{value} USD"),
        }
    }

    fn chart(bars_of: &[Bar]) -> String {
        let notes = ["What fell & what it cost.".to_owned()];
        bars(&Bars {
            title: "Scrap by reason",
            notes: &notes,
            unit: "USD",
            bars: bars_of,
        })
    }

    /// Where every bar begins and how wide it is.
    fn drawn_bars(picture: &str) -> Vec<(f64, f64)> {
        let of = |tag: &str, name: &str| -> f64 {
            let (_, rest) = tag.split_once(&format!(" {name}=\"")).expect(name);
            rest.split('"')
                .next()
                .expect("a value")
                .parse()
                .expect("a number")
        };
        let tags = picture.lines().filter(|l| l.contains("class=\"filled\""));
        tags.map(|tag| (of(tag, "x"), of(tag, "width"))).collect()
    }

    #[test]
    fn bars_stand_in_proportion_to_their_values() {
        let picture = chart(&[bar("dropped", 120.0), bar("other", 30.0), bar("none", 0.0)]);
        let drawn = drawn_bars(&picture);
        assert_eq!(drawn.len(), 3);
        assert!((drawn[0].1 - 4.0 * drawn[1].1).abs() < 0.05, "{drawn:?}");
        assert_eq!(drawn[2].1, 0.0);
        assert!(drawn.iter().all(|(x, _)| (x - drawn[0].0).abs() < 0.01));
        assert!(picture.contains(">120 USD<") && picture.contains("What fell &amp; what it cost."));
    }

    #[test]
    fn what_is_below_zero_goes_the_other_way() {
        let drawn = drawn_bars(&chart(&[bar("June", 50.0), bar("July", -25.0)]));
        let (nought, up) = drawn[0];
        let (start, down) = drawn[1];
        assert!(
            (start + down - nought).abs() < 0.05 && (up - 2.0 * down).abs() < 0.05,
            "{drawn:?}"
        );
    }

    #[test]
    fn a_chart_without_bars_still_says_what_it_is() {
        let empty = chart(&[]);
        assert!(empty.contains("Scrap by reason") && drawn_bars(&empty).is_empty());
        let flat = chart(&[bar("none", 0.0)]);
        assert_eq!(drawn_bars(&flat)[0].1, 0.0);
    }

    #[test]
    fn long_labels_are_cut_and_stand_whole_in_their_title() {
        let long = "A part of which the number goes on and on and on";
        let picture = chart(&[bar(long, 1.0)]);
        assert!(picture.contains('…') && picture.contains(&format!("<title>{long}: 1 USD")));
    }
}
