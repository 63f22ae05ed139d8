//! The database as the rest of the service holds it.

use std::sync::Arc;
use std::time::{Duration, Instant};

use diesel::r2d2::{Pool, PooledConnection};

use crate::batches::{BatchSizes, Batches};
use crate::connection::{self, LOCK_WAIT, Opener, Role};
use crate::error::{OpenError, StoreError, Trouble};
use crate::group_commit::GroupCommit;
use crate::migrate;
use crate::session::Session;
use crate::target::Target;

/// How often PostgreSQL is asked again where it undid a transaction.
const TRIES: u32 = 10;

/// How the database is used.
#[derive(Debug, Clone)]
pub struct Options {
    /// The most connections at once; on SQLite those that read.
    pub connections: u32,
    /// How long to wait for a connection, and on SQLite for another process.
    pub wait: Duration,
    /// The most commands that share a commit on SQLite; 1 gives each its own.
    pub group: usize,
    /// The file's folder is plugwell's own and is made where it is missing.
    pub make_folder: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            connections: 8,
            wait: Duration::from_secs(5),
            group: 256,
            make_folder: false,
        }
    }
}

/// How a write gets its transaction on SQLite, where there is one at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turn {
    /// With those who wait, each under a savepoint of its own: for what is done at once.
    Shared,
    /// By itself: for what writes very many rows, and keeps the others waiting meanwhile.
    Alone,
}

/// An open database; clones share it.
#[derive(Clone)]
pub struct Store(Arc<Inner>);

struct Inner {
    target: Target,
    wait: Duration,
    pool: Pool<Opener>,
    /// The one writer of SQLite.
    writer: Option<GroupCommit>,
    batches: Arc<Batches>,
}

/// Connections of the pool.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Connections {
    /// The most that there can be.
    pub most: u32,
    /// Those on which somebody works.
    pub in_use: u32,
    /// Those that are open and wait.
    pub idle: u32,
}

impl std::fmt::Debug for Store {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Store({})", self.0.target)
    }
}

impl Store {
    /// Opens a database, makes its tables or brings them up to date under a lock, and makes the
    /// scrap drum and the difference account where they are missing.
    ///
    /// # Errors
    /// [`OpenError`] with the real reason. A file is made only in a folder that is there, or that
    /// [`Options::make_folder`] says is plugwell's own.
    pub fn open(target: &Target, options: &Options) -> Result<Self, OpenError> {
        let opener = |role| Opener {
            target: target.clone(),
            role,
            wait: options.wait,
        };
        let batches = Arc::<Batches>::default();
        let writer = match target {
            Target::Sqlite(path) => {
                let made = connection::make_file(path, options.make_folder)?;
                let first = opener(Role::Writer)
                    .open()
                    .and_then(|session| prepared(session, Some(path)));
                if made && first.is_err() {
                    // Nobody else's: it was not there a moment ago.
                    std::fs::remove_file(path).ok();
                }
                Some(GroupCommit::new(
                    first?,
                    opener(Role::Writer),
                    options.group,
                    Arc::clone(&batches),
                ))
            }
            Target::Postgres(_) => {
                // Its own connection: the pool would wait and hide why.
                prepared(opener(Role::Writer).open()?, None)?;
                None
            }
        };
        let role = if writer.is_some() {
            Role::Reader
        } else {
            Role::Writer
        };
        let pool = Pool::builder()
            .max_size(options.connections.max(1))
            .min_idle(Some(1))
            .test_on_check_out(false)
            .connection_timeout(options.wait)
            .error_handler(Box::new(Logged))
            .build_unchecked(opener(role));
        Ok(Self(Arc::new(Inner {
            target: target.clone(),
            wait: options.wait,
            pool,
            writer,
            batches,
        })))
    }

    /// Throws every table away and makes them anew, empty: for a demo that begins again.
    ///
    /// # Errors
    /// [`OpenError`] with the real reason.
    pub fn start_over(&self) -> Result<(), OpenError> {
        let opener = Opener {
            target: self.0.target.clone(),
            role: Role::Writer,
            wait: self.0.wait,
        };
        let mut session = opener.open()?;
        migrate::take_down(&mut session)?;
        prepared(session, None).map(drop)
    }

    /// Where it is.
    pub fn target(&self) -> &Target {
        &self.0.target
    }

    /// Shows one consistent state to `f`.
    ///
    /// # Errors
    /// Those of `f`, and [`StoreError`] where the database gives out.
    pub fn read<T, E: From<StoreError>>(
        &self,
        f: impl FnOnce(&mut Session) -> Result<T, E>,
    ) -> Result<T, E> {
        let mut session = self.begun(Session::begin_read)?;
        let outcome = f(&mut session);
        // Nothing to keep: ends it on either engine, whatever happened.
        session.rollback();
        outcome
    }

    /// Runs `f` in a transaction: all of it is kept, or nothing where it gives an error or panics.
    ///
    /// On SQLite commands share commits, each under its own savepoint. On PostgreSQL `f` runs
    /// again where the server undid the transaction for another's sake. A command that goes on
    /// after an error of the database is not kept. `f` runs on the caller's thread, may borrow what
    /// it likes, and must not write through the store itself.
    ///
    /// # Errors
    /// Those of `f`, and [`StoreError`] where the database gives out.
    pub fn write<T, E: From<StoreError>>(
        &self,
        f: impl FnMut(&mut Session) -> Result<T, E>,
    ) -> Result<T, E> {
        self.written(Turn::Shared, f, None::<fn(&T)>)
    }

