//! Part numbers by their beginning, by a range of the term dictionary.

use tantivy::postings::SegmentPostings;
use tantivy::query::{
    BitSetDocSet, ConstScorer, EnableScoring, Explanation, Query, Scorer, Weight,
};
use tantivy::schema::{Field, IndexRecordOption};
use tantivy::termdict::TermStreamer;
use tantivy::{BitSet, DocId, DocSet, InvertedIndexReader, Score, SegmentReader, TERMINATED, Term};
use uuid::Uuid;

use crate::IndexError;
use crate::schema;
use crate::view::View;

/// Terms of a segment that begin so, in their order.
fn terms<'t>(inverted: &'t InvertedIndexReader, with: &str) -> std::io::Result<TermStreamer<'t>> {
    // No part number holds the last of all characters: every one that begins so lies before it.
    let behind = format!("{with}{}", char::MAX);
    inverted.terms().range().ge(with).lt(behind).into_stream()
}

fn living<'r>(
    reader: &'r SegmentReader,
    mut postings: SegmentPostings,
) -> impl Iterator<Item = DocId> + use<'r> {
    let mut next = postings.doc();
    let documents = std::iter::from_fn(move || {
        let doc = next;
        next = if doc == TERMINATED {
            TERMINATED
        } else {
            postings.advance()
        };
        (doc != TERMINATED).then_some(doc)
    });
    documents.filter(|doc| !reader.is_deleted(*doc))
}

/// Whether any part number, of a living record or of one that died since the last merge, begins so.
pub(super) fn is_any(view: &View, with: &str) -> Result<bool, IndexError> {
    let field = schema::schema().1.part;
    for reader in view.searcher.segment_readers() {
        if terms(&*reader.inverted_index(field)?, with)?.advance() {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Living records whose field is this, by id.
pub(super) fn exact(view: &View, field: Field, text: &str) -> Result<Vec<Uuid>, IndexError> {
    let term = Term::from_field_text(field, text);
    let mut ids = Vec::new();
    for (segment, reader) in view.segments.iter().zip(view.searcher.segment_readers()) {
        if let Some(postings) = reader
            .inverted_index(field)?
            .read_postings(&term, IndexRecordOption::Basic)?
        {
            ids.extend(living(reader, postings).map(|doc| segment.columns.id(doc)));
        }
    }
    ids.sort_unstable();
    Ok(ids)
}

/// Living records whose part number begins so, by part number without separators, then id; at
/// most so many.
pub(super) fn first(view: &View, with: &str, limit: usize) -> Result<Vec<Uuid>, IndexError> {
    let field = schema::schema().1.part;
    let mut found: Vec<(Vec<u8>, Uuid)> = Vec::new();
    for (segment, reader) in view.segments.iter().zip(view.searcher.segment_readers()) {
        let inverted = reader.inverted_index(field)?;
        let mut stream = terms(&inverted, with)?;
        let mut of_segment = 0;
        while of_segment < limit && stream.advance() {
            let postings =
                inverted.read_postings_from_terminfo(stream.value(), IndexRecordOption::Basic)?;
            for doc in living(reader, postings) {
                found.push((stream.key().to_vec(), segment.columns.id(doc)));
                of_segment += 1;
            }
        }
    }
    found.sort_unstable();
    found.truncate(limit);
    Ok(found.into_iter().map(|(_, id)| id).collect())
}

/// A query for all records whose part number begins so; each counts 1.
#[derive(Debug, Clone)]
pub(super) struct PartsBeginning {
    pub(super) field: Field,
    pub(super) with: String,
}

impl Query for PartsBeginning {
    fn weight(&self, _: EnableScoring<'_>) -> tantivy::Result<Box<dyn Weight>> {
        Ok(Box::new(self.clone()))
    }
}

impl Weight for PartsBeginning {
    fn scorer(&self, reader: &SegmentReader, boost: Score) -> tantivy::Result<Box<dyn Scorer>> {
        let inverted = reader.inverted_index(self.field)?;
        let mut docs = BitSet::with_max_value(reader.max_doc());
        let mut stream = terms(&inverted, &self.with)?;
        while stream.advance() {
            let postings =
                inverted.read_postings_from_terminfo(stream.value(), IndexRecordOption::Basic)?;
            for doc in living(reader, postings) {
                docs.insert(doc);
            }
        }
        Ok(Box::new(ConstScorer::new(BitSetDocSet::from(docs), boost)))
    }

    fn explain(&self, reader: &SegmentReader, doc: DocId) -> tantivy::Result<Explanation> {
        let found = self.scorer(reader, 1.0)?.seek(doc) == doc;
        Ok(Explanation::new(
            "part number begins so",
            f32::from(u8::from(found)),
        ))
    }
}
