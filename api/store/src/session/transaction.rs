//! Beginning and ending of transactions.

use super::{Link, Session};
use crate::error::{StoreError, Trouble};

/// Page cache of a connection to SQLite, in KiB.
pub(crate) const USUAL: u32 = 16_384;
/// The same while many rows are written: room for the indexes of a million parts.
const MUCH: u32 = 262_144;

impl Session {
    /// One consistent state until the end.
    pub(crate) fn begin_read(&mut self) -> Result<(), StoreError> {
        self.reset(false);
        let begin = match self.link {
            Link::Sqlite(_) => "BEGIN DEFERRED",
            Link::Postgres(_) => "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY",
        };
        self.batch(begin)
    }

    pub(crate) fn begin_write(&mut self) -> Result<(), StoreError> {
        self.reset(true);
        let begin = match self.link {
            Link::Sqlite(_) => "BEGIN IMMEDIATE",
            Link::Postgres(_) => "BEGIN ISOLATION LEVEL READ COMMITTED",
        };
        self.batch(begin)
    }

    /// A command of a group: undone alone, committed with the others.
    pub(crate) fn begin_command(&mut self) -> Result<(), StoreError> {
        self.reset(true);
        self.batch("SAVEPOINT command")
    }

    pub(crate) fn end_command(&mut self, keep: bool) -> Result<(), StoreError> {
        self.batch(if keep {
            "RELEASE command"
        } else {
            "ROLLBACK TO command; RELEASE command"
        })
    }

    pub(crate) fn commit(&mut self) -> Result<(), StoreError> {
        self.committing = true;
        self.batch("COMMIT")
    }

    /// Undoes everything; a connection that cannot is not used again.
    pub(crate) fn rollback(&mut self) {
        if self.batch("ROLLBACK").is_err() {
            self.broken = true;
        }
    }

    pub(crate) fn ping(&mut self) -> Result<(), StoreError> {
        self.batch("SELECT 1")
    }

    /// Whether the connection can be used for another transaction.
    pub(crate) fn is_broken(&self) -> bool {
        self.broken
    }

    /// Whether the last transaction got as far as its commit.
    pub(crate) fn committing(&self) -> bool {
        self.committing
    }

    pub(crate) fn trouble(&self) -> Option<Trouble> {
        self.trouble
    }

    /// What a command that ended well has to answer all the same where one of its statements
    /// failed: PostgreSQL would take its commit for a rollback without a word.
    pub(crate) fn spoilt(&self) -> Option<StoreError> {
        self.trouble
            .map(|_| StoreError::Fault("a command went on after an error of the database".into()))
    }

    /// For a write of many rows on SQLite: what it touches stays in memory until the commit, rather
    /// than being written out and read back again and again.
    pub(crate) fn make_room(&mut self, much: bool) -> Result<(), StoreError> {
        let kibibytes = if much { MUCH } else { USUAL };
        self.batch(&format!("PRAGMA cache_size = -{kibibytes}"))
    }

    fn reset(&mut self, writing: bool) {
        self.writing = writing;
        self.committing = false;
        self.position = 0;
        self.trouble = None;
    }
}
