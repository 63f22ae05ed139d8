//! All makers' heat scales side by side: ladders along the neutral index, colder up.

use plugwell_domain::decimal::HeatIndex;
use plugwell_domain::heat_scale::{HeatCode, HeatScale};

use crate::drawing::axis::Axis;
use crate::drawing::lettering::{BOLD, cut, folded, width};
use crate::drawing::spread::spread;
use crate::drawing::svg::{Frame, Svg, Tag, line, words};

/// Letters of the codes.
const SIZE: f64 = 12.0;
/// Least distance of two codes of a ladder, one above the other.
const APART: f64 = 13.0;
/// Where the ladders begin, below the words.
const TOP: f64 = 128.0;
/// Least height of the ladders, and height of a point of the index.
const LEAST_HEIGHT: f64 = 220.0;
const PER_POINT: f64 = 2.6;
/// Two codes of a ladder that differ stand at least so far apart on its rail, unless the ladders would be
/// higher than this.
const RUNGS_APART: f64 = 4.0;
const MOST_HEIGHT: f64 = 1600.0;
/// Width of the index's own column.
const INDEX: f64 = 42.0;
/// After so many ladders the index stands again.
const EVERY: usize = 8;
/// Least and greatest room of a ladder.
const ROOM: [f64; 2] = [64.0, 150.0];
/// Of that, left empty before the next one.
const GUTTER: f64 = 12.0;
/// From a ladder's rail to the words of its codes.
const TO_CODE: f64 = 24.0;
/// Least width of the picture.
const LEAST_WIDTH: f64 = 360.0;

/// Draws scales in this order; of `more` it says that there are so many more.
pub fn heat_scales(scales: &[HeatScale], more: bool) -> String {
    let mut svg = Svg::default();
    svg.say(
        words((12.0, 20.0)).class("head"),
        "Heat scales side by side",
    );
    let mut notes = vec!["A code is as cold as those at the same height.".to_owned()];
    if scales.is_empty() {
        notes = vec!["No heat scale is stored.".to_owned()];
    } else if more {
        notes.push(format!("The first {} only: name a maker.", scales.len()));
    }
    for (place, note) in notes.iter().enumerate() {
        let y = 37.0 + place as f64 * 15.0;
        svg.say(words((12.0, y)).class("soft"), note);
    }
    let (width, height) = if scales.is_empty() {
        (LEAST_WIDTH, 56.0)
    } else {
        ladders(&mut svg, scales)
    };
    svg.picture(&Frame {
        width,
        height,
        zoom: 1.0,
        fits: width <= LEAST_WIDTH,
        title: "Heat scales side by side",
        description: &described(scales),
    })
}

fn described(scales: &[HeatScale]) -> String {
    let told = scales.iter().map(|scale| {
        let codes = scale.data.codes.iter();
        let codes: Vec<_> = codes
            .map(|code| format!("{} at {}", code.code, code.heat_index))
            .collect();
        format!(
            "{} {}: {}.",
            scale.data.maker,
            scale.data.name,
            codes.join(", ")
        )
    });
    let told: Vec<_> = told.collect();
    format!("The index rises as plugs get colder. {}", told.join(" "))
        .trim_end()
        .to_owned()
}

/// Draws the ladders; width and height of the whole.
fn ladders(svg: &mut Svg, scales: &[HeatScale]) -> (f64, f64) {
    let index = index(scales);
    let [bottom, _] = index.places;
    let mut x = 8.0;
    let mut columns = Vec::new();
    for (place, scale) in scales.iter().enumerate() {
        let index_at = (place % EVERY == 0).then_some(x);
        x += index_at.map_or(0.0, |_| INDEX);
        columns.push((index_at, x, scale));
        x += room(scale);
    }
    let width = (x + 4.0).max(LEAST_WIDTH);
    for (value, _) in index.ticks(26.0) {
        let y = index.at(value);
        svg.put(line((8.0 + INDEX - 6.0, y), (width - 8.0, y)).class("grid"));
    }
    for (index_at, left, scale) in columns {
        if let Some(at) = index_at {
            numbers(svg, &index, at);
        }
        svg.within(Tag::new("g").class("scale"), |svg| {
            ladder(svg, &index, left, scale)
        });
    }
    (width, bottom + 34.0)
}

/// The index from the hottest code to the coldest, and a little beyond.
fn index(scales: &[HeatScale]) -> Axis {
    let codes = || {
        scales
            .iter()
            .flat_map(|s| &s.data.codes)
            .map(|c| c.heat_index.get())
    };
    let (low, high) = (
        codes().fold(f64::INFINITY, f64::min) - 3.0,
        codes().fold(f64::NEG_INFINITY, f64::max) + 3.0,
    );
    let most = scales.iter().map(|s| s.data.codes.len()).max().unwrap_or(0);
    let steps = scales.iter().flat_map(|scale| scale.data.codes.windows(2));
    let steps = steps.map(|pair| (pair[1].heat_index.get() - pair[0].heat_index.get()).abs());
    let closest = steps
        .filter(|step| *step > 0.0)
        .fold(f64::INFINITY, f64::min);
    let per_point = PER_POINT.max(RUNGS_APART / closest);
    let height = ((high - low) * per_point)
        .clamp(LEAST_HEIGHT, MOST_HEIGHT)
        .max((most + 1) as f64 * APART);
    Axis {
        values: [low, high],
        places: [TOP + height, TOP],
    }
}

