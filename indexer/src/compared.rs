//! Whether the index holds a record as it is: what an audit asks.

use plugwell_domain::attribute::Attr;
use plugwell_domain::plug::{Plug, Shows};
use tantivy::schema::IndexRecordOption;
use tantivy::{DocId, DocSet, TERMINATED};

use crate::IndexError;
use crate::document::id_term;
use crate::schema;
use crate::view::{Segment, View};

/// Whether exactly one living document has the record's id, and shows what the record shows.
pub(crate) fn holds(view: &View, ordinal: u32, plug: &Plug) -> Result<bool, IndexError> {
    let (_, fields) = schema::schema();
    let term = id_term(fields, plug.id);
    let mut found = 0;
    for (segment, reader) in view.segments.iter().zip(view.searcher.segment_readers()) {
        let index = reader.inverted_index(fields.id)?;
        let Some(mut postings) = index.read_postings(&term, IndexRecordOption::Basic)? else {
            continue;
        };
        while postings.doc() != TERMINATED {
            let doc = postings.doc();
            if segment.lives(doc) && doc < segment.columns.documents {
                found += 1;
                if !shows(segment, doc, ordinal, plug)? {
                    return Ok(false);
                }
            }
            postings.advance();
        }
    }
    Ok(found == 1)
}

fn shows(segment: &Segment, doc: DocId, ordinal: u32, plug: &Plug) -> Result<bool, IndexError> {
    let row = segment.row(doc);
    Ok(segment.columns.ordinal(doc) == ordinal
        && segment.columns.part_number(doc)? == plug.data.part_number
        && Attr::ALL
            .iter()
            .all(|attr| row.shown(*attr) == plug.shown(*attr)))
}
