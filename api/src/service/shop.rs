//! The running shop: database, index, shelves in memory and policy, and how they keep in step.

mod following;

pub(crate) use following::Along;

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::{Duration, Instant};

use parking_lot::{Mutex, RwLock};
use plugwell_domain::ledger::Reservation;
use plugwell_domain::ledger::shelf::{OnShelf, ShelfTable};
use plugwell_domain::policy::Policy;
use plugwell_indexer::{Index, IndexError};
use plugwell_store::{Session, Store, StoreError, Target};

use crate::metrics::Metrics;
use crate::service::access::Access;
use crate::service::bell::Bell;
use crate::service::exchange::Waiting;
use crate::service::once::Running;
use crate::service::reordering::KeptProposal;
use crate::service::spread::Hands;
use crate::service::waiting_jobs::Line;
use crate::service::webhooks::Sending;
use crate::service::{Refusal, judgement};

/// How long a read waits for a write of another node.
const PATIENCE: Duration = Duration::from_secs(5);

/// The running shop. One for a process; shared by all threads.
pub struct Shop {
    /// The database.
    pub store: Store,
    /// The search index: derived, may be rebuilt at any time.
    pub index: Index,
    /// What lies on the shelves, by part ordinal.
    pub shelves: RwLock<ShelfTable>,
    /// Tokens, and who is signed in to the pages.
    pub access: Access,
    /// What to order, as it was worked out last.
    pub proposal: KeptProposal,
    /// Once-only keys of requests that are being worked on.
    pub running: Running,
    /// Tables that were looked at and wait to be booked.
    pub waiting: Waiting,
    /// What is counted while it runs.
    pub metrics: Arc<Metrics>,
    /// Threads that may help with a batch.
    pub hands: Hands,
    /// Rings when something may have been told.
    pub bell: Bell,
    sending: Sending,
    /// Jobs that wait for plugs, as far as this process remembers them.
    pub waiting_jobs: Line,
    policy: RwLock<Arc<Policy>>,
    feeding: Mutex<()>,
    seen: AtomicI64,
    wrote: AtomicI64,
    heard: AtomicI64,
}

/// A part whose stock a command changed: what its shelf shows from now on.
#[derive(Debug, Clone)]
pub struct Touched {
    /// The part's place in the table of shelves.
    pub ordinal: u32,
    /// Rises with every change of the part's stock.
    pub version: i64,
    /// What the shelf shows.
    pub on_shelf: OnShelf,
    /// Reservations whose time had run out, and which ended with it.
    pub expired: Vec<Reservation>,
}

impl Shop {
    /// Opens the shop over a migrated database: fills the shelves, brings the index up to date
    /// (rebuilding it where it is missing or damaged), loads policy and tokens.
    ///
    /// # Errors
    /// [`Refusal`] where database or index cannot be read.
    pub fn open(
        store: Store,
        index_folder: &Path,
        progress: &dyn Fn(u64, u64),
    ) -> Result<Self, Refusal> {
        let index = Index::open(index_folder)?;
        let policy = store.read(judgement::stored)?;
        let shop = Self {
            access: Access::load(&store)?,
            store,
            index,
            shelves: RwLock::new(ShelfTable::new()),
            proposal: KeptProposal::default(),
            running: Running::default(),
            waiting: Waiting::default(),
            metrics: Arc::default(),
            hands: Hands::default(),
            bell: Bell::default(),
            sending: Sending::default(),
            waiting_jobs: Line::default(),
            policy: RwLock::new(Arc::new(policy)),
            feeding: Mutex::new(()),
            seen: AtomicI64::new(0),
            wrote: AtomicI64::new(0),
            heard: AtomicI64::new(0),
        };
        shop.fill_shelves()?;
        // An index of another database, or of this one before it was restored, is worth nothing.
        let lineage = shop.store.read(Session::lineage)?;
        let of = index_folder.with_file_name("index-of");
        let ours = std::fs::read_to_string(&of).is_ok_and(|text| text == lineage);
        match shop.index.position() {
            Some(position) if ours => {
                shop.seen.store(position, Ordering::Release);
                shop.follow()?;
            }
            _ => {
                shop.reindex(progress)?;
                std::fs::write(&of, &lineage)
                    .map_err(|e| Refusal::Fault(format!("{}: {e}", of.display())))?;
            }
        }
        Ok(shop)
    }

    /// The policy in force.
    pub fn policy(&self) -> Arc<Policy> {
        Arc::clone(&self.policy.read())
    }

    /// How deliveries to webhooks are sent.
    pub fn sending(&self) -> &Sending {
        &self.sending
    }

