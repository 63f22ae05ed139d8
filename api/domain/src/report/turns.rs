//! How often the stock turns over: the cost of what went out over the average value of what lay
//! there (common practice, no source).
//!
//! The average weighs every value with the time for which it stood. All of it is whole numbers: money
//! in minor units, time in microseconds.

use crate::calendar::{CalendarPeriod, DAY_MICROS, Span};
use crate::decimal::Decimal;
use crate::ledger::{MovementKind, PlaceKind};
use crate::valuation::{Booked, Books, Border, Entry};
use crate::words::closed_list;

closed_list! {
    /// What turns are summed up by.
    TurnsBy, "sum of turns" {
        /// By calendar month.
        Month = "month",
        /// By part.
        Part = "part",
    }
}

/// What went out of a stock, and what it was worth all along.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Turned {
    /// Cost of what went to jobs and to the scrap drum, less what came back, in minor units.
    pub cost_out: i64,
    /// The value, each with the time for which it stood: minor units times microseconds.
    pub value_time: i128,
}

impl Turned {
    /// Adds what another stock did in the same time.
    pub fn add(&mut self, other: Self) {
        self.cost_out += other.cost_out;
        self.value_time += other.value_time;
    }

    /// The average value over so many microseconds in minor units, half up.
    pub fn average(self, micros: i64) -> i64 {
        rounded(self.value_time, i128::from(micros)).unwrap_or(0)
    }

    /// How often the stock turned over in so many microseconds, to a hundredth; `None` where nothing
    /// lay there.
    pub fn turns(self, micros: i64) -> Option<Decimal<2>> {
        let out = i128::from(self.cost_out) * i128::from(micros) * 100;
        rounded(out, self.value_time).map(Decimal)
    }

    /// For how many days the average stock lasts at the rate at which it went out, to a tenth; `None`
    /// where nothing went out.
    pub fn days_of_stock(self) -> Option<Decimal<1>> {
        let rate = i128::from(self.cost_out.max(0)) * i128::from(DAY_MICROS);
        rounded(self.value_time * 10, rate).map(Decimal)
    }
}

/// A quotient, half up; `None` over nothing.
fn rounded(over: i128, under: i128) -> Option<i64> {
    let half = |under: i128| (2 * over + under).div_euclid(2 * under);
    (under > 0)
        .then(|| half(under))
        .and_then(|quotient| i64::try_from(quotient).ok())
}

/// The turning over of many parts in a stretch of time, all together and by period of the calendar.
#[derive(Debug)]
pub struct Turning {
    span: Span,
    periods: Vec<(Span, Turned)>,
}

impl Turning {
    /// Begins with a stretch of time; `begun` is the part of it from which on periods are counted.
    pub fn within(span: Span, begun: Span, by: CalendarPeriod) -> Self {
        let periods = by.touched(begun);
        let periods = periods.map(|number| (by.span(number).within(span), Turned::default()));
        Self {
            span,
            periods: periods.collect(),
        }
    }

    /// Books a part, its movements in the order of their running numbers; what it did.
    ///
    /// A movement counts from the instant on at which all before it had happened.
    pub fn part(&mut self, mut books: Books, entries: &[Entry]) -> Turned {
        let mut turned = Turned::default();
        let Some(first) = entries.first() else {
            return turned;
        };
        let (mut latest, mut held) = (first.at, self.span.from);
        for entry in entries {
            latest = latest.max(entry.at);
            if latest >= self.span.to {
                break;
            }
            if latest > held {
                let span = Span {
                    from: held,
                    to: latest,
                };
                self.hold(&mut turned, span, books.stands().minor);
                held = latest;
            }
            let booked = books.book(entry);
            if latest >= self.span.from {
                let cost = went_out(entry, booked);
                turned.cost_out += cost;
                let own = self
                    .periods
                    .iter_mut()
                    .find(|(period, _)| period.has(latest));
                if let Some((_, period)) = own {
                    period.cost_out += cost;
                }
            }
        }
        let rest = Span {
            from: held,
            to: self.span.to,
        };
        self.hold(&mut turned, rest, books.stands().minor);
        turned
    }

    /// The periods, each with the part of it that lies in the stretch of time.
    pub fn periods(self) -> Vec<(Span, Turned)> {
        self.periods
    }

    fn hold(&mut self, turned: &mut Turned, span: Span, minor: i64) {
        if minor == 0 {
            return;
        }
        turned.value_time += i128::from(minor) * i128::from(span.micros());
        let touched = self
            .periods
            .partition_point(|(period, _)| period.to <= span.from);
        for (period, sum) in &mut self.periods[touched..] {
            if period.from >= span.to {
                break;
            }
            sum.value_time += i128::from(minor) * i128::from(span.within(*period).micros());
        }
    }
}

/// The cost of what a movement took out for use, negative where it brought it back: to and from jobs
/// and the drum, and the second half of a return over the difference account. What is received,
/// counted or put right with the supplier was not used.
pub fn went_out(entry: &Entry, booked: Booked) -> i64 {
    let (sign, other) = match booked.border {
        Border::Out => (1, entry.to),
        Border::In => (-1, entry.from),
        Border::Not => return 0,
    };
    let returned = entry.pair_id.is_some()
        && matches!(entry.kind, MovementKind::Return | MovementKind::Reversal);
    let used = match other.kind {
        PlaceKind::Job | PlaceKind::Scrap => true,
        PlaceKind::Difference => returned,
        _ => false,
    };
    if used { sign * booked.amount.minor } else { 0 }
}
