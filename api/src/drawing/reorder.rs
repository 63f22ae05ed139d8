//! One line of the reorder proposal: demand by period with what is expected of it, and beside it where
//! the stock stands to its reorder point.

use plugwell_domain::reorder::ReorderLine;
use plugwell_domain::wording::counted;

use crate::drawing::axis::Axis;
use crate::drawing::lettering::{BOLD, cut};
use crate::drawing::svg::{Frame, Svg, Tag, line, rect, words};
use crate::shown::marked;

const WIDTH: f64 = 460.0;
const HEIGHT: f64 = 196.0;
const MARGIN: f64 = 12.0;
/// Of the letters.
const SIZE: f64 = 12.0;
/// The bars: from left to right, from top to bottom.
const ACROSS: [f64; 2] = [44.0, 330.0];
const DOWN: [f64; 2] = [58.0, 152.0];
/// The column of the stock, and its width.
const STOCK: f64 = 366.0;
const STOCK_WIDTH: f64 = 26.0;
/// Least distance of two marks.
const APART: f64 = 22.0;
/// From a line's end to its words.
const GAP: f64 = 6.0;

/// Draws a line.
pub fn reorder(of: &ReorderLine) -> String {
    let mut svg = Svg::default();
    let title = format!("{} {}", of.maker, of.part_number);
    let room = WIDTH - 2.0 * MARGIN;
    svg.say(
        words((MARGIN, 20.0)).class("head"),
        &cut(&title, 14.0 * BOLD, room),
    );
    let told = match (of.order_quantity, of.packs) {
        (0, _) => "Nothing to order".to_owned(),
        (quantity, packs) => format!(
            "Order {quantity}: {} of {}",
            counted(packs, "pack"),
            of.pack_size
        ),
    };
    svg.say(words((MARGIN, 38.0)).class("soft"), &cut(&told, SIZE, room));
    demand(&mut svg, of);
    stock(&mut svg, of);
    svg.picture(&Frame {
        width: WIDTH,
        height: HEIGHT,
        zoom: 1.0,
        title: &format!("Demand and stock of {title}"),
        description: &marked(&of.text),
    })
}

/// Demand by period, the latest on the right, and the forecast as a line across.
fn demand(svg: &mut Svg, of: &ReorderLine) {
    let series = &of.demand.series;
    let most = series.iter().copied().max().unwrap_or(0) as f64;
    let axis = upward(most.max(of.forecast_per_period));
    marks(svg, &axis, ACROSS);
    let step = (ACROSS[1] - ACROSS[0]) / series.len().max(1) as f64;
    for (place, asked) in series.iter().enumerate().filter(|(_, asked)| **asked > 0) {
        let (left, top) = (ACROSS[0] + step * place as f64, axis.at(*asked as f64));
        let bar = rect((left + step * 0.1, top), step * 0.8, DOWN[1] - top).class("filled");
        svg.put(bar.with("data-demand", &asked.to_string()));
    }
    let y = axis.at(of.forecast_per_period);
    let forecast = line((ACROSS[0], y), (ACROSS[1], y)).class("set less");
    svg.put(forecast.with("data-forecast", &of.forecast_per_period.to_string()));
    let period = of.demand.period;
    let told = format!("expected {} a {period}", figure(of.forecast_per_period));
    svg.say(words((ACROSS[1], y - 4.0)).class("halo end"), &told);
    let from = format!("from {}", of.demand.from.format("%-d %b %Y"));
    svg.say(words((ACROSS[0], DOWN[1] + 16.0)).class("soft"), &from);
    let count = format!("plugs a {period}, {} {period}s", series.len());
    svg.say(words((ACROSS[0], DOWN[1] + 32.0)).class("soft"), &count);
}

/// The position as a column, and the reorder point as a line across it.
fn stock(svg: &mut Svg, of: &ReorderLine) {
    let axis = upward(of.position.max(of.reorder_point) as f64);
    let (right, nought) = (STOCK + STOCK_WIDTH, axis.at(0.0));
    svg.put(line((STOCK - GAP, nought), (right + GAP, nought)));
    // A position below nothing is told in words: there is nothing to draw of it.
    let top = axis.at(of.position.max(0) as f64);
    let column = rect((STOCK, top), STOCK_WIDTH, nought - top).class("filled");
    svg.put(column.with("data-position", &of.position.to_string()));
    let y = axis.at(of.reorder_point as f64);
    let point = line((STOCK - GAP, y), (right + GAP, y)).class("usable");
    svg.put(point.with("data-reorder-point", &of.reorder_point.to_string()));
    let beside = right + 2.0 * GAP;
    // The two stand apart, whatever their values are.
    let own = if (y - top).abs() < SIZE + 2.0 {
        if of.position > of.reorder_point {
            y - SIZE - 2.0
        } else {
            y + SIZE + 2.0
        }
    } else {
        top
    };
    svg.say(
        words((beside, y + 4.0)).class("halo"),
        &format!("{} point", of.reorder_point),
    );
    svg.say(
        words((beside, own + 4.0)).class("halo"),
        &format!("{} stock", of.position),
    );
    svg.say(
        words((STOCK - GAP, DOWN[1] + 16.0)).class("soft"),
        "stock and",
    );
    svg.say(
        words((STOCK - GAP, DOWN[1] + 32.0)).class("soft"),
        "reorder point",
    );
}

/// From nothing at the bottom to a value at the top; never of no height.
fn upward(most: f64) -> Axis {
    Axis {
        values: [0.0, if most > 0.0 { most } else { 1.0 }],
        places: [DOWN[1], DOWN[0]],
    }
}

fn marks(svg: &mut Svg, axis: &Axis, across: [f64; 2]) {
    for (value, written) in axis.ticks(APART) {
        let y = axis.at(value);
        svg.put(line((across[0], y), (across[1], y)).class("grid"));
        let mark = Tag::new("text")
            .number("x", across[0] - GAP)
            .number("y", y + 4.0);
        svg.say(mark.class("soft end"), &marked(written));
    }
}

/// At most two decimals.
fn figure(value: f64) -> String {
    marked(format!("{}", (value * 100.0).round() / 100.0 + 0.0))
}
