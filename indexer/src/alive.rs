//! Which documents of a segment live, and which of them a match looks at.

use tantivy::DocId;

use crate::key;
use crate::view::{BLOCK, Columns, Segment};

/// The first document of those that are retired, which are the last of a segment.
pub(crate) fn first_retired(columns: &Columns, documents: DocId) -> DocId {
    let (mut low, mut high) = (0, documents);
    while low < high {
        let middle = low + (high - low) / 2;
        if columns.key.get_val(middle) == key::RETIRED {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}

/// The documents of some bits that live; how many.
pub(crate) fn living_of(
    segment: &Segment,
    first: DocId,
    mut bits: u64,
    living: &mut [DocId; BLOCK],
) -> usize {
    let mut count = 0;
    while bits != 0 {
        let doc = first + bits.trailing_zeros();
        bits &= bits - 1;
        living[count] = doc;
        count += usize::from(segment.lives(doc));
    }
    count
}
