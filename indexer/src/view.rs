//! What a match reads: the columns of every segment, opened once, with the documents that live.
//!
//! A view never changes. A commit makes the next one, which shares with it the columns of the
//! segments that both have.

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use plugwell_domain::attribute::Attr;
use plugwell_domain::plug::Shows;
use tantivy::columnar::{ColumnIndex, ColumnValues, StrColumn};
use tantivy::fastfield::{AliveBitSet, FastFieldReaders};
use tantivy::index::SegmentId;
use tantivy::{DocId, Searcher, SegmentReader};
use uuid::Uuid;

use crate::IndexError;
use crate::alive::first_retired;
use crate::group::Group;
use crate::schema::{self, Fact, Keeping};

/// Documents that are read at once.
pub(crate) const BLOCK: usize = 64;

/// The state of one commit.
pub(crate) struct View {
    pub(crate) searcher: Searcher,
    pub(crate) segments: Vec<Segment>,
    pub(crate) position: Option<i64>,
}

impl View {
    /// A view of what a searcher sees; columns come from the view before it where it had them.
    pub(crate) fn new(
        searcher: Searcher,
        position: Option<i64>,
        before: Option<&Self>,
    ) -> Result<Self, IndexError> {
        let known: HashMap<SegmentId, &Arc<Columns>> = before
            .iter()
            .flat_map(|view| &view.segments)
            .map(|s| (s.id, &s.columns))
            .collect();
        let segment = |reader: &SegmentReader| {
            let id = reader.segment_id();
            let columns = match known.get(&id) {
                Some(columns) => Arc::clone(columns),
                None => Arc::new(Columns::open(reader)?),
            };
            Ok(Segment {
                id,
                columns,
                alive: reader.alive_bitset().cloned(),
            })
        };
        let segments = searcher
            .segment_readers()
            .iter()
            .map(segment)
            .collect::<Result<_, IndexError>>()?;
        Ok(Self {
            searcher,
            segments,
            position,
        })
    }

    /// Living records.
    pub(crate) fn living(&self) -> u64 {
        let retired = self.segments.iter().map(|segment| {
            let retired = segment.columns.retired.clone();
            retired.filter(|doc| segment.lives(*doc)).count() as u64
        });
        self.searcher.num_docs() - retired.sum::<u64>()
    }
}

/// One segment of a view.
pub(crate) struct Segment {
    id: SegmentId,
    pub(crate) columns: Arc<Columns>,
    alive: Option<AliveBitSet>,
}

impl Segment {
    /// Whether a document has neither been deleted nor replaced.
    #[inline]
    pub(crate) fn lives(&self, doc: DocId) -> bool {
        self.alive.as_ref().is_none_or(|alive| alive.is_alive(doc))
    }

    /// A document's attributes.
    pub(crate) fn row(&self, doc: DocId) -> Row<'_> {
        Row {
            columns: &self.columns,
            doc,
        }
    }
}

/// The columns of one segment; no document of it ever changes.
pub(crate) struct Columns {
    /// Documents that a match looks at: all but the retired ones, which stand behind them.
    pub(crate) documents: DocId,
    /// The retired ones.
    pub(crate) retired: Range<DocId>,
    pub(crate) key: Numbers,
    ordinal: Numbers,
    id_halves: [Numbers; 2],
    facts: Vec<Column>,
    printed: StrColumn,
    printed_places: Numbers,
    beginning: Numbers,
    /// Documents that share all of the key but the heat, in the order of the key.
    pub(crate) groups: Vec<Group>,
    /// The heat of the first document of each block, as it is kept: a search among them touches
    /// less memory than one in the column.
    fences: Vec<u16>,
}

type Numbers = Arc<dyn ColumnValues<u64>>;

/// The column of one attribute.
pub(crate) struct Column {
    values: Numbers,
    pub(crate) keeping: Keeping,
}

impl Column {
    /// The value of one document that a test sees.
    #[inline]
    pub(crate) fn shown(&self, doc: DocId) -> Option<i64> {
        self.keeping.shown(self.values.get_val(doc))
    }

