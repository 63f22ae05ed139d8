//! What a scale's codes become when a calibration is applied.

use super::FittedCode;
use crate::build::bounds;
use crate::decimal::{Decimal, HeatIndex};
use crate::heat_scale::{HeatCode, HeatScaleData};

/// The codes of a scale with the indices that a fit gives them.
///
/// Fitted and interpolated codes get what was fitted. Codes beyond the first and the last of those
/// keep their distance from it as it is now, so that the order stays and nothing is invented; the
/// bounds of the index hold. A scale of which nothing is fitted stays as it is.
pub fn applied(scale: &HeatScaleData, fitted: &[FittedCode]) -> Vec<HeatCode> {
    let known = |place: &usize| fitted[*place].rounded();
    let mut places = (0..fitted.len()).filter(|place| known(place).is_some());
    let Some(first) = places.next() else {
        return scale.codes.clone();
    };
    let last = places.next_back().unwrap_or(first);
    let moved = |place: usize| {
        let end = place.clamp(first, last);
        let now = |place: usize| scale.codes[place].heat_index.0;
        let shift = known(&end).map_or(0, |index| index.0 - now(end));
        within_bounds(Decimal(now(place) + shift))
    };
    let codes = scale.codes.iter().enumerate();
    codes
        .map(|(place, code)| HeatCode {
            code: code.code.clone(),
            heat_index: known(&place).unwrap_or_else(|| moved(place)),
        })
        .collect()
}

/// The nearest index within the bounds that an index has.
fn within_bounds(index: HeatIndex) -> HeatIndex {
    let end = |bound: f64| HeatIndex::exact(bound).unwrap_or(index);
    match bounds("heat_index") {
        Some((min, max, _)) => index.clamp(end(min), end(max)),
        None => index,
    }
}

/// Whether a scale of several codes would lose its order, all of them becoming one: its statements
/// run against the maker's order.
pub fn flattened(codes: &[HeatCode]) -> bool {
    let ends = codes.first().zip(codes.last());
    codes.len() > 1 && ends.is_some_and(|(first, last)| first.heat_index == last.heat_index)
}
