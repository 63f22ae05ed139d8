//! What a scale's codes become when a calibration is applied.

use super::FittedCode;
use crate::heat_scale::{HeatCode, HeatScaleData};
use crate::words::closed_list;

closed_list! {
    /// What a code's place on the index rests on.
    Footing, "footing of a code" {
        /// Statements bear on it.
        Fitted = "fitted",
        /// It lies between fitted neighbours.
        Interpolated = "interpolated",
        /// Nothing tells of it: it stays where it stands.
        Kept = "kept",
        /// Nothing tells of it, but the order moves it to its neighbour: look at it.
        Pushed = "pushed",
    }
}

/// The codes of a scale with the indices that a fit gives them, and what each rests on.
///
/// Codes beyond the first and the last that were fitted stay where they stand, moved only as far as
/// the order forces them: to a tie with the nearest. A scale of which nothing is fitted stays as it
/// is.
pub fn applied(scale: &HeatScaleData, fitted: &[FittedCode]) -> Vec<(HeatCode, Footing)> {
    let known = |place: usize| fitted[place].rounded();
    let ends = (0..fitted.len()).find(|place| known(*place).is_some());
    let ends = ends.zip((0..fitted.len()).rfind(|place| known(*place).is_some()));
    let codes = scale.codes.iter().enumerate();
    codes
        .map(|(place, code)| {
            let now = code.heat_index;
            let (index, footing) = match (known(place), ends) {
                (Some(index), _) if fitted[place].interpolated => (index, Footing::Interpolated),
                (Some(index), _) => (index, Footing::Fitted),
                (None, None) => (now, Footing::Kept),
                (None, Some((first, last))) => {
                    let end = if place < first { first } else { last };
                    let index = known(end).map_or(now, |end| {
                        // Before the ends of a rising scale it is hotter, behind them colder.
                        if (place < first) == scale.rises() {
                            now.min(end)
                        } else {
                            now.max(end)
                        }
                    });
                    let moved = index != now;
                    (
                        index,
                        if moved {
                            Footing::Pushed
                        } else {
                            Footing::Kept
                        },
                    )
                }
            };
            let code = HeatCode {
                code: code.code.clone(),
                heat_index: index,
            };
            (code, footing)
        })
        .collect()
}

/// Whether a scale of several codes would lose its order, all of them becoming one: its statements
/// run against the maker's order.
pub fn flattened(codes: &[HeatCode]) -> bool {
    let ends = codes.first().zip(codes.last());
    codes.len() > 1 && ends.is_some_and(|(first, last)| first.heat_index == last.heat_index)
}