    /// The values of a run of documents as they are kept.
    #[inline]
    pub(crate) fn kept(&self, docs: Range<DocId>, buffer: &mut [u64; BLOCK]) {
        self.values
            .get_range(u64::from(docs.start), &mut buffer[..docs.len()]);
    }
}

impl Columns {
    fn open(reader: &SegmentReader) -> Result<Self, IndexError> {
        let fast = reader.fast_fields();
        let (_, fields) = schema::schema();
        let column = |fact: &Fact| {
            let values = numbers(fast, &schema::fact(fact.attr))?;
            Ok(Column {
                values,
                keeping: fact.keeping,
            })
        };
        let printed = fast
            .str(schema::PRINTED)?
            .ok_or_else(|| missing(schema::PRINTED))?;
        let [high, low] = schema::ID_HALVES;
        let mut columns = Self {
            documents: 0,
            retired: 0..0,
            key: numbers(fast, schema::KEY)?,
            ordinal: numbers(fast, schema::ORDINAL)?,
            id_halves: [numbers(fast, high)?, numbers(fast, low)?],
            facts: fields
                .facts
                .iter()
                .map(column)
                .collect::<Result<_, IndexError>>()?,
            printed_places: full(printed.ords(), schema::PRINTED)?,
            printed,
            beginning: numbers(fast, schema::BEGINNING)?,
            groups: Vec::new(),
            fences: Vec::new(),
        };
        // Retired records stand behind all others.
        columns.documents = first_retired(&columns, reader.max_doc());
        columns.retired = columns.documents..reader.max_doc();
        let heat = columns.fact(Attr::Heat);
        columns.fences = (0..columns.documents)
            .step_by(BLOCK)
            .map(|doc| heat.values.get_val(doc) as u16)
            .collect();
        columns.groups = Group::all(&columns)?;
        Ok(columns)
    }

    /// The column of an attribute.
    #[inline]
    pub(crate) fn fact(&self, attr: Attr) -> &Column {
        &self.facts[attr as usize]
    }

    /// The first document of a run that stands by heat, unknown first, whose heat is not below a
    /// code of the key. The heat is kept as the number that is its code.
    pub(crate) fn first_not_hotter(&self, docs: Range<DocId>, code: u64) -> DocId {
        let block = |doc: DocId| doc as usize / BLOCK;
        // The blocks that begin within the run.
        let blocks = block(docs.start) + 1..block(docs.end - 1) + 1;
        let below = self.fences[blocks.clone()].partition_point(|fence| u64::from(*fence) < code);
        let first_of = |place: usize| ((blocks.start + place) * BLOCK) as DocId;
        let mut start = if below == 0 {
            docs.start
        } else {
            first_of(below - 1)
        };
        let mut end = if below == blocks.len() {
            docs.end
        } else {
            first_of(below)
        };
        let heat = &self.fact(Attr::Heat).values;
        while start < end {
            let middle = start + (end - start) / 2;
            if heat.get_val(middle) < code {
                start = middle + 1
            } else {
                end = middle
            }
        }
        start
    }

    /// The sort keys of a run of documents.
    pub(crate) fn keys(&self, docs: Range<DocId>, buffer: &mut [u64; BLOCK]) {
        self.key
            .get_range(u64::from(docs.start), &mut buffer[..docs.len()]);
    }

    /// A part's place in the shelf table.
    pub(crate) fn ordinal(&self, doc: DocId) -> u32 {
        self.ordinal.get_val(doc) as u32
    }

    /// The places in the shelf table of some documents.
    pub(crate) fn ordinals_of(&self, docs: &[DocId], ordinals: &mut [u64]) {
        self.ordinal.get_vals(docs, ordinals);
    }

    /// The places in the shelf table of a run of documents.
    pub(crate) fn ordinals(&self, docs: Range<DocId>, buffer: &mut [u64; BLOCK]) {
        self.ordinal
            .get_range(u64::from(docs.start), &mut buffer[..docs.len()]);
    }

