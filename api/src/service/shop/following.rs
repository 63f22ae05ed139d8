//! How index and shelves follow what is written: fed record by record, or made anew where that is quicker.

use std::collections::BTreeSet;
use std::sync::atomic::Ordering;

use parking_lot::MutexGuard;
use plugwell_domain::plug::Plug;
use plugwell_indexer::{Fed, Rebuild};
use plugwell_store::{MarkKind, Session, Target};
use uuid::Uuid;

use super::Shop;
use crate::service::ahead::ahead;
use crate::service::{Refusal, judgement};

/// Marks read from the outbox at a time.
const MARKS: i64 = 10_000;
/// Fewer changed records are always fed one by one.
const MANY: i64 = 20_000;
/// Records read at a time while the index is rebuilt.
const RECORDS: i64 = 5_000;

/// An index that is made anew while the first records of a catalogue are being stored, rather than
/// from what was stored. Dropped before it is [finished](Self::finish), it leaves the old one.
pub(crate) struct Along<'s> {
    rebuild: Rebuild<'s>,
    shop: &'s Shop,
    /// The place in the outbox up to which it holds all.
    position: i64,
    // Last, so that it is given up last.
    _feeding: MutexGuard<'s, ()>,
}

impl std::fmt::Debug for Along<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Along(position {})", self.position)
    }
}

impl Along<'_> {
    /// Adds records that were stored just now, with their ordinals.
    pub(crate) fn add(
        &mut self,
        session: &Session,
        ordinals: &[u32],
        plugs: &[Plug],
    ) -> Result<(), Refusal> {
        for (ordinal, plug) in ordinals.iter().zip(plugs) {
            self.rebuild.add(*ordinal, plug)?;
        }
        self.position = self.position.max(session.position().unwrap_or_default());
        Ok(())
    }

    /// Shows it, once the records are committed.
    pub(crate) fn finish(self) -> Result<(), Refusal> {
        self.rebuild.finish(self.position)?;
        self.shop.seen.store(self.position, Ordering::Release);
        self.shop.look_at_all()
    }
}

