//! The one writer of an index: opened once, kept as long as the index is.

use parking_lot::MutexGuard;
use plugwell_domain::plug::Plug;
use tantivy::indexer::{IndexWriterOptions, UserOperation};
use tantivy::merge_policy::LogMergePolicy;
use tantivy::{IndexReader, IndexWriter, ReloadPolicy, TantivyDocument};

use crate::document::{document, id_term};
use crate::folder::Payload;
use crate::schema::{self, Fields};
use crate::view::View;
use crate::{Fed, Index, IndexError};

/// Threads that make segments: while one writes what it has gathered, the other goes on.
const THREADS: usize = 2;
/// Memory in which each gathers documents before it writes a segment: some quarter of a million.
const GATHER_BYTES: usize = 128 << 20;
/// Records of an index that is made anew and gets one segment.
const FEW: usize = 20_000;
/// Segments are merged in the background.
const MERGE_THREADS: usize = 2;

/// Writes and reopens one index.
pub(crate) struct Writer {
    writer: IndexWriter,
    reader: IndexReader,
    fields: Fields,
    /// The outbox position of the last commit.
    pub(crate) position: Option<i64>,
}

impl Writer {
    /// Takes the writer's lock.
    pub(crate) fn new(index: &mut tantivy::Index) -> Result<Self, IndexError> {
        let options = IndexWriterOptions::builder()
            .memory_budget_per_thread(GATHER_BYTES)
            .num_worker_threads(THREADS)
            .num_merge_threads(MERGE_THREADS)
            .build();
        let writer: IndexWriter = index.writer_with_options(options)?;
        writer.set_merge_policy(Box::new(merging()));
        let reader = index
            .reader_builder()
            .reload_policy(ReloadPolicy::Manual)
            .try_into()?;
        Ok(Self {
            writer,
            reader,
            fields: schema::schema().1,
            position: None,
        })
    }

    /// Takes a batch over and commits it, or leaves all as it was.
    pub(crate) fn feed(&mut self, batch: &[Fed], position: i64) -> Result<(), IndexError> {
        self.all_or_nothing(|writer| {
            let mut changes = Vec::with_capacity(batch.len() * 2);
            for fed in batch {
                changes.push(UserOperation::Delete(id_term(&writer.fields, fed.id)));
                if let Some(plug) = &fed.record {
                    let document = document(&writer.fields, fed.ordinal, plug)?;
                    changes.push(UserOperation::Add(document));
                }
            }
            // Together they go to one thread: the commit then makes one segment, and segments are
            // what a match costs.
            writer.writer.run(changes)?;
            writer.commit(position)
        })
    }

    /// A view of the last commit and of the merges since.
    pub(crate) fn view(&mut self, before: Option<&View>) -> Result<View, IndexError> {
        self.reader.reload()?;
        View::new(self.reader.searcher(), self.position, before)
    }

    fn commit(&mut self, position: i64) -> Result<(), IndexError> {
        let payload = Payload {
            schema: schema::VERSION,
            position,
        };
        let payload = serde_json::to_string(&payload).map_err(std::io::Error::from)?;
        let mut prepared = self.writer.prepare_commit()?;
        prepared.set_payload(&payload);
        prepared.commit()?;
        self.position = Some(position);
        Ok(())
    }

    fn all_or_nothing(
        &mut self,
        write: impl FnOnce(&mut Self) -> Result<(), IndexError>,
    ) -> Result<(), IndexError> {
        let written = write(self);
        if written.is_err() {
            self.roll_back();
        }
        written
    }

    /// Forgets all since the last commit.
    fn roll_back(&mut self) {
        if let Err(error) = self.writer.rollback() {
            tracing::error!(%error, "the index could not be rolled back; it has to be opened again");
        }
        self.writer.set_merge_policy(Box::new(merging()));
    }
}

/// Few segments, and few dead documents in them: both are what a match pays for.
fn merging() -> LogMergePolicy {
    let mut policy = LogMergePolicy::default();
    policy.set_min_num_segments(4);
    policy.set_min_layer_size(1000);
    policy.set_del_docs_ratio_before_merge(0.04);
    policy
}

/// An index that is being built anew; dropped before it is [finished](Self::finish), it leaves the
/// old contents.
pub struct Rebuild<'a> {
    index: &'a Index,
    writer: MutexGuard<'a, Writer>,
    stage: Stage,
    /// The documents as long as they are few; one thread then makes one segment of them.
    few: Option<Vec<TantivyDocument>>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage {
    Untouched,
    Written,
    Finished,
}

impl<'a> Rebuild<'a> {
    pub(crate) fn begin(index: &'a Index, writer: MutexGuard<'a, Writer>) -> Self {
        Self {
            index,
            writer,
            stage: Stage::Untouched,
            few: Some(Vec::new()),
        }
    }

    /// Adds a record of the catalogue; no match sees a retired one. An id may come only once.
    ///
    /// # Errors
    /// Where the record cannot be kept or files cannot be written.
    pub fn add(&mut self, ordinal: u32, plug: &Plug) -> Result<(), IndexError> {
        self.empty()?;
        let document = document(&self.writer.fields, ordinal, plug)?;
        if let Some(few) = &mut self.few
            && few.len() < FEW
        {
            few.push(document);
            return Ok(());
        }
        for document in self.few.take().into_iter().flatten().chain([document]) {
            self.writer.writer.add_document(document)?;
        }
        Ok(())
    }

    /// Commits, and shows what was added in the place of all that was there.
    ///
    /// # Errors
    /// Where files cannot be written or read.
    pub fn finish(mut self, position: i64) -> Result<(), IndexError> {
        self.empty()?;
        if let Some(few) = self.few.take() {
            let added = few.into_iter().map(UserOperation::Add);
            self.writer.writer.run(added)?;
        }
        self.writer.commit(position)?;
        self.stage = Stage::Finished;
        self.index.show(&mut self.writer)
    }

    fn empty(&mut self) -> Result<(), IndexError> {
        if self.stage == Stage::Untouched {
            self.stage = Stage::Written;
            self.writer.writer.delete_all_documents()?;
        }
        Ok(())
    }
}

impl Drop for Rebuild<'_> {
    fn drop(&mut self) {
        if self.stage == Stage::Written {
            self.writer.roll_back();
        }
    }
}
