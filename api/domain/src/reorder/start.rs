//! What a part without history begins with: what it sold so far, what stored builds will want of
//! it, what its nearest equivalent sells; the greatest of them.

use crate::calendar::CalendarPeriod;
use crate::forecast::mean;

/// A series to begin with, and where it is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Start {
    /// Demand by period.
    pub series: Vec<i64>,
    /// Where it is from, in words.
    pub text: String,
}

/// Of several starts the one that asks for most per period, with all of them in words. Without any
/// two empty periods: nothing tells that the part will be wanted.
pub fn starts(found: Vec<Start>, period: CalendarPeriod) -> Start {
    let told: Vec<String> = found
        .iter()
        .map(|start| format!("{}: {:.2} per {period}", start.text, mean(&start.series)))
        .collect();
    let most = found.into_iter().reduce(|most, next| {
        if mean(&next.series) > mean(&most.series) {
            next
        } else {
            most
        }
    });
    match most {
        Some(most) => {
            let taken = if told.len() > 1 {
                " The greatest counts."
            } else {
                ""
            };
            Start {
                text: format!("{}.{taken}", told.join(". ")),
                series: most.series,
            }
        }
        None => Start {
            text:
                "No stored build takes it and no equivalent of it sells: nothing tells of demand."
                    .to_owned(),
            series: vec![0, 0],
        },
    }
}

/// A year of demand by builds that are booked: each wants `sets` sets of so many plugs, evenly over
/// the year.
pub fn booked_series(plugs_of_sets: &[i64], sets: u32, period: CalendarPeriod) -> Vec<i64> {
    let periods = period.per_year() as usize;
    let mut series = vec![0; periods];
    let wanted: Vec<i64> = plugs_of_sets
        .iter()
        .flat_map(|plugs| std::iter::repeat_n(*plugs, sets as usize))
        .collect();
    for (place, plugs) in wanted.iter().enumerate() {
        // In the middle of its own share of the year.
        series[(2 * place + 1) * periods / (2 * wanted.len())] += plugs;
    }
    series
}

/// One of several equal shares of a demand that as many parts begin with: the one at a place, from 0.
///
/// In every period the shares add up to the demand, and what two of them come to differs by at most
/// one plug: each takes what the demand so far, shifted by its place, has in whole shares.
pub fn share(series: &[i64], place: usize, shares: usize) -> Vec<i64> {
    let (place, shares) = (place as i64, shares.max(1) as i64);
    let mut so_far = 0;
    let whole = |so_far: i64| (so_far + place).div_euclid(shares);
    let own = series.iter().map(|asked| {
        let before = whole(so_far);
        so_far += asked;
        whole(so_far) - before
    });
    own.collect()
}