    /// Sends deliveries to webhooks like this.
    pub fn send_like(&mut self, sending: Sending) {
        self.sending = sending;
    }

    /// Puts another policy in force in this process, unless a later one is already.
    pub(super) fn put_policy(&self, policy: Policy) {
        let mut in_force = self.policy.write();
        if policy.version > in_force.version {
            *in_force = Arc::new(policy);
        }
    }

    /// Takes the stock of all parts over from the database.
    ///
    /// # Errors
    /// Where the database fails.
    pub fn fill_shelves(&self) -> Result<(), Refusal> {
        let all = self.store.read(Session::all_on_shelf)?;
        let mut shelves = self.shelves.write();
        for (ordinal, version, on_shelf) in all {
            shelves.put(ordinal, version, on_shelf);
        }
        Ok(())
    }

    /// Shows what a command left on a shelf; called after its commit and before its answer.
    pub fn show(&self, touched: &Touched) {
        for ended in &touched.expired {
            tracing::info!(
                reservation = %ended.id, job = ended.job, plug = %ended.plug_id,
                plugs = ended.quantity - ended.issued_quantity, "a reservation ran out: its plugs can be had"
            );
        }
        self.shelves
            .write()
            .put(touched.ordinal, touched.version, touched.on_shelf.clone());
    }

    /// Runs a write and keeps its place in the outbox, for [`Shop::position`].
    ///
    /// # Errors
    /// Those of `f`, and where the database gives out.
    pub fn write<T: Send, E: From<StoreError> + Send>(
        &self,
        mut f: impl FnMut(&mut Session) -> Result<T, E> + Send,
    ) -> Result<T, E> {
        let written = self.store.write_then(
            |session| {
                let value = f(session)?;
                Ok::<_, E>((value, session.position()))
            },
            |(_, position)| self.wrote(*position),
        )?;
        Ok(written.0)
    }

    /// Shows what a committed command left on shelves, and keeps its place.
    pub(super) fn after(&self, touched: &[Touched], position: Option<i64>) {
        touched.iter().for_each(|touched| self.show(touched));
        self.wrote(position);
    }

    /// Keeps the place of a committed write.
    pub(super) fn wrote(&self, position: Option<i64>) {
        self.wrote
            .fetch_max(position.unwrap_or(0), Ordering::AcqRel);
        self.bell.ring();
    }

    /// Whether an event is behind all that this process has heard of.
    pub(super) fn hears_of(&self, event: i64) -> bool {
        self.heard.fetch_max(event, Ordering::AcqRel) < event
    }

    /// The place of the last write that this process answered or saw: an answer to a write carries
    /// it, and a read that brings it along is shown at least that.
    pub fn position(&self) -> i64 {
        self.followed().max(self.wrote.load(Ordering::Acquire))
    }

    /// How far index and shelves have followed the outbox.
    pub fn followed(&self) -> i64 {
        self.seen.load(Ordering::Acquire)
    }

    /// How many changes index and shelves have not followed yet.
    ///
    /// # Errors
    /// Where the database does not answer.
    pub fn lag(&self) -> Result<i64, Refusal> {
        self.store.health()?;
        let last = self.store.read(|s| Ok::<_, Refusal>(s.last_mark()?))?;
        Ok((last - self.followed()).max(0))
    }

    /// Whether a position is one that no answer of this shop can have carried: where nobody but this process
    /// writes, one beyond all that was written.
    ///
    /// # Errors
    /// Where the database does not answer.
    pub fn never_gave(&self, position: i64) -> Result<bool, Refusal> {
        let is_alone = matches!(self.store.target(), Target::Sqlite(_));
        Ok(is_alone && position > self.store.read(|s| Ok::<_, Refusal>(s.last_mark()?))?)
    }

    /// Waits until index and shelves show at least a place of the outbox.
    ///
    /// # Errors
    /// `Behind` where the database does not come so far in time.
    pub fn reach(&self, position: i64) -> Result<(), Refusal> {
        let end = Instant::now() + PATIENCE;
        // What this process wrote it shows already.
        while position > self.position() {
            self.follow()?;
            if position > self.position() {
                if Instant::now() >= end {
                    return Err(Refusal::Behind {
                        position,
                        waited: PATIENCE,
                    });
                }
                std::thread::sleep(Duration::from_millis(20));
            }
        }
        Ok(())
    }
}

impl From<IndexError> for Refusal {
    fn from(error: IndexError) -> Self {
        Self::Fault(format!("index: {error}"))
    }
}
