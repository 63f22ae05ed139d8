//! A must put to a block of kept numbers at once.

use plugwell_domain::fit::{judge, rules_out};
use plugwell_domain::requirement::{Demand, Test};

use crate::schema::Keeping;
use crate::view::BLOCK;

/// A must, in terms of the numbers that are kept of its attribute.
///
/// What it lets through is what [`judge`] lets through; a range, which most musts are, is compared
/// without branches, since this is what most of a match's time goes to.
pub(crate) enum Filter<'d> {
    /// Numbers from the first on, so many more; and whether unknown passes.
    Span { first: u64, more: u64, unknown: bool },
    /// Any other test: each number is judged.
    Each { demand: &'d Demand, keeping: Keeping },
}

impl<'d> Filter<'d> {
    /// The filter of a must.
    pub(crate) fn of(demand: &'d Demand, keeping: Keeping) -> Self {
        let Test::Range { min, max } = demand.test else { return Self::Each { demand, keeping } };
        let unknown = !rules_out(demand, judge(demand, None));
        match keeping.span(min, max) {
            Some(span) => Self::Span { first: *span.start(), more: span.end() - span.start(), unknown },
            None => Self::Each { demand, keeping },
        }
    }

    /// The numbers of a block that pass, a bit for each.
    #[inline]
    pub(crate) fn passing(&self, kept: &[u64; BLOCK]) -> u64 {
        match *self {
            Self::Span { first, more, unknown } => {
                bits(kept, |number| (number.wrapping_sub(first) <= more) | (unknown & (number == 0)))
            }
            Self::Each { demand, keeping } => {
                bits(kept, |number| !rules_out(demand, judge(demand, keeping.shown(number))))
            }
        }
    }
}

#[inline]
fn bits(kept: &[u64; BLOCK], passes: impl Fn(u64) -> bool) -> u64 {
    let mut bits = 0;
    for (place, number) in kept.iter().enumerate() {
        bits |= u64::from(passes(*number)) << place;
    }
    bits
}