fn numbers(svg: &mut Svg, index: &Axis, left: f64) {
    let [bottom, top] = index.places;
    let end = left + INDEX - 10.0;
    svg.say(words((left, top - 10.0)).class("strong"), "colder ↑");
    svg.say(words((left, bottom + 20.0)).class("strong"), "hotter ↓");
    for (value, written) in index.ticks(26.0) {
        let at = words((end, index.at(value) + 4.0)).class("soft end");
        svg.say(at.with("data-index", &written), &written);
    }
}

/// The room that a scale takes.
fn room(scale: &HeatScale) -> f64 {
    let widest = |texts: &mut dyn Iterator<Item = &str>, size: f64| {
        // A hair more, so that what just fits is not cut.
        texts.map(|t| width(t, size) + 0.5).fold(0.0, f64::max)
    };
    let codes = TO_CODE + widest(&mut scale.data.codes.iter().map(|c| c.code.as_str()), SIZE);
    let heads = [scale.data.maker.as_str(), scale.data.name.as_str()];
    let words = &mut heads.into_iter().flat_map(str::split_whitespace);
    codes
        .max(widest(words, SIZE * BOLD))
        .clamp(ROOM[0] - GUTTER, ROOM[1] - GUTTER)
        + GUTTER
}

/// A ladder: whose it is, its rail, its rungs and their codes.
fn ladder(svg: &mut Svg, index: &Axis, left: f64, scale: &HeatScale) {
    let [bottom, top] = index.places;
    let room = room(scale) - GUTTER;
    svg.say(
        Tag::new("title"),
        &format!("{} {}", scale.data.maker, scale.data.name),
    );
    let mut heads: Vec<(&str, String)> = Vec::new();
    for (class, text, most) in [
        ("strong", &scale.data.maker, 2),
        ("soft", &scale.data.name, 2),
    ] {
        heads.extend(
            shortened(text, room, most)
                .into_iter()
                .map(|line| (class, line)),
        );
    }
    let first = top - 26.0 - (heads.len() - 1) as f64 * 14.0;
    for (place, (class, text)) in heads.iter().enumerate() {
        svg.say(
            words((left, first + place as f64 * 14.0)).class(class),
            text,
        );
    }
    let mut codes: Vec<&HeatCode> = scale.data.codes.iter().collect();
    codes.sort_by_key(|code| std::cmp::Reverse(code.heat_index));
    let at = |of: HeatIndex| index.at(of.get());
    let (coldest, hottest) = (
        at(codes[0].heat_index),
        at(codes[codes.len() - 1].heat_index),
    );
    let rail = left + 5.0;
    svg.put(line((rail, coldest), (rail, hottest)).class("rail"));
    let wanted: Vec<f64> = codes.iter().map(|code| at(code.heat_index)).collect();
    let placed = spread(&wanted, APART, [top, bottom]);
    for ((code, want), y) in codes.iter().zip(wanted).zip(placed) {
        let written = code.heat_index.to_string();
        let rung = line((rail - 5.0, want), (rail + 5.0, want)).class("rung");
        svg.put(rung.with("data-index", &written));
        if (want - y).abs() > 0.5 {
            svg.put(line((rail + 6.0, want), (left + TO_CODE - 3.0, y)).class("leader"));
        }
        svg.within(words((left + TO_CODE, y + 4.0)).class("halo code"), |svg| {
            let whole = format!("{} at {written}", code.code);
            svg.say(Tag::new("title"), &whole);
            svg.say(Tag::new("tspan"), &cut(&code.code, SIZE, room - TO_CODE));
        });
    }
}

/// A name in as few lines as go, the last one cut.
fn shortened(text: &str, room: f64, most: usize) -> Vec<String> {
    let size = SIZE * BOLD;
    let mut lines = folded(text, size, room);
    if lines.len() > most {
        let rest = lines.split_off(most - 1).join(" ");
        lines.push(cut(&rest, size, room));
    }
    lines
}

#[cfg(test)]
mod tests {
    use chrono::DateTime;
    use plugwell_domain::decimal::Decimal;
    use plugwell_domain::heat_scale::HeatScaleData;
    use uuid::Uuid;

    use super::*;

    #[test]
    fn names_that_have_room_are_not_cut() {
        for maker in ["Quellmar", "Tarnholt", "Ostrevik", "Wimmerworth", "Illilli"] {
            let scale = HeatScale {
                id: Uuid::nil(),
                data: HeatScaleData {
                    maker: maker.into(),
                    name: "Letter row".into(),
                    codes: vec![HeatCode {
                        code: "A".into(),
                        heat_index: Decimal(500),
                    }],
                },
                calibrated_at: None,
                version: 1,
                created_at: DateTime::UNIX_EPOCH,
                updated_at: DateTime::UNIX_EPOCH,
            };
            let picture = heat_scales(&[scale], false);
            assert!(!picture.contains('…'), "{maker}: {picture}");
        }
    }
}
