//! The search index: which parts of the catalogue meet a requirement and are on the shelf, in
//! order, and which parts a few typed words mean.
//!
//! The only room that knows tantivy. What lies here is derived: it can be deleted at any time and
//! is built anew from the database; each commit carries the schema version and the outbox position
//! up to which it is fed. Every attribute is a fast field, so the fast fields are the column store
//! that a match scans, and every verdict is made by the domain's own functions
//! ([`plugwell_domain::fit`]). Stock never lies here: a match is given the live shelves.
//!
//! - [`Index::open`], [`Index::feed`], [`Index::rebuild`]: one long-lived writer, batched commits,
//!   an update is a delete by id and an add.
//! - [`Index::search`]: documents of a segment are sorted by one compound key; a requirement
//!   concerns a few runs of it, which are scanned in blocks.
//! - [`Index::identify`]: which records a plug without a name can be, by what was read off it.
//! - [`Index::words`]: part number first, then words by relevance, typos of one letter forgiven.

mod alive;
mod best;
mod candidates;
mod compared;
mod document;
mod filter;
mod folder;
mod group;
mod heat;
mod identify;
mod key;
mod scan;
mod schema;
mod view;
mod words;
mod writer;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use parking_lot::{Mutex, RwLock};
use plugwell_domain::attribute::Attr;
use plugwell_domain::decimal::Length;
use plugwell_domain::fit::{Standing, StockMode, Verdict};
use plugwell_domain::identification::{Crowd, Sought};
use plugwell_domain::ledger::shelf::ShelfTable;
use plugwell_domain::plug::Plug;
use plugwell_domain::requirement::Requirement;
use uuid::Uuid;

use view::View;
pub use writer::Rebuild;
use writer::Writer;

/// Why the index could not do what it was asked for.
#[derive(Debug, thiserror::Error)]
pub enum IndexError {
    /// Another process, or another [`Index`] of this one, has the folder open.
    #[error("the index folder is in use by another process")]
    InUse,
    /// Files could not be read, written or deleted.
    #[error("the files of the index: {0}")]
    Files(#[from] std::io::Error),
    /// The engine failed; opening the index again builds it anew where it is damaged.
    #[error("the index: {0}")]
    Engine(#[source] Box<tantivy::TantivyError>),
    /// What lies in the folder is not a sound index of this version.
    #[error("the index cannot be used: {0}")]
    Unsound(String),
    /// A record holds a value that no record can hold.
    #[error("{attribute} of record {id} is outside its bounds")]
    OutOfBounds {
        /// The record.
        id: Uuid,
        /// The attribute.
        attribute: Attr,
    },
}

impl From<tantivy::TantivyError> for IndexError {
    fn from(error: tantivy::TantivyError) -> Self {
        match error {
            tantivy::TantivyError::LockFailure(..) => Self::InUse,
            other => Self::Engine(Box::new(other)),
        }
    }
}

/// The index of one folder; shared between threads.
pub struct Index {
    folder: PathBuf,
    writer: Mutex<Writer>,
    view: RwLock<Arc<View>>,
}

/// A changed record on its way into the index.
#[derive(Debug, Clone)]
pub struct Fed {
    /// The record's id.
    pub id: Uuid,
    /// Its place in the shelf table; it never changes.
    pub ordinal: u32,
    /// The record as it is now; `None` where it is gone. No match sees a retired one.
    pub record: Option<Plug>,
}

/// What a match asks for.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// What the plug must be, and had better be.
    pub requirement: &'a Requirement,
    /// Plugs wanted.
    pub quantity: i64,
    /// What has to be on the shelf for a part to be offered.
    pub stock: StockMode,
    /// Most fits to return.
    pub limit: usize,
    /// Most near misses to return.
    pub near_misses: usize,
}

/// The answer to a [`Question`].
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The best fits that the stock condition lets through, best first.
    pub fits: Vec<Hit>,
    /// The best parts that fail one must, with the must; the same stock condition, best first.
    pub near_misses: Vec<(Hit, Attr)>,
    /// Records that pass every must, whatever the stock.
    pub fits_in_catalogue: u64,
    /// Those of them of which the quantity is available.
    pub fits_in_stock: u64,
    /// Records that the fits were looked for among: what the key left of the catalogue.
    pub candidates: u64,
}

/// One part that a match offers.
#[derive(Debug, Clone, PartialEq)]
pub struct Hit {
    /// The record's id.
    pub id: Uuid,
    /// Its place in the shelf table.
    pub ordinal: u32,
    /// Where it stands among the fits.
    pub standing: Standing,
    /// Plugs that are not reserved, for the gap to set.
    pub available: i64,
    /// Plugs in bins.
    pub on_hand: i64,
    /// The gap to set this plug to; `None` where nobody can say.
    pub set_gap_mm: Option<Length>,
    /// How the part stands to each demand, in the order of the requirement.
    pub verdicts: Vec<Verdict>,
}

/// The answer to readings of an unmarked plug.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identified {
    /// The likeliest records, by cost, part number and id.
    pub likeliest: Vec<Likely>,
    /// All that can be the plug, by their cost.
    pub crowd: Crowd,
}