    /// A record's id.
    pub(crate) fn id(&self, doc: DocId) -> Uuid {
        let [high, low] = &self.id_halves;
        Uuid::from_u64_pair(high.get_val(doc), low.get_val(doc))
    }

    /// The place of a document's part number among those of the segment, byte by byte: within a
    /// segment, places stand as the numbers do.
    pub(crate) fn part_number_place(&self, doc: DocId) -> u64 {
        self.printed_places.get_val(doc)
    }

    /// The first bytes of a document's part number, as a number.
    pub(crate) fn part_number_beginning(&self, doc: DocId) -> u64 {
        self.beginning.get_val(doc)
    }

    /// A document's part number as printed. Takes microseconds: asked for only to break ties
    /// between segments.
    pub(crate) fn part_number(&self, doc: DocId) -> Result<String, IndexError> {
        let mut text = String::new();
        self.printed
            .ord_to_str(self.part_number_place(doc), &mut text)?;
        Ok(text)
    }
}

/// A full column: every document has exactly one value in it.
fn numbers(fast: &FastFieldReaders, name: &str) -> Result<Numbers, IndexError> {
    let column = fast.column_opt::<u64>(name)?.ok_or_else(|| missing(name))?;
    full(&column, name)
}

fn full(column: &tantivy::columnar::Column<u64>, name: &str) -> Result<Numbers, IndexError> {
    match column.index {
        ColumnIndex::Full => Ok(Arc::clone(&column.values)),
        _ => Err(IndexError::Unsound(format!("column {name} has holes"))),
    }
}

fn missing(name: &str) -> IndexError {
    IndexError::Unsound(format!("column {name} is missing"))
}

/// One document's attributes, read as they are asked for.
#[derive(Clone, Copy)]
pub(crate) struct Row<'a> {
    columns: &'a Columns,
    doc: DocId,
}

impl Row<'_> {
    /// The record's id.
    pub(crate) fn id(&self) -> Uuid {
        self.columns.id(self.doc)
    }
}

impl Shows for Row<'_> {
    #[inline]
    fn shown(&self, attr: Attr) -> Option<i64> {
        self.columns.fact(attr).shown(self.doc)
    }
}

/// Values of some attributes of some documents of a segment, fetched side by side: documents that
/// pass lie far apart, and waiting for one after the other takes longer than judging them.
#[derive(Default)]
pub(crate) struct Fetched {
    attrs: Vec<Attr>,
    /// Attribute by attribute, as they are kept.
    kept: Vec<u64>,
}

impl Fetched {
    /// For some attributes.
    pub(crate) fn of(attrs: Vec<Attr>) -> Self {
        Self {
            attrs,
            kept: Vec::new(),
        }
    }

    /// Fetches the values of some documents in the place of those before.
    pub(crate) fn fetch(&mut self, columns: &Columns, docs: &[DocId]) {
        self.kept.resize(self.attrs.len() * docs.len(), 0);
        for (attr, kept) in self
            .attrs
            .iter()
            .zip(self.kept.chunks_exact_mut(docs.len().max(1)))
        {
            columns.fact(*attr).values.get_vals(docs, kept);
        }
    }

    /// The attributes of one of the documents, by its place among them.
    pub(crate) fn row<'a>(&'a self, row: Row<'a>, place: usize) -> FetchedRow<'a> {
        FetchedRow {
            row,
            fetched: self,
            place,
        }
    }
}

/// One document's attributes, those that were fetched and the others.
pub(crate) struct FetchedRow<'a> {
    row: Row<'a>,
    fetched: &'a Fetched,
    place: usize,
}

impl Shows for FetchedRow<'_> {
    fn shown(&self, attr: Attr) -> Option<i64> {
        let Fetched { attrs, kept } = self.fetched;
        match attrs.iter().position(|fetched| *fetched == attr) {
            Some(of_attr) => {
                let docs = kept.len() / attrs.len();
                self.row
                    .columns
                    .fact(attr)
                    .keeping
                    .shown(kept[of_attr * docs + self.place])
            }
            None => self.row.shown(attr),
        }
    }
}
