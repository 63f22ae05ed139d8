//! A must put to a block of kept numbers at once.

use plugwell_domain::requirement::{Demand, Test};

use crate::candidates::lets_pass;
use crate::schema::Keeping;
use crate::view::BLOCK;

/// A must, in terms of the numbers that are kept of its attribute.
///
/// What it lets through is what the domain lets through; a range, which most musts are, is compared
/// without branches, since this is what most of a match's time goes to.
pub(crate) enum Filter<'d> {
    /// Numbers from the first on, so many more; and whether unknown passes.
    Span {
        first: u32,
        more: u32,
        unknown: bool,
    },
    /// Any other test: each number is judged.
    Each {
        demand: &'d Demand,
        keeping: Keeping,
    },
}

impl<'d> Filter<'d> {
    /// The filter of a must.
    pub(crate) fn of(demand: &'d Demand, keeping: Keeping) -> Self {
        let Test::Range { min, max } = demand.test else {
            return Self::Each { demand, keeping };
        };
        let unknown = lets_pass(demand, None);
        match keeping.span(min, max) {
            // Kept numbers are small: see the test of the schema.
            Some(span) => Self::Span {
                first: *span.start() as u32,
                more: (span.end() - span.start()) as u32,
                unknown,
            },
            None => Self::Each { demand, keeping },
        }
    }

    /// The numbers of a block that pass, a bit for each.
    #[inline]
    pub(crate) fn passing(&self, kept: &[u64; BLOCK]) -> u64 {
        let mut passes = [0; BLOCK];
        match *self {
            Self::Span {
                first,
                more,
                unknown: false,
            } => {
                for (passes, number) in passes.iter_mut().zip(kept) {
                    *passes = u8::from((*number as u32).wrapping_sub(first) <= more);
                }
            }
            Self::Span {
                first,
                more,
                unknown: true,
            } => {
                for (passes, number) in passes.iter_mut().zip(kept) {
                    let number = *number as u32;
                    *passes = u8::from((number.wrapping_sub(first) <= more) | (number == 0));
                }
            }
            Self::Each { demand, keeping } => {
                for (passes, number) in passes.iter_mut().zip(kept) {
                    *passes = u8::from(lets_pass(demand, keeping.shown(*number)));
                }
            }
        }
        bits(&passes)
    }
}

/// Bytes that are 0 or 1 as bits, the first the least.
#[inline]
fn bits(bytes: &[u8; BLOCK]) -> u64 {
    let (eights, _) = bytes.as_chunks::<8>();
    // The product has the eight bytes, 0 or 1 each, side by side in its highest byte.
    let gathered =
        |eight: &[u8; 8]| u64::from_le_bytes(*eight).wrapping_mul(0x0102_0408_1020_4080) >> 56;
    eights
        .iter()
        .rev()
        .fold(0, |bits, eight| bits << 8 | gathered(eight))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_byte_is_its_bit() {
        for place in 0..BLOCK {
            let mut bytes = [0; BLOCK];
            bytes[place] = 1;
            assert_eq!(bits(&bytes), 1 << place);
            bytes = [1; BLOCK];
            bytes[place] = 0;
            assert_eq!(bits(&bytes), !(1 << place));
        }
    }
}