/// A record that an unmarked plug can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Likely {
    /// The record's id.
    pub id: Uuid,
    /// Its place in the shelf table.
    pub ordinal: u32,
    /// What the readings cost it; see [`Sought`].
    pub cost: u32,
}

impl Index {
    /// Opens the index of a folder, or makes a new one: where there is none, and where the one
    /// that lies there is damaged, of another schema version or otherwise unusable. Only files of
    /// the index are deleted then. A new index has no [`position`](Self::position).
    ///
    /// # Errors
    /// [`IndexError::InUse`] where another process writes to it; otherwise only where the folder
    /// cannot be written.
    pub fn open(folder: &Path) -> Result<Self, IndexError> {
        let (writer, view) = folder::open_or_make_anew(folder)?;
        Ok(Self {
            folder: folder.to_owned(),
            writer: Mutex::new(writer),
            view: RwLock::new(Arc::new(view)),
        })
    }

    /// The outbox position up to which the index is fed; `None` where it was never fed.
    pub fn position(&self) -> Option<i64> {
        self.view().position
    }

    /// Takes changed records over, in one commit, and shows them.
    ///
    /// A batch is all or nothing. An id that stands in it twice ends as its last entry says.
    ///
    /// # Errors
    /// Where a record cannot be kept or the commit fails; nothing has changed then.
    pub fn feed(&self, batch: Vec<Fed>, position: i64) -> Result<(), IndexError> {
        let mut writer = self.writer.lock();
        writer.feed(&batch, position)?;
        self.show(&mut writer)
    }

    /// Begins to build the index anew from the whole catalogue; until
    /// [`Rebuild::finish`] the old contents are shown. Others that feed wait meanwhile.
    pub fn rebuild(&self) -> Rebuild<'_> {
        Rebuild::begin(self, self.writer.lock())
    }

    /// Shows what merges in the background have tidied up since the last commit. Answers do not
    /// change by it; fewer segments answer faster.
    ///
    /// # Errors
    /// Where the index cannot be read.
    pub fn refresh(&self) -> Result<(), IndexError> {
        let mut writer = self.writer.lock();
        self.show(&mut writer)
    }

    /// Whether the index holds a record, under its ordinal, as it is; an audit asks this.
    ///
    /// # Errors
    /// [`IndexError`] where the index cannot be read.
    pub fn holds(&self, ordinal: u32, plug: &Plug) -> Result<bool, IndexError> {
        compared::holds(&self.view(), ordinal, plug)
    }

    /// Living records.
    pub fn count(&self) -> u64 {
        self.view().living()
    }

    /// The parts that meet a requirement, best first, with the totals, in the state of the last
    /// feed and of the shelves as given.
    ///
    /// # Errors
    /// Where the index cannot be read.
    pub fn search(
        &self,
        question: &Question<'_>,
        shelves: &ShelfTable,
    ) -> Result<Found, IndexError> {
        scan::search(&self.view(), question, shelves)
    }

    /// The records that a plug can be by what was read off it, likeliest first, at most `limit`, in
    /// the state of the last feed. Retired records are among them.
    ///
    /// # Errors
    /// Where the index cannot be read.
    pub fn identify(&self, sought: &Sought, limit: usize) -> Result<Identified, IndexError> {
        identify::search(&self.view(), sought, limit)
    }

    /// The records that a few typed words mean, best first: those of this very part number or
    /// barcode, those whose part number begins so (case and separators do not matter), then by
    /// the words of maker and description, where one wrong letter is forgiven. Where no record has
    /// all the words, those that have some. Retired records are among them.
    ///
    /// # Errors
    /// Where the index cannot be read.
    pub fn words(&self, text: &str, limit: usize) -> Result<Vec<Uuid>, IndexError> {
        words::search(&self.view(), text, limit)
    }

    /// The records whose part number is spelled like this one: first those that differ by case and
    /// separators only, then those where O and 0, I, l and 1 were taken for each other, then those
    /// with one slip. By whichever maker; retired records are among them.
    ///
    /// # Errors
    /// Where the index cannot be read.
    pub fn spelled_like(&self, part_number: &str, limit: usize) -> Result<Vec<Uuid>, IndexError> {
        words::near(&self.view(), part_number, limit)
    }

    /// Bytes that the index takes up on disk.
    ///
    /// # Errors
    /// Where the folder cannot be read.
    pub fn folder_size(&self) -> Result<u64, IndexError> {
        folder::size(&self.folder)
    }

    /// Segments that a match goes through.
    pub fn segments(&self) -> usize {
        self.view().segments.len()
    }

    fn view(&self) -> Arc<View> {
        self.view.read().clone()
    }

    /// Puts a view of the last commit in the place of the present one.
    fn show(&self, writer: &mut Writer) -> Result<(), IndexError> {
        let before = self.view();
        let after = writer.view(Some(&before))?;
        *self.view.write() = Arc::new(after);
        Ok(())
    }
}