impl Shop {
    /// Begins to make the index along with a write that found the catalogue empty and is the only one.
    /// `None` on PostgreSQL, where another node may write at the same time. Nobody else feeds the
    /// index until it is given up.
    pub(crate) fn index_along(&self) -> Option<Along<'_>> {
        if matches!(self.store.target(), Target::Postgres(_)) {
            return None;
        }
        let feeding = self.feeding.lock();
        Some(Along {
            rebuild: self.index.rebuild(),
            shop: self,
            position: self.followed(),
            _feeding: feeding,
        })
    }

    /// Throws the index away and makes it anew from the database; `progress` gets done and total.
    ///
    /// # Errors
    /// [`Refusal`] where database or index fail.
    pub fn reindex(&self, progress: &dyn Fn(u64, u64)) -> Result<(), Refusal> {
        let _feeding = self.feeding.lock();
        self.make_index(progress)
    }

    /// Makes the index anew; whoever asks holds the lock on feeding.
    fn make_index(&self, progress: &dyn Fn(u64, u64)) -> Result<(), Refusal> {
        // Whatever is written from here on is marked behind this position and fed again afterwards.
        let (position, total) = self
            .store
            .read(|s| Ok::<_, Refusal>((s.last_mark()?, s.count_plugs()?)))?;
        let total = u64::try_from(total).unwrap_or_default();
        let (mut rebuild, mut done) = (self.index.rebuild(), 0);
        ahead(
            |pass| self.each_record(pass),
            |records: Vec<(u32, Plug)>| {
                for (ordinal, plug) in &records {
                    rebuild.add(*ordinal, plug)?;
                }
                done += records.len() as u64;
                progress(done, total.max(done));
                Ok(())
            },
        )?;
        rebuild.finish(position)?;
        self.seen.store(position, Ordering::Release);
        Ok(())
    }

    /// Passes on all records of the catalogue, some at a time, in the order of their ordinals.
    fn each_record(&self, pass: &dyn Fn(Vec<(u32, Plug)>) -> bool) -> Result<(), Refusal> {
        let mut last = -1;
        loop {
            let records = self.store.read(|s| s.all_plugs(last, RECORDS))?;
            let Some((ordinal, _)) = records.last() else {
                return Ok(());
            };
            last = i64::from(*ordinal);
            if !pass(records) {
                return Ok(());
            }
        }
    }

    /// Brings index and shelves up to what the outbox has marked.
    ///
    /// # Errors
    /// [`Refusal`] where database or index fail.
    pub fn follow(&self) -> Result<(), Refusal> {
        self.feed(BTreeSet::new())
    }

    /// Lets a catalogue write be found by every later match: feeds what is marked, and the written
    /// records themselves, since on PostgreSQL their marks may still hide behind an older
    /// transaction.
    ///
    /// # Errors
    /// [`Refusal`] where database or index fail; the write itself stands.
    pub fn written(&self, ids: impl IntoIterator<Item = Uuid>) -> Result<(), Refusal> {
        self.feed(ids.into_iter().collect())
    }

    fn feed(&self, mut own: BTreeSet<Uuid>) -> Result<(), Refusal> {
        let _feeding = self.feeding.lock();
        loop {
            let after = self.seen.load(Ordering::Acquire);
            if self.is_much(after, own.len() as i64)? {
                self.make_index(&|_, _| {})?;
                return self.look_at_all();
            }
            let marks = self.store.read(|s| s.marks_after(after, MARKS))?;
            let position = marks.last().map_or(after, |m| m.position);
            let mut plugs = std::mem::take(&mut own);
            plugs.extend(
                marks
                    .iter()
                    .filter(|m| m.kind == MarkKind::Plug)
                    .map(|m| m.id),
            );
            if !plugs.is_empty() {
                self.index.feed(self.fed(&plugs)?, position)?;
            }
            if matches!(self.store.target(), Target::Postgres(_)) {
                self.look_again(
                    marks
                        .iter()
                        .filter(|m| m.kind == MarkKind::Stock)
                        .map(|m| m.id),
                )?;
            }
            if marks.iter().any(|m| m.kind == MarkKind::Policy) {
                self.put_policy(self.store.read(judgement::stored)?);
            }
            self.seen.store(position, Ordering::Release);
            if (marks.len() as i64) < MARKS {
                return Ok(());
            }
        }
    }

    /// Whether so much of the catalogue has changed behind a position that making the index anew
    /// takes less time than feeding it one by one.
    fn is_much(&self, after: i64, own: i64) -> Result<bool, Refusal> {
        self.store.read(|s| {
            if own.max(s.marks_behind(after, MarkKind::Plug, MANY)?) < MANY {
                return Ok(false);
            }
            let part = s.count_plugs()? / 4;
            Ok(own.max(s.marks_behind(after, MarkKind::Plug, part)?) >= part)
        })
    }

    /// Takes over what another node may have changed while the marks were passed over.
    fn look_at_all(&self) -> Result<(), Refusal> {
        self.put_policy(self.store.read(judgement::stored)?);
        match self.store.target() {
            Target::Postgres(_) => self.fill_shelves(),
            Target::Sqlite(_) => Ok(()),
        }
    }

    fn fed(&self, ids: &BTreeSet<Uuid>) -> Result<Vec<Fed>, Refusal> {
        self.store.read(|s| {
            let mut batch = Vec::with_capacity(ids.len());
            for id in ids {
                let ordinal = s.ordinal_of(*id)?;
                let record = if ordinal.is_some() {
                    s.plug(*id)?
                } else {
                    None
                };
                batch.push(Fed {
                    id: *id,
                    ordinal: ordinal.unwrap_or(0),
                    record,
                });
            }
            Ok(batch)
        })
    }

    /// Reads the stock of parts again that another node has moved.
    fn look_again(&self, ids: impl Iterator<Item = Uuid>) -> Result<(), Refusal> {
        for id in ids.collect::<BTreeSet<_>>() {
            let found = self.store.read(|s| s.on_shelf(id))?;
            if let Some((ordinal, version, on_shelf)) = found {
                self.shelves.write().put(ordinal, version, on_shelf);
            }
        }
        Ok(())
    }
}
