//! All makers' heat scales side by side: ladders along the neutral index, colder up.

use plugwell_domain::decimal::HeatIndex;
use plugwell_domain::heat_scale::{HeatCode, HeatScale};

use crate::drawing::axis::Axis;
use crate::drawing::lettering::{BOLD, cut, folded, width};
use crate::drawing::spread::spread;
use crate::drawing::svg::{Frame, Svg, Tag, line, words};
use crate::shown::marked;

/// Letters of the codes.
const SIZE: f64 = 12.0;
/// Least distance of two codes of a ladder, one above the other.
const APART: f64 = 13.0;
/// Where the ladders of the first row begin, below the words.
const TOP: f64 = 128.0;
/// From the ladders of a row to those of the next: what hangs below them and stands above.
const BETWEEN: f64 = 128.0;
/// Below the last ladders.
const BELOW: f64 = 34.0;
/// Least height of the ladders, and height of a point of the index.
const LEAST_HEIGHT: f64 = 220.0;
const PER_POINT: f64 = 2.6;
/// Two codes of a ladder that differ stand at least so far apart on its rail, unless the ladders would be
/// higher than this.
const RUNGS_APART: f64 = 4.0;
const MOST_HEIGHT: f64 = 1600.0;
/// Width of the index's own column.
const INDEX: f64 = 42.0;
/// So many ladders stand in a row; the next row begins with the index again.
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
        title: "Heat scales side by side",
        description: &described(scales),
    })
}

fn described(scales: &[HeatScale]) -> String {
    let told = scales.iter().map(|scale| {
        let codes = scale.data.codes.iter();
        let codes: Vec<_> = codes
            .map(|code| format!("{} at {}", code.code, marked(code.heat_index.to_string())))
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

/// Draws the ladders row by row, on the same index; width and height of the whole.
fn ladders(svg: &mut Svg, scales: &[HeatScale]) -> (f64, f64) {
    let mut index = index(scales);
    let long = |row: &[HeatScale]| row.iter().map(room).sum::<f64>() + 8.0 + INDEX + 4.0;
    let width = scales.chunks(EVERY).map(long).fold(LEAST_WIDTH, f64::max);
    let step = index.places[0] - index.places[1] + BETWEEN;
    let mut bottom = index.places[0];
    for row in scales.chunks(EVERY) {
        ladders_of_row(svg, &index, row, width);
        bottom = index.places[0];
        index.places = index.places.map(|y| y + step);
    }
    (width, bottom + BELOW)
}

/// Draws a row: the index, its lines across, the ladders.
fn ladders_of_row(svg: &mut Svg, index: &Axis, row: &[HeatScale], width: f64) {
    for (value, _) in index.ticks(26.0) {
        let y = index.at(value);
        svg.put(line((8.0 + INDEX - 6.0, y), (width - 8.0, y)).class("grid"));
    }
    numbers(svg, index, 8.0);
    let mut left = 8.0 + INDEX;
    for scale in row {
        svg.within(Tag::new("g").class("scale"), |svg| {
            ladder(svg, index, left, scale)
        });
        left += room(scale);
    }
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
            let whole = format!("{} at {}", code.code, marked(written));
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

    fn scale(maker: &str) -> HeatScale {
        HeatScale {
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
        }
    }

    #[test]
    fn names_that_have_room_are_not_cut() {
        for maker in ["Quellmar", "Tarnholt", "Ostrevik", "Wimmerworth", "Illilli"] {
            let picture = heat_scales(&[scale(maker)], false);
            assert!(!picture.contains('…'), "{maker}: {picture}");
        }
    }

    /// Width and height of a chart of so many scales.
    fn size(scales: usize) -> (f64, f64, String) {
        let picture = heat_scales(&vec![scale("Quellmar"); scales], false);
        let own = picture.split("viewBox=\"0 0 ").nth(1).unwrap_or_default();
        let own: Vec<f64> = own
            .split([' ', '"'])
            .take(2)
            .map(|n| n.parse().expect("a number"))
            .collect();
        (own[0], own[1], picture)
    }

    #[test]
    fn a_chart_of_many_scales_grows_down_and_not_sideways() {
        let (wide, high, _) = size(EVERY);
        for (scales, rows) in [(9, 2), (16, 2), (20, 3), (100, 13)] {
            let (width, height, picture) = size(scales);
            assert_eq!(width, wide, "{scales}");
            let more = f64::from(rows - 1);
            assert!((height - high - more * (LEAST_HEIGHT + BETWEEN)).abs() < 0.1);
            assert_eq!(picture.matches("colder ↑").count(), rows as usize);
            assert_eq!(picture.matches("class=\"scale\"").count(), scales);
            assert!(picture.contains("class=\"fitting\""), "it fits its paper");
        }
        assert!(heat_scales(&[], false).contains("class=\"fitting\""));
    }
}