    /// Like [`Store::write_then`], with its transaction got in a turn of one kind or the other.
    ///
    /// # Errors
    /// Those of `f`, and [`StoreError`] where the database gives out.
    pub fn write_in<T, E: From<StoreError>>(
        &self,
        turn: Turn,
        f: impl FnMut(&mut Session) -> Result<T, E>,
        after: impl FnOnce(&T),
    ) -> Result<T, E> {
        self.written(turn, f, Some(after))
    }

    /// Like [`Store::write`]; `after` sees the value once it is committed and before the caller
    /// does, on SQLite in the order of the commits.
    ///
    /// # Errors
    /// Those of `f`, and [`StoreError`] where the database gives out.
    pub fn write_then<T, E: From<StoreError>>(
        &self,
        f: impl FnMut(&mut Session) -> Result<T, E>,
        after: impl FnOnce(&T),
    ) -> Result<T, E> {
        self.written(Turn::Shared, f, Some(after))
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// Why it does not.
    pub fn health(&self) -> Result<(), StoreError> {
        self.read(Session::ping)
    }

    /// How the pool is used just now.
    pub fn connections(&self) -> Connections {
        let state = self.0.pool.state();
        Connections {
            most: self.0.pool.max_size(),
            in_use: state.connections.saturating_sub(state.idle_connections),
            idle: state.idle_connections,
        }
    }

    /// How many commands shared each commit so far; on PostgreSQL each has its own.
    pub fn batch_sizes(&self) -> BatchSizes {
        self.0.batches.sizes()
    }

    fn written<T, E: From<StoreError>>(
        &self,
        turn: Turn,
        f: impl FnMut(&mut Session) -> Result<T, E>,
        after: Option<impl FnOnce(&T)>,
    ) -> Result<T, E> {
        if let Some(writer) = &self.0.writer {
            return match turn {
                Turn::Shared => writer.run(f, after),
                Turn::Alone => writer.run_alone(f, after),
            };
        }
        let value = self.tried(f)?;
        if let Some(after) = after {
            after(&value);
        }
        Ok(value)
    }

    /// A transaction of its own, tried again where that can help.
    fn tried<T, E: From<StoreError>>(
        &self,
        mut f: impl FnMut(&mut Session) -> Result<T, E>,
    ) -> Result<T, E> {
        for attempt in 1.. {
            let mut session = self.begun(Session::begin_write)?;
            let started = Instant::now();
            let refused = match f(&mut session) {
                Ok(value) => match session.spoilt() {
                    Some(e) => e.into(),
                    None => match session.commit() {
                        Ok(()) => {
                            self.0.batches.count(1);
                            return Ok(value);
                        }
                        Err(e) => e.into(),
                    },
                },
                Err(e) => e,
            };
            let again = match session.trouble() {
                Some(Trouble::Again) => true,
                Some(Trouble::Perhaps) => started.elapsed() < LOCK_WAIT,
                // Before the commit nothing was kept; at the commit nobody knows.
                Some(Trouble::Gone) => !session.committing(),
                Some(Trouble::Spoilt) | None => false,
            };
            session.rollback();
            if !again || attempt >= TRIES {
                return Err(refused);
            }
            drop(session);
            tracing::debug!(attempt, "a transaction is tried again");
            std::thread::sleep(Duration::from_millis(u64::from(attempt * attempt)));
        }
        unreachable!("the loop ends by its own count")
    }

    /// A connection with a transaction begun on it. Connections that the server has closed
    /// meanwhile are passed over.
    fn begun(
        &self,
        begin: fn(&mut Session) -> Result<(), StoreError>,
    ) -> Result<PooledConnection<Opener>, StoreError> {
        let mut left = self.0.pool.max_size() + 1;
        loop {
            let mut session = self
                .0
                .pool
                .get_timeout(self.0.wait)
                .map_err(|e| unavailable(&e))?;
            match begin(&mut session) {
                Ok(()) => return Ok(session),
                Err(_) if session.is_broken() && left > 0 => left -= 1,
                Err(e) => return Err(e),
            }
        }
    }
}

/// A first connection with everything in place behind it.
fn prepared(mut session: Session, file: Option<&std::path::Path>) -> Result<Session, OpenError> {
    if let Some(path) = file {
        crate::backup::own_file(&mut session, path)?;
    }
    migrate::bring_up(&mut session)?;
    session.begin_write()?;
    // The lineage first: marks of this very transaction would look like another server's.
    session.settle_lineage()?;
    session.settle_places()?;
    session.commit()?;
    Ok(session)
}

/// The pool's own word: with a reason where connections fail, without where all are in use.
fn unavailable(error: &diesel::r2d2::PoolError) -> StoreError {
    match error.to_string().split_once(": ") {
        Some((_, reason)) => StoreError::Unavailable(reason.to_owned()),
        None => StoreError::Busy,
    }
}

/// Tells the log why the pool could not connect.
#[derive(Debug)]
struct Logged;

impl diesel::r2d2::HandleError<OpenError> for Logged {
    fn handle_error(&self, error: OpenError) {
        tracing::warn!(%error, "a connection to the database failed");
    }
}
